"""The lines in a real browser: the figure follows the log, and all of it without a mouse."""

from __future__ import annotations

import json
import re
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from browser.conftest import PHONE, Clock, Screens, Served, Watched, free_port
from browser_checks import (
    axe_findings,
    lose_the_first_answer,
    small_targets,
    wider_than_screen,
)
from line_fixture import make_line, make_line_job
from stillwet.services.logbook import log_of
from stillwet.web.workers import Worker
from store_fixture import kept_job
from web_fixture import NOW_S, kept_line, stretch_entry, yard_job

FIRST = 'tr[data-segment="l1/s0"]'


@pytest.fixture
def served(tmp_path: Path, worker: Worker) -> Iterator[Served]:
    """A burn line of two segments, kept and planned, served at 09:00 of its day."""
    found = Served(kept_line(tmp_path), Clock(), free_port(), worker)
    found.start()
    yield found
    found.stop()


def _log(served: Served, *entries: dict[str, Any]) -> float:
    request = urllib.request.Request(
        f"{served.address}/api/log",
        json.dumps({"entries": entries}).encode(),
        {"content-type": "application/json", "origin": served.address},
    )
    with urllib.request.urlopen(request, timeout=20) as answer:
        assert {one["became"] for one in json.load(answer)["entries"]} == {"kept"}
    return time.monotonic()


def _line(screens: Screens, **options: Any) -> Page:
    page = screens.open("/line", **options)
    expect(page.locator(".line-figure")).to_be_visible()
    return page


def test_a_logged_segment_moves_the_figure_on_every_screen(screens: Screens) -> None:
    """Somebody else logs a wetted segment: figure and table show it before they ask themselves."""
    pages = [_line(screens), _line(screens, size=PHONE)]
    for page in pages:
        expect(page.locator(".line-figure .fig-done-wet")).to_have_count(0)
    kept_at = _log(screens.served, stretch_entry("wetted", "l1/s0", when_s=NOW_S - 60))
    for page in pages:
        expect(page.locator(".line-figure .fig-done-wet")).to_have_count(1)
        expect(page.locator(FIRST)).to_contain_text("all")
    assert time.monotonic() - kept_at < 10.0


def test_lag_exceeded_alarms_as_time_passes(screens: Screens) -> None:
    """Wet at first; the server's clock goes on, and the page says that the lag is exceeded."""
    begun = stretch_entry("wetted", "l1/s0", when_s=NOW_S - 60, up_to="0 ft")
    _log(screens.served, begun, stretch_entry("wetted", "l1/s0", when_s=NOW_S, up_to="20 ft"))
    page = _line(screens)
    expect(page.locator(FIRST)).to_have_attribute("data-state", re.compile("wet|light it soon"))
    screens.served.clock.now_s += 3 * 3600.0
    page.reload()
    expect(page.locator('.alarm[data-kind="lag exceeded"]')).to_contain_text("LAG EXCEEDED since")
    verdict = page.locator(".line-verdict")
    expect(verdict).to_contain_text("The plan's verdict, made")
    expect(verdict).to_contain_text("The lag is exceeded")
    expect(verdict).to_contain_text("does not count what was logged: HOLDS")
    page.get_by_role("button", name="Heard").click()
    expect(page.get_by_role("button", name="Heard; still so")).to_be_disabled()


def test_a_verdict_without_an_alarm_is_the_plans(screens: Screens) -> None:
    """Nothing logged: it is told whose verdict it is, and nothing of a lag."""
    verdict = _line(screens).locator(".line-verdict")
    expect(verdict).to_contain_text("The plan's verdict, made")
    expect(verdict).not_to_contain_text("exceeded")


@pytest.mark.parametrize(
    ("has_line", "told"), [(True, "Press Reckon the lines"), (False, "Draw one")]
)
def test_what_to_do_before_the_lines_are_reckoned(
    tmp_path: Path, worker: Worker, chromium: Browser, watched: Watched, has_line: bool, told: str
) -> None:
    """No plan of lines yet: the heading before lighting says what to press, or what to draw."""
    lines = {"lines": make_line_job(make_line()).lines} if has_line else {}
    served = Served(kept_job(tmp_path, yard_job(**lines)), Clock(), free_port(), worker)
    served.start()
    screens = Screens(chromium, served, watched)
    page = screens.open("/line")
    before = page.locator("#line-cautions")
    expect(before).to_contain_text(told)
    expect(before).to_contain_text("order of the burn boss")
    assert page.locator("#reckon").is_disabled() is not has_line
    assert axe_findings(page) == []
    screens.contexts[0].close()
    served.stop()


def test_logging_and_taking_back_by_keyboard_alone(screens: Screens) -> None:
    """Fill in the form with keys, send it with Enter, take it back with a key."""
    page = _line(screens)
    page.get_by_label("Who writes").focus()
    page.keyboard.type("Ash")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("now")
    page.keyboard.press("Enter")
    expect(page.locator("#told-state")).to_contain_text("Logged: wet to the end of From 0")
    expect(page.locator(FIRST)).to_contain_text("all")
    page.get_by_role("button", name="take it back").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#told-state")).to_contain_text("Taken back")
    expect(page.locator(FIRST)).to_have_attribute("data-state", "not begun")


def test_a_bad_distance_is_told_and_nothing_is_lost(screens: Screens) -> None:
    """What is wrong stands under the form, and what was typed is still there."""
    page = _line(screens)
    page.get_by_label("Who writes").fill("Ash")
    page.get_by_label("How far").select_option("part")
    page.get_by_label("Distance into it").fill("a bit")
    page.get_by_role("button", name="Log it").click()
    expect(page.locator("#told-state")).to_contain_text("NOT logged: up_to: wanted")
    expect(page.get_by_label("Distance into it")).to_have_value("a bit")


def test_an_answer_that_got_lost_doubles_nothing(screens: Screens, served: Served) -> None:
    """The log has the entry but nobody heard so: pressed again, it is the same entry."""
    page = _line(screens)
    lost = lose_the_first_answer(page)
    page.get_by_label("Who writes").fill("Ash")
    page.get_by_role("button", name="Log it").click()
    expect(page.locator("#told-state")).to_contain_text("NOT logged: the server does not answer")
    page.get_by_role("button", name="Log it").click()
    expect(page.locator("#told-state")).to_contain_text("That was logged already.")
    assert "kept" in lost[0]
    assert len(log_of(served.path)) == 1
    screens.watched.complaints.clear()  # the browser's own word on the answer that was lost


def test_line_is_clean_by_axe_fits_a_phone_and_a_glove(screens: Screens) -> None:
    """No finding by WCAG 2.2 AA, day and night, desk and phone; nothing sideways; big targets."""
    _log(screens.served, stretch_entry("wetted", "l1/s0", when_s=NOW_S - 7200))
    for size in (None, PHONE):
        for light in ("light", "dark"):
            page = _line(screens, size=size, light=light)
            expect(page.locator(".alarm")).to_be_visible()
            assert axe_findings(page) == []
            assert wider_than_screen(page) == 0
            assert small_targets(page) == []


def test_units_switch_without_a_reload(screens: Screens) -> None:
    """Feet become metres in the table and in what the form asks for."""
    page = _line(screens)
    expect(page.locator(FIRST)).to_contain_text("0 to 262 ft")
    page.get_by_label("Metric").check(force=True)
    expect(page.locator(FIRST)).to_contain_text("0 to 80 m")
    assert page.get_by_label("Distance into it").get_attribute("placeholder") == "60 m"
