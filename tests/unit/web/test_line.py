"""The lines' page and resource: the plan held against what is logged."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from stillwet.store.job_file import open_job_file
from stillwet.store.plan_tables import PlanKind, kept_plans
from web_fixture import NOW_S, iso, kept_line, kept_yard, make_test_client, stretch_entry


@pytest.fixture
def line_client(tmp_path: Path) -> Iterator[TestClient]:
    """The app with a burn line."""
    with make_test_client(kept_line(tmp_path)) as made:
        yield made


def _log(client: TestClient, *entries: dict[str, Any]) -> list[str]:
    answer = client.post("/api/log", json={"entries": entries})
    assert answer.status_code == 200, answer.text
    return [one["became"] for one in answer.json()["entries"]]


def _line(client: TestClient, **query: str) -> dict[str, Any]:
    (line,) = client.get("/api/lines", params=query).json()["lines"]
    assert isinstance(line, dict)
    return line


def test_plan_of_the_line(line_client: TestClient) -> None:
    """Paths of wetting, lighting and drying out in order; rules; the caution on burn lines."""
    found = line_client.get("/api/lines").json()
    assert found["is_current"] is True
    assert found["job_lines"] == ["l1"]
    assert "divided" in found["cautions"][0]
    line = found["lines"][0]
    wet, latest, dry = (line["planned"][name] for name in ("wet", "latest", "dry_90"))
    assert wet[0][1] == 0.0
    assert wet[-1][1] == pytest.approx(line["length_m"])
    for (wetted, _), (last, _), (dried, _) in zip(wet, latest, dry, strict=True):
        assert wetted < last <= dried
    assert [part["id"] for part in line["segments"]] == ["l1/s0", "l1/s80"]
    assert len(line["rules"]) >= 4


def test_logged_segment_stands_in_the_line_and_raises_its_alarm(line_client: TestClient) -> None:
    """Wetted long ago and not lit: exceeded, said in local time; lit in time, another is quiet."""
    became = _log(
        line_client,
        stretch_entry("wetted", "l1/s0", when_s=NOW_S - 3000, up_to="0 ft"),
        stretch_entry("wetted", "l1/s0", when_s=NOW_S - 2700),
    )
    assert became == ["kept", "kept"]
    line = _line(line_client, units="metric")
    assert line["segments"][0]["state"] == "lag exceeded"
    assert line["segments"][0]["words"]["wet_to"] == "all"
    assert "LAG EXCEEDED since Fri 08:" in line["alarms"][0]["says"]
    assert line["done"]["wet"][0]["wet"][0][1] == 0.0


def test_lag_exceeded_is_an_alarm_of_the_board(line_client: TestClient) -> None:
    """Wetted and not lit: quiet in time; past its lag first among the alarms; lit, quiet again."""

    def kinds(**query: str) -> list[str]:
        alarms = line_client.get("/api/board", params=query).json()["alarms"]
        return [one["kind"] for one in alarms if one["surface_id"] == "l1/s0"]

    _log(
        line_client,
        stretch_entry("wetted", "l1/s0", when_s=NOW_S - 60, up_to="0 ft"),
        stretch_entry("wetted", "l1/s0", when_s=NOW_S),
    )
    assert kinds() == []
    assert kinds(at=iso(NOW_S - 120)) == []
    later = line_client.get("/api/board", params={"at": iso(NOW_S + 3000)}).json()["alarms"]
    assert later[0]["kind"] == "lag exceeded"
    assert later[0]["surface_id"] == "l1/s0"
    assert "LAG EXCEEDED since Fri 09:" in later[0]["says"]
    _log(
        line_client,
        stretch_entry("lit", "l1/s0", when_s=NOW_S, up_to="0 ft"),
        stretch_entry("lit", "l1/s0", when_s=NOW_S + 60),
    )
    assert kinds(at=iso(NOW_S + 3000)) == []


def test_units_are_the_readers(line_client: TestClient) -> None:
    """Feet or metres, as asked; figures of the drawing stay in metres."""
    us, metric = (_line(line_client, units=units) for units in ("us", "metric"))
    assert us["segments"][0]["words"]["stretch"].endswith(" ft")
    assert metric["segments"][0]["words"]["stretch"] == "0 to 80 m"
    assert us["planned"] == metric["planned"]


def test_withdrawn_entry_counts_for_nothing(line_client: TestClient) -> None:
    """Taking back leaves the segment as it was."""
    entry = stretch_entry("wetted", "l1/s0", when_s=NOW_S - 60)
    _log(line_client, entry)
    assert _line(line_client)["segments"][0]["state"] != "not begun"
    gone = stretch_entry("withdrawn", "", when_s=NOW_S, replaces=entry["id"])
    del gone["segment"]
    assert _log(line_client, gone) == ["kept"]
    assert _line(line_client)["segments"][0]["state"] == "not begun"


def test_bad_distance_names_its_field(line_client: TestClient) -> None:
    """A distance without a unit is refused with what is wanted."""
    answer = line_client.post(
        "/api/log", json={"entries": [stretch_entry("lit", "l1/s0", when_s=NOW_S, up_to="60")]}
    )
    (one,) = answer.json()["entries"]
    assert one["became"] == "refused"
    assert one["problems"][0]["field"] == "up_to"


def test_a_job_without_a_plan_of_lines(client: TestClient) -> None:
    """Nothing to show is said, not an error; reckoning without lines says what is wanted."""
    found = client.get("/api/lines").json()
    assert (found["lines"], found["job_lines"]) == ([], [])
    answer = client.post("/api/lines", json={})
    assert answer.status_code == 400
    assert answer.json()["problems"]


def test_reckoning_keeps_a_plan(tmp_path: Path) -> None:
    """The button's resource makes the plan in a process of its own and keeps it in the file."""
    path = kept_line(tmp_path)
    with open_job_file(path, now_s=NOW_S) as job_file:
        before = [one.kind for one in kept_plans(job_file)].count(PlanKind.LINES)
    with make_test_client(path) as client:
        assert "is in" in client.post("/api/lines", json={}).json()["kept"]
    with open_job_file(path, now_s=NOW_S) as job_file:
        assert [one.kind for one in kept_plans(job_file)].count(PlanKind.LINES) == before == 1


def test_page_offers_the_form_to_those_who_may_log(tmp_path: Path) -> None:
    """Whoever may log finds the form; the divided guidance stands in the page itself."""
    with make_test_client(kept_yard(tmp_path)) as client:
        text = client.get("/line").text
    assert "Guidance on gel for burn lines is divided" in text
    assert 'id="told-form"' in text
    assert 'id="reckon"' in text
