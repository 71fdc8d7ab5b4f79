"""What the server gives a crew's phone: its day in both systems of units, its log, its worker."""

from __future__ import annotations

import json
import re
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from phone_fixture import CAUTION, CREW, kept_crewed_yard
from stillwet.reports.phone_json import place_words
from stillwet.services.logbook import log_of
from stillwet.services.sharing import last_audit
from stillwet.web.show import STATIC
from web_fixture import NOW_S, coat_entry, iso, kept_yard, make_test_client


@pytest.fixture
def crewed(tmp_path: Path) -> Path:
    """A job file with a crew plan."""
    return kept_crewed_yard(tmp_path)


@pytest.fixture
def phone(crewed: Path) -> Iterator[TestClient]:
    """The app with a crew plan kept."""
    with make_test_client(crewed) as made:
        yield made


def _day(phone: TestClient) -> dict[str, Any]:
    found: dict[str, Any] = phone.get(f"/api/crew/{CREW}").json()
    return found


def _sent(phone: TestClient, *entries: dict[str, Any], **more: Any) -> list[str]:
    answer = phone.post("/api/log", json={"entries": entries, **more}).json()
    return [one["became"] for one in answer["entries"]]


def test_a_crews_own_stops_in_both_systems(phone: TestClient) -> None:
    """What, when by, coat, ratio with its basis, amounts, hazards; times in the job's zone."""
    day = _day(phone)
    assert [stop["kind"] for stop in day["stops"]] == ["coat", "fill", "coat"]
    assert day["stops"][0]["leave_by"] == "2026-08-14T20:15:00+00:00"
    assert day["stops"][0]["faces"] == ["a1/north-wall", "a1/west-wall"]
    us, metric = (day["words"][units]["stops"][0] for units in ("us", "metric"))
    assert us["work"] == "Spray 132 gal"  # 500 L / 3.785411784 L (NIST SP 811, B.8) = 132.09
    assert metric["work"] == "Spray 500 L"
    assert us["ratio"] == metric["ratio"] == "at 2.00 % by volume"
    assert us["faces"][0]["coat"] == "0.16 in (1/8 to 3/16 in)"
    assert metric["faces"][0] == {
        "label": "north wall",
        "coat": "4.0 mm",
        "share": "",
        "amount": "200 L",
    }
    assert us["gone_by"] == "Fri 14:15"
    assert us["cautions"] == [CAUTION]
    assert day["words"]["us"]["stops"][2]["turn"].startswith("Wait until this is reported done")


def test_units_asked_for_are_ones_the_log_reads(phone: TestClient) -> None:
    """Every unit and gauge step a form offers goes through the log's own reader."""
    inputs = _day(phone)["inputs"]
    for units in inputs.values():
        asked = {word: f"{one['example']} {one['unit']}" for word, one in units["asked"].items()}
        entries = [coat_entry(coat=step) for step in (*units["coats"], asked["coat"])]
        entries += [_entry("coat", faces="a1/north-wall", mix=asked["mix"], ratio=asked["ratio"])]
        weather = {word: asked[word] for word in ("temperature", "humidity", "wind")}
        entries += [_entry("weather", **weather)]
        entries += [_entry("stock", crew=CREW, water_left=asked["volume"])]
        assert set(_sent(phone, *entries)) == {"kept"}


def _entry(kind: str, **told: str) -> dict[str, Any]:
    moment = iso(NOW_S)
    head = {"id": str(uuid.uuid4()), "when": moment, "written": moment, "by": "Ash"}
    return {**head, "kind": kind, **told}


def test_the_log_of_a_crew_and_of_no_other(phone: TestClient) -> None:
    """Coats of its assets and its own stock are shown; another crew's stock is not."""
    coat = coat_entry()
    others = _entry("stock", crew="c9", water_left="10 gal")
    own = _entry("stock", crew=CREW, water_left="10 gal")
    _sent(phone, coat, others, own)
    log = _day(phone)["log"]
    assert {one["id"] for one in log["entries"]} == {coat["id"], own["id"]}
    (told,) = (one for one in log["entries"] if one["id"] == coat["id"])
    assert told["says"]["metric"] == "coat on Invented house: north-wall, gauged 4.0 mm"
    assert told["faces"] == ["a1/north-wall"]


def test_corrected_entries_are_seen_but_not_shown_and_rivals_are_at_odds(
    phone: TestClient,
) -> None:
    """Of two corrections the one written last counts, and the other is told as at odds."""
    first = coat_entry()
    early = coat_entry(coat="2 mm", replaces=first["id"])
    late = coat_entry(coat="3 mm", replaces=first["id"], written=iso(NOW_S + 60.0))
    _sent(phone, first, early, late)
    log = _day(phone)["log"]
    assert {one["id"]: one["state"] for one in log["entries"]} == {
        early["id"]: "at odds",
        late["id"]: "stands",
    }
    assert set(log["seen"]) == {first["id"], early["id"], late["id"]}


