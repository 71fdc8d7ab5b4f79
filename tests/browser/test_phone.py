"""The crew's phone in a real browser: three taps, no network, a server that goes and comes back."""

from __future__ import annotations

import json
import socket
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from browser.conftest import Clock, Screens, Served
from browser_checks import (
    axe_findings,
    lose_the_first_answer,
    small_targets,
    wider_than_screen,
)
from phone_fixture import CAUTION, CREW, kept_crewed_yard
from stillwet.domain.log import CoatChecked, CoatLaid, Stock
from stillwet.domain.log_merge import standing
from stillwet.services.logbook import log_of
from stillwet.services.sharing import last_audit
from stillwet.web.workers import Worker
from store_fixture import kept_job
from web_fixture import NOW_S, coat_entry, yard_job

POCKET = {"width": 390, "height": 844}
STATE = "#outbox-state"


class NoBoard:
    """A desk that reckons nothing: the phone asks for no board."""

    async def call(self, *_arguments: object, limit_s: float) -> dict[str, Any]:
        """Nothing, at once."""
        del limit_s
        return {}


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """The yard with its crew plan, served at 09:00 of its day."""
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port = int(probe.getsockname()[1])
    found = Served(kept_crewed_yard(tmp_path), Clock(), port, cast(Worker, NoBoard()))
    found.start()
    yield found
    found.stop()


def _phone(screens: Screens, **options: Any) -> Page:
    page = screens.open(f"/crew/{CREW}", size=POCKET, **options)
    return _ready(page)


def _ready(page: Page) -> Page:
    page.wait_for_selector("body[data-ready]")
    return page


def _context(page: Page) -> BrowserContext:
    return page.context


def _tap_coat(page: Page) -> None:
    page.locator("[data-verb=coat]").click()
    page.get_by_role("button", name="Save", exact=True).click()


def _tap_check(page: Page, wall: str, feel: str) -> None:
    page.locator("[data-verb=check]").click()
    face = page.get_by_role("group", name=f"Invented house: {wall}")
    face.get_by_role("radio", name=feel).click()
    page.get_by_role("button", name="Save", exact=True).click()


def _arrived(page: Page, served: Served, count: int) -> None:
    for _ in range(100):
        if len(log_of(served.path)) == count:
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"{len(log_of(served.path))} entries arrived, not {count}")


def _forgive_no_network(screens: Screens) -> None:
    """The browser tells of each try that nobody answered; of nothing else."""
    assert [one for one in screens.watched.complaints if "Failed to load resource" not in one] == []
    screens.watched.complaints.clear()


def _post(served: Served, *entries: dict[str, Any]) -> list[str]:
    request = urllib.request.Request(
        f"{served.address}/api/log",
        json.dumps({"entries": entries}).encode(),
        {"content-type": "application/json", "origin": served.address},
    )
    with urllib.request.urlopen(request, timeout=20) as answer:
        return [one["became"] for one in json.load(answer)["entries"]]


def test_one_stop_at_a_time_with_all_a_crew_needs(screens: Screens) -> None:
    """What, where, when by, coat, ratio, amounts, hazards; the next stop is one tap away."""
    page = _phone(screens)
    stop = page.locator("#stop")
    for told in (
        *("Stop 1 of 3", "MUST: Invented house", "Spray 132 gal at 2.00 % by volume", "ladder"),
        *("GONE BY Fri 14:15", "5 h 14 min left", "0.16 in (1/8 to 3/16 in)", "53 gal", CAUTION),
        *("Nobody stays because of it",),
    ):
        expect(stop).to_contain_text(told)
    expect(page.get_by_role("button", name="Stop before")).to_be_disabled()
    page.get_by_role("button", name="Next stop").click()
    expect(stop).to_contain_text("Fill 132 gal")
    page.get_by_role("button", name="Next stop").click()
    expect(stop).to_contain_text("Wait until this is reported done: Invented house.")
    page.get_by_label("Metric").check(force=True)
    expect(stop).to_contain_text("4.0 mm, 50 % of it, 200 L")
    page.reload()
    expect(page.locator("#stop")).to_contain_text("Stop 3 of 3")


def test_a_coat_and_a_check_in_three_taps(screens: Screens, served: Served) -> None:
    """Counted by the browser's own clicks: a coat takes two, a check by touch three."""
    page = _phone(screens)
    page.evaluate("window.taps = 0; addEventListener('pointerdown', () => window.taps++, true)")
    _tap_coat(page)
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    assert page.evaluate("window.taps") == 2
    page.evaluate("window.taps = 0")
    page.locator("[data-verb=check]").click()
    page.get_by_role("group", name="Invented house: west wall").get_by_role(
        "radio", name="tacky"
    ).click()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#log > li")).to_have_count(2)
    assert page.evaluate("window.taps") == 3
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    coat, check = sorted((one.body for one in log_of(served.path)), key=lambda b: type(b).__name__)[
        ::-1
    ]
    assert coat == CoatLaid(("a1/north-wall", "a1/west-wall"), CREW)
    assert isinstance(check, CoatChecked)
    assert (check.surface_id, str(check.feel)) == ("a1/west-wall", "tacky")
    expect(page.locator("#stop")).to_contain_text("Coat logged Fri 09:00, sent")


