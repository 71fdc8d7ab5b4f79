"""The wet board in real browsers."""

from __future__ import annotations

import json
import re
import time
import urllib.request
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.conftest import PHONE, Clock, Screens, Served, Watched, free_port
from browser_checks import axe_findings, small_targets, wider_than_screen
from job_fixture import make_asset
from stillwet.web.workers import Worker
from store_fixture import kept_job
from web_fixture import NOW_S, coat_entry, yard_job

WALL = "#face-a1\\/north-wall"


def _log(served: Served, *entries: dict[str, Any]) -> float:
    """Log entries as a program on this machine would; returns the moment of the answer."""
    request = urllib.request.Request(
        f"{served.address}/api/log",
        json.dumps({"entries": entries}).encode(),
        {"content-type": "application/json", "origin": served.address},
    )
    with urllib.request.urlopen(request, timeout=20) as answer:
        assert {one["became"] for one in json.load(answer)["entries"]} == {"kept"}
    return time.monotonic()


def _board(screens: Screens, **options: Any) -> Page:
    page = screens.open("/board", **options)
    expect(page.locator(WALL)).to_be_visible()
    return page


def test_board_shows_every_face_and_the_map(screens: Screens) -> None:
    """Every planned face has its row, worst first; clock in the job's zone; the map is drawn."""
    page = _board(screens)
    faces = page.request.get(f"{screens.served.address}/api/board").json()["faces"]
    expect(page.locator(".face")).to_have_count(len(faces))
    expect(page.locator("#clock")).to_have_text("09:00")
    expect(page.locator("#map canvas").first).to_be_visible()
    expect(page.locator(".ol-scale-line-inner")).to_contain_text("ft")
    shown = [row.get_attribute("data-state") for row in page.locator(".face").all()]
    assert shown == [one["state"] for one in faces]


def test_a_coat_is_on_both_screens_at_once(screens: Screens) -> None:
    """Two browsers; a third party logs a coat; both show it long before they ask by themselves.

    How fast is measured in benchmarks, not here: left alone, a screen asks once a minute.
    """
    pages = [_board(screens), _board(screens, size=PHONE)]
    for page in pages:
        expect(page.locator(WALL)).to_contain_text("no coat logged")
    kept_at = _log(screens.served, coat_entry())
    for page in pages:
        page.locator(WALL).filter(has_text="left of").wait_for()
    assert time.monotonic() - kept_at < 30.0


def test_scrubber_tells_what_will_be_left(screens: Screens) -> None:
    """Moved on by four hours the board says that it is not now, and less water is left."""
    _log(screens.served, coat_entry())
    page = _board(screens)
    slider = page.locator("#scrub")
    expect(slider).to_be_enabled()
    slider.fill("240")
    expect(page.locator("#board-state")).to_contain_text("This is what will be left at Fri 13:00")
    page.get_by_role("button", name="Back to now").click()
    expect(page.locator("#board-state")).to_be_empty()
    expect(page.locator("#scrub-time")).to_have_text("now")


def test_alarms_in_words_until_heard(screens: Screens) -> None:
    """A thin coat raises an alarm in words; marked as heard it stays, and is quiet."""
    page = _board(screens)
    _log(screens.served, coat_entry(coat="1 mm"))
    alarm = page.locator('.alarm[data-kind="below demand before fire"]')
    expect(alarm).to_contain_text("1 face too dry before the fire")
    expect(alarm).to_contain_text("north wall")
    expect(alarm.locator("svg")).to_have_count(1)
    alarm.get_by_role("button", name="Heard").click()
    expect(alarm.get_by_role("button", name="Heard; still so")).to_be_disabled()


def test_units_and_light_switch_at_once_and_stay(screens: Screens) -> None:
    """Inches become millimetres without a reload; night stays night on the next page."""
    _log(screens.served, coat_entry())
    page = _board(screens)
    expect(page.locator(WALL)).to_contain_text(" in left of")
    page.get_by_label("Metric").check(force=True)
    expect(page.locator(WALL)).to_contain_text(" mm left of")
    page.get_by_label("Night").check(force=True)
    page.goto(f"{screens.served.address}/")
    assert page.locator("html").get_attribute("data-light") == "night"
    assert page.locator("html").get_attribute("data-units") == "metric"


def test_long_names_stay_on_a_phone(
    tmp_path: Path, worker: Worker, chromium: Browser, watched: Watched
) -> None:
    """Seventy letters without a space, as names of files have them: nothing scrolls sideways."""
    shed = make_asset(id="a2", name="W" * 70, kind="shed", x_m=60.0, y_m=20.0)
    served = Served(
        kept_job(tmp_path, yard_job(assets=(make_asset(), shed))), Clock(), free_port(), worker
    )
    served.start()
    screens = Screens(chromium, served, watched)
    page = screens.open("/board", size=PHONE)
    expect(page.locator(".face-name", has_text="WWW").first).to_be_visible()
    assert wider_than_screen(page) == 0
    screens.contexts[0].close()
    served.stop()


@pytest.mark.parametrize("light", ["light", "dark"])
def test_what_cannot_be_pressed_can_be_read(screens: Screens, light: str) -> None:
    """WCAG 2.2 asks nothing of a disabled button; here its word has 4.5 to 1 all the same."""
    page = screens.open("/join", light=light)
    page.evaluate("document.querySelector('button.main').disabled = true")
    page.wait_for_timeout(300)  # its colours change slowly
    found = page.evaluate(
        "() => { const look = getComputedStyle(document.querySelector('button.main'));"
        " return [look.color, look.backgroundColor]; }"
    )
    bright, dark = sorted((_luminance(one) for one in found), reverse=True)
    assert (bright + 0.05) / (dark + 0.05) >= 4.5


def _luminance(colour: str) -> float:
    """Relative luminance of "rgb(r, g, b)", as WCAG 2.2 defines it."""
    parts = [int(one) / 255 for one in re.findall(r"\d+", colour)[:3]]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_board_is_clean_by_axe_fits_a_phone_and_a_glove(screens: Screens) -> None:
    """No finding by WCAG 2.2 AA, day and night, desk and phone; nothing sideways; big targets."""
    _log(screens.served, coat_entry(), coat_entry("a2/north-wall", coat="1 mm"))
    for size in (None, PHONE):
        for light in ("light", "dark"):
            page = _board(screens, size=size, light=light)
            expect(page.locator("#map canvas").first).to_be_visible()
            assert axe_findings(page) == []
            assert wider_than_screen(page) == 0
            assert small_targets(page) == []


def test_board_by_keyboard_alone(screens: Screens) -> None:
    """From the top of the page to the content and along the slider with keys only."""
    page = _board(screens)
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    page.keyboard.press("Enter")
    page.locator("#scrub").focus()
    page.keyboard.press("PageUp")
    expect(page.locator("#scrub-time")).not_to_have_text("now")
    page.keyboard.press("Home")
    expect(page.locator("#scrub-time")).to_have_text("now")


def test_screen_says_when_the_server_is_gone_and_catches_up(
    screens: Screens, served: Served
) -> None:
    """Server stopped: the page says so. Started again with a coat logged meanwhile: it is there."""
    page = _board(screens)
    served.stop()
    expect(page.locator("#line-state")).to_contain_text("No connection")
    served.clock.now_s = NOW_S + 60.0
    served.start()
    _log(served, coat_entry())
    expect(page.locator(WALL)).to_contain_text("left of")
    expect(page.locator("#line-state")).to_be_empty()
    screens.watched.complaints.clear()  # the browser tells of each try that nobody answered
