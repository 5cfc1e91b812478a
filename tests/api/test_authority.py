"""The machine's own authority, judged by OpenSSL as a client that trusts it and nobody else."""

import datetime
import ipaddress
import ssl
import stat

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec

from rillwright.api import authority as module
from rillwright.api.authority import Authority
from rillwright.errors import InputError

ADDRESS = "192.168.7.5"
NAMES = frozenset({"desk", "desk.local", "not_a_name"})


@pytest.fixture
def authority(tmp_path):
    return Authority(tmp_path / "tls", names=NAMES, address=ADDRESS)


def server(authority):
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    authority.renew(context)
    return context


def shake_hands(context, trusted, name):
    """Certificate that a client accepts for a name. Errors: ssl.SSLCertVerificationError."""
    client = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    client.load_verify_locations(cadata=trusted)
    to_client, to_server = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = [
        context.wrap_bio(to_server, to_client, server_side=True),
        client.wrap_bio(to_client, to_server, server_hostname=name),
    ]
    done = [False, False]
    while not all(done):
        for number, end in enumerate(ends):
            try:
                end.do_handshake()
                done[number] = True
            except ssl.SSLWantReadError:
                pass
    return x509.load_der_x509_certificate(ends[1].getpeercert(binary_form=True))


@pytest.mark.parametrize("name", [ADDRESS, "desk", "desk.local"])
def test_a_client_that_trusts_it_accepts_this_machine(authority, name):
    leaf = shake_hands(server(authority), authority.file, name)
    lasts = leaf.not_valid_after_utc - leaf.not_valid_before_utc
    assert lasts <= datetime.timedelta(days=397)  # CA/Browser Forum, Baseline Requirements, 6.3.2: at most 398


@pytest.mark.parametrize("name", ["192.168.7.6", "bank.example", "localhost", "127.0.0.1"])
def test_it_does_not_pass_for_another(authority, name):
    with pytest.raises(ssl.SSLCertVerificationError, match=r"mismatch|not valid for"):
        shake_hands(server(authority), authority.file, name)


@pytest.mark.parametrize("name", ["bank.example", "evil.desk.example", "8.8.8.8", "192.168.8.5", "::1", "local"])
def test_the_stolen_key_vouches_for_nothing_else(authority, tmp_path, name):
    """Name constraints, RFC 5280, 4.2.1.10, as OpenSSL holds them."""
    with pytest.raises(ssl.SSLCertVerificationError, match=r"permitted subtree violation|unsupported name"):
        shake_hands(forged(authority, tmp_path, name), authority.file, name)


def test_the_forgery_is_otherwise_good(authority, tmp_path):
    """Else the test above could not fail."""
    shake_hands(forged(authority, tmp_path, "192.168.7.9"), authority.file, "192.168.7.9")