def test_written_without_a_network_is_kept_and_sent_once(screens: Screens, served: Served) -> None:
    """Airplane mode: saved here; the page closed and opened again: still here; then sent, once."""
    page = _phone(screens)
    expect(page.locator("#offline-state")).to_contain_text("works without a network")
    _context(page).set_offline(True)
    _tap_coat(page)
    expect(page.locator(STATE)).to_contain_text("1 entry saved here, not sent yet")
    expect(page.locator("#log .state")).to_have_text("saved here")
    page.reload()
    _ready(page)
    expect(page.locator(STATE)).to_contain_text("1 entry saved here, not sent yet")
    expect(page.locator("#stop")).to_contain_text("MUST: Invented house")
    expect(page.locator("#age-state")).to_contain_text("as last heard at")
    expect(page.locator("#clock")).to_have_text("09:00")
    assert log_of(served.path) == frozenset()
    second = _context(page).new_page()  # another tab of the same phone
    second.goto(f"{served.address}/crew/{CREW}")
    _ready(second)
    expect(second.locator(STATE)).to_contain_text("1 entry saved here")
    _context(page).set_offline(False)
    for tab in (page, second):
        expect(tab.locator(STATE)).to_have_text("Everything you wrote is sent.")
        expect(tab.locator("#log > li")).to_have_count(1)
    assert len(log_of(served.path)) == 1
    _forgive_no_network(screens)


def test_server_stopped_while_writing_and_back(screens: Screens, served: Served) -> None:
    """Entries written while the server is down arrive when it is back, each once, by themselves."""
    page = _phone(screens)
    _tap_coat(page)
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    served.stop()
    for _ in range(3):
        page.locator("[data-verb=check]").click()
        page.get_by_role("group", name="Invented house: north wall").get_by_role(
            "radio", name="wet"
        ).click()
        page.get_by_role("button", name="Save", exact=True).click()
        expect(page.locator("#sheet")).to_be_hidden()
    expect(page.locator(STATE)).to_contain_text("3 entries saved here, not sent yet: no connection")
    served.start()
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    assert len(log_of(served.path)) == 4
    _forgive_no_network(screens)


def test_an_answer_that_got_lost_doubles_nothing(screens: Screens, served: Served) -> None:
    """The server keeps the entry but its answer is lost: sent again, there once."""
    page = _phone(screens)
    lost = lose_the_first_answer(page)
    _tap_coat(page)
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    assert "kept" in lost[0]
    assert len(log_of(served.path)) == 1
    _forgive_no_network(screens)


def test_a_wrong_entry_is_corrected_by_another(screens: Screens, served: Served) -> None:
    """Corrected: the first stays in the log and no longer counts. Taken back: nothing counts."""
    page = _phone(screens)
    _tap_coat(page)
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    page.get_by_role("button", name="Correct").click()
    expect(page.locator("#sheet")).to_contain_text("This corrects: ")
    page.get_by_role("checkbox", name="Invented house: west wall").click()
    page.get_by_label("Coat as gauged").select_option("1/8 in")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#log")).to_contain_text("gauged 0.12 in")
    expect(page.locator("#log > li")).to_have_count(1)
    (entry,) = standing(log_of(served.path)).entries
    assert isinstance(entry.body, CoatLaid)
    assert entry.body.surface_ids == ("a1/north-wall",)
    assert entry.body.coat_kg_m2 == pytest.approx(25.4 / 8)
    assert entry.replaces is not None
    page.get_by_role("button", name="Take back").click()
    page.get_by_role("button", name="Yes, take it back").click()
    expect(page.locator("#log")).to_contain_text("Nothing logged for these stops yet.")
    _arrived(page, served, 3)
    judged = standing(log_of(served.path))
    assert judged.entries == ()
    assert len(judged.superseded) == 2


def test_conflicts_are_told_in_words(screens: Screens, served: Served) -> None:
    """Two correct the same entry without knowing: the one that lost is shown as a conflict."""
    first = coat_entry()
    assert _post(served, first) == ["kept"]
    page = _phone(screens)
    _context(page).set_offline(True)
    page.get_by_role("button", name="Correct").click()
    page.get_by_label("Coat as gauged").select_option("1/4 in")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#log .state")).to_have_text("saved here")
    rival = coat_entry(coat="2 mm", replaces=first["id"], written="2199-01-01T00:00:00Z")
    assert _post(served, rival) == ["kept"]
    _context(page).set_offline(False)
    expect(page.locator("#log .state", has_text="conflict")).to_have_count(1)
    expect(page.locator("#log")).to_contain_text("Another account of the same counts")
    expect(page.locator(STATE)).to_contain_text("1 entry to look at below")
    _forgive_no_network(screens)


