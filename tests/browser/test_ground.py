"""The ground under the maps in a real browser: drawn, switched, dimmed, printed, or not there."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader

from browser.conftest import DESK, PHONE, Clock, Screens, Served, Watched, free_port
from browser_checks import axe_findings, small_targets, wider_than_screen
from stillwet.services.ground import open_ground
from stillwet.web.workers import Worker
from tiles_fixture import GREEN, make_png, write_mbtiles, write_pmtiles
from web_fixture import kept_yard

Colour = tuple[int, int, int]
Opens = Callable[[str], Screens]
SHEET = (255, 253, 246)  # of the page by day
DAY_INK, NIGHT_INK = (29, 38, 41), (240, 233, 216)
NAME, CREDIT = "Invented air photo", "Invented <b>survey</b>"
WORLD = [(3, x, y) for x in range(8) for y in range(8)]


@pytest.fixture
def opens(tmp_path: Path, worker: Worker, chromium: Browser, watched: Watched) -> Iterator[Opens]:
    """Screens of a server with a base map of one green, "both" with a grey hillshade, or "away"."""
    opened: list[tuple[Screens, Served]] = []

    def open_one(what: str) -> Screens:
        words = {"bounds": "10,10,20,20"} if what == "away" else {}
        green = dict.fromkeys(WORLD, make_png(GREEN, 8))
        base = write_mbtiles(
            tmp_path / f"{what}.mbtiles", green, name=NAME, attribution=CREDIT, **words
        )
        grey = dict.fromkeys(WORLD, make_png((120, 120, 120), 8))
        slopes = write_pmtiles(tmp_path / f"{what}.pmtiles", grey, name="Invented slopes")
        ground = open_ground(base, slopes if what == "both" else None)
        served = Served(kept_yard(tmp_path), Clock(), free_port(), worker, ground)
        served.start()
        opened.append((Screens(chromium, served, watched), served))
        return opened[-1][0]

    yield open_one
    for screens, served in opened:
        for context in screens.contexts:
            context.close()
        served.stop()


def _share(page: Page, colour: Colour) -> float:
    """How much of the map has this colour, give or take four steps."""
    seen = Image.open(io.BytesIO(page.locator("#map").screenshot())).convert("RGB")
    off = np.abs(np.asarray(seen, dtype=int) - np.array(colour)).max(axis=2)
    return float((off <= 4).mean())


def _wait_share(page: Page, colour: Colour, least: float, most: float = 1.0) -> None:
    for _ in range(100):
        share = _share(page, colour)
        if least <= share <= most:
            return
        page.wait_for_timeout(100)
    pytest.fail(f"{share:.2f} of the map has the colour {colour}, wanted {least} to {most}")


def _over(strength: float, colour: Colour, sheet: Colour) -> Colour:
    mixed = [
        round(strength * one + (1 - strength) * s) for one, s in zip(colour, sheet, strict=True)
    ]
    return (mixed[0], mixed[1], mixed[2])


def _board(screens: Screens, **options: object) -> Page:
    page = screens.open("/board", **options)  # type: ignore[arg-type]
    expect(page.locator("#map canvas").first).to_be_visible()
    expect(page.locator(".ground")).to_be_visible()
    return page


def test_a_made_tile_is_drawn_and_switched_by_keyboard(opens: Opens) -> None:
    """Green ground at its usual strength; off by Space, stronger by an arrow; a reload keeps both.

    The desk shows the same choice.
    """
    page = _board(screens := opens("base"))
    usual = _over(0.7, GREEN, SHEET)
    _wait_share(page, usual, 0.5)
    expect(page.locator(".ground-credit")).to_have_text("Invented survey")
    page.locator("#map").focus()
    for _ in range(3):  # past both buttons of the zoom
        page.keyboard.press("Tab")
    switch = page.get_by_label(f"Base map: {NAME}")
    expect(switch).to_be_focused()
    page.keyboard.press("Space")
    _wait_share(page, usual, 0.0, 0.01)
    _wait_share(page, SHEET, 0.5)
    expect(page.locator(".ground-credit")).to_be_hidden()
    page.keyboard.press("Tab")
    expect(page.get_by_label("How strong the ground is drawn")).to_be_focused()
    page.keyboard.press("ArrowRight")
    page.reload()
    expect(switch).not_to_be_checked()
    switch.check()
    _wait_share(page, _over(0.8, GREEN, SHEET), 0.5)
    page.goto(f"{screens.served.address}/desk#protect")
    expect(page.get_by_label("How strong the ground is drawn")).to_have_value("80")


def test_two_layers_lie_one_on_the_other(opens: Opens) -> None:
    """Both are named as their files do; a hillshade darkens the base map under it."""
    page = _board(opens("both"))
    expect(page.locator(".ground-switch")).to_have_text(
        [f"Base map: {NAME}", "Hillshade: Invented slopes"]
    )
    _wait_share(page, _over(0.7, GREEN, SHEET), 0.0, 0.01)
    page.get_by_label("Hillshade: Invented slopes").uncheck()
    _wait_share(page, _over(0.7, GREEN, SHEET), 0.5)


def test_ground_that_lies_elsewhere_says_so(opens: Opens) -> None:
    """A file whose bounds are far away: words beside the map, and the map as without it."""
    page = _board(opens("away"))
    expect(page.locator(".ground-says")).to_have_text(f"{NAME} does not reach here.")
    assert _share(page, SHEET) > 0.5


def test_without_files_there_is_nothing_of_it(screens: Screens) -> None:
    """No switches, no credit, no tile asked for."""
    asked: list[str] = []
    page = screens.open("/")
    page.on("request", lambda one: asked.append(one.url))
    with page.expect_response("**/api/ground"):
        page.goto(f"{screens.served.address}/board")
    expect(page.locator("#map canvas").first).to_be_visible()
    expect(page.locator(".ground, .ground-credit")).to_have_count(0)
    assert not [one for one in asked if "/tiles/" in one]


def test_by_night_the_ground_is_dim_and_marks_change_at_once(opens: Opens) -> None:
    """Switched to night: words of the map turn from dark to pale, and the ground is darker."""
    page = _board(opens("base"))
    _wait_share(page, _over(0.7, GREEN, SHEET), 0.5)
    _wait_share(page, DAY_INK, 0.0002)
    page.get_by_label("Night").check(force=True)
    _wait_share(page, _over(0.7, GREEN, SHEET), 0.0, 0.01)
    _wait_share(page, NIGHT_INK, 0.0002)
    seen = Image.open(io.BytesIO(page.locator("#map").screenshot())).convert("L")
    assert np.median(np.asarray(seen)) < 70  # by day some 150 of 255


def test_board_with_ground_is_clean_by_axe_and_fits(opens: Opens) -> None:
    """As every page: no finding by WCAG 2.2 AA, nothing sideways, targets for gloves."""
    screens = opens("both")
    for size, light in ((DESK, "light"), (DESK, "dark"), (PHONE, "light"), (PHONE, "dark")):
        page = _board(screens, size=size, light=light)
        assert axe_findings(page) == []
        assert wider_than_screen(page) == 0
        assert small_targets(page) == []


def test_the_map_prints_with_its_ground_and_credit(opens: Opens) -> None:
    """From a dark screen: the tiles are on the sheet, with whose they are."""
    page = _board(opens("base"), light="dark")
    page.wait_for_function("document.querySelector('#map').dataset.ground === 'base-map'")
    page.wait_for_load_state("networkidle")
    sheets = PdfReader(io.BytesIO(page.pdf(format="Letter"))).pages
    pictures = [one.image for sheet in sheets for one in sheet.images if one.image is not None]
    found = [one.convert("RGB").getpixel((0, 0)) for one in pictures if one.size == (8, 8)]
    assert GREEN in found
    assert any("Invented survey" in sheet.extract_text() for sheet in sheets)


def test_scale_bar_is_true_in_both_units(screens: Screens) -> None:
    """Outside check: a pixel at zoom 17 is 1.194328566955879 m at the equator.

    Well-known scale set GoogleMapsCompatible, WMTS 1.0.0 (OGC 07-057r7), annex E.4; times the
    cosine of the latitude.
    """
    page = screens.open("/desk#protect")
    expect(page.locator("body[data-ready=yes]")).to_be_attached()
    page.get_by_label("Go to latitude, longitude").fill("60, 10")
    page.get_by_role("button", name="Go", exact=True).click()
    bar = page.locator(".ol-scale-line-inner")
    for switch, unit_m in (("Metric", 1.0), ("US", 0.3048)):
        page.get_by_label(switch, exact=True).check(force=True)
        expect(bar).to_have_text(re.compile(r"^\d+ (m|ft)$"))
        expect(bar).to_contain_text("m" if unit_m == 1.0 else "ft")
        wide = float(bar.evaluate("one => parseFloat(one.style.width)"))
        told_m = float(bar.inner_text().split()[0]) * unit_m
        assert told_m / wide == pytest.approx(
            1.194328566955879 * math.cos(math.radians(60.0)), rel=0.01
        )
