"""HTTPS with the authority of this machine, in a browser that has or has not installed it.

The browser's own store of authorities is filled as a person would fill it (certutil); the server
has a name of the local network, as phones know it, that leads to this machine.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, BrowserType, Error, Page, expect

from browser.conftest import CHROMIUM, FLAGS, Clock, Watched
from https_fixture import served_together, two_sockets
from phone_fixture import CREW, kept_crewed_yard
from stillwet.services.authority import Authority, issue, open_authority
from stillwet.services.logbook import log_of
from stillwet.web.house import House, Place
from web_fixture import Inline

NAME = "station.local"
POCKET = {"width": 390, "height": 844}
STATE = "#outbox-state"
OUTSIDE = "www.example.org"  # RFC 2606: nobody's
CERTUTIL = shutil.which("certutil")
needs_store = pytest.mark.skipif(CERTUTIL is None, reason="no certutil: make browser installs it")


@dataclass(frozen=True)
class Both:
    """A job served plain and by HTTPS."""

    plain: str
    secure: str
    path: Path
    authority: Authority


class NoBoard:
    """A desk that reckons nothing: the phone asks for no board."""

    def board_json(self, *_asked: object) -> dict[str, object]:
        """Nothing, at once."""
        return {}


@contextmanager
def _served(path: Path, made: Authority, *more_names: str) -> Iterator[Both]:
    cert, _left = issue(made, [NAME, *more_names], now_s=time.time())
    listening, plain, secure = two_sockets(NAME)
    place = Place(frozenset({plain}), is_network=True, secure_hosts=frozenset({secure}))
    house = House(path, place, clock=Clock(), desk=Inline(NoBoard()), authority=made)
    with served_together(house, cert, listening):
        yield Both(f"http://{plain}", f"https://{secure}", path, made)


@pytest.fixture
def authority(tmp_path: Path) -> Authority:
    """An authority made for this test."""
    return open_authority(tmp_path / "authority", now_s=time.time())


@pytest.fixture
def both(tmp_path: Path, authority: Authority) -> Iterator[Both]:
    """The yard with its crew plan, plain and by HTTPS."""
    with _served(kept_crewed_yard(tmp_path), authority) as found:
        yield found


@contextmanager
def _browser(
    kind: BrowserType, home: Path, installed: Authority | None = None
) -> Iterator[Browser]:
    """A browser of somebody's own, who may have installed the authority."""
    home.mkdir()
    if installed is not None:
        _install(home, installed)
    browser = kind.launch(
        executable_path=CHROMIUM,
        args=[*FLAGS, f"--host-resolver-rules=MAP {NAME} 127.0.0.1"],
        env={**os.environ, "HOME": str(home)},
    )
    yield browser
    browser.close()


def _install(home: Path, authority: Authority) -> None:
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    certificate = home / "authority.crt"
    certificate.write_bytes(authority.certificate_der)
    assert CERTUTIL is not None
    where = ["-d", f"sql:{store}"]
    for step in (["-N", "--empty-password"], ["-A", "-n", "a", "-t", "C,,", "-i", certificate]):
        subprocess.run([CERTUTIL, *where, *step], check=True, capture_output=True, timeout=60)


def _context(browser: Browser, watched: Watched, address: str) -> BrowserContext:
    context = browser.new_context(viewport=POCKET)  # type: ignore[arg-type]
    context.set_default_timeout(30_000)
    watched.over(context, address)
    return context


def _phone(context: BrowserContext, address: str) -> Page:
    page = context.new_page()
    page.goto(f"{address}/crew/{CREW}")
    page.wait_for_selector("body[data-ready]")
    return page


def _log_coat(page: Page) -> None:
    page.locator("[data-verb=coat]").click()
    page.get_by_role("button", name="Save", exact=True).click()


def _only_no_network(watched: Watched) -> None:
    """The browser tells of each try that nobody answered, and of a header that asks for HTTPS."""
    usual = ("Failed to load resource", "The Cross-Origin-Opener-Policy header has been ignored")
    assert [one for one in watched.complaints if not one.startswith(usual)] == []
    watched.complaints.clear()


@needs_store
def test_with_the_authority_the_page_works_without_a_network(
    chromium: Browser, both: Both, watched: Watched, tmp_path: Path
) -> None:
    """No warning; the worker is there; closed and opened offline; what was written is sent once."""
    with _browser(chromium.browser_type, tmp_path / "home", both.authority) as browser:
        context = _context(browser, watched, both.secure)
        page = _phone(context, both.secure)
        assert page.evaluate("isSecureContext")
        expect(page.locator("#offline-state")).to_contain_text("works without a network, also")
        assert page.evaluate("navigator.serviceWorker.ready.then((one) => one.active !== null)")
        context.set_offline(True)
        _log_coat(page)
        expect(page.locator(STATE)).to_contain_text("1 entry saved here, not sent yet")
        page.close()
        page = _phone(context, both.secure)
        expect(page.locator(STATE)).to_contain_text("1 entry saved here, not sent yet")
        expect(page.locator("#stop")).to_contain_text("MUST: Invented house")
        context.set_offline(False)
        expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
        assert len(log_of(both.path)) == 1
    _only_no_network(watched)


def test_without_the_authority_the_page_is_refused(
    chromium: Browser, both: Both, watched: Watched, tmp_path: Path
) -> None:
    """A browser that knows nothing of it shows nothing of the job by HTTPS."""
    with _browser(chromium.browser_type, tmp_path / "home") as browser:
        page = _context(browser, watched, both.secure).new_page()
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            page.goto(f"{both.secure}/crew/{CREW}")
        expect(page.locator("body")).not_to_contain_text("Invented")


@needs_store
def test_the_browser_holds_the_authority_to_local_names(
    chromium: Browser,
    authority: Authority,
    watched: Watched,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Installed, and made to sign for a site of the internet as well: the browser refuses it."""
    monkeypatch.setattr("stillwet.services.authority.is_local", lambda _name: True)
    with (
        _served(kept_crewed_yard(tmp_path), authority, OUTSIDE) as both,
        _browser(chromium.browser_type, tmp_path / "home", authority) as browser,
    ):
        page = _context(browser, watched, both.secure).new_page()
        with pytest.raises(Error, match="ERR_CERT_INVALID"):
            page.goto(f"{both.secure}/crew/{CREW}")


def test_a_plain_page_says_that_it_waits_only_while_it_is_open(
    chromium: Browser, both: Both, watched: Watched, tmp_path: Path
) -> None:
    """By HTTP from a name of the network: no worker, told so; open, it still sends what waited."""
    with _browser(chromium.browser_type, tmp_path / "home") as browser:
        context = _context(browser, watched, both.plain)
        page = _phone(context, both.plain)
        assert not page.evaluate("isSecureContext")
        assert not page.evaluate("'serviceWorker' in navigator")
        told = page.locator("#offline-state")
        expect(told).to_contain_text("as long as it stays open")
        expect(told).to_contain_text("Closed, it opens again only with a network")
        context.set_offline(True)
        _log_coat(page)
        expect(page.locator(STATE)).to_contain_text("1 entry saved here, not sent yet")
        context.set_offline(False)
        expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
        assert len(log_of(both.path)) == 1
    _only_no_network(watched)