def test_what_the_server_refuses_stays_until_it_is_put_right(
    screens: Screens, served: Served
) -> None:
    """A ratio that cannot be: refused, with the reason; corrected it is sent and the first gone."""
    page = _phone(screens)
    page.locator("[data-verb=coat]").click()
    page.get_by_label("Mix ratio set").fill("two")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#sheet")).to_contain_text("wanted a number")
    page.get_by_label("Mix ratio set").fill("90")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#log .state")).to_have_text("refused")
    expect(page.locator("#log")).to_contain_text("ratio: wanted")
    page.get_by_role("button", name="Correct").click()
    page.get_by_label("Mix ratio set").fill("2")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    expect(page.locator("#log > li")).to_have_count(1)
    assert len(log_of(served.path)) == 1


def test_twelve_hundred_is_never_taken_for_one_and_a_fifth(
    screens: Screens, served: Served
) -> None:
    """A comma before three digits is asked again; before two it is a decimal one."""
    page = _phone(screens)
    page.get_by_role("button", name="Water and product").click()
    page.get_by_label("Water left (gal)").fill("1,200")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#sheet .problems")).to_contain_text('such as 1200 or 1.5, got "1,200"')
    page.get_by_label("Water left (gal)").fill("1200,50")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    (entry,) = log_of(served.path)
    assert isinstance(entry.body, Stock)
    assert entry.body.water_left_m3 == pytest.approx(1200.5 * 3.785411784e-3)  # NIST SP 811, B.8


def test_a_correction_keeps_the_unit_that_was_told(screens: Screens, served: Served) -> None:
    """Units are switched between an entry and its correction: the amount stays the same amount."""
    page = _phone(screens)
    page.get_by_role("radio", name="Metric").check()
    page.get_by_role("button", name="Water and product").click()
    page.get_by_label("Water left (L)").fill("800")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    page.get_by_role("radio", name="US").check()
    page.get_by_role("button", name="Correct").click()
    expect(page.get_by_label("Water left (L)")).to_have_value("800")
    page.get_by_label("Note").fill("by the sight glass")
    page.get_by_role("button", name="Save", exact=True).click()
    _arrived(page, served, 2)
    (entry,) = standing(log_of(served.path)).entries
    assert isinstance(entry.body, Stock)
    assert entry.note == "by the sight glass"
    assert entry.body.water_left_m3 == pytest.approx(0.8)


def test_a_taking_back_that_is_refused_is_told(screens: Screens) -> None:
    """What the server does not take stands in the list with its reason, until it is discarded."""
    page = _phone(screens)
    _tap_coat(page)
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    problem = {"field": "replaces", "wanted": "an entry", "got": "none", "place": "", "hint": ""}
    refused = {"id": "", "became": "refused", "problems": [problem]}
    page.context.route("**/api/log", lambda route: route.fulfill(json={"entries": [refused]}))
    page.get_by_role("button", name="Take back").click()
    page.get_by_role("button", name="Yes, take it back").click()
    expect(page.locator(STATE)).to_contain_text("1 entry to look at below")
    expect(page.locator("#log > li")).to_have_count(2)
    expect(page.locator("#log")).to_contain_text("replaces: wanted an entry, got none")
    page.get_by_role("button", name="Discard").click()
    expect(page.locator("#log > li")).to_have_count(1)


def test_weather_stock_spill_and_wash_off(screens: Screens, served: Served) -> None:
    """The other entries, each by its form, in the reader's units."""
    page = _phone(screens)
    save = page.get_by_role("button", name="Save", exact=True)
    page.get_by_role("button", name="Weather seen").click()
    save.click()
    expect(page.locator("#sheet")).to_contain_text("Fill in at least one line")
    page.get_by_label("Air temperature (F)").fill("88")
    page.get_by_label("Wind from the").select_option("SW")
    save.click()
    page.get_by_role("button", name="Water and product").click()
    page.get_by_label("Water left (gal)").fill("120")
    save.click()
    page.get_by_role("button", name="Spill").click()
    expect(page.locator("#sheet")).to_contain_text("keep people away first")
    page.get_by_label("Where").fill("ditch by the gate <b>")
    page.get_by_role("checkbox", name="It reached water").click()
    save.click()
    page.get_by_role("button", name="Washed off").click()
    save.click()
    expect(page.locator("#log > li")).to_have_count(4)
    expect(page.locator("#log")).to_contain_text("ditch by the gate <b>, REACHED WATER")
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    kinds = {one.kind for one in log_of(served.path)}
    assert kinds == {"weather", "stock", "spill", "washed"}


