"""Pages and resources as a browser on this machine sees them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from stillwet.web.app import all_doors
from stillwet.web.door import Door, Role
from stillwet.web.show import STATIC
from store_fixture import kept_job
from web_fixture import NOW_S, coat_entry, iso, make_test_client, yard_job

PAGES = [
    door
    for door in all_doors()
    if not door.says and door.path not in ("/join", "/trust") and "{" not in door.path
]
RESOURCES = [door for door in all_doors() if door.says and door.path != "/api/events"]
SHAPE = {"field", "wanted", "got", "place", "hint"}


@pytest.mark.parametrize("door", PAGES, ids=lambda door: door.path)
def test_every_page_carries_the_job_the_clock_and_the_cautions(
    client: TestClient, door: Door
) -> None:
    """Header with job, plan, big clock with its zone, switches, cautions and one h1."""
    answer = client.get(door.path)
    assert answer.status_code == 200
    text = answer.text
    assert "Invented job" in text
    assert re.search(r"plan [0-9a-f]{10}", text)
    assert '<time id="clock" datetime="2026-08-14T09:00:00-06:00">09:00</time>' in text
    assert "MDT (UTC-06:00)" in text
    assert "Nobody stays because a tool said a coat would hold." in text
    assert text.count("<h1") == 1
    assert 'name="units"' in text
    assert 'name="light"' in text


@pytest.mark.parametrize("door", PAGES, ids=lambda door: door.path)
def test_pages_need_nothing_from_elsewhere_and_no_inline_script(
    client: TestClient, door: Door
) -> None:
    """Every address is one of our own; no script, style or handler stands in the page itself."""
    text = client.get(door.path).text
    for address in re.findall(r'(?:src|href|action)="([^"]*)"', text):
        assert address.startswith(("/", "#")), address
        assert not address.startswith("//")
        if address.startswith("/static/"):
            assert (STATIC / address.removeprefix("/static/").partition("#")[0]).is_file()
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=", text)


def test_job_tells_its_faces(client: TestClient) -> None:
    """GET /api/job names assets and faces, fires in UTC, and the zone once."""
    job = client.get("/api/job").json()
    assert job["time_zone"] == "America/Denver"
    assert [asset["id"] for asset in job["assets"]] == ["a1", "a2"]
    assert {"id": "a1/north-wall", "label": "north wall"} in job["assets"][0]["faces"]
    assert job["assets"][0]["fire_from"] == "2026-08-14T21:00:00+00:00"  # 15:00 in the job's zone
    assert job["cautions"]


def test_unknown_addresses_and_methods(client: TestClient) -> None:
    """The API refuses in its one shape, pages in words; neither echoes markup."""
    answer = client.get("/api/nothing")
    assert answer.status_code == 404
    assert set(answer.json()["problems"][0]) == SHAPE
    assert client.post("/api/job", json={}).status_code == 405
    assert "GET" in client.post("/api/job", json={}).headers["allow"]
    page = client.get("/nothing/<b>x")
    assert page.status_code == 404
    assert "There is no such page" in page.text
    assert "<b>x" not in page.text


def test_log_keeps_an_entry_once(client: TestClient) -> None:
    """Sent twice: kept, then already here; asked for after a row: there once."""
    entry = coat_entry()
    first = client.post("/api/log", json={"entries": [entry]}).json()["entries"]
    again = client.post("/api/log", json={"entries": [entry]}).json()["entries"]
    assert [one["became"] for one in (*first, *again)] == ["kept", "already here"]
    told = client.get("/api/log").json()
    assert [one["id"] for one in told["entries"]] == [entry["id"]]
    assert told["entries"][0]["coat_kg_m2"] == pytest.approx(4.0)
    assert client.get(f"/api/log?after={told['last']}").json()["entries"] == []


def test_another_account_under_one_id_is_a_conflict_and_kept(client: TestClient) -> None:
    """The same id with other words: both stay in the log, and the sender is told."""
    entry = coat_entry()
    client.post("/api/log", json={"entries": [entry]})
    other = entry | {"note": "told otherwise"}
    (answer,) = client.post("/api/log", json={"entries": [other]}).json()["entries"]
    assert answer["became"] == "conflict"
    assert len(client.get("/api/log").json()["entries"]) == 2


def test_a_faulty_entry_hinders_no_other(client: TestClient) -> None:
    """The bad one is refused with what is wrong and where; the good one beside it is kept."""
    bad = coat_entry(coat="4", when="yesterday")
    good = coat_entry()
    refused, kept = client.post("/api/log", json={"entries": [bad, good]}).json()["entries"]
    assert (refused["became"], kept["became"]) == ("refused", "kept")
    assert {one["field"] for one in refused["problems"]} == {"coat", "when"}
    assert all(one["place"] == "entry 1" for one in refused["problems"])


def test_board_shows_a_coat_as_soon_as_it_is_logged(client: TestClient) -> None:
    """Before: no coat. After: the face has a coat, its water and until when; others still none."""
    before = {one["surface_id"]: one for one in client.get("/api/board").json()["faces"]}
    assert before["a1/north-wall"]["coat"] is None
    client.post("/api/log", json={"entries": [coat_entry(when_s=NOW_S + 30)]})  # a clock ahead
    board = client.get("/api/board?units=metric").json()
    after = {one["surface_id"]: one for one in board["faces"]}
    coat = after["a1/north-wall"]["coat"]
    assert coat["left_low_mm"] <= coat["left_mm"] <= coat["left_high_mm"]
    assert "mm left of" in after["a1/north-wall"]["words"]["left"]
    assert after["a2/north-wall"]["coat"] is None
    later = client.get(f"/api/board?at={iso(NOW_S + 7200).replace('+', '%2B')}").json()
    then = {one["surface_id"]: one for one in later["faces"]}["a1/north-wall"]["coat"]
    assert then["left_mm"] < coat["left_mm"]  # water only goes
    assert not later["is_now"]


def test_the_jobs_units_hold_until_somebody_presses_the_switch(tmp_path: Path) -> None:
    """Pages and answers of a metric job are metric; the cookie and the query each win over it."""
    with make_test_client(kept_job(tmp_path, yard_job(units="metric"))) as client:
        assert 'data-units="metric"' in client.get("/board").text
        assert client.get("/api/board").json()["units"] == "metric"
        assert client.get("/api/board?units=us").json()["units"] == "us"
        client.cookies.set("units", "us")
        assert 'data-units="us"' in client.get("/board").text
        assert client.get("/api/board").json()["units"] == "us"


@pytest.mark.parametrize("query", ["at=noon", "at=2030-08-14T12:00", "after=-1", "after=1e3"])
def test_bad_queries_are_told(client: TestClient, query: str) -> None:
    """A moment without its offset, a number that is none: 400 and what was wanted."""
    path = "/api/log" if query.startswith("after") else "/api/board"
    answer = client.get(f"{path}?{query}")
    assert answer.status_code == 400
    assert answer.json()["problems"][0]["field"] == query.partition("=")[0]


def test_openapi_names_every_resource(client: TestClient) -> None:
    """The description lists each API door with its role, and refusals in the one shape."""
    document = client.get("/api/openapi.json").json()
    assert document["openapi"].startswith("3.1")
    for door in RESOURCES:
        operation = document["paths"][door.path][door.method.lower()]
        assert door.role in operation["description"]
        assert "default" in operation["responses"]


def test_every_write_needs_more_than_a_look() -> None:
    """No door that changes anything is open to those who may only look."""
    for door in all_doors():
        if door.method != "GET" and door.path not in ("/api/join", "/api/leave"):
            assert door.role in (Role.LOG, Role.PLAN, Role.LEAD), door.path
