"""Two passes, fresh coats, and assets that come after others: as visits, in turn, explained."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from job_fixture import HOUR, START_S, make_crew, make_fire, make_weather
from stillwet.domain.assets import Asset
from stillwet.domain.crew_plan import CrewPlan, CrewStep, StepKind
from stillwet.domain.crew_status import CrewStatus, DoneWork
from stillwet.domain.job import Job
from stillwet.errors import StillwetError
from stillwet.routing.plan import Binding
from stillwet.services.crew_again import take_stock
from stillwet.services.crew_checks import turn_faults
from stillwet.services.crewing import Knobs

from .crew_jobs import hut, huts, old_orders, planned, yard

GAP_S = 1800.0
_ARRIVAL_S = START_S + 10 * HOUR


def _steps(plan: CrewPlan, asset_id: str) -> list[CrewStep]:
    """The visits to an asset in the order they start."""
    steps = [s for run in plan.crews for s in run.steps_of(StepKind.COAT)]
    return sorted((s for s in steps if s.place_id == asset_id), key=lambda step: step.start_s)


def _windy(factor: float, **changes: object) -> Job:
    """So much more wind, so that morning coats do not last."""
    calm = make_weather()
    weather = make_weather(wind_speed_m_s=factor * calm.wind_speed_m_s)
    return yard(weather=weather, **changes)


@cache
def _two_pass_plan() -> tuple[Job, CrewPlan]:
    job = yard(assets=(hut("a1", coats=2, coat_gap_s=GAP_S), hut("a2", x_m=60.0)))
    return job, planned(job)


def test_two_passes_are_two_visits_with_the_gap_between() -> None:
    """Half of every face each time; the second starts the gap after the first is over."""
    _, plan = _two_pass_plan()
    first, second = _steps(plan, "a1")
    assert [(s.coat, s.coats) for s in (first, second)] == [(1, 2), (2, 2)]
    assert second.start_s >= first.finish_s + GAP_S
    assert second.waits_for == ("Hut a1, coat 1 of 2",)
    for step in (first, second):
        assert [face.share for face in step.faces] == pytest.approx([0.5] * len(step.faces))
    assert first.amount_m3 == pytest.approx(second.amount_m3)
    assert len(_steps(plan, "a2")) == 1


def test_one_pass_alone_is_never_made() -> None:
    """With time before the fire for the first pass only, the hut is left out whole."""
    leave = START_S + 6.25 * HOUR
    crew = make_crew(start_m=(0.0, 0.0), shift_from_s=leave - 1200.0)
    one = planned(yard(assets=(hut("a1"),), crews=(crew,)))
    assert len(_steps(one, "a1")) == 1
    two = planned(yard(assets=(hut("a1", coats=2, coat_gap_s=GAP_S),), crews=(crew,)))
    assert _steps(two, "a1") == []
    assert two.left_out[0].reason


def test_an_asset_waits_for_the_one_it_comes_after() -> None:
    """The worthier hut is 40 m nearer and would come first; told to wait, it starts second."""
    pair = (hut("a1", x_m=40.0, after="a2"), hut("a2", x_m=80.0, value=10.0))
    plan = planned(yard(assets=pair))
    (waits,), (leads,) = _steps(plan, "a1"), _steps(plan, "a2")
    assert waits.start_s >= leads.finish_s
    crews = {s.visit_id: run.crew_id for run in plan.crews for s in run.steps}
    assert waits.waits_for == (() if crews["a1"] == crews["a2"] else ("Hut a2",))
    free = planned(yard(assets=(replace(pair[0], after=None), pair[1])))
    assert _steps(free, "a1")[0].start_s < leads.finish_s


def test_a_house_in_parts_is_waited_for_to_its_last_part() -> None:
    """The hut starts when the last of the house's parts and passes is over."""
    house = hut("b", length_m=14.0, width_m=9.0, coats=2, coat_gap_s=600.0)
    job = yard(assets=(house, hut("a1", x_m=60.0, after="b")))
    plan = planned(job)
    parts = _steps(plan, "b")
    assert len(parts) > 2
    assert _steps(plan, "a1")[0].start_s >= max(step.finish_s for step in parts)
    assert turn_faults(job, plan) == ()


