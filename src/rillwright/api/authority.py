"""A certificate authority of this machine's own, so that a phone on the same network is served encrypted.

What it may vouch for is written in it (RFC 5280, 4.2.1.10): this machine's names and its network, nothing else, so that
a phone which trusts it believes nobody about any other site. There is one for each network the machine is shared in.
"""

import ipaddress
import os
import re
import shutil
import ssl
import stat
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from rillwright.errors import InputError

__all__ = ["Authority"]

_AUTHORITY_LASTS = timedelta(days=3650)
_LEAF_LASTS = timedelta(days=90)  # browsers take at most 398 days: CA/Browser Forum, Baseline Requirements, 6.3.2
_RENEWED_BEFORE = timedelta(days=30)
_EARLIER = timedelta(days=1)  # begins so long ago, for a phone whose clock is behind
_HOST_NAME = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)(\.(?!-)[a-z0-9-]{1,63}(?<!-))*")
_PREFIX = 24  # of the network that addresses are handed out in; common practice in a house, no source


class Authority:
    """The authority for one network, read from its folder or made there, and the machine's own certificate by it."""

    def __init__(self, folder: Path, *, names: frozenset[str], address: str) -> None:
        """Open or make it.

        Parameters: folder, where authorities are kept; names of this machine, lower case; address, its own on the
        network. Errors: InputError when what is there cannot be used.
        """
        self.names = tuple(sorted(name for name in names if _HOST_NAME.fullmatch(name)))
        self.address = ipaddress.IPv4Address(address)
        self.network = ipaddress.IPv4Network((address, _PREFIX), strict=False)
        self._folder = folder / f"{self.network.network_address}-{_PREFIX}"
        self.made_now = not self._usable()
        if self.made_now:
            self._make()
        self.certificate = self._read("authority.pem")

    @property
    def title(self) -> str:
        """Name under which a phone lists it."""
        (name,) = self.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
        return str(name.value)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate, as phones show it."""
        digest: bytes = self.certificate.fingerprint(hashes.SHA256())
        return digest.hex(":").upper()

    @property
    def file(self) -> bytes:
        """The certificate as a phone installs it (DER)."""
        text: bytes = self.certificate.public_bytes(serialization.Encoding.DER)
        return text

    def renew(self, context: ssl.SSLContext) -> None:
        """Let a server show this machine's certificate, made again when it ends soon or says something else."""
        leaf = self._folder / "machine.pem"
        if not leaf.exists() or not self._serves(self._read(leaf.name)):
            self._issue(leaf)
        context.load_cert_chain(leaf)

    def _usable(self) -> bool:
        if not (self._folder / "authority.pem").exists():
            return False
        found = self._read("authority.pem")
        try:
            constraints = found.extensions.get_extension_for_class(x509.NameConstraints).value
        except (ValueError, x509.DuplicateExtension, x509.ExtensionNotFound):
            raise self._spoilt("authority.pem") from None
        lasts: bool = found.not_valid_after_utc > datetime.now(UTC) + _LEAF_LASTS
        return lasts and constraints.permitted_subtrees == self._allowed()

    def _allowed(self) -> list[x509.GeneralName]:
        return [*(x509.DNSName(name) for name in self.names), x509.IPAddress(self.network)]

    def _serves(self, leaf: x509.Certificate) -> bool:
        named = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        ours = leaf.issuer == self.certificate.subject and list(named) == self._own()
        return ours and leaf.not_valid_after_utc > datetime.now(UTC) + _RENEWED_BEFORE

    def _own(self) -> list[x509.GeneralName]:
        return [*(x509.DNSName(name) for name in self.names), x509.IPAddress(self.address)]

    def _make(self) -> None:
        shutil.rmtree(self._folder, ignore_errors=True)
        self._folder.mkdir(parents=True, mode=0o700)
        now, key = datetime.now(UTC), ec.generate_private_key(ec.SECP256R1())
        subject = _named(f"Rillwright on {self.names[0] if self.names else self.address}, {now:%Y-%m-%d %H:%M}")
        certificate = (
            _begun(subject, subject, key.public_key(), now=now, ends=now + _AUTHORITY_LASTS)
            .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
            .add_extension(_usage(key_cert_sign=True), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(x509.NameConstraints(self._allowed(), excluded_subtrees=None), critical=True)
            .sign(key, hashes.SHA256())
        )
        _write(self._folder / "authority.key", _key_text(key))
        _write(self._folder / "authority.pem", certificate.public_bytes(serialization.Encoding.PEM))

    def _issue(self, target: Path) -> None:
        """Write a new key with a certificate for this machine, and the authority's after it."""
        now, key, issuer = datetime.now(UTC), ec.generate_private_key(ec.SECP256R1()), self._key()
        ends = min(now + _LEAF_LASTS, self.certificate.not_valid_after_utc)
        subject = _named(self.names[0] if self.names else str(self.address))
        leaf = (
            _begun(subject, self.certificate.subject, key.public_key(), now=now, ends=ends)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(digital_signature=True), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(x509.SubjectAlternativeName(self._own()), critical=False)
            .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(issuer.public_key()), critical=False)
            .sign(issuer, hashes.SHA256())
        )
        pem = serialization.Encoding.PEM
        _write(target, _key_text(key) + leaf.public_bytes(pem) + self.certificate.public_bytes(pem))

    def _read(self, name: str) -> x509.Certificate:
        try:
            text = (self._folder / name).read_bytes()
            return x509.load_pem_x509_certificate(text[text.index(b"-----BEGIN CERTIFICATE") :])
        except (OSError, ValueError):
            raise self._spoilt(name) from None

    def _key(self) -> ec.EllipticCurvePrivateKey:
        """The authority's key. Errors: InputError when others may read it, or it does not go with the certificate."""
        path = self._folder / "authority.key"
        try:
            if os.name == "posix" and stat.S_IMODE(path.stat().st_mode) & 0o077:
                raise InputError(
                    f"Others on this machine can read {path}, so that anyone of them could pretend to be it. "
                    f"Delete the folder {self._folder}; a new authority is then made, for each phone to install anew."
                )
            key = serialization.load_pem_private_key(path.read_bytes(), password=None)
        except (OSError, ValueError, TypeError):
            raise self._spoilt(path.name) from None
        if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != self.certificate.public_key():
            raise self._spoilt(path.name)
        return key

    def _spoilt(self, name: str) -> InputError:
        return InputError(
            f"{self._folder / name} cannot be used. Delete the folder {self._folder}; a new authority is then made, "
            "for each phone to install anew."
        )


def _named(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:64])])


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, *, now: datetime, ends: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _EARLIER)
        .not_valid_after(ends)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key), critical=False)
    )


def _usage(*, key_cert_sign: bool = False, digital_signature: bool = False) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=digital_signature, key_cert_sign=key_cert_sign, content_commitment=False, crl_sign=False,
        key_encipherment=False, data_encipherment=False, key_agreement=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _key_text(key: ec.EllipticCurvePrivateKey) -> bytes:
    form = (serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    text: bytes = key.private_bytes(*form)
    return text


def _write(target: Path, text: bytes) -> None:
    """Write a file whole or not at all, for its owner alone to read."""
    handle, name = tempfile.mkstemp(dir=target.parent)  # mode 600
    with os.fdopen(handle, "wb") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    Path(name).replace(target)