def test_entries_of_another_job_are_refused_whole(phone: TestClient, crewed: Path) -> None:
    """A phone that names the job it wrote for is told when another is open; nothing is kept."""
    answer = phone.post("/api/log", json={"job": "another", "entries": [coat_entry()]})
    assert answer.status_code == 409
    assert answer.json()["problems"][0]["field"] == "job"
    assert log_of(crewed) == frozenset()
    assert _sent(phone, coat_entry(), job=_day(phone)["job"]) == ["kept"]


def test_a_clock_that_is_off_is_told_and_written_down(phone: TestClient, crewed: Path) -> None:
    """Five minutes ahead: told in seconds, with a line in the audit; agreeing clocks leave none."""
    for off_s, lines in ((2.0, 0), (300.0, 1), (-900.0, 2)):
        body = {"device": "phone 1a2b", "now": iso(NOW_S + off_s)}
        assert phone.post("/api/clock", json=body).json() == {"ahead_s": off_s}
        said = [
            one.what for _row, one in reversed(last_audit(crewed, 10)) if "clock of" in one.what
        ]
        assert len(said) == lines
    assert said[0] == "clock of phone 1a2b is 300 s ahead of this machine's"
    assert said[1] == "clock of phone 1a2b is 900 s behind this machine's"


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"now": "2030-08-14T12:00:00Z"}, "device"),
        ({"device": "x" * 61, "now": "2030-08-14T12:00:00Z"}, "device"),
        ({"device": "phone", "now": "noon"}, "now"),
        ({"device": "phone"}, "now"),
    ],
)
def test_a_clock_that_tells_nothing_is_refused(
    phone: TestClient, body: dict[str, str], field: str
) -> None:
    """Each in the one error shape, naming the field."""
    answer = phone.post("/api/clock", json=body)
    assert answer.status_code == 400
    assert answer.json()["problems"][0]["field"] == field


def test_crews_to_choose_and_unknown_ones(phone: TestClient) -> None:
    """/crew lists them with their stops; an unknown one is a page that says so."""
    assert "Invented engine: 3 stops" in phone.get("/crew").text
    assert phone.get("/crew/nobody").status_code == 404
    assert phone.get("/api/crew/nobody").status_code == 404
    assert phone.get(f"/crew/{CREW}").text.count("<h1") == 1


def test_without_a_crew_plan_a_crew_can_still_log(tmp_path: Path) -> None:
    """No stops, but all faces of the job to choose from."""
    with make_test_client(kept_yard(tmp_path)) as phone:
        day = _day(phone)
        assert (day["stops"], day["words"]) == ([], None)
        assert {"id": "a2/north-wall", "label": "Invented shed: north wall"} in day["faces"]
        assert "Invented engine</a>" in phone.get("/crew").text


def test_worker_keeps_every_file_that_the_page_loads(phone: TestClient) -> None:
    """Whatever the page and its scripts name is in the worker's list, and is there."""
    text = phone.get("/phone-worker.js").text
    listed = re.search(r"const FILES = (\[.*?\]);", text)
    assert listed
    files = set(json.loads(listed.group(1)))
    page = phone.get(f"/crew/{CREW}").text
    wanted = set(re.findall(r'(?:src|href)="(/static/[^"#]*)"', page))
    for path in [one for one in files if one.endswith(".js")]:
        folder = path.rpartition("/")[0]
        source = (STATIC / path.removeprefix("/static/")).read_text(encoding="utf-8")
        for name in re.findall(r'from "(\.\.?/[^"]+)"', source):
            wanted.add(str(Path("/" + str(Path(folder) / name)).resolve()))
    assert wanted <= files
    assert all(phone.get(path).status_code == 200 for path in files)
    assert "/static/js/phone/worker.js" not in files


def test_places_are_told_in_degrees() -> None:
    """South and west have their own letters, never a minus."""
    assert place_words(-105.27051, 40.01234) == "40.01234 N, 105.27051 W"
    assert place_words(149.1, -35.3) == "35.30000 S, 149.10000 E"


def test_the_lead_has_a_code_for_each_crew(phone: TestClient) -> None:
    """On /people a picture a crew; by HTTPS only where it is."""
    page = phone.get("/people").text
    assert "/api/crew/c1/code.svg?by=http" in page
    assert "by=https" not in page
    answer = phone.get(f"/api/crew/{CREW}/code.svg")
    assert answer.headers["content-type"].startswith("image/svg+xml")
    assert phone.get(f"/api/crew/{CREW}/code.svg?by=https").status_code == 404
    assert phone.get(f"/api/crew/{CREW}/code.svg?by=mail").status_code == 400