def test_what_waits_for_an_asset_left_out_is_left_out_and_says_so() -> None:
    """Nobody has the ladder that the first needs, so the second names the first."""
    pair = (hut("a1", after="a2"), hut("a2", x_m=80.0, needs=frozenset({"ladder"})))
    left = {one.asset_id: one for one in planned(yard(assets=pair)).left_out}
    assert left["a2"].binding == Binding.CAPABILITY
    assert left["a1"].binding == Binding.FIRST_COAT
    assert "Hut a2" in left["a1"].reason


def test_nothing_waits_for_an_asset_without_a_coat() -> None:
    """Where no coat is planned for the first there is nothing to wait for, and that is told."""
    soon = make_fire(arrival_from_s=START_S + 0.5 * HOUR, arrival_to_s=START_S + HOUR)
    plan = planned(yard(assets=(hut("a1", after="a2"), hut("a2", x_m=80.0, fire=soon))))
    assert len(_steps(plan, "a1")) == 1
    assert any("Hut a1 does not wait for Hut a2" in words for words in plan.assumed)


@cache
def _recoat_plan() -> tuple[Job, CrewPlan]:
    """Six huts; a crew that goes at noon, and one that comes 50 minutes before all must be gone."""
    morning = make_crew(
        start_m=(0.0, 0.0),
        tank_m3=4.0,
        setup_s=120.0,
        spray_flow_m3_s=4e-4,
        shift_to_s=START_S + 4.5 * HOUR,
    )
    late_s = START_S + 7.4 * HOUR
    late = replace(morning, id="c2", name="Engine Two", shift_from_s=late_s, shift_to_s=None)
    fire = make_fire(setback_m=20.0, arrival_from_s=START_S + 9 * HOUR, arrival_to_s=_ARRIVAL_S)
    job = _windy(2.2, assets=huts(6, recoat=True, coat_gap_s=600.0, fire=fire))
    job = replace(job, crews=(morning, late))
    return job, planned(job)


def test_a_fresh_coat_is_laid_where_the_first_would_dry() -> None:
    """Coated before it is sure to last, then again: later, after the gap, and surer than before."""
    job, plan = _recoat_plan()
    again = [s for run in plan.crews for s in run.steps_of(StepKind.COAT) if s.is_recoat]
    assert again
    lay = {
        face.surface_id: face.starts_s
        for run in plan.crews
        for step in run.steps_of(StepKind.COAT)
        if not step.is_recoat
        for face in step.faces
    }
    bands = {(b.asset_id, b.label, b.is_recoat): b for b in plan.bands}
    for step in again:
        (first,) = (one for one in _steps(plan, step.place_id) if not one.is_recoat)
        assert step.start_s >= first.finish_s + 600.0
        assert step.first_holds_until_s is not None
        assert step.first_holds_until_s < _ARRIVAL_S + job.practice.ember_period_s
        for face in step.faces:
            alone = bands[step.place_id, face.label, False]
            both = bands[step.place_id, face.label, True]
            assert both.probability >= alone.probability
            assert both.hold_90_s >= alone.hold_90_s
            assert alone.laid_s == lay[face.surface_id]
        alone_s = [b.probability for b in plan.bands if b.asset_id == step.place_id]
        assert step.chance is not None
        assert step.chance > min(alone_s)
    assert turn_faults(job, plan) == ()


def test_a_fresh_coat_is_worth_its_trip() -> None:
    """Allowed to coat early and lay anew, the same crews collect more worth than without."""
    job, plan = _recoat_plan()
    without = planned(replace(job, assets=tuple(replace(a, recoat=False) for a in job.assets)))
    assert plan.worth > 1.5 * without.worth
    assert plan.covered > without.covered


def test_what_is_not_laid_anew_is_told_with_the_reason() -> None:
    """Every early coat that falls short has a fresh one or a reason why not."""
    job, plan = _recoat_plan()
    again = {s.place_id for r in plan.crews for s in r.steps if s.is_recoat}
    told = {one.asset_id: one for one in plan.not_recoated}
    short = {b.asset_id for b in plan.bands if not b.is_recoat and b.probability < 0.9}
    assert short == again | set(told)
    assert all(one.reason for one in told.values())
    gone = replace(job, crews=job.crews[:1])
    early = planned(gone)
    assert early.not_recoated
    assert {one.binding for one in early.not_recoated} <= {
        *map(str, Binding),
        "no fresh coat helps",
    }
    assert not {s.place_id for r in early.crews for s in r.steps if s.is_recoat}


