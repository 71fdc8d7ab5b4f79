"""What every page is held to: clean by axe, on a phone and at a desk, by day and by night."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from browser.conftest import DESK, PHONE, Screens
from browser_checks import axe_findings, small_targets, wider_than_screen
from stillwet.web.app import all_doors

PAGES = [door.path for door in all_doors() if not door.says and "{" not in door.path]


@pytest.mark.parametrize("path", PAGES)
def test_page_is_clean_and_fits(screens: Screens, path: str) -> None:
    """No finding by WCAG 2.2 AA; nothing scrolls sideways at 360 px; targets for gloves."""
    for size, light in ((PHONE, "light"), (DESK, "dark")):
        page = screens.open(path, size=size, light=light)
        page.wait_for_load_state("load")
        assert axe_findings(page) == []
        assert wider_than_screen(page) == 0
        assert small_targets(page) == []


def test_letting_somebody_in_shows_the_code_once(screens: Screens) -> None:
    """The code stands on the page that made it; after a reload only the name does."""
    page = screens.open("/people")
    page.get_by_label("Name or call sign").fill("<b>Ash</b>")
    page.get_by_role("button", name="Make a join code").click()
    code = page.locator("#new-code strong").inner_text()
    assert len(code.split("-")) == 4
    expect(page.locator("#people")).to_contain_text("<b>Ash</b>")
    page.reload()
    expect(page.locator("#people")).to_contain_text("<b>Ash</b>")
    assert code not in page.content()
    page.get_by_role("button", name="Let <b>Ash</b> out").click()
    expect(page.locator("#people")).to_contain_text("let out")
