"""Joining in a real browser: where it leads, and where it never does."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import PHONE, Screens


def _join(screens: Screens, query: str) -> Page:
    """Type a fresh code at /join with this query."""
    page = screens.open("/people", size=PHONE)
    page.get_by_label("Name or call sign").fill("Ash")
    page.get_by_role("button", name="Make a join code").click()
    code = page.locator("#new-code strong").inner_text()
    page.goto(f"{screens.served.address}/join{query}")
    page.get_by_label("Join code").fill(code)
    page.get_by_role("button", name="Join").click()
    return page


@pytest.mark.parametrize(("query", "there"), [("", "/"), ("?crew=c1", "/crew/c1")])
def test_joining_leads_to_the_crew_that_was_scanned(
    screens: Screens, query: str, there: str
) -> None:
    """With a crew's code scanned before: to its page. Without: to the first page."""
    page = _join(screens, query)
    expect(page).to_have_url(f"{screens.served.address}{there}")
    expect(page.locator("h1")).to_be_visible()


def test_no_crew_leads_away(screens: Screens) -> None:
    """An address in the crew's place stays a name: the page after joining is of this app."""
    page = _join(screens, "?crew=..%2F..%2F..%2Fpeople%3Fx")
    expect(page).to_have_url(re.compile(f"^{screens.served.address}/crew/"))
    screens.watched.complaints.clear()  # the server refuses that name, as it should: 400
