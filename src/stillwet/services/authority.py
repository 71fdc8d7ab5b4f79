"""A certificate authority of this machine's own, so that phones near it can speak HTTPS with it.

X.509 by RFC 5280. The authority may only vouch for private addresses and local names (its name
constraints): should its key be stolen, no site of the internet can be forged with it in a browser
that keeps to them. The key stays in one folder, readable by its owner alone.
"""

from __future__ import annotations

import ipaddress
import os
import stat
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stillwet.errors import Problem, StillwetError

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

_YEARS = timedelta(days=5 * 365)
_SERVER = timedelta(days=90)  # made anew at each start
_SLACK = timedelta(days=1)  # clocks of phones differ
_RENEW = timedelta(days=120)  # before its end an authority is replaced, not used
# RFC 1918, loopback and link-local (RFC 3927); RFC 4193 and link-local of IPv6.
_NETWORKS = (
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "169.254.0.0/16"),
    *("fc00::/7", "fe80::/10", "::1/128"),
)
# RFC 6761, 6762, 8375, and ICANN's choice of 2024 for private use.
_DOMAINS = ("localhost", "local", "home.arpa", "internal")


@dataclass(frozen=True, slots=True)
class Authority:
    """The authority's certificate and where its key lies."""

    folder: Path
    certificate_der: bytes

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate in eight groups, to be held against another screen."""
        import hashlib

        digest = hashlib.sha256(self.certificate_der).hexdigest().upper()
        return " ".join(digest[at : at + 8] for at in range(0, 64, 8))


def authority_folder() -> Path:
    """Where the authority is kept unless told otherwise: the user's own place for settings."""
    home = Path.home()
    if sys.platform == "win32":
        base = Path(os.environ.get("APPDATA", home / "AppData" / "Roaming"))
    elif sys.platform == "darwin":
        base = home / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_CONFIG_HOME") or home / ".config")
    return base / "stillwet" / "authority"


def open_authority(folder: Path, *, now_s: float) -> Authority:
    """The authority in a folder, made there if there is none, it ends soon, or key and it differ.

    A machine that stopped between writing a key and its certificate left two that do not fit.

    Raises StillwetError for a folder that cannot be used, or a key that others may read.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    now = datetime.fromtimestamp(now_s, UTC)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not _certificate(folder).exists():
            _make(folder, now)
        _need_own(_key(folder))
        certificate = x509.load_pem_x509_certificate(_certificate(folder).read_bytes())
        ends_soon = certificate.not_valid_after_utc - now < _RENEW
        if ends_soon or certificate.public_key() != _read_key(folder).public_key():
            _make(folder, now)
            certificate = x509.load_pem_x509_certificate(_certificate(folder).read_bytes())
    except OSError as error:
        got = error.strerror or str(error)
        hint = "choose another folder with --authority"
        raise StillwetError(
            Problem("authority", "a folder to keep it in", got, str(folder), hint)
        ) from None
    except ValueError as error:
        hint = "move the folder away; a new authority is then made, and phones install that one"
        raise StillwetError(
            Problem("authority", "a sound certificate", str(error), str(folder), hint)
        ) from None
    return Authority(folder, certificate.public_bytes(Encoding.DER))


def issue(authority: Authority, names: Iterable[str], *, now_s: float) -> tuple[Path, list[str]]:
    """A certificate with its key for the server's names and addresses, in one file.

    Also returns those of the names that the authority may not vouch for.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import Encoding
    from cryptography.x509.oid import ExtendedKeyUsageOID

    given = list(dict.fromkeys(names))
    fit = [name for name in given if is_local(name)]
    signer = x509.load_der_x509_certificate(authority.certificate_der)
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = (
        _begun("Stillwet server", signer.subject, key, now_s, _SERVER)
        .add_extension(x509.SubjectAlternativeName([_general(name) for name in fit]), False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), True)
        .add_extension(_usage(digital_signature=True), True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()),  # type: ignore[arg-type]  # its own key, which is one of those
            False,
        )
        .sign(_read_key(authority.folder), hashes.SHA256())
    )
    path = authority.folder / "server.pem"
    _write_own(path, _key_pem(key) + certificate.public_bytes(Encoding.PEM))
    return path, [name for name in given if name not in fit]


def is_local(name: str) -> bool:
    """True for what the authority may vouch for: private addresses and local names."""
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        if not name.isascii():  # a certificate holds names in letters of ASCII (RFC 5280, 4.2.1.6)
            return False
        return any(name == domain or name.endswith(f".{domain}") for domain in _DOMAINS)
    return any(address in ipaddress.ip_network(network) for network in _NETWORKS)


def _make(folder: Path, now: datetime) -> None:
    """A fresh authority: its key first, so that a certificate never stands without one."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import Encoding
    from cryptography.x509.oid import NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name(
        [x509.NameAttribute(NameOID.COMMON_NAME, f"Stillwet local authority, {now:%Y-%m-%d}")]
    )
    permitted = [
        *(x509.IPAddress(ipaddress.ip_network(network)) for network in _NETWORKS),
        *(x509.DNSName(domain) for domain in _DOMAINS),
    ]
    certificate = (
        _begun(None, name, key, now.timestamp(), _YEARS)
        .subject_name(name)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), True)
        .add_extension(_usage(key_cert_sign=True, crl_sign=True), True)
        .add_extension(x509.NameConstraints(permitted, None), True)
        .sign(key, hashes.SHA256())
    )
    _write_own(_key(folder), _key_pem(key))
    _write_own(_certificate(folder), certificate.public_bytes(Encoding.PEM))


def _begun(
    subject: str | None,
    issuer: x509.Name,
    key: EllipticCurvePrivateKey,
    now_s: float,
    lasts: timedelta,
) -> x509.CertificateBuilder:
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    now = datetime.fromtimestamp(now_s, UTC)
    builder = (
        x509.CertificateBuilder()
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _SLACK)
        .not_valid_after(now + lasts)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), False)
    )
    if subject is None:
        return builder
    return builder.subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, subject)]))


def _general(name: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _usage(**chosen: bool) -> x509.KeyUsage:
    from cryptography import x509

    names = (
        *("digital_signature", "content_commitment", "key_encipherment", "data_encipherment"),
        *("key_agreement", "key_cert_sign", "crl_sign", "encipher_only", "decipher_only"),
    )
    return x509.KeyUsage(**{name: chosen.get(name, False) for name in names})


def _key_pem(key: EllipticCurvePrivateKey) -> bytes:
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
    )

    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _read_key(folder: Path) -> Any:
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    return load_pem_private_key(_key(folder).read_bytes(), None)


def _key(folder: Path) -> Path:
    return folder / "authority.key"


def _certificate(folder: Path) -> Path:
    return folder / "authority.pem"


def _need_own(path: Path) -> None:
    """Refuse a key that others on this machine may read: it may have been copied."""
    if os.name == "posix" and stat.S_IMODE(path.stat().st_mode) & 0o077:
        got = f"mode {stat.S_IMODE(path.stat().st_mode):o}"
        hint = "if nobody else has read it: chmod 600; else move the folder away for a new one"
        raise StillwetError(
            Problem("authority", "a key only its owner reads (600)", got, str(path), hint)
        )


def _write_own(path: Path, content: bytes) -> None:
    """Write a file that only its owner reads, whole or not at all."""
    new = path.with_name(f"{path.name}.{os.getpid()}.new")
    new.unlink(missing_ok=True)
    handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    new.replace(path)