def forged(authority, tmp_path, name):
    """A server with a certificate for any name, made with the authority's own key."""
    key_file = next((tmp_path / "tls").rglob("authority.key"))
    issuer = serialization.load_pem_private_key(key_file.read_bytes(), None)
    key = ec.generate_private_key(ec.SECP256R1())
    try:
        named = x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        named = x509.DNSName(name)
    now = datetime.datetime.now(datetime.UTC)
    leaf = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([]))
        .issuer_name(authority.certificate.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now)
        .not_valid_after(now + datetime.timedelta(days=9))
        .add_extension(x509.SubjectAlternativeName([named]), critical=True)
        .sign(issuer, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    text = key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    file = tmp_path / "forged.pem"
    file.write_bytes(text + leaf.public_bytes(pem))
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(file)
    return context


def test_nobody_else_may_read_the_keys(authority, tmp_path):
    server(authority)
    files = [path for path in (tmp_path / "tls").rglob("*") if path.is_file()]
    assert {path.name for path in files} == {"authority.key", "authority.pem", "machine.pem"}
    assert {stat.S_IMODE(path.stat().st_mode) for path in files} == {0o600}
    assert {stat.S_IMODE(path.parent.stat().st_mode) for path in files} == {0o700}


def test_the_same_authority_serves_again_and_another_network_has_another(authority, tmp_path):
    again = Authority(tmp_path / "tls", names=NAMES, address="192.168.7.77")  # another lease
    assert (authority.made_now, again.made_now) == (True, False)
    assert again.fingerprint == authority.fingerprint
    shake_hands(server(again), authority.file, "192.168.7.77")
    other = Authority(tmp_path / "tls", names=NAMES, address="10.0.0.5")
    assert other.made_now
    assert other.fingerprint != authority.fingerprint
    back = Authority(tmp_path / "tls", names=NAMES, address=ADDRESS)
    assert back.fingerprint == authority.fingerprint


def test_a_machine_of_another_name_gets_another_authority(authority, tmp_path):
    renamed = Authority(tmp_path / "tls", names=frozenset({"bench"}), address=ADDRESS)
    assert renamed.made_now
    assert renamed.fingerprint != authority.fingerprint


class Later(datetime.datetime):
    days = 0

    @classmethod
    def now(cls, tz=None):
        return datetime.datetime.now(tz) + datetime.timedelta(days=cls.days)


def test_the_certificate_is_renewed_on_a_running_server(authority, monkeypatch):
    context = server(authority)
    first = shake_hands(context, authority.file, ADDRESS)
    authority.renew(context)
    assert shake_hands(context, authority.file, ADDRESS) == first
    monkeypatch.setattr(module, "datetime", Later)
    monkeypatch.setattr(Later, "days", 61)
    authority.renew(context)
    leaf = next(authority._folder.glob("machine.pem")).read_bytes()
    second = x509.load_pem_x509_certificates(leaf)[0]
    assert second.serial_number != first.serial_number
    assert second.public_key() != first.public_key()
    assert second.not_valid_after_utc > first.not_valid_after_utc + datetime.timedelta(days=60)
    monkeypatch.undo()
    # begins in 60 days by this clock, so a client refuses it now: it is the new one that the server shows
    with pytest.raises(ssl.SSLCertVerificationError, match="not yet valid"):
        shake_hands(context, authority.file, ADDRESS)


def test_an_authority_at_its_end_is_made_again(tmp_path, monkeypatch):
    old = Authority(tmp_path / "tls", names=NAMES, address=ADDRESS)
    monkeypatch.setattr(module, "datetime", Later)
    monkeypatch.setattr(Later, "days", 3600)
    assert Authority(tmp_path / "tls", names=NAMES, address=ADDRESS).fingerprint != old.fingerprint


@pytest.mark.parametrize("fault", ["open", "empty", "another", "gone"])
def test_a_key_that_cannot_be_trusted_is_told(authority, tmp_path, fault):
    key = next((tmp_path / "tls").rglob("authority.key"))
    if fault == "open":
        key.chmod(0o644)
    elif fault == "empty":
        key.write_bytes(b"")
    elif fault == "gone":
        key.unlink()
    else:
        Authority(tmp_path / "other", names=NAMES, address=ADDRESS)
        key.write_bytes(next((tmp_path / "other").rglob("authority.key")).read_bytes())
    with pytest.raises(InputError, match="Delete the folder"):
        server(authority)


def test_an_authority_that_may_vouch_for_anything_is_told(authority, tmp_path):
    file = next((tmp_path / "tls").rglob("authority.pem"))
    key, name, now = ec.generate_private_key(ec.SECP256R1()), authority.certificate.subject, datetime.datetime.now()
    bare = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now)
        .not_valid_after(now + datetime.timedelta(days=3650))
        .sign(key, hashes.SHA256())
    )
    file.write_bytes(bare.public_bytes(serialization.Encoding.PEM))
    with pytest.raises(InputError, match=r"authority\.pem cannot be used"):
        Authority(tmp_path / "tls", names=NAMES, address=ADDRESS)


def test_a_spoilt_certificate_is_told(authority, tmp_path):
    next((tmp_path / "tls").rglob("authority.pem")).write_bytes(b"nothing")
    with pytest.raises(InputError, match=r"authority\.pem cannot be used"):
        Authority(tmp_path / "tls", names=NAMES, address=ADDRESS)
    assert authority.made_now
