"""The desk in a real browser: from an empty job file to a plan, with nothing typed lost."""

from __future__ import annotations

import io
import re
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader

from browser.conftest import DESK, PHONE, Clock, Screens, Served, Watched
from browser_checks import axe_findings, small_targets, wider_than_screen
from draft_fixture import TEXTS, WEATHER, WRITER, empty_draft, whole_draft
from stillwet.services.drafting import look_at_draft
from stillwet.web.workers import Worker

STEPS = ("where", "protect", "weather", "fire", "mix", "crews", "rules", "plan")


def _served(path: Path, worker: Worker) -> Served:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port = int(probe.getsockname()[1])
    found = Served(path, Clock(), port, worker)
    found.start()
    return found


@pytest.fixture
def empty(tmp_path: Path, worker: Worker, chromium: Browser, watched: Watched) -> Iterator[Screens]:
    """Screens of a server whose job file holds no job."""
    served = _served(empty_draft(tmp_path), worker)
    screens = Screens(chromium, served, watched)
    yield screens
    for context in screens.contexts:
        context.close()
    served.stop()


@pytest.fixture
def whole(tmp_path: Path, worker: Worker, chromium: Browser, watched: Watched) -> Iterator[Screens]:
    """Screens of a server with a whole draft that is not planned yet."""
    served = _served(whole_draft(tmp_path), worker)
    screens = Screens(chromium, served, watched)
    yield screens
    for context in screens.contexts:
        context.close()
    served.stop()


def _desk(screens: Screens, step: str = "where", **options: object) -> Page:
    page = screens.open(f"/desk#{step}", **options)  # type: ignore[arg-type]
    expect(page.locator("body[data-ready=yes]")).to_be_attached()
    return page


def _step(page: Page, step: str) -> None:
    page.locator(f"#steps a[href='#{step}']").click()
    expect(page.locator(f"#steps a[href='#{step}']")).to_have_attribute("aria-current", "step")


def _type(page: Page, label: str, text: str) -> None:
    """Type into a field, or choose in it, and leave it."""
    field = page.get_by_label(label, exact=True).locator("visible=true").first
    if field.evaluate("one => one.tagName") == "SELECT":
        field.select_option(text)
    else:
        field.fill(text)
        field.blur()


def _kept(page: Page) -> None:
    expect(page.locator("#desk-state")).to_have_text("All that is typed is kept in the job file.")


def _type_where(page: Page) -> None:
    _type(page, "Name of the job", TEXTS["job.name"])
    _type(page, "Time zone", TEXTS["job.time_zone"])
    _type(page, "Earliest time a crew can spray", TEXTS["job.start"])
    page.locator(".more summary").first.click()
    _type(page, "Weathers and coats drawn", "16")


def _draw_asset(page: Page) -> None:
    page.get_by_label("Go to latitude, longitude").fill("39.75, -105.2")
    page.get_by_role("button", name="Go", exact=True).click()
    page.get_by_role("button", name="Place an asset").click()
    page.locator("#map canvas").first.click(position={"x": 200, "y": 200})
    _type(page, "Kind", "house")
    taken = page.locator("[data-field=eave_height] .field-taken")
    expect(taken).to_contain_text("untested default")
    expect(taken).to_contain_text("ft")


def _bring_weather(page: Page, folder: Path) -> None:
    weather = folder / "weather.csv"
    weather.write_bytes(WEATHER)
    page.locator("#file-weather").set_input_files(weather)
    expect(page.locator(".file-state").first).to_have_text("weather.csv is here.")
    _type(page, "Time zone of the file's stamps", TEXTS["weather.time_zone"])
    _type(page, "Latitude", TEXTS["weather.latitude"])
    _type(page, "Longitude", TEXTS["weather.longitude"])
    _type(page, "Height above the sea", TEXTS["weather.elevation"])
    _type(page, "Height of the wind", TEXTS["weather.wind_height"])


def _type_fire(page: Page) -> None:
    _type(page, "Kind of fire", "brush fire")
    _type(page, "Earliest arrival", TEXTS["fire.arrival_from"])
    _type(page, "Latest arrival", TEXTS["fire.arrival_to"])


def _type_mix(page: Page) -> None:
    _type(page, "Short name", "clear")
    _type(page, "Kind of product", "superabsorbent_dispersion")
    _type(page, "Leanest mix on the label", "0.5 %")
    _type(page, "Richest mix on the label", "2 %")
    _type(page, "Percent by", "volume")
    _type(page, "Concentrate in one pack", "5 gal")


