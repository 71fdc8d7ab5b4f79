"""Planning again a second time: what the plan before began with, less what is behind it."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from job_fixture import HOUR, START_S, make_asset, make_crew, make_fire
from stillwet.domain.crew_plan import CrewPlan, CrewStep, StepKind
from stillwet.domain.job import Job
from stillwet.domain.products import Depot
from stillwet.errors import StillwetError
from stillwet.exchange.crew_status import read_crew_status
from stillwet.reports.crew_json import crew_plan_json_text
from stillwet.reports.plan_json import packaged_schema
from stillwet.routing.problem import RoutingCrew, RoutingProblem, places_of
from stillwet.services.crew_again import Again, take_stock
from stillwet.services.crew_travel import crew_travel, profile_of

from .crew_jobs import huts, planned, yard

MINUTE = 60.0
DEPOT = Depot("d1", "Trailer", 0.0, 50.0, stock_m3=0.1, load_s=300.0)


def _iso(time_s: float) -> str:
    return datetime.fromtimestamp(time_s, UTC).isoformat()


def _day(**changes: Any) -> Job:
    """Three huts; one engine that starts with no concentrate; a trailer that has 100 L of it."""
    crew = make_crew(start_m=(0.0, 0.0), concentrate_m3=0.0, concentrate_room_m3=0.05)
    return yard(**({"assets": huts(3), "crews": (crew,), "depots": (DEPOT,)} | changes))


def _again(folder: Path, job: Job, plan: object, status: str) -> Again:
    """The day as a plan's file and a status file tell it."""
    text = crew_plan_json_text(plan) if isinstance(plan, CrewPlan) else json.dumps(plan)
    (folder / "crews.json").write_text(text)
    (folder / "status.toml").write_text(status)
    read = read_crew_status(folder / "status.toml", job)
    assert read.now_s is not None
    return take_stock(job, read, now_s=read.now_s)


def _done(step: CrewStep, late_s: float = 0.0) -> str:
    part = f"part = {step.part}\n" if step.parts > 1 else ""
    time = _iso(step.finish_s + late_s)
    return f'[[done]]\nasset = "{step.place_id}"\ncrew = "c1"\n{part}time = "{time}"\n'


def _coats(plan: CrewPlan) -> list[CrewStep]:
    return [step for run in plan.crews for step in run.steps_of(StepKind.COAT)]


# --- amounts, by hand ----------------------------------------------------------------------------


def _second_plan() -> dict[str, Any]:
    """A plan made again at noon: 60 L in the trailer, 30 L on board, then 20 L more and a coat."""
    load = {
        "kind": "load concentrate",
        "place_id": "d1",
        "finish": _iso(START_S + 4.5 * HOUR),
        "amount_m3": 0.02,
    }
    coat = {
        "kind": "coat",
        "visit_id": "a2",
        "place_id": "a2",
        "part": 1,
        "parts": 1,
        "x_m": 80.0,
        "y_m": 0.0,
        "finish": _iso(START_S + 5 * HOUR),
        "tank_after_m3": 0.6,
        "concentrate_m3": 0.012,
        "faces": [],
    }
    crew = {
        "crew_id": "c1",
        "start_at_m": [40.0, 5.0],
        "start": _iso(START_S + 4 * HOUR),
        "water_at_start_m3": 0.9,
        "concentrate_at_start_m3": 0.03,
        "steps": [load, coat],
    }
    stock = {"depot_id": "d1", "name": "Trailer", "stock_at_start_m3": 0.06}
    return {
        "schema": "stillwet.crews/1",
        "crews": [crew],
        "stocks": [stock],
        "is_replan": True,
        "done": [],
        "begun": [],
    }


def _problem(job: Job) -> RoutingProblem:
    """The whole day as the job has it, with nothing to coat: only the amounts are looked at."""
    crew = RoutingCrew(
        "c1",
        "Invented engine",
        0.0,
        0.0,
        profile_of(15.0),
        1.136,
        0.379,
        1.136,
        0.00189,
        600.0,
        START_S,
        START_S + 12 * HOUR,
        0.0,
        0.05,
    )
    places = places_of((crew,), (), (), ())
    return RoutingProblem((crew,), (), (), (), crew_travel(job, places))


