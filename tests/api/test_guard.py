"""Getting in without being let in: other hosts, other sites, the network without a session, too much at once."""

import pytest

from rillwright.api.guard import LARGEST_BODY, Sharing, Trust
from rillwright.api.pairing import Pairing, TooManyAttemptsError
from web_client import served

PHONE = "192.168.7.20"
HERE = "192.168.7.5"
LAN = f"http://{HERE}:8765"
SECURE = f"https://{HERE}:8766"
COOKIE = "rillwright-session"


class Clock:
    now = 1000.0

    def __call__(self):
        return self.now


@pytest.fixture
def codes():
    return []


@pytest.fixture
def sharing(codes):
    return Sharing(Pairing(codes.append), LAN, frozenset({"desk.local"}))


@pytest.fixture
def home(tmp_path):
    with served(tmp_path) as client:
        yield client


@pytest.fixture
def phone(tmp_path, sharing):
    with served(tmp_path, sharing=sharing, base=LAN, peer=PHONE) as client:
        yield client


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "evil.example:8765",
        "127.0.0.1.evil.example",
        "localhost.evil.example",
        "",
        "127.0.0.1:x",
        HERE,
        "[::2]",
    ],
)
def test_a_name_that_is_not_this_machines_is_refused(home, host):
    assert home.get("/api/yards", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:8765", "LOCALHOST", "[::1]:8765"])
def test_loopback_names_are_answered(home, host):
    assert home.get("/api/yards", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        "http://127.0.0.1:9999",
        "https://127.0.0.1:8765",
        "http://127.0.0.1:8765.evil.example",
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_another_sites_page_is_refused(home, origin, method):
    answer = home.request(method, "/api/yards/demo" if method == "POST" else "/api/yards", headers={"origin": origin})
    assert answer.status_code == 403
    assert home.get("/api/yards").json() == []


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_what_another_site_embeds_is_refused(home, site):
    assert home.get("/api/yards", headers={"sec-fetch-site": site}).status_code == 403


def test_the_own_page_is_answered(home):
    headers = {"origin": "http://127.0.0.1:8765", "sec-fetch-site": "same-origin"}
    assert home.post("/api/yards/demo", headers=headers).status_code == 201


def test_every_answer_tells_the_browser_to_be_strict(home):
    for path in ("/", "/api/health", "/api/nothing", "/api/yards/x"):
        headers = home.get(path).headers
        assert "script-src 'self'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert "access-control-allow-origin" not in headers


def test_too_much_at_once_is_refused_by_its_stated_length(home):
    answer = home.post("/api/yards", headers={"content-length": str(LARGEST_BODY + 1)}, content=b"{}")
    assert answer.status_code == 413
    assert home.post("/api/yards", headers={"content-length": "-5"}, content=b"{}").status_code == 413
    assert home.post("/api/yards", headers={"content-length": "9" * 5000}, content=b"{}").status_code == 413


def test_too_much_at_once_is_refused_when_its_length_is_not_stated(home):
    def chunks():
        for _ in range(22):
            yield b" " * 1_000_000

    assert home.post("/api/yards", content=chunks(), headers={"content-type": "application/json"}).status_code == 413


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/..%2f..%2fetc/passwd",
        "/assets/../../errors.py",
        "//etc/passwd",
    ],
)
def test_no_path_leads_out_of_the_page(home, path):
    answer = home.get(path)
    assert answer.status_code in (200, 404)
    assert "root:" not in answer.text
    assert "RillwrightError" not in answer.text


def test_the_network_gets_nothing_without_a_session(phone):
    described = phone.get("/api/session").json()
    assert described == {"shared": True, "paired": False}
    for method, path in (
        ("GET", "/api/yards"),
        ("POST", "/api/yards/demo"),
        ("GET", "/api/openapi.json"),
        ("GET", "/api/units"),
        ("GET", "/api//yards"),
        ("GET", "/api/./yards"),
        ("GET", "/api/health/../yards"),
    ):
        assert phone.request(method, path).status_code in (401, 404), path
    assert phone.get("/api/yards", headers={"cookie": f"{COOKIE}=x"}).status_code == 401
    assert phone.get("/api/yards", headers={"cookie": f"{COOKIE}=; {COOKIE}=\x01"}).status_code == 401


def test_the_network_may_not_pretend_to_be_this_machine(phone):
    for host in ("localhost", "127.0.0.1:8765"):
        assert phone.get("/api/yards", headers={"host": host}).status_code == 401
    headers = {"x-forwarded-for": "127.0.0.1", "forwarded": "for=127.0.0.1"}
    assert phone.get("/api/yards", headers=headers).status_code == 401


def test_shared_or_not_a_foreign_name_is_refused(phone):
    for host in ("evil.example", "192.168.7.99", "desk.local.evil.example"):
        assert phone.get("/api/health", headers={"host": host}).status_code == 421
    assert phone.get("/api/health", headers={"host": "desk.local:8765"}).status_code == 200


def test_the_code_lets_one_device_in(phone, codes):
    answer = phone.post("/api/pair", json={"code": codes[-1].lower()})
    assert answer.status_code == 204
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert phone.get("/api/yards").status_code == 200
    assert phone.get("/api/session").json()["paired"] is True
    phone.cookies.clear()
    assert phone.post("/api/pair", json={"code": codes[0]}).status_code == 403
    assert phone.get("/api/yards").status_code == 401
    assert codes[0] != codes[-1]


