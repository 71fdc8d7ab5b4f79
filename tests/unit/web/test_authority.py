"""The authority of this machine, checked by other programs' rules: RFC 5280 as others read it.

The checks are made by the verifier of the cryptography library (webpki rules), by OpenSSL's own
command, and by a TLS handshake of Python's ssl module with the server as it is served.
"""

from __future__ import annotations

import shutil
import ssl
import stat
import subprocess
import time
import urllib.error
import urllib.request
from datetime import UTC, datetime
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import load_pem_private_key
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from https_fixture import served_together, two_sockets
from stillwet.errors import StillwetError
from stillwet.services.authority import (
    Authority,
    authority_folder,
    is_local,
    issue,
    open_authority,
)
from stillwet.web.house import House, Place
from web_fixture import Inline, kept_yard, make_test_client

NOW_S = datetime(2030, 8, 14, 12, tzinfo=UTC).timestamp()
NAMES = ("192.168.7.20", "127.0.0.1", "localhost", "laptop.local")


@pytest.fixture
def made(tmp_path: Path) -> Authority:
    """An authority in a folder of its own."""
    return open_authority(tmp_path / "authority", now_s=NOW_S)


def _leaf(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def _verify(made: Authority, path: Path, name: x509.IPAddress | x509.DNSName) -> None:
    root = x509.load_der_x509_certificate(made.certificate_der)
    builder = PolicyBuilder().store(Store([root])).time(datetime.fromtimestamp(NOW_S, UTC))
    builder.build_server_verifier(name).verify(_leaf(path), [])


def test_certificate_holds_for_its_names_and_no_other(made: Authority) -> None:
    """Verified by webpki rules for each of its names; refused for another address."""
    path, left = issue(made, NAMES, now_s=NOW_S)
    assert left == []
    _verify(made, path, x509.IPAddress(ip_address("192.168.7.20")))
    _verify(made, path, x509.DNSName("laptop.local"))
    with pytest.raises(VerificationError):
        _verify(made, path, x509.IPAddress(ip_address("192.168.7.21")))


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl here")
def test_openssl_takes_it_in_strict_mode(made: Authority) -> None:
    """Openssl verify -x509_strict, at the time of its making, for a name and an address."""
    path, _ = issue(made, NAMES, now_s=NOW_S)
    for check in (["-verify_hostname", "localhost"], ["-verify_ip", "192.168.7.20"]):
        done = _openssl(made, path, *check)
        assert done.returncode == 0, done.stderr
    assert _openssl(made, path, "-verify_ip", "8.8.8.8").returncode != 0


def _openssl(made: Authority, path: Path, *check: str) -> subprocess.CompletedProcess[str]:
    root = str(made.folder / "authority.pem")
    command = ["openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", root]
    return subprocess.run(
        [*command, "-attime", str(int(NOW_S)), *check, str(path)],
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl here")
def test_a_stolen_key_forges_no_site_of_the_internet(
    made: Authority, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Made to sign for a public name and address all the same, OpenSSL refuses both."""
    monkeypatch.setattr("stillwet.services.authority.is_local", lambda _name: True)
    for name in ("www.example.org", "203.0.113.7"):
        path, _ = issue(made, [name], now_s=NOW_S)
        done = _openssl(made, path)
        assert done.returncode != 0
        assert "permitted subtree violation" in done.stderr


def test_only_private_addresses_and_local_names_are_vouched_for(made: Authority) -> None:
    """RFC 1918 and kin yes, the internet no; what is left out is told."""
    for name in ("10.1.2.3", "172.31.0.1", "fd00::1", "fe80::1", "a.home.arpa", "x.local"):
        assert is_local(name)
    for name in (
        "8.8.8.8",
        "172.32.0.1",
        "2001:db8::1",
        "example.org",
        "notlocal",
        "h\u00fctte.local",
    ):
        assert not is_local(name)
    _, left = issue(made, ["10.1.2.3", "example.org", "h\u00fctte.local"], now_s=NOW_S)
    assert left == ["example.org", "h\u00fctte.local"]


def test_keys_are_for_their_owner_alone(made: Authority) -> None:
    """Mode 600 for each file with a key, 700 for the folder; the offered part holds no key."""
    path, _ = issue(made, NAMES, now_s=NOW_S)
    for file in (made.folder / "authority.key", path):
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE(made.folder.stat().st_mode) == 0o700
    assert b"PRIVATE" not in made.certificate_der
    assert sorted(one.name for one in made.folder.iterdir()) == [
        *("authority.key", "authority.pem", "server.pem"),
    ]


def test_a_key_that_others_may_read_is_refused(made: Authority) -> None:
    """It may have been copied: the message names file, mode and what to do."""
    (made.folder / "authority.key").chmod(0o644)
    with pytest.raises(StillwetError, match=r"only its owner reads.*644.*chmod 600"):
        open_authority(made.folder, now_s=NOW_S)


def test_a_damaged_certificate_and_a_folder_that_is_none(made: Authority, tmp_path: Path) -> None:
    """Both in words, naming the place."""
    (made.folder / "authority.pem").write_text("not one")
    with pytest.raises(StillwetError, match="a sound certificate"):
        open_authority(made.folder, now_s=NOW_S)
    file = tmp_path / "file"
    file.write_text("")
    with pytest.raises(StillwetError, match="a folder to keep it in"):
        open_authority(file, now_s=NOW_S)


def test_the_same_authority_until_it_nears_its_end(made: Authority) -> None:
    """Opened again it is the same; months before its end another takes its place."""
    later = open_authority(made.folder, now_s=NOW_S + 365 * 86400.0)
    assert later.fingerprint == made.fingerprint
    last = open_authority(made.folder, now_s=NOW_S + 5 * 365 * 86400.0)
    assert last.fingerprint != made.fingerprint
    assert len(last.fingerprint.replace(" ", "")) == 64


def test_folder_follows_the_users_settings(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """XDG_CONFIG_HOME where it is set (XDG Base Directory Specification 0.8)."""
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert authority_folder() == tmp_path / "stillwet" / "authority"


def test_trust_page_offers_the_public_part_to_anybody(tmp_path: Path) -> None:
    """Who has not joined reads the page and fetches the certificate; no key, no job."""
    path = kept_yard(tmp_path)
    with make_test_client(path, client="192.168.7.9") as stranger:
        assert "speaks no HTTPS" in stranger.get("/trust").text
        assert stranger.get("/api/authority.crt").status_code == 404
        made = open_authority(tmp_path / "authority", now_s=NOW_S)
        stranger.app.state.house.authority = made  # type: ignore[attr-defined]
        page = stranger.get("/trust").text
        assert made.fingerprint in page
        assert "How to remove it" in page
        assert "Invented job" not in page
        answer = stranger.get("/api/authority.crt")
        assert answer.content == made.certificate_der
        assert answer.headers["content-type"] == "application/x-x509-ca-cert"


def test_served_plain_and_by_https_at_once(tmp_path: Path) -> None:
    """One app on two ports: each answers to its own hosts; a client with the authority trusts it.

    A client without it refuses, and a page of one scheme may not write through the other.
    """
    made = open_authority(tmp_path / "authority", now_s=time.time())
    cert, _ = issue(made, ["127.0.0.1"], now_s=time.time())
    listening, plain, secure = two_sockets("127.0.0.1")
    place = Place(frozenset({plain}), secure_hosts=frozenset({secure}))
    house = House(kept_yard(tmp_path), place, desk=Inline(object()), authority=made)
    with served_together(house, cert, listening):
        trusting = ssl.create_default_context(cadata=made.certificate_der)
        assert _status(f"http://{plain}/trust") == 200
        assert _status(f"https://{secure}/trust", trusting) == 200
        with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
            _status(f"https://{secure}/trust", ssl.create_default_context())
        assert _status(f"https://{secure}/trust", trusting, host=plain) == 421
        log, none = f"https://{secure}/api/log", b'{"entries": []}'
        assert _status(log, trusting, data=none, origin=f"http://{plain}") == 403
        assert _status(log, trusting, data=none, origin=f"https://{secure}") == 200


def _status(
    address: str,
    context: ssl.SSLContext | None = None,
    *,
    data: bytes | None = None,
    host: str = "",
    origin: str = "",
) -> int:
    headers = {"content-type": "application/json"} if data else {}
    headers |= {"host": host} if host else {}
    headers |= {"origin": origin} if origin else {}
    try:
        request = urllib.request.Request(address, data, headers)
        with urllib.request.urlopen(request, timeout=20, context=context) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as error:
        return error.code


def test_a_key_of_another_authority_is_not_signed_with(tmp_path: Path) -> None:
    """Old certificate, new key, as a crash between the two leaves them: both are made anew."""
    folder, other = tmp_path / "one", tmp_path / "other"
    old = open_authority(folder, now_s=NOW_S)
    open_authority(other, now_s=NOW_S)
    (other / "authority.key").replace(folder / "authority.key")
    new = open_authority(folder, now_s=NOW_S)
    assert new.certificate_der != old.certificate_der
    certificate = x509.load_der_x509_certificate(new.certificate_der)
    key = load_pem_private_key((folder / "authority.key").read_bytes(), None)
    assert certificate.public_key() == key.public_key()
    assert open_authority(folder, now_s=NOW_S).certificate_der == new.certificate_der