NOW = f'now = "{_iso(START_S + 5.5 * HOUR)}"\n'
A2 = f'[[done]]\nasset = "a2"\ncrew = "c1"\ntime = "{_iso(START_S + 5 * HOUR)}"\n'
TOLD = '[[crew]]\nid = "c1"\nconcentrate = "7 L"\n[[depot]]\nid = "Trailer"\nstock = "25 L"\n'


@pytest.mark.parametrize(
    ("status", "aboard_l", "left_l", "place_m", "water_l"),
    [
        (NOW, 30.0, 60.0, (40.0, 5.0), 900.0),
        (NOW + A2, 30.0 + 20.0 - 12.0, 60.0 - 20.0, (80.0, 0.0), 600.0),
        (NOW + A2 + TOLD, 7.0, 25.0, (80.0, 0.0), 600.0),
    ],
    ids=["nothing made since", "loaded and coated", "told"],
)
def test_amounts_start_from_the_plan_before(
    tmp_path: Path,
    status: str,
    aboard_l: float,
    left_l: float,
    place_m: tuple[float, float],
    water_l: float,
) -> None:
    """By hand: 30 L on board and 60 L in the trailer at noon, 20 L taken on, 12 L sprayed.

    The job itself says 0 L and 100 L at the start of the day, at (0, 0) with a full tank.
    """
    job = _day()
    again = _again(tmp_path, job, _second_plan(), status)
    (crew,) = again.shape(_problem(job)).crews
    assert crew.concentrate_m3 == pytest.approx(aboard_l / 1000.0)
    assert again.stocks_m3 == {"d1": pytest.approx(left_l / 1000.0)}
    assert (crew.x_m, crew.y_m) == place_m
    assert crew.water_m3 == pytest.approx(water_l / 1000.0)


def test_a_crew_is_not_free_before_the_plan_before_has_it_free(tmp_path: Path) -> None:
    """An hour before it is done with what it is on, it is planned from then, not from now."""
    job = _day()
    now = f'now = "{_iso(START_S + 3 * HOUR)}"\n'
    (crew,) = _again(tmp_path, job, _second_plan(), now).shape(_problem(job)).crews
    assert crew.shift_from_s == START_S + 4 * HOUR


@pytest.mark.parametrize(
    ("status", "wanted"),
    [
        (TOLD.replace("Trailer", "Trailor"), 'did you mean "Trailer"?'),
        (TOLD.replace("25 L", "-1 L"), "stock: wanted 0 to"),
        (TOLD + '[[depot]]\nid = "d1"\nstock = "1 L"\n', "each depot id once"),
        (TOLD.replace("stock", "stok"), "stok"),
    ],
)
def test_faults_of_a_told_stock_are_named(tmp_path: Path, status: str, wanted: str) -> None:
    """An unknown depot, less than nothing, one told twice, a misspelt key."""
    with pytest.raises(StillwetError) as caught:
        _again(tmp_path, _day(), _second_plan(), NOW + status)
    assert wanted in str(caught.value)


# --- whole days ----------------------------------------------------------------------------------


def test_three_plans_of_one_day_lose_no_concentrate(tmp_path: Path) -> None:
    """Two huts coated, one by each plan: by the balance of mass, what is on board and in the
    trailer is what there was less what both coats used; neither hut is coated again.
    """
    job = _day()
    first = planned(job)
    one = _coats(first)[0]
    again = f'now = "{_iso(one.finish_s + MINUTE)}"\n{_done(one)}'
    second = planned(job, again=_again(tmp_path, job, first, again))
    two = _coats(second)[0]
    status = f'now = "{_iso(two.finish_s + MINUTE)}"\n{_done(two)}'
    third = planned(job, again=_again(tmp_path, job, second, status))
    (run,), (stock,) = third.crews, third.stocks
    assert run.concentrate_at_start_m3 is not None
    left = run.concentrate_at_start_m3 + stock.stock_at_start_m3
    assert left == pytest.approx(0.1 - one.concentrate_m3 - two.concentrate_m3)
    assert {step.place_id for step in _coats(third)} == {"a1", "a2", "a3"} - {
        one.place_id,
        two.place_id,
    }
    assert [work.asset_id for work in third.done] == [one.place_id, two.place_id]
    assert third.covered == first.covered
    for plan in (first, second, third):
        document = json.loads(crew_plan_json_text(plan))
        Draft202012Validator(packaged_schema("crews")).validate(document)
        bands = {band.label: band.laid_s for band in plan.bands if band.asset_id == one.place_id}
        assert bands == pytest.approx({f.label: f.starts_s for f in one.faces}, abs=2.0)