def test_planned_again_a_fresh_coat_is_still_to_come() -> None:
    """With all first coats done, only the fresh ones are left, on what is laid."""
    job, plan = _recoat_plan()
    again = {s.visit_id for r in plan.crews for s in r.steps if s.is_recoat}
    first = [s for r in plan.crews for s in r.steps_of(StepKind.COAT) if not s.is_recoat]
    now_s = max(step.finish_s for step in first) + HOUR
    made = [step for r in plan.crews for step in r.steps_of(StepKind.COAT) if step.finish_s < now_s]
    done = tuple(
        DoneWork(s.place_id, None, "c1", s.finish_s, "recoat" if s.is_recoat else None)
        for s in made
    )
    status = CrewStatus(None, done, (), old_orders(plan))
    later = planned(job, again=take_stock(job, status, now_s=now_s))
    left = [s for r in later.crews for s in r.steps_of(StepKind.COAT)]
    assert all(step.is_recoat for step in left)
    assert {step.visit_id for step in left} <= again - {step.visit_id for step in made}
    assert later.covered == plan.covered
    assert turn_faults(job, later) == ()


def test_a_pass_that_is_done_is_not_made_again() -> None:
    """After the first pass only the second is left, its gap reckoned from when the first ended."""
    job, plan = _two_pass_plan()
    first, second = _steps(plan, "a1")
    now_s = first.finish_s + 60.0
    done = (DoneWork("a1", None, "c1", now_s, "1"),)
    status = CrewStatus(None, done, (), old_orders(plan))
    later = planned(job, again=take_stock(job, status, now_s=now_s))
    (left,) = _steps(later, "a1")
    assert left.visit_id == second.visit_id
    assert left.start_s >= now_s + GAP_S
    never = replace(status, done=(DoneWork("a2", None, "c1", now_s, "2"),))
    with pytest.raises(StillwetError, match="coat"):
        take_stock(job, never, now_s=now_s)


def _moved(plan: CrewPlan, asset_id: str, by_s: float, *, last: bool) -> CrewPlan:
    """The plan with one visit's times moved, as a fault to be found."""
    steps = _steps(plan, asset_id)
    one = steps[-1 if last else 0]
    other = replace(one, start_s=one.start_s + by_s, finish_s=one.finish_s + by_s)
    runs = tuple(
        replace(run, steps=tuple(other if step is one else step for step in run.steps))
        for run in plan.crews
    )
    return replace(plan, crews=runs)


def test_the_second_look_finds_what_is_out_of_turn() -> None:
    """A pass moved into the gap, a pass dropped, a visit before the one it waits for."""
    job, plan = _two_pass_plan()
    assert turn_faults(job, plan) == ()
    gap_s = _steps(plan, "a1")[1].start_s - _steps(plan, "a1")[0].finish_s
    assert "too soon" in turn_faults(job, _moved(plan, "a1", GAP_S - gap_s - 60.0, last=True))[0]
    second = _steps(plan, "a1")[1]
    less = tuple(
        replace(run, steps=tuple(step for step in run.steps if step is not second))
        for run in plan.crews
    )
    assert any("laid 0.500 times" in one for one in turn_faults(job, replace(plan, crews=less)))
    order = replace(job, assets=(replace(job.assets[0], after="a2"), job.assets[1]))
    early = _moved(plan, "a1", -9 * HOUR, last=False)
    assert any("before a2 is done" in one for one in turn_faults(order, early))


# --- random jobs --------------------------------------------------------------------------------


def _random_asset(r: np.random.Generator, number: int) -> Asset:
    coats = int(r.integers(1, 3))
    large = r.random() < 0.3
    late = START_S + float(r.uniform(8, 11)) * HOUR
    return hut(
        f"a{number}",
        x_m=float(r.uniform(0, 3000)),
        y_m=float(r.uniform(0, 3000)),
        value=float(r.uniform(1, 100)),
        length_m=12.0 if large else 4.0,
        width_m=9.0 if large else 3.0,
        coats=coats,
        coat_gap_s=float(r.uniform(0, 3600)),
        recoat=bool(coats == 1 and r.random() < 0.6),
        must=bool(r.random() < 0.2),
        needs=frozenset({"ladder"} if r.random() < 0.2 else ()),
        after=f"a{int(r.integers(0, number))}" if number and r.random() < 0.4 else None,
        fire=make_fire(setback_m=20.0, arrival_from_s=late, arrival_to_s=late + HOUR),
    )


