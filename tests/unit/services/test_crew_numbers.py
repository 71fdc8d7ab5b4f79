"""Parts of an asset are called in the order in which they are laid, wherever they are told."""

from __future__ import annotations

import json
from functools import cache

import pytest

from job_fixture import make_asset, make_crew, make_fire
from stillwet.domain.crew_plan import CrewPlan, CrewStep, StepKind
from stillwet.domain.crew_status import CrewStatus, DoneWork
from stillwet.domain.job import Job
from stillwet.reports.crew_calendar import crew_calendar_text
from stillwet.reports.crew_json import crew_plan_json_text
from stillwet.reports.crew_text import crew_text
from stillwet.reports.crew_tracks import crew_geojson_text, crew_gpx_text
from stillwet.services import crew_numbers
from stillwet.services.crew_again import take_stock
from stillwet.services.crewing import Knobs

from .crew_jobs import huts, old_orders, planned, yard

# One engine with a small tank, or two; the searches of these seeds begin with a later part.
CASES = [(4, 1, 1.6), (5, 1, 1.0), (4, 2, 1.0), (5, 2, 1.0)]


def _job(engines: int, tank_m3: float) -> Job:
    house = make_asset(id="big", name="Big house", fire=make_fire(setback_m=20.0), length_m=12.0)
    crews = tuple(
        make_crew(
            id=f"c{number}",
            name=f"Engine {number}",
            start_m=(0.0, 10.0 * number),
            tank_m3=tank_m3,
            reserve_m3=0.1,
            setup_s=300.0 + 100 * number,
        )
        for number in range(engines)
    )
    return yard(assets=(house, *huts(3)), crews=crews)


@cache
def _plan(seed: int, engines: int, tank_m3: float) -> CrewPlan:
    return planned(_job(engines, tank_m3), Knobs(iterations=10, seed=seed))


def _parts(plan: CrewPlan) -> list[CrewStep]:
    """The visits to the big house in the order in which their work starts."""
    steps = [step for run in plan.crews for step in run.steps_of(StepKind.COAT)]
    return sorted((step for step in steps if step.place_id == "big"), key=lambda step: step.start_s)


@pytest.mark.parametrize("case", CASES)
def test_part_one_is_laid_first(case: tuple[int, int, float]) -> None:
    """Numbers and names of visits count up with the clock, over all crews."""
    steps = _parts(_plan(*case))
    assert len(steps) > 1
    assert [step.part for step in steps] == list(range(1, len(steps) + 1))
    assert [step.visit_id for step in steps] == [f"big part {step.part}" for step in steps]


@pytest.mark.parametrize("case", CASES)
def test_only_the_names_change(
    case: tuple[int, int, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Times and shares of every face are those of the day as it was cut, whose order was not."""
    told = [_facts(step) for step in _parts(_plan(*case))]
    monkeypatch.setattr(crew_numbers, "numbered_as_laid", lambda day, _told: day)
    seed, engines, tank_m3 = case
    cut = _parts(planned(_job(engines, tank_m3), Knobs(iterations=10, seed=seed)))
    assert [_facts(step) for step in cut] == told
    assert [step.part for step in cut] != sorted(step.part for step in cut)


def _facts(step: CrewStep) -> tuple[object, ...]:
    shares = tuple((face.surface_id, face.share, face.starts_s) for face in step.faces)
    return (step.start_s, step.finish_s, step.amount_m3, step.concentrate_m3, shares)


def test_text_calendar_track_and_map_tell_one_order() -> None:
    """One engine: part 1 stands before part 2 in each, as do their times."""
    plan = _plan(*CASES[1])
    count = len(_parts(plan))
    for made in (
        crew_text(plan, "us"),
        crew_calendar_text(plan, units="us"),
        crew_gpx_text(plan),
        crew_geojson_text(plan),
    ):
        places = [made.index(f"part {number} of {count}") for number in range(1, count + 1)]
        assert places == sorted(places)
    steps = [
        step
        for crew in json.loads(crew_plan_json_text(plan))["crews"]
        for step in crew["steps"]
        if step["place_id"] == "big"
    ]
    assert [step["part"] for step in steps] == list(range(1, count + 1))


def test_planned_again_a_part_keeps_the_number_on_the_sheet() -> None:
    """Part 1 is done: the others are called as before, each with its own faces."""
    job, plan = _job(2, 1.0), _plan(4, 2, 1.0)
    steps = _parts(plan)
    first = steps[0]
    crew_id = next(run.crew_id for run in plan.crews if first in run.steps)
    done = DoneWork("big", 1, crew_id, first.finish_s)
    status = CrewStatus(None, (done,), (), old_orders(plan))
    again = planned(job, again=take_stock(job, status, now_s=first.finish_s + 1.0))
    faces = {step.part: [(face.label, face.share) for face in step.faces] for step in steps[1:]}
    assert {s.part: [(f.label, f.share) for f in s.faces] for s in _parts(again)} == faces