def test_a_clock_that_is_off_is_noted_and_changes_nothing(screens: Screens, served: Served) -> None:
    """The phone's own clock stands years from the server's: told, audited, entries as written."""
    page = _phone(screens)
    expect(page.locator("#clock-state")).to_contain_text("This phone's clock is")
    _tap_coat(page)
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    (entry,) = log_of(served.path)
    assert entry.when_s == pytest.approx(NOW_S, abs=60.0)  # by the clock that the page shows
    assert abs(entry.written_s - NOW_S) > 3600.0  # by the phone's own
    assert any("clock of phone" in line.what for _row, line in last_audit(served.path, 50))


def test_entries_go_only_to_the_job_they_were_written_for(
    screens: Screens, served: Served, tmp_path: Path
) -> None:
    """Another job at the same address gets none of them, and the page says where they wait."""
    page = _phone(screens)
    _context(page).set_offline(True)
    _tap_coat(page)
    expect(page.locator(STATE)).to_contain_text("1 entry saved here")
    served.stop()
    first, folder = served.path, tmp_path / "other"
    folder.mkdir()
    served.path = kept_job(folder, yard_job(name="Another job"))
    served.start()
    _context(page).set_offline(False)
    expect(page.locator(STATE)).to_contain_text("of another job saved here")
    expect(page.locator("#stop")).to_contain_text("No crew plan is kept for this crew")
    assert log_of(served.path) == frozenset()
    served.stop()
    served.path = first
    served.start()
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    assert len(log_of(first)) == 1
    _forgive_no_network(screens)


def test_a_form_left_open_stays_with_its_job(
    screens: Screens, served: Served, tmp_path: Path
) -> None:
    """Another job is opened while a form is filled in: its faces are not those of the other."""
    page = _phone(screens)
    page.locator("[data-verb=coat]").click()
    served.stop()
    first, folder = served.path, tmp_path / "other"
    folder.mkdir()
    served.path = kept_job(folder, yard_job(name="Another job"))
    served.start()
    expect(page.locator("#stop")).to_contain_text("No crew plan is kept for this crew")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator(STATE)).to_contain_text("1 entry of another job saved here")
    assert log_of(served.path) == frozenset()
    served.stop()
    served.path = first
    served.start()
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    assert len(log_of(first)) == 1
    _forgive_no_network(screens)


def test_what_the_server_says_is_not_called_no_connection(screens: Screens) -> None:
    """It answers and refuses: the page says so, and shows its stops as last heard."""
    page = _phone(screens)
    problem = {"field": "crew", "wanted": "a crew of this job", "got": "'c1'"}
    body = {"problems": [problem | {"place": "", "hint": ""}]}
    page.context.route("**/api/crew/*", lambda route: route.fulfill(status=404, json=body))
    _tap_coat(page)  # the log changes, so the page asks anew
    expect(page.locator("#age-state")).to_contain_text("The server says crew: wanted a crew")
    expect(page.locator("#age-state")).to_contain_text("as last heard at")
    expect(page.locator("#stop-title")).to_contain_text("Invented house")
    _forgive_no_network(screens)


def test_by_keyboard_alone(screens: Screens, served: Served) -> None:
    """A check with keys only: the sheet takes the focus, Escape closes it, Enter saves."""
    page = _phone(screens)
    page.locator("[data-verb=check]").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#sheet")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("#sheet")).to_be_hidden()
    page.keyboard.press("Enter")  # the focus is back on the button
    page.keyboard.press("Space")
    page.keyboard.press("Enter")
    expect(page.locator(STATE)).to_have_text("Everything you wrote is sent.")
    (entry,) = log_of(served.path)
    assert isinstance(entry.body, CoatChecked)


def test_clean_by_axe_day_and_night_with_a_sheet_open(screens: Screens) -> None:
    """No finding by WCAG 2.2 AA; nothing sideways at 390 px; every target for a glove."""
    for light in ("light", "dark"):
        page = _phone(screens, light=light)
        _tap_coat(page)
        expect(page.locator("#log > li")).not_to_have_count(0)
        _held(page)
        for verb in ("coat", "check", "weather", "spill"):
            page.locator(f"[data-verb={verb}]").click()
            _held(page)
            page.keyboard.press("Escape")
    page = screens.open("/crew", size=POCKET)
    _held(page)
    page.get_by_role("link", name="Invented engine: 3 stops").click()
    expect(page.locator("#crew-name")).to_have_text("Invented engine")


def _held(page: Page) -> None:
    assert axe_findings(page) == []
    assert wider_than_screen(page) == 0
    assert small_targets(page) == []