def _big(tmp_path: Path) -> tuple[Job, list[CrewStep], CrewPlan]:
    """A house in several parts, the first of which is made before the only engine breaks down."""
    house = make_asset(id="big", name="Big house", fire=make_fire(setback_m=20.0), length_m=12.0)
    crew = make_crew(start_m=(0.0, 0.0), tank_m3=1.6, reserve_m3=0.1)
    job = yard(assets=(house,), crews=(crew,))
    plan = planned(job)
    steps = _coats(plan)
    assert len(steps) > 1
    status = f'now = "{_iso(steps[0].finish_s + MINUTE)}"\n{_done(steps[0])}'
    status += '[[crew]]\nid = "c1"\nout = true\n'
    return job, steps, planned(job, again=_again(tmp_path, job, plan, status))


def test_a_house_begun_and_left_is_finished_not_begun_anew(tmp_path: Path) -> None:
    """Part 1 made, nobody for the rest, then the engine is back: only the rest is laid."""
    job, steps, second = _big(tmp_path)
    assert second.crews == ()
    assert second.covered == 0
    status = f'now = "{_iso(steps[0].finish_s + 10 * MINUTE)}"\n'
    third = planned(job, again=_again(tmp_path, job, second, status))
    assert {s.visit_id for s in _coats(third)} == {s.visit_id for s in steps[1:]}
    assert any("Not in the plan before" in words for words in third.assumed)


def test_a_part_told_again_is_known_and_its_time_can_be_put_right(tmp_path: Path) -> None:
    """A part made before the plan before: told again, its coat is as old as it is told now."""
    job, steps, second = _big(tmp_path)
    part = steps[0]
    now = f'now = "{_iso(part.finish_s + 10 * MINUTE)}"\n'
    plain = _again(tmp_path, job, second, now).before.laid_s
    moved = _again(tmp_path, job, second, now + _done(part, 5 * MINUTE)).before.laid_s
    assert plain == pytest.approx({f.surface_id: f.starts_s for f in part.faces}, abs=2.0)
    assert moved == pytest.approx({f: at + 5 * MINUTE for f, at in plain.items()}, abs=2.0)


def test_the_whole_told_does_not_freshen_parts_made_before(tmp_path: Path) -> None:
    """The house is said to be done: what was laid before is as old as it was, and nothing is left.

    Only the later parts, of which nobody told a time of their own, are taken from what is told.
    """
    job, steps, second = _big(tmp_path)
    over = steps[-1].finish_s
    status = f'now = "{_iso(over + MINUTE)}"\n[[done]]\nasset = "big"\ntime = "{_iso(over)}"\n'
    before = _again(tmp_path, job, second, status).before
    assert before.done_assets == {"big"}
    for face in steps[0].faces:
        assert before.laid_s[face.surface_id] == pytest.approx(face.starts_s, abs=2.0)


def test_an_older_file_reads_and_says_what_it_forgets(tmp_path: Path) -> None:
    """A plan made again and written before this was: read as far as it goes, with a word of it."""
    job, steps, second = _big(tmp_path)
    old = json.loads(crew_plan_json_text(second))
    for name in ("stocks", "begun"):
        del old[name]
    for work in old["done"]:
        for name in ("crew_id", "part", "coat"):
            del work[name]
    now = f'now = "{_iso(steps[0].finish_s + 10 * MINUTE)}"\n'
    assert any("did not write down" in words for words in _again(tmp_path, job, old, now).assumed())
    with pytest.raises(StillwetError, match="leave out what was done before that plan was made"):
        _again(tmp_path, job, old, now + _done(steps[0]))
