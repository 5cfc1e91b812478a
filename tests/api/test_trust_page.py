"""The unencrypted page beside the encrypted ones: the certificate, and nothing else for anybody."""

import pytest
from cryptography import x509
from starlette.testclient import TestClient

from rillwright.api.authority import Authority
from rillwright.api.trust_page import trust_app

ADDRESS = "192.168.7.5"


@pytest.fixture
def authority(tmp_path):
    return Authority(tmp_path / "tls", names=frozenset({"desk.local"}), address=ADDRESS)


@pytest.fixture
def client(authority):
    app = trust_app(authority, address=f"https://{ADDRESS}:8766")
    return TestClient(app, base_url=f"http://{ADDRESS}:8767", client=("192.168.7.20", 5000))


def test_it_hands_out_the_certificate_with_what_to_compare(client, authority):
    page = client.get("/")
    assert authority.fingerprint in page.text.replace("<wbr>", "")
    assert authority.title in page.text
    assert "How to remove it" in page.text
    assert "192.168.7.0/24" in page.text
    assert f'href="https://{ADDRESS}:8766"' in page.text
    file = client.get("/authority.crt")
    assert file.headers["content-type"] == "application/x-x509-ca-cert"
    assert x509.load_der_x509_certificate(file.content) == authority.certificate
    assert b"PRIVATE" not in file.content


def test_it_does_nothing_else(client):
    for path in ("/api/health", "/api/pair", "/api/yards", "/index.html", "/authority.key", "/../tls/authority.key"):
        assert client.get(path).status_code == 404
    for method in ("POST", "PUT", "DELETE"):
        assert client.request(method, "/").status_code == 404
    page = client.get("/")
    assert "set-cookie" not in page.headers
    assert "default-src 'none'" in page.headers["content-security-policy"]
    assert "<script" not in page.text


def test_it_answers_to_this_machines_names_only(client):
    assert client.get("/", headers={"host": "evil.example"}).status_code == 421
    assert client.get("/", headers={"host": "192.168.7.6:8767"}).status_code == 421
    assert client.get("/", headers={"host": "desk.local:8767"}).status_code == 200