def _add_crew(page: Page) -> None:
    page.get_by_role("button", name="Add a crew").click()
    _type(page, "Tank", "750 gal")
    _type(page, "Spray flow", "30 gal/min")
    page.get_by_role("button", name="Add a water point").click()
    _type(page, "Latitude", "39.7505")
    _type(page, "Longitude", "-105.199")
    _type(page, "Fill flow", "250 gal/min")


def test_from_an_empty_file_to_a_printed_packet(empty: Screens, tmp_path: Path) -> None:
    """Typed, drawn and brought in the browser alone: a plan, why, what a change flips, a PDF."""
    page = _desk(empty)
    _type_where(page)
    _step(page, "protect")
    _draw_asset(page)
    _step(page, "weather")
    _bring_weather(page, tmp_path)
    _step(page, "fire")
    _type_fire(page)
    _step(page, "mix")
    _type_mix(page)
    _step(page, "crews")
    _add_crew(page)
    _step(page, "plan")
    expect(page.locator("#make-plan-says")).to_have_text("Everything the plan needs is here.")
    page.locator("#make-plan").click()
    expect(page.locator("#clock-day")).to_contain_text("MDT")  # without a reload by hand
    told = r"Plan \w+ is made and kept\. Times on this page are now those of America/Denver\."
    expect(page.locator(".plan-state")).to_have_text(re.compile(told))
    expect(page.locator("table.plan tbody tr")).to_have_count(1)
    page.get_by_role("button", name="Why: a1").click()
    expect(page.locator(".why h4").first).to_have_text("What the answer hangs on most")
    page.get_by_label("Change one thing").fill("wind=+30%")
    page.get_by_role("button", name="See what flips").click()
    expect(page.locator(".flip").first).to_contain_text("of 1 asset")
    page.get_by_role("button", name="Print the packet").click()
    expect(page.get_by_role("link", name="Open the packet (PDF)")).to_be_visible(timeout=120_000)
    packet = page.request.get(f"{empty.served.address}/api/packet.pdf").body()
    assert len(PdfReader(io.BytesIO(packet)).pages) > 3
    page.goto(f"{empty.served.address}/board")
    expect(page.locator(".top-name")).to_have_text("Alder Bend")
    expect(page.locator("#clock-day")).to_contain_text("MDT")


def test_what_is_typed_outlives_reload_and_a_server_that_is_away(empty: Screens) -> None:
    """A reload in mid-word, and typing while the server is down: nothing is lost or doubled."""
    page = _desk(empty)
    page.get_by_label("Name of the job").press_sequentially("Half a na")
    page.reload()
    expect(page.get_by_label("Name of the job")).to_have_value("Half a na")
    empty.served.stop()
    empty.watched.complaints.clear()
    _type(page, "Time zone", "America/Denver")
    expect(page.locator("#desk-state")).to_contain_text("kept in this browser")
    empty.served.start()
    _kept(page)
    empty.watched.complaints.clear()  # what the browser said of the server that was away
    texts = look_at_draft(empty.served.path, WRITER).document.texts
    assert texts == {"job.name": "Half a na", "job.time_zone": "America/Denver"}


def test_undo_and_do_again(whole: Screens) -> None:
    """A removed asset is back with all its fields; what was undone can be done again."""
    page = _desk(whole, "protect")
    page.locator(".row-head", has_text="b1").click()
    page.get_by_role("button", name="Remove b1").click()
    expect(page.locator("[data-list=assets] .row")).to_have_count(1)
    _kept(page)
    page.locator("#undo").click()
    expect(page.locator("[data-list=assets] .row")).to_have_count(2)
    page.locator("#redo").click()
    expect(page.locator("[data-list=assets] .row")).to_have_count(1)


def test_undo_without_a_server_says_so(whole: Screens) -> None:
    """The page does not keep silent about what it could not do."""
    page = _desk(whole, "protect")
    page.locator(".row-head", has_text="b1").click()
    page.get_by_role("button", name="Remove b1").click()
    _kept(page)
    whole.served.stop()
    page.locator("#undo").click()
    expect(page.locator("#desk-state")).to_contain_text("Not done: the server does not answer")
    whole.watched.complaints.clear()  # what the browser said of the server that was away
    whole.served.start()


