"""The crews' day: coats and routes agree, nothing breaks a rule, what is left out is explained."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import replace

import pytest

from job_fixture import (
    HOUR,
    START_S,
    make_asset,
    make_crew,
    make_fire,
    make_product,
    make_weather,
)
from stillwet.domain.crew_plan import CrewPlan, StepKind
from stillwet.domain.crew_status import CrewState, CrewStatus, DoneWork
from stillwet.domain.job import Job
from stillwet.domain.plan import Verdict
from stillwet.domain.products import Depot, RatioBasis
from stillwet.domain.roads import Road
from stillwet.engine.lay_windows import as_sprayed, lay_windows
from stillwet.engine.make_plan import make_plan, plan_of
from stillwet.engine.prepared import prepare
from stillwet.errors import StillwetError
from stillwet.reports.crew_json import crew_plan_json_text
from stillwet.routing.plan import Binding
from stillwet.routing.pyvrp_solver import PyvrpSolver
from stillwet.services import crew_rounds
from stillwet.services.crew_again import take_stock
from stillwet.services.crewing import Knobs, plan_crews

from .crew_jobs import KNOBS, hut, huts, old_orders, planned, yard, yard_plan


def _made(plan: CrewPlan) -> dict[str, list[str]]:
    """Visits by asset."""
    made: dict[str, list[str]] = defaultdict(list)
    for run in plan.crews:
        for step in run.steps_of(StepKind.COAT):
            made[step.place_id].append(step.visit_id)
    return made


def _binding(plan: CrewPlan, asset_id: str) -> str:
    return next(one.binding for one in plan.left_out if one.asset_id == asset_id)


def test_every_asset_is_accounted_for_once() -> None:
    """Each asset is covered, left out with a reason, or has no coat planned for it."""
    plan = yard_plan()
    told = [*_made(plan), *(one.asset_id for one in plan.left_out)]
    told += [one.asset_id for one in plan.not_sprayed]
    assert sorted(told) == ["a1", "a2", "a3", "a4"]
    assert plan.covered == len(_made(plan)) == 4
    assert plan.worth == pytest.approx(plan.worth_possible, rel=0.05)


def test_crews_are_gone_before_the_egress_lead() -> None:
    """Every visit ends by the earliest arrival less the egress lead, and says so."""
    leave = START_S + 7 * HOUR - 0.75 * HOUR
    steps = [step for run in yard_plan().crews for step in run.steps_of(StepKind.COAT)]
    assert {step.leave_by_s for step in steps} == {leave}
    assert max(step.finish_s for step in steps) <= leave


def test_work_takes_setup_and_the_mix_at_the_crews_own_flow() -> None:
    """From starting to being done: this crew's set-up, then its litres over its flow."""
    job = yard()
    crews = {crew.id: crew for crew in job.crews}
    for run in yard_plan().crews:
        crew = crews[run.crew_id]
        for step in run.steps_of(StepKind.COAT):
            assert step.finish_s - step.start_s == pytest.approx(
                crew.setup_s + step.amount_m3 / crew.spray_flow_m3_s
            )
            assert sum(face.mix_m3 for face in step.faces) == pytest.approx(step.amount_m3)
            assert step.faces[0].starts_s == pytest.approx(
                step.start_s + crew.setup_s, rel=0.0, abs=0.01
            )


def test_same_seed_and_iterations_same_plan() -> None:
    """Two runs agree to the byte, with either solver."""
    assert crew_plan_json_text(planned(yard())) == crew_plan_json_text(yard_plan())
    runs = [
        plan_crews(yard(), solver=PyvrpSolver(), now_s=START_S, knobs=Knobs(iterations=10))
        for _ in range(2)
    ]
    assert crew_plan_json_text(runs[0]) == crew_plan_json_text(runs[1])


def test_it_settles_and_says_after_how_many_rounds() -> None:
    """Stops of the last two rounds are within five minutes, so the plan calls itself settled."""
    plan = yard_plan()
    assert plan.settled
    assert plan.settling == f"settled after {plan.rounds} rounds"
    assert 2 <= plan.rounds <= 6


