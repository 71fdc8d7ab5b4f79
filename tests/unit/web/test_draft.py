"""The desk's resources: typed edits, undo, files, the check, runs, reasons."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from draft_fixture import WEATHER, WRITER, empty_draft, row, text, whole_draft
from stillwet.services.board import BoardDesk
from stillwet.services.draft_planning import DraftDesk, plan_draft
from stillwet.services.planning import silent
from stillwet.services.sharing import last_audit
from stillwet.web.app import make_app
from web_fixture import NOW_S, ORIGIN, HeldClient, Inline, make_house

SHAPE = {"field", "wanted", "got", "place", "hint"}


def _client(path: Path) -> TestClient:
    desk = Inline(DraftDesk(path))
    house = make_house(path, desk=Inline(BoardDesk(path)), drafts=desk, reasons=desk)
    return HeldClient(
        make_app(house), ORIGIN, client=("127.0.0.1", 50000), headers={"origin": ORIGIN}
    )


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[TestClient]:
    """The app over a job file that holds no job."""
    with _client(empty_draft(tmp_path)) as made:
        yield made


@pytest.fixture
def whole(tmp_path: Path) -> Iterator[TestClient]:
    """The app over a whole draft, not planned yet."""
    with _client(whole_draft(tmp_path)) as made:
        yield made


@pytest.fixture
def planned(tmp_path: Path) -> Iterator[TestClient]:
    """The app over a planned draft."""
    path = whole_draft(tmp_path)
    plan_draft(path, NOW_S, WRITER, silent)
    with _client(path) as made:
        yield made


def _edit(client: TestClient, *edits: dict[str, Any]) -> Any:
    return client.post("/api/draft/edits", json={"edits": list(edits)})


def _bring(client: TestClient, into: str, name: str, content: bytes, **more: str) -> Any:
    data = {"into": into, "id": "edit-a-file", "replaces": "yes", **more}
    return client.post("/api/draft/files", data=data, files={"file": (name, content)})


def test_every_page_opens_while_there_is_no_job(empty: TestClient) -> None:
    """An empty file has a desk, a first page and people; what needs a job says there is none."""
    for path in ("/", "/desk", "/board", "/people"):
        answer = empty.get(path)
        assert answer.status_code == 200
        assert "New job" in answer.text
    answer = empty.get("/api/job")
    assert answer.status_code == 404
    assert "desk" in answer.json()["problems"][0]["hint"]
    assert empty.get("/api/plan").json()["plan"] is None


def test_edits_are_kept_once_and_undone(empty: TestClient, tmp_path: Path) -> None:
    """Sent twice, kept once; undo and redo; an audit line for each write."""
    edit = text("job.name", "Alder Bend")
    assert _edit(empty, edit).json()["edits"] == [{"id": edit["id"], "became": "kept"}]
    assert _edit(empty, edit).json()["edits"][0]["became"] == "already here"
    draft = empty.get("/api/draft").json()
    assert draft["texts"] == {"job.name": "Alder Bend"}
    assert (draft["can_undo"], draft["can_redo"]) == (True, False)
    assert empty.post("/api/draft/undo", json={"id": "undo-0001"}).json() == {"done": True}
    assert empty.get("/api/draft").json()["texts"] == {}
    assert empty.post("/api/draft/undo", json={"id": "undo-0002"}).json() == {"done": False}
    assert empty.post("/api/draft/redo", json={"id": "redo-0001"}).json() == {"done": True}
    assert empty.get("/api/draft").json()["texts"] == {"job.name": "Alder Bend"}
    assert len(last_audit(tmp_path / "new.gpkg", 10)) >= 5


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"edits": "x"},
        {"edits": ["x"]},
        {"edits": [{"id": "edit-0001", "kind": "open", "document": {}}]},
        {"edits": [text("job.name'; DROP TABLE drafts; --", "x")]},
        {"edits": [{**text("job.name", "x"), "id": "ä-not-ascii-id"}]},
        {"edits": [row("assets", "r1", {}, "POLYGON ((0 0")]},
        {"edits": [text("job.name", str(n), f"edit-{n:06}") for n in range(501)]},
    ],
)
def test_bad_edits_get_the_one_shape(empty: TestClient, body: dict[str, Any]) -> None:
    """Refused with 400 in the one shape; nothing is kept."""
    answer = empty.post("/api/draft/edits", json=body)
    assert answer.status_code == 400
    assert all(set(one) == SHAPE for one in answer.json()["problems"])
    assert empty.get("/api/draft").json()["row"] == 0


def test_names_and_notes_are_text_and_no_markup(empty: TestClient) -> None:
    """What looks like markup or a formula comes back as typed, as JSON."""
    hostile = '<script>alert(1)</script>"=cmd|calc'
    _edit(empty, text("job.name", hostile), row("assets", "r1", {"note": hostile}))
    draft = empty.get("/api/draft").json()
    assert draft["texts"]["job.name"] == hostile
    assert draft["lists"]["assets"][0]["fields"]["note"] == hostile
    assert hostile not in empty.get("/desk").text


def test_files_are_brought_and_bad_ones_told(empty: TestClient) -> None:
    """A weather file stands in its slot; a list becomes rows; bad ones change nothing."""
    assert _bring(empty, "weather", "../../w.csv", WEATHER).json()["became"] == "kept"
    assert empty.get("/api/draft").json()["files"]["weather"]["name"] == "w.csv"
    listed = b"id,kind,latitude,longitude,eave height [ft]\nh1,house,39.75,-105.2,9\n"
    answer = _bring(empty, "assets", "yard.csv", listed, id="edit-yard-file")
    assert answer.json()["rows"] == 1
    (house,) = empty.get("/api/draft").json()["lists"]["assets"]
    assert house["fields"] == {"id": "h1", "kind": "house", "eave_height": "9 ft"}
    bad = listed.replace(b"39.75", b"139.75")
    answer = _bring(empty, "assets", "yard.csv", bad, id="edit-yard-bad1")
    assert answer.status_code == 400
    assert answer.json()["problems"][0]["place"] == "yard.csv, row 2"
    assert _bring(empty, "houses", "yard.csv", listed).status_code == 400
    no_file = empty.post("/api/draft/files", data={"into": "assets", "id": "edit-no-file"})
    assert no_file.status_code == 400
    assert len(empty.get("/api/draft").json()["lists"]["assets"]) == 1


def test_the_check_stands_beside_the_fields(whole: TestClient) -> None:
    """A whole draft is sound; one bad value has one spot."""
    assert whole.get("/api/draft/check").json()["is_sound"]
    _edit(whole, text("fire.setback", "20", "edit-setback-bad"))
    (problem,) = whole.get("/api/draft/check").json()["problems"]
    assert problem["spot"] == {"key": "fire.setback", "list": "", "row": "", "field": ""}


@pytest.mark.parametrize(("units", "height"), [("us", "8.9 ft"), ("metric", "2.7 m")])
def test_the_form_tells_defaults_with_their_sources(
    empty: TestClient, units: str, height: str
) -> None:
    """Each untested default has its interval and source; every field of the form has a label."""
    form = empty.get(f"/api/draft/form?units={units}").json()
    eave = form["defaults"]["assets"]["house"]["eave_height"]
    assert eave["value"] == height
    for place in form["defaults"].values():
        for known in place.values():
            for one in known.values():
                assert one["source"]
                assert one["interval"] or one["kind"] != "untested default"
    parts = [part for step in form["steps"] for part in step["parts"] if "main" in part]
    assert all(one["label"] for part in parts for one in (*part["main"], *part["more"]))


def test_the_form_leaves_out_no_field_of_a_job(empty: TestClient) -> None:
    """Whatever a job file may say can be typed, but for what the map or a file says."""
    from stillwet.exchange.draft_shape import LIST_COLUMNS, text_keys

    form = empty.get("/api/draft/form").json()
    shown = {
        f"{part.get('section') or part['list']}.{one['name']}"
        for step in form["steps"]
        for part in step["parts"]
        if "main" in part
        for one in (*part["main"], *part["more"])
    }
    assert text_keys() - shown == {"roads.layer", "roads.columns"}
    columns = {f"{name}.{one}" for name, own in LIST_COLUMNS.items() for one in own.names}
    drawn = {"x", "y", "footprint"}
    left = {one for one in columns - shown if one.partition(".")[2] not in drawn}
    of_fuel = {"moisture", "canopy", "crown", "fuel"}
    assert {one for one in left if one.partition(".")[2].partition("_")[0] not in of_fuel} == set()


def test_a_run_makes_the_plan_and_tells_how_far_it_is(whole: TestClient) -> None:
    """Started, followed, done: the plan is kept; a second run at the same time is refused."""
    started = whole.post("/api/runs", json={"kind": "coats"})
    assert started.status_code == 202
    assert whole.post("/api/runs", json={"kind": "coats"}).status_code == 409
    run = _followed(whole, started.json()["id"])
    assert run["state"] == "done"
    assert run["share"] == 1.0
    plan = whole.get("/api/plan").json()["plan"]
    assert plan["plan_id"] == run["result"]["plan_id"]
    assert [one["asset_id"] for one in plan["rows"]]
    assert not whole.get("/api/draft").json()["is_ahead"]
    _edit(whole, text("job.name", "Another", "edit-name-later"))
    assert whole.get("/api/draft").json()["is_ahead"]


def _followed(client: TestClient, run_id: str) -> Any:
    for _ in range(600):
        run = client.get(f"/api/runs/{run_id}").json()
        if run["state"] != "running":
            return run
        time.sleep(0.1)
    raise AssertionError("the run did not end")


def test_a_stopped_run_keeps_nothing(whole: TestClient) -> None:
    """Stopped at once: no job and no plan in the file, and the run says so."""
    run = whole.post("/api/runs", json={"kind": "coats"}).json()
    assert whole.request("DELETE", f"/api/runs/{run['id']}").json()["state"] == "stopped"
    assert _followed(whole, run["id"])["state"] == "stopped"
    assert whole.get("/api/plan").json()["plan"] is None


def test_a_run_of_a_bad_draft_fails_with_its_problems(empty: TestClient) -> None:
    """What is missing is told in the one shape."""
    run = _followed(empty, empty.post("/api/runs", json={"kind": "coats"}).json()["id"])
    assert run["state"] == "failed"
    assert "job" in {one["place"].partition(".")[0] for one in run["problems"]}
    assert all(set(one) == SHAPE for one in run["problems"])


def test_unknown_runs_and_no_packet(empty: TestClient) -> None:
    """404 in the one shape."""
    for answer in (empty.get("/api/runs/0123456789abcdef"), empty.get("/api/packet.pdf")):
        assert answer.status_code == 404
        assert set(answer.json()["problems"][0]) == SHAPE
    assert empty.post("/api/runs", json={"kind": "tea"}).status_code == 400


def test_a_packet_is_found_while_it_is_of_the_plan_kept(planned: TestClient) -> None:
    """Made, found, gone with the server or with another plan; then a page says what to press."""
    browser = {"accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
    missing = planned.get("/api/packet.pdf", headers=browser)
    assert missing.status_code == 404
    assert "Print the packet" in missing.text
    assert 'href="/desk#plan"' in missing.text
    assert not planned.get("/api/plan").json()["has_packet"]
    run = planned.post("/api/runs", json={"kind": "packet"}).json()
    assert _followed(planned, run["id"])["state"] == "done"
    assert planned.get("/api/plan").json()["has_packet"]
    packet = planned.get("/api/packet.pdf", headers=browser)
    assert packet.content.startswith(b"%PDF")
    _edit(planned, text("job.members", "17", "edit-members-later"))
    run = planned.post("/api/runs", json={"kind": "coats"}).json()
    assert _followed(planned, run["id"])["state"] == "done"
    assert not planned.get("/api/plan").json()["has_packet"]
    old = planned.get("/api/packet.pdf")
    assert old.status_code == 404, "a packet of an older plan is never handed out as today's"
    assert "Print the packet" in old.json()["problems"][0]["hint"]


def test_why_and_what_flips(planned: TestClient) -> None:
    """The reasons of one asset in words; a change, and one that is none."""
    why = planned.get("/api/explain?asset=h1").json()
    assert why["name"] == "h1"
    assert why["steps"][0]["links"]
    assert planned.get("/api/explain?asset=nowhere").status_code == 400
    assert planned.get("/api/explain").status_code == 400
    flips = planned.post("/api/compare", json={"changes": ["wind=+30%"]}).json()
    assert "of 2 assets" in flips["comparisons"][0]["flip_words"]
    assert planned.post("/api/compare", json={"changes": ["moon=full"]}).status_code == 400
    assert planned.post("/api/compare", json={"changes": [1]}).status_code == 400


def test_a_plan_after_trials_typed_at_the_bench_counts_them(planned: TestClient) -> None:
    """Typed at the bench: the plan shown says it lacks them; run again, its mix has changed."""
    before = planned.get("/api/plan").json()
    assert before["trials_since"] == ""
    boards = ((0.6, 1.5), (0.8, 3), (1, 4.8), (1.2, 6.5), (1.4, 8), (1.7, 10))
    rows = [
        {"ratio": f"{ratio} %", "hardness": "90 mg/L", "age": "2 h", "coat": f"{coat} mm"}
        for ratio, coat in boards
    ]
    assert planned.post("/api/trials", json={"rows": rows}).json()["kept"] == len(boards)
    since = planned.get("/api/plan").json()["trials_since"]
    assert since.startswith("6 trials were typed at the bench after plan")
    assert not planned.get("/api/draft").json()["is_ahead"]
    started = planned.post("/api/runs", json={"kind": "coats"}).json()
    assert _followed(planned, started["id"])["state"] == "done"
    after = planned.get("/api/plan").json()
    assert after["trials_since"] == ""
    mixes = [[one["mix"] for one in found["plan"]["rows"]] for found in (before, after)]
    assert mixes[0] != mixes[1]