def test_an_edit_is_kept_while_somebody_may_not_send_it(whole: Screens) -> None:
    """Refused for who sends it, not for what it is: nothing typed is thrown away."""
    page = _desk(whole, "protect")
    problem = {"field": "role", "wanted": "plan", "got": "log", "place": "", "hint": ""}
    page.context.route(
        "**/api/draft/edits",
        lambda route: route.fulfill(status=403, json={"problems": [problem]}),
    )
    page.locator(".row-head", has_text="b1").click()
    page.get_by_role("button", name="Remove b1").click()
    expect(page.locator("#desk-state")).to_contain_text("role: wanted plan, got log. 1 change kept")
    page.context.unroute("**/api/draft/edits")
    _kept(page)
    expect(page.locator("[data-list=assets] .row")).to_have_count(1)
    whole.watched.complaints.clear()  # the browser's own word on the refused requests


def test_a_bad_value_says_so_beside_its_field(whole: Screens) -> None:
    """The message stands under the field and is tied to it; the step counts it; no plan is made."""
    page = _desk(whole, "protect")
    page.locator(".row-head", has_text="h1").click()
    _type(page, "Height of walls, or of what is coated", "9")
    field = page.locator("[data-field=eave_height]").first
    expect(field.locator(".field-problem")).to_contain_text("got '9'")
    entry = field.locator("input")
    expect(entry).to_have_attribute("aria-invalid", "true")
    told = (entry.get_attribute("aria-describedby") or "").split()[0]
    expect(page.locator(f"#{told}")).to_contain_text("Wanted")
    expect(page.locator("#steps a[href='#protect']")).to_contain_text("1 to mend")
    _step(page, "plan")
    expect(page.locator("#make-plan")).to_be_disabled()
    expect(page.locator("#make-plan-says")).to_contain_text("1 problem")
    page.get_by_role("link", name="What to protect, h1: eave height: wanted").click()
    expect(page.locator("#step-title")).to_have_text("What to protect")


def test_a_short_name_used_twice_is_told(whole: Screens) -> None:
    """Two assets of one short name: the step counts it, and the form of one says it."""
    page = _desk(whole, "protect")
    page.locator(".row-head", has_text="b1").click()
    _type(page, "Short name", "h1")
    expect(page.locator("#steps a[href='#protect']")).to_contain_text("to mend")
    page.locator(".row-head", has_text="to mend").first.click()
    expect(page.locator(".row-form:visible")).to_contain_text("once")


def test_two_desks_show_the_same(whole: Screens) -> None:
    """What one types the other shows, without a reload."""
    first, second = _desk(whole), _desk(whole)
    _type(first, "Name of the job", "Renamed <b>here</b>")
    expect(second.get_by_label("Name of the job")).to_have_value("Renamed <b>here</b>")


def test_a_line_is_made_by_keyboard_alone(whole: Screens) -> None:
    """No pointer: the places along a line are typed, bad ones are told, and it is on the map."""
    page = _desk(whole, "protect")
    add = page.get_by_role("button", name="Add a line")
    add.focus()
    page.keyboard.press("Enter")
    places = page.get_by_label("Places along it, one a line: latitude, longitude")
    places.fill("39.75, -105.2\nnorth of the barn")
    places.blur()
    expect(page.locator("[data-field=corners] .field-problem")).to_contain_text("Line 2")
    expect(places).to_have_value("39.75, -105.2\nnorth of the barn")
    places.fill("39.75, -105.2\n39.751, -105.201")
    places.blur()
    _kept(page)
    (line,) = look_at_draft(whole.served.path, WRITER).document.rows("lines")
    assert line.shape == "LINESTRING (-105.2 39.75, -105.201 39.751)"


@pytest.mark.parametrize("step", STEPS)
def test_every_step_is_clean_and_fits(whole: Screens, step: str) -> None:
    """No finding by WCAG 2.2 AA, at 360 px by day and at a desk by night, with a form open."""
    for size, light in ((PHONE, "light"), (DESK, "dark")):
        page = _desk(whole, step, size=size, light=light)
        if page.locator(".row-head").count():
            page.locator(".row-head").first.click()
        _kept(page)
        assert axe_findings(page) == []
        assert wider_than_screen(page) == 0
        assert small_targets(page) == []


def test_a_run_can_be_stopped_and_the_old_plan_stays(whole: Screens) -> None:
    """Stopped in the middle: nothing is kept, and the desk says so."""
    page = _desk(whole, "where")
    page.locator(".more summary").first.click()
    _type(page, "Weathers and coats drawn", "4096")
    _kept(page)
    _step(page, "plan")
    page.locator("#make-plan").click()
    page.get_by_role("button", name="Stop", exact=True).first.click()
    expect(page.locator(".run-label").first).to_contain_text("Stopped")
    expect(page.locator(".result")).to_have_text("No plan yet.")