def test_it_says_when_it_does_not_settle(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a tolerance that nothing meets, six rounds end in a plain statement of what moved."""
    monkeypatch.setattr(crew_rounds, "SETTLED_S", -1.0)
    plan = planned(yard(assets=huts(1)))
    assert not plan.settled
    assert plan.rounds == 6
    assert plan.settling == "did not settle in 6 rounds: Hut a1 still moved by 0 min"


def test_coats_are_good_for_the_time_they_are_really_laid() -> None:
    """Reckoned again for the routes' own lay times, every coat said to hold has its 90 %."""
    plan = yard_plan()
    faces = {face.surface_id: face for r in plan.crews for s in r.steps for face in s.faces}
    prepared = prepare(yard())
    again = plan_of(prepared, now_s=0.0, lay_times={n: f.starts_s for n, f in faces.items()})
    for asset in again.assets:
        for face in asset.surfaces:
            laid = faces[face.surface.id]
            # Rounds reckon from up to five minutes before, so coats are never thinner than asked.
            assert laid.coat_kg_m2 >= face.coat_kg_m2 - 1e-9
    assert min(band.probability for band in plan.bands) >= 0.9


def test_asked_to_stop_it_gives_the_best_plan_so_far() -> None:
    """A stop at once still answers with the first routes, said to be unsettled."""
    plan = planned(yard(), should_stop=lambda: True)
    assert plan.covered > 0
    assert not plan.settled
    assert plan.settling.startswith("did not settle: stopped in round 1")


def test_a_large_house_is_made_in_parts_and_whole() -> None:
    """A house that asks more than a tank is sprayed in parts that add up to all of every face."""
    house = make_asset(id="big", name="Big house", fire=make_fire(setback_m=20.0))
    plan = planned(yard(assets=(house,)))
    steps = [step for run in plan.crews for step in run.steps_of(StepKind.COAT)]
    assert len(steps) > 1
    assert {step.parts for step in steps} == {len(steps)}
    shares: dict[str, float] = defaultdict(float)
    for step in steps:
        for face in step.faces:
            shares[face.label] += face.share
    assert len(shares) > 4
    assert all(share == pytest.approx(1.0) for share in shares.values())
    assert any(run.steps_of(StepKind.FILL) for run in plan.crews)


def test_half_made_assets_are_given_up() -> None:
    """With time for one part only, the house is left out: half a coat protects nothing."""
    house = make_asset(id="big", name="Big house", fire=make_fire(setback_m=20.0))
    leave = START_S + 6.25 * HOUR
    crew = make_crew(start_m=(0.0, 0.0), shift_from_s=leave - 1000.0)
    plan = planned(yard(assets=(house, hut("a1", value=1.0)), crews=(crew,)))
    assert "big" not in _made(plan)
    assert "a1" in _made(plan)
    left = next(one for one in plan.left_out if one.asset_id == "big")
    assert left.reason
    assert left.frees


def test_no_asset_is_ever_half_made() -> None:
    """Houses that ask several tanks each, with time for some: all parts of one, or none."""
    houses = tuple(
        make_asset(id=f"h{n}", name=f"House {n}", x_m=60.0 * n, fire=make_fire(setback_m=20.0))
        for n in range(1, 5)
    )
    crews = tuple(replace(c, shift_from_s=START_S + 5.4 * HOUR) for c in yard().crews)
    plan = planned(yard(assets=(*houses, hut("a1", value=5.0)), crews=crews))
    made = _made(plan)
    steps = [step for run in plan.crews for step in run.steps_of(StepKind.COAT)]
    assert any(step.parts > 1 for step in steps)
    for step in steps:
        assert len(made[step.place_id]) == step.parts
    left = {one.asset_id for one in plan.left_out}
    assert left
    assert left.isdisjoint(made)
    assert plan.covered == len(made)


def test_musts_come_before_any_worth() -> None:
    """A must worth next to nothing is covered where there is time for one hut only."""
    leave = START_S + 6.25 * HOUR
    crew = make_crew(start_m=(0.0, 0.0), shift_from_s=leave - 800.0)
    pair = (hut("a1", value=100.0), hut("a2", value=1.0, must=True))
    plan = planned(yard(assets=pair, crews=(crew,)))
    assert list(_made(plan)) == ["a2"]
    assert plan.musts_missed == 0
    assert _binding(plan, "a1") == Binding.CREWS_BUSY


def test_no_water_is_explained() -> None:
    """Empty tanks and nowhere to fill them: left out for want of water."""
    crews = tuple(replace(crew, water_m3=crew.reserve_m3) for crew in yard().crews)
    plan = planned(yard(crews=crews, water_points=()))
    assert {one.binding for one in plan.left_out} == {Binding.WATER}
    assert plan.worth == 0.0


def test_an_asset_off_the_roads_is_explained() -> None:
    """A hut 2 km from the only road cannot be reached; those beside it can."""
    road = Road(((-500.0, 0.0), (500.0, 0.0)))
    plan = planned(yard(assets=(*huts(2), hut("far", y_m=2000.0)), roads=(road,)))
    assert _binding(plan, "far") == Binding.UNREACHABLE
    assert set(_made(plan)) == {"a1", "a2"}
    assert "road network of 1 edges" in plan.travel[0]


def test_a_shift_after_the_window_is_explained() -> None:
    """Crews that come on duty when all must be gone: no time before the fire, and what frees it."""
    late = tuple(replace(crew, shift_from_s=START_S + 7 * HOUR) for crew in yard().crews)
    plan = planned(yard(crews=late))
    assert {one.binding for one in plan.left_out} <= {Binding.EGRESS, Binding.WINDOW}
    assert len(plan.left_out) == 4
    assert any("earlier" in words for one in plan.left_out for words in one.frees)


def test_a_window_that_is_over_sends_nobody() -> None:
    """A fire due before crews could be clear: no coat is planned, with the reason."""
    soon = make_fire(arrival_from_s=START_S + 0.5 * HOUR, arrival_to_s=START_S + HOUR)
    plan = planned(yard(assets=huts(1, fire=soon)))
    (one,) = plan.not_sprayed
    assert one.verdict is Verdict.WILL_NOT_HOLD
    assert one.reason.startswith("No time")


def test_only_a_crew_with_what_it_needs_is_sent() -> None:
    """A hut that needs a ladder goes to the crew with one; with none it is left out."""
    one, two = yard().crews
    needy = (hut("a1", needs=frozenset({"ladder"})),)
    with_ladder = replace(two, capabilities=frozenset({"ladder", "long hose"}))
    plan = planned(yard(assets=needy, crews=(one, with_ladder)))
    assert [run.crew_id for run in plan.crews if run.steps] == ["c2"]
    assert _binding(planned(yard(assets=needy)), "a1") == Binding.CAPABILITY


def test_concentrate_is_loaded_at_a_depot() -> None:
    """A crew that starts with none loads first; with no depot all is left out for want of it."""
    crews = (make_crew(start_m=(0.0, 0.0), concentrate_m3=0.0, concentrate_room_m3=0.05),)
    depot = Depot("d1", "Trailer", 0.0, 50.0, stock_m3=0.1, load_s=300.0)
    plan = planned(yard(assets=huts(1), crews=crews, depots=(depot,)))
    kinds = [step.kind for step in plan.crews[0].steps]
    assert kinds.index(StepKind.LOAD) < kinds.index(StepKind.COAT)
    short = planned(yard(assets=huts(1), crews=crews))
    assert _binding(short, "a1") == Binding.CONCENTRATE


def test_what_a_powder_lacks_is_told_by_mass() -> None:
    """A scoop is no measure: what would free the hut is so many kilograms, and no volume."""
    crews = (make_crew(start_m=(0.0, 0.0), concentrate_m3=0.0, concentrate_room_m3=0.05),)
    powder = make_product(ratio_basis=RatioBasis.MASS, density_kg_m3=500.0)
    short = planned(replace(yard(assets=huts(1), crews=crews), product=powder))
    assert _binding(short, "a1") == Binding.CONCENTRATE
    assert re.match(r"\d+ kg \(\d+ lb\) of concentrate on a crew", short.left_out[0].frees[0])


def test_straight_lines_are_said_to_be_untested() -> None:
    """Without roads the plan names its detour factor and that nobody tested it."""
    assert "straight line x factor 1.3 (untested default" in yard_plan().travel[0]


def test_what_the_job_did_not_say_is_told() -> None:
    """Crews without a place, water or concentrate are named with what was taken."""
    plan = planned(yard(assets=huts(1), crews=(make_crew(name="Engine One"),)))
    for words in ("middle of the assets", "full tank", "concentrate"):
        assert any(words in told and "Engine One" in told for told in plan.assumed)


def test_windows_and_lay_times_of_the_engine() -> None:
    """A later lay time never asks a thicker coat; windows open no later than the plan's own."""
    job = yard(assets=huts(1))
    prepared = prepare(job)
    windows = lay_windows(prepared)
    plans = [
        plan_of(prepared, now_s=0.0, lay_times=dict.fromkeys(windows, START_S + hours * HOUR))
        for hours in (4.0, 5.0, 6.0)
    ]
    coats = [[face.coat_kg_m2 for face in plan.assets[0].surfaces] for plan in plans]
    assert all(a >= b >= c for a, b, c in zip(*coats, strict=True))
    base = make_plan(job, now_s=0.0).assets[0]
    for face in base.surfaces:
        assert face.apply_from_s is not None
        assert windows[face.surface.id].from_s <= face.apply_from_s
        assert windows[face.surface.id].bare_chance == 0.0
    lay = {face.surface.id: face.lay_time_s for face in base.surfaces}
    for face in base.surfaces:
        sprayed = as_sprayed(prepared, (base,), lay)[face.surface.id]
        assert sprayed.probability == face.probability
        assert sprayed.hold_90_s == face.hold_until_90_s


def test_no_coat_waits_longer_than_the_longest_wait() -> None:
    """Damp, still air lets a coat last all night; it is laid no sooner than 12 h (or 6 h) before.

    The rule of docs/decisions/0010; a shorter wait never opens a window sooner.
    """
    fire = make_fire(
        setback_m=20.0, arrival_from_s=START_S + 20 * HOUR, arrival_to_s=START_S + 21 * HOUR
    )
    calm = make_weather()
    damp = make_weather(
        wind_speed_m_s=0.1 * calm.wind_speed_m_s,
        relative_humidity=0.95 + 0.0 * calm.relative_humidity,
        cloud_cover=1.0 + calm.cloud_cover,
    )
    job = yard(assets=huts(1, fire=fire), weather=damp)
    froms = []
    for hours in (18.0, 12.0, 6.0):
        wait = replace(job, practice=replace(job.practice, longest_wait_s=hours * HOUR))
        opens = {window.from_s for window in lay_windows(prepare(wait)).values()}
        froms.append(min(opens))
        assert min(opens) == START_S + (20.0 - hours) * HOUR
        steps = [s for run in planned(wait).crews for s in run.steps_of(StepKind.COAT)]
        assert steps
        assert min(f.starts_s for s in steps for f in s.faces) >= min(opens)
        (asset,) = make_plan(wait, now_s=0.0).assets
        assert min(face.apply_from_s or 0.0 for face in asset.surfaces) >= min(opens)
    assert froms == sorted(froms)


# --- planning again -----------------------------------------------------------------------------


def _status(job: Job, plan: CrewPlan, **changes: object) -> CrewStatus:
    """The day of a plan as the reader of its JSON would give it."""
    orders = old_orders(plan)
    assert set(orders) == {crew.id for crew in job.crews}
    status = CrewStatus(None, (), (), orders)
    return replace(status, **changes)  # type: ignore[arg-type]


def _first_done(plan: CrewPlan) -> tuple[DoneWork, float]:
    """The visit finished first, as done, and a moment just after it."""
    step, crew_id = min(
        ((step, run.crew_id) for run in plan.crews for step in run.steps_of(StepKind.COAT)),
        key=lambda pair: pair[0].finish_s,
    )
    return DoneWork(step.place_id, None, crew_id, step.finish_s), step.finish_s + 60.0


def test_done_visits_stay_done_and_little_changes() -> None:
    """On plan, with nothing gone wrong: the done hut is not visited again and no stop changes."""
    job, plan = yard(), yard_plan()
    done, now_s = _first_done(plan)
    again = planned(job, again=take_stock(job, _status(job, plan, done=(done,)), now_s=now_s))
    assert done.asset_id not in _made(again)
    assert {*_made(again), done.asset_id} == set(_made(plan))
    assert [one.asset_id for one in again.done] == [done.asset_id]
    assert again.changes == ()
    assert again.covered == plan.covered
    assert min(step.arrive_s for run in again.crews for step in run.steps) >= now_s


def test_a_lost_crew_hands_over_its_visits_and_each_is_told() -> None:
    """With one engine out, its huts go to the other or are dropped, with names for the radio."""
    job, plan = yard(), yard_plan()
    status = _status(job, plan, crews=(CrewState("c1", out=True),))
    again = planned(job, again=take_stock(job, status, now_s=START_S))
    assert [run.crew_id for run in again.crews] == ["c2"]
    told = " ".join(again.changes)
    for run in plan.crews:
        if run.crew_id == "c1":
            assert run.steps_of(StepKind.COAT)
            assert all(step.name in told for step in run.steps_of(StepKind.COAT))
    assert "Engine One" in told


def test_no_crew_left_is_explained() -> None:
    """All engines out: everything is left out because there is no crew."""
    job, plan = yard(), yard_plan()
    out = tuple(CrewState(crew.id, out=True) for crew in job.crews)
    again = planned(job, again=take_stock(job, _status(job, plan, crews=out), now_s=START_S))
    assert {one.binding for one in again.left_out} == {Binding.NO_CREW}
    assert len(again.left_out) == 4


def test_a_half_done_house_is_finished_not_begun_anew() -> None:
    """After part 1 only the other parts are visited, under their old names and shares."""
    house = make_asset(id="big", name="Big house", fire=make_fire(setback_m=20.0))
    job = yard(assets=(house,))
    plan = planned(job)
    steps = [s for run in plan.crews for s in run.steps_of(StepKind.COAT)]
    first = min(steps, key=lambda step: step.finish_s)
    crew_id = next(run.crew_id for run in plan.crews if first in run.steps)
    done = DoneWork("big", first.part, crew_id, first.finish_s)
    status = _status(job, plan, done=(done,))
    again = planned(job, again=take_stock(job, status, now_s=first.finish_s + 1.0))
    left = [s for run in again.crews for s in run.steps_of(StepKind.COAT)]
    assert {s.visit_id for s in left} == {s.visit_id for s in steps} - {first.visit_id}
    old = {s.visit_id: [(f.label, f.share) for f in s.faces] for s in steps}
    for step in left:
        assert [(face.label, face.share) for face in step.faces] == old[step.visit_id]


def test_done_work_must_be_of_the_plan_and_past() -> None:
    """A part that the old plan did not have and a time to come are refused together."""
    job, plan = yard(), yard_plan()
    done = (DoneWork("a1", 7, "c1", START_S), DoneWork("a2", None, "c1", START_S + HOUR))
    with pytest.raises(StillwetError) as caught:
        take_stock(job, _status(job, plan, done=done), now_s=START_S + 60.0)
    assert [problem.field for problem in caught.value.problems] == ["part", "time"]


def test_knobs_say_what_they_are() -> None:
    """Seconds carry the warning that another machine may differ; iterations do not."""
    assert "another machine" in Knobs(seconds=5.0).words
    assert KNOBS.words == "20 iterations a search"
