"""Why a visit is left out, and what would let it in: by hand, and held to on random jobs."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from routing_jobs import HOUR, a_crew, a_fill_point, a_problem, a_visit, random_problem
from stillwet.routing.greedy_solver import GreedySolver
from stillwet.routing.plan import Binding, Relief, ReliefKind, RoutePlan, Unserved
from stillwet.routing.problem import ConcentrateDepot, RoutingProblem, TravelMatrix
from stillwet.routing.search import Working, insert_all, make_model
from stillwet.routing.solver import Budget

LADDER = frozenset({"ladder"})
NO_TIME = Budget(iterations=0)


def left_out(problem: RoutingProblem, visit_id: str) -> Unserved:
    """Why this visit is left out of the insertion plan."""
    plan = GreedySolver().solve(problem, seed=0, budget=NO_TIME)
    (found,) = (one for one in plan.unserved if one.visit_id == visit_id)
    return found


def amounts(found: Unserved) -> dict[ReliefKind, float]:
    """How much of each change would let it in."""
    return {relief.kind: relief.amount for relief in found.frees}


@pytest.mark.parametrize(
    ("crew", "visit", "binding", "frees"),
    [
        # There at 100 s: 100 s after the window closes; offered in whole minutes.
        (
            {"shift_from_s": HOUR},
            {"latest_s": HOUR},
            Binding.WINDOW,
            {ReliefKind.EARLIER_START: 120.0, ReliefKind.LATER_FIRE: 120.0},
        ),
        # Done at 1000 s, to be gone 600 s before a fire at 1500 s.
        (
            {},
            {"fire_s": 1500.0, "egress_s": 600.0},
            Binding.EGRESS,
            {ReliefKind.EARLIER_START: 120.0, ReliefKind.LATER_FIRE: 120.0},
        ),
        # Done at 1000 s, the shift is over at 800 s; nobody may start work before 0 s.
        (
            {"shift_to_s": 800.0},
            {},
            Binding.SHIFT,
            {ReliefKind.LONGER_SHIFT: 240.0},
        ),
        # 5 m3 from tanks with 2 m3 usable: three parts, or 3 m3 more.
        (
            {},
            {"mix_m3": 5.0},
            Binding.TANK,
            {ReliefKind.SPLIT: 3.0, ReliefKind.WATER: 3.0},
        ),
        # 0.1 m3 above the reserve, no fill point, 0.6 m3 asked.
        ({"water_m3": 0.5}, {}, Binding.WATER, {ReliefKind.WATER: 0.5}),
        # 1 L on board, no depot, 6 L asked.
        ({"concentrate_m3": 0.001}, {}, Binding.CONCENTRATE, {ReliefKind.CONCENTRATE: 0.006}),
        ({}, {"needs": LADDER}, Binding.CAPABILITY, {ReliefKind.CAPABILITY: 1.0}),
    ],
    ids=["window", "egress", "shift", "tank", "water", "concentrate", "capability"],
)
def test_what_binds_and_what_frees_by_hand(
    crew: dict[str, Any], visit: dict[str, Any], binding: Binding, frees: dict[ReliefKind, float]
) -> None:
    """One crew, one visit, one constraint in the way, and the least change that takes it away."""
    found = left_out(a_problem([a_crew(**crew)], [a_visit(**visit)]), "v1")
    assert (found.binding, found.must, found.prize) == (binding, False, 10.0)
    assert amounts(found) == pytest.approx(frees)


def test_no_crew_at_all() -> None:
    """Nobody there: one engine is what is wanted."""
    found = left_out(a_problem([], [a_visit(must=True)]), "v1")
    assert (found.binding, found.must) == (Binding.NO_CREW, True)
    assert amounts(found) == {ReliefKind.ENGINE: 1.0}


def test_no_way_there() -> None:
    """A place no road leads to is told as such, not as a closed window."""
    job = a_problem([a_crew()], [a_visit(latest_s=0.0)])
    seconds = job.travel["road"].seconds.copy()
    seconds[:, job.visit_place(0)] = math.inf
    job = RoutingProblem(job.crews, job.visits, (), (), {"road": TravelMatrix(seconds, "cut off")})
    found = left_out(job, "v1")
    assert found.binding is Binding.UNREACHABLE
    assert amounts(found) == {ReliefKind.ROAD: 0.0}


def test_a_fill_point_that_closes_is_no_water() -> None:
    """The only fill point closes before a fill could be over: water binds, not time."""
    crew = a_crew(water_m3=0.4)
    found = left_out(a_problem([crew], [a_visit()], [a_fill_point(closes_s=300.0)]), "v1")
    assert found.binding is Binding.WATER
    assert "no fill point can be used in time" in found.reason


def test_busy_crews_and_what_makes_room() -> None:
    """Two visits at one place need 1900 s; a shift of 1100 s holds one: 800 s more, or an engine.

    Told in whole minutes. An earlier start does not help: no work before 0 s.
    """
    visits = [a_visit("dear", prize=20.0), a_visit("cheap")]
    found = left_out(a_problem([a_crew(shift_to_s=1100.0)], visits), "cheap")
    assert found.binding is Binding.CREWS_BUSY
    assert amounts(found) == {
        ReliefKind.ENGINE: 1.0,
        ReliefKind.LONGER_SHIFT: 840.0,
    }


def test_concentrate_that_others_take() -> None:
    """The cache holds enough for one visit: more concentrate frees the other, time does not."""
    depot = ConcentrateDepot("D", "Cache", 0.0, 100.0, stock_m3=0.007, load_s=60.0)
    crew = a_crew(concentrate_m3=0.0)
    job = a_problem([crew], [a_visit("dear", prize=20.0), a_visit("cheap")], [], [depot])
    found = left_out(job, "cheap")
    assert found.binding is Binding.CONCENTRATE
    assert amounts(found) == {ReliefKind.CONCENTRATE: 0.006}  # an engine would come without any


def test_a_second_coat_whose_first_is_not_made() -> None:
    """Nothing else frees it than making the first."""
    visits = [a_visit(mix_m3=9.0), a_visit("again", after="v1")]
    found = left_out(a_problem([a_crew()], visits), "again")
    assert found.binding is Binding.FIRST_COAT
    assert amounts(found) == {ReliefKind.FIRST_COAT: 1.0}


def test_a_second_coat_whose_first_is_over_too_late() -> None:
    """Done at 1000 s and 600 s between: ready at 1600 s for a window that closes at 1300 s."""
    visits = [a_visit(), a_visit("again", after="v1", after_gap_s=600.0, latest_s=1300.0)]
    found = left_out(a_problem([a_crew()], visits), "again")
    assert found.binding is Binding.FIRST_COAT_LATE
    assert amounts(found) == {ReliefKind.FIRST_COAT: 300.0, ReliefKind.LATER_FIRE: 300.0}


def test_what_frees_it_only_with_a_crew_to_spare_says_so() -> None:
    """The crew is away until its shift ends: a later fire would have to come with a free crew."""
    dear = a_visit("dear", prize=90.0, earliest_s=0.0, mix_m3=2.0, latest_s=150.0)
    other = a_visit("other", x_m=-1000.0, latest_s=50.0)
    job = a_problem([a_crew(shift_to_s=2400.0 + 600.0)], [dear, other])
    found = left_out(job, "other")
    assert found.binding is Binding.WINDOW
    assert amounts(found) == {ReliefKind.EARLIER_START: 60.0, ReliefKind.LATER_FIRE: 60.0}
    assert all("a crew with time for it" in relief.words for relief in found.frees)


def test_musts_and_large_prizes_are_told_first() -> None:
    """The order of a list that somebody reads to the end only when there is time."""
    visits = [
        a_visit("small", mix_m3=9.0, prize=1.0),
        a_visit("large", mix_m3=9.0, prize=90.0),
        a_visit("must", mix_m3=9.0, prize=0.0, must=True),
    ]
    plan = GreedySolver().solve(a_problem([a_crew()], visits), seed=0, budget=NO_TIME)
    assert [one.visit_id for one in plan.unserved] == ["must", "large", "small"]


def with_only(problem: RoutingProblem, wanted: frozenset[str]) -> RoutingProblem:
    """The problem with these visits alone."""
    kept = [n for n, visit in enumerate(problem.visits) if visit.id in wanted]
    rows = [*range(2 * len(problem.crews)), *(problem.visit_place(n) for n in kept)]
    rows += range(problem.fill_place(0), problem.place_count)
    travel = {
        name: TravelMatrix(matrix.seconds[np.ix_(rows, rows)], matrix.provenance)
        for name, matrix in problem.travel.items()
    }
    return replace(problem, visits=tuple(problem.visits[n] for n in kept), travel=travel)


def loosened(problem: RoutingProblem, visit_id: str, relief: Relief) -> RoutingProblem | None:
    """The problem with one relief granted in its records; None for kinds that need more."""
    if relief.kind is ReliefKind.LATER_FIRE:
        visits = tuple(
            replace(one, latest_s=one.latest_s + relief.amount, fire_s=one.fire_s + relief.amount)
            if one.id == visit_id
            else one
            for one in problem.visits
        )
        return replace(problem, visits=visits)
    changes = {
        ReliefKind.EARLIER_START: ("shift_from_s", -relief.amount),
        ReliefKind.LONGER_SHIFT: ("shift_to_s", relief.amount),
    }
    if relief.kind not in changes:
        return None
    name, more = changes[relief.kind]
    crews = tuple(replace(crew, **{name: getattr(crew, name) + more}) for crew in problem.crews)
    return replace(problem, crews=crews)


def is_let_in(problem: RoutingProblem, plan: RoutePlan, visit_id: str) -> bool:
    """True when the old orders, with nothing but this visit to add, make it and drop nothing."""
    wanted = plan.served | {visit_id}
    job = with_only(problem, wanted)
    model, numbers = make_model(job), {visit.id: n for n, visit in enumerate(job.visits)}
    orders = [[numbers[stop.visit_id] for stop in route.stops] for route in plan.routes]
    working = Working(model, orders)
    working.settle()
    insert_all(working, np.asarray(model.hopeful))
    return bool(working.served.all())


def test_what_is_said_to_free_a_visit_does() -> None:
    """On random jobs: granted in the problem itself, a change of time lets the visit in.

    And without it the plan has no room, which is why the visit is left out.
    """
    granted = 0
    for seed in range(70):
        job = random_problem(seed)
        plan = GreedySolver().solve(job, seed=seed, budget=NO_TIME)
        follows = {visit.id: visit.after for visit in job.visits}
        for one in plan.unserved:
            if one.binding is Binding.FIRST_COAT or follows[one.visit_id] is not None:
                continue  # its first visit has to come along
            assert not is_let_in(job, plan, one.visit_id), (seed, one)
            for relief in one.frees:
                eased = loosened(job, one.visit_id, relief)
                if eased is not None and "a crew with time for it" not in relief.words:
                    assert is_let_in(eased, plan, one.visit_id), (seed, one.visit_id, relief)
                    granted += 1
    assert granted >= 30