def _random_job(seed: int) -> Job:
    """Some crews from the morning on, some that come late."""
    r = np.random.default_rng(seed)
    crews = tuple(
        make_crew(
            id=f"c{n}",
            name=f"Engine {n}",
            start_m=(float(r.uniform(0, 3000)), 0.0),
            setup_s=120.0,
            spray_flow_m3_s=float(r.uniform(3e-4, 1.5e-3)),
            shift_from_s=START_S + float(r.choice([r.uniform(0, 1), r.uniform(6, 8)])) * HOUR,
            shift_to_s=START_S + float(r.uniform(8, 12)) * HOUR,
            capabilities=frozenset({"ladder"} if r.random() < 0.5 else ()),
        )
        for n in range(1, int(r.integers(2, 4)))
    )
    assets = tuple(_random_asset(r, number) for number in range(int(r.integers(2, 6))))
    job = _windy(float(r.uniform(1.6, 2.8)), assets=assets, crews=crews, members=8)
    return _early_or_late(r, job) if seed % 3 == 0 else job


def _early_or_late(r: np.random.Generator, job: Job) -> Job:
    """The day on which fresh coats pay, bent at random: no crew in the hours that would do."""
    day, _ = _recoat_plan()
    fire = day.assets[0].fire
    late = tuple(
        replace(a, fire=fire, coats=1, recoat=True, x_m=0.1 * a.x_m, y_m=0.1 * a.y_m)
        for a in job.assets
    )
    crews = tuple(
        replace(crew, shift_from_s=from_s, spray_flow_m3_s=float(r.uniform(3e-4, 6e-4)))
        for crew in day.crews
        if (from_s := (crew.shift_from_s or START_S) + float(r.uniform(-0.3, 0.2)) * HOUR)
    )
    able = tuple(replace(crew, capabilities=frozenset({"ladder"})) for crew in crews)
    return replace(job, assets=late, crews=able, weather=day.weather)


def _kinds(seed: int) -> set[str]:
    """Plan a random job (which runs the routes' own validator too) and look at it again."""
    job = _random_job(seed)
    plan = planned(job, Knobs(iterations=5, seed=seed))
    steps = [step for run in plan.crews for step in run.steps_of(StepKind.COAT)]
    told = [*(one.asset_id for one in plan.left_out), *(one.asset_id for one in plan.not_sprayed)]
    assert sorted([*told, *{s.place_id for s in steps}]) == sorted(a.id for a in job.assets), seed
    assert turn_faults(job, plan) == (), seed
    assert all(one.reason for one in (*plan.left_out, *plan.not_recoated)), seed
    kinds = {"two passes": any(step.coats > 1 for step in steps)}
    kinds |= {
        "fresh": any(step.is_recoat for step in steps),
        "parts": any(s.parts > 1 for s in steps),
    }
    kinds |= {"waits": any(step.waits_for for step in steps), "not fresh": bool(plan.not_recoated)}
    kinds |= {one.binding: True for one in plan.left_out}
    return {kind for kind, met in kinds.items() if met}


def test_random_jobs_are_laid_in_turn() -> None:
    """Passes, gaps, fresh coats and turns hold on 12 jobs; every asset is accounted for once."""
    met = set().union(*(_kinds(seed) for seed in range(12)))
    assert {"two passes", "waits", "parts"} <= met


@pytest.mark.slow
@pytest.mark.parametrize("part", range(4))
def test_more_random_jobs_are_laid_in_turn(part: int) -> None:
    """The same on 160 jobs, which are of every kind."""
    met = set().union(*(_kinds(seed) for seed in range(100 + 40 * part, 140 + 40 * part)))
    assert {"two passes", "waits", "parts", "fresh", "not fresh", Binding.FIRST_COAT} <= met