def test_the_code_is_told_at_this_machine_only(tmp_path, sharing, phone):
    with served(tmp_path / "desk", sharing=sharing) as desk:
        told = desk.get("/api/share").json()
    assert told["address"] == LAN
    assert told["picture"].startswith("data:image/svg+xml")
    assert told["trust"] is None
    assert phone.get("/api/share").status_code == 401
    assert phone.post("/api/pair", json={"code": told["code"]}).status_code == 204
    assert phone.get("/api/share").status_code == 403
    assert phone.get("/api/share", headers={"host": "127.0.0.1:8765"}).status_code == 403


def test_without_sharing_there_is_no_code_to_tell(home):
    assert home.get("/api/share").json() == dict.fromkeys(("address", "code", "picture", "trust"))


def test_guessing_is_slowed_down(phone, codes):
    answers = [phone.post("/api/pair", json={"code": f"{n:08}"}).status_code for n in range(8)]
    assert answers == [403] * 5 + [429] * 3
    assert phone.post("/api/pair", json={"code": codes[-1]}).status_code == 429


def test_another_site_cannot_use_the_session(phone, codes):
    phone.post("/api/pair", json={"code": codes[-1]})
    assert phone.post("/api/yards/demo", headers={"origin": "http://evil.example"}).status_code == 403


def test_this_machine_needs_no_code(tmp_path, sharing):
    with served(tmp_path, sharing=sharing) as client:
        assert client.get("/api/yards").status_code == 200


def test_many_addresses_do_not_keep_another_out_and_each_waits_a_minute():
    clock, codes = Clock(), []
    pairing = Pairing(codes.append, clock=clock)
    for n in range(100):
        for _ in range(5):
            assert not pairing.redeem("wrong", peer=f"10.0.0.{n}")
        with pytest.raises(TooManyAttemptsError):
            pairing.redeem(codes[-1], peer=f"10.0.0.{n}")
    assert pairing.redeem(codes[-1], peer="10.0.1.1")
    clock.now += 61
    assert not pairing.redeem(codes[0], peer="10.0.0.1")
    assert pairing.redeem(codes[-1], peer="10.0.0.1")


def test_devices_are_listed_at_this_machine_and_turned_out(tmp_path, sharing, codes):
    with served(tmp_path, sharing=sharing, base=LAN, peer=PHONE) as phone, served(tmp_path, sharing=sharing) as desk:
        assert phone.get("/api/devices").status_code == 401
        assert phone.post("/api/pair", json={"code": codes[-1], "name": "  my\n phone "}).status_code == 204
        assert phone.get("/api/devices").status_code == 403
        (device,) = desk.get("/api/devices").json()
        assert device["name"] == "my phone"
        assert "digest" not in device
        assert phone.delete(f"/api/devices/{device['id']}").status_code == 403
        assert phone.get("/api/yards").status_code == 200
        assert desk.delete(f"/api/devices/{device['id']}").status_code == 204
        assert phone.get("/api/yards").status_code == 401
        assert desk.delete(f"/api/devices/{device['id']}").status_code == 404


def test_a_device_is_known_after_a_restart(tmp_path, codes):
    sharing = Sharing(Pairing(codes.append), LAN)
    with served(tmp_path, sharing=sharing, base=LAN, peer=PHONE) as phone:
        phone.post("/api/pair", json={"code": codes[-1]})
        cookie = phone.cookies[COOKIE]
    again = Sharing(Pairing(codes.append), LAN)
    with served(tmp_path, sharing=again, base=LAN, peer=PHONE) as phone:
        assert phone.get("/api/yards", headers={"cookie": f"{COOKIE}={cookie}"}).status_code == 200
        assert phone.get("/api/yards", headers={"cookie": f"{COOKIE}={cookie}x"}).status_code == 401


@pytest.fixture
def secure(codes):
    return Sharing(Pairing(codes.append), SECURE, frozenset({"desk.local"}), Trust(f"http://{HERE}:8767", "AB:CD"))


def test_where_https_is_due_http_gets_nothing(tmp_path, secure, codes):
    with served(tmp_path, sharing=secure, base=LAN, peer=PHONE) as phone:
        for path in ("/", "/api/health", "/api/session", "/api/yards"):
            assert phone.get(path).status_code == 403
        assert phone.post("/api/pair", json={"code": codes[-1]}).status_code == 403
        headers = {"x-forwarded-proto": "https", "forwarded": "proto=https"}
        assert phone.get("/api/session", headers=headers).status_code == 403
        assert phone.get("/api/session", headers={"host": "127.0.0.1:8765"}).status_code == 403
    with served(tmp_path, sharing=secure) as desk:
        assert desk.get("/api/yards").status_code == 200


def test_over_https_the_cookie_is_for_https_and_this_host_alone(tmp_path, secure, codes):
    """The prefix `__Host-` (RFC 6265bis, 4.1.3.2) asks for Secure, Path=/ and no Domain."""
    with served(tmp_path, sharing=secure, base=SECURE, peer=PHONE) as phone:
        assert phone.get("/api/yards").status_code == 401
        assert phone.get("/api/yards", headers={"host": "evil.example"}).status_code == 421
        assert phone.get("/api/health", headers={"origin": LAN}).status_code == 403
        assert phone.get("/api/health", headers={"origin": SECURE}).status_code == 200
        cookie = phone.post("/api/pair", json={"code": codes[-1]}).headers["set-cookie"]
        assert cookie.startswith("__Host-rillwright-session=")
        for part in ("Secure", "HttpOnly", "Path=/", "SameSite=strict"):
            assert part in cookie
        assert "Domain" not in cookie
        assert phone.get("/api/yards").status_code == 200
        token = phone.cookies["__Host-rillwright-session"]
        phone.cookies.clear()
        assert phone.get("/api/yards", headers={"cookie": f"{COOKIE}={token}"}).status_code == 401
