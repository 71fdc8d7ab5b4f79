"""Planning again in the middle of the day: crews as they stand, and what is told of changes."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from routing_jobs import a_crew, a_fill_point, a_problem, a_visit
from stillwet.errors import StillwetError
from stillwet.routing.greedy_solver import GreedySolver
from stillwet.routing.plan import RoutePlan
from stillwet.routing.problem import ConcentrateDepot, Point, RoutingProblem, TravelMatrix
from stillwet.routing.replan import CrewNow, changes_between, remaining_problem
from stillwet.routing.roads import straight_line_travel
from stillwet.routing.solver import Budget

NO_TIME = Budget(iterations=0)
NOW_S = 2000.0
PLACE_M = {"east": 1000.0, "west": -1000.0}


def make_travel(places: tuple[Point, ...]) -> Mapping[str, TravelMatrix]:
    """As in a_problem: 10 m/s on straight lines."""
    return {"road": straight_line_travel(places, speed_m_s=10.0, factor=1.0)}


def a_day() -> RoutingProblem:
    """Two engines, a row of houses east for the one and a row west for the other."""
    crews = [a_crew("E1", x_m=100.0), a_crew("E2", x_m=-100.0)]
    east = [a_visit(f"e{n}", x_m=1000.0 + 300.0 * n, mix_m3=0.5) for n in range(4)]
    west = [a_visit(f"w{n}", x_m=-1000.0 - 300.0 * n, mix_m3=0.5) for n in range(4)]
    return a_problem(crews, [*east, *west], [a_fill_point(places=2)])


def standing(crew_id: str, x_m: float, water_m3: float = 1.2) -> CrewNow:
    """A crew that is free in 100 s with half a tank."""
    return CrewNow(crew_id, x_m, 0.0, NOW_S + 100.0, water_m3, 0.1)


def test_crews_stand_where_they_are() -> None:
    """Crews start from now, here, with what they hold; no visit begins before now."""
    left = remaining_problem(
        a_day(),
        now_s=NOW_S,
        crews_now=[standing("E1", 1000.0), standing("E2", -1000.0, 0.8)],
        make_travel=make_travel,
        stock_m3={},
    )
    assert all(visit.earliest_s == NOW_S for visit in left.visits)
    assert [(crew.x_m, crew.water_m3) for crew in left.crews] == [(1000.0, 1.2), (-1000.0, 0.8)]
    assert [crew.shift_from_s for crew in left.crews] == [NOW_S + 100.0] * 2
    assert left.travel["road"].seconds[0, left.visit_place(1)] == pytest.approx(30.0)


def test_stocks_and_shifts_from_now() -> None:
    """What a cache holds now replaces what it held; a crew held beyond its shift has none left."""
    depot = ConcentrateDepot("D", "Cache", 0.0, 0.0, 1.0, 60.0)
    job = a_problem([a_crew("E1", shift_to_s=NOW_S)], [a_visit()], [], [depot])
    left = remaining_problem(
        job,
        now_s=NOW_S,
        crews_now=[standing("E1", 0.0)],
        make_travel=make_travel,
        stock_m3={"D": 0.25},
    )
    assert left.depots[0].stock_m3 == 0.25
    assert left.crews[0].shift_from_s == left.crews[0].shift_to_s == NOW_S + 100.0


def test_unknown_crews_are_refused() -> None:
    """A typing error over the radio is told, all at once."""
    with pytest.raises(StillwetError) as caught:
        remaining_problem(
            a_day(),
            now_s=NOW_S,
            crews_now=[standing("E9", 0.0), standing("E8", 0.0)],
            make_travel=make_travel,
            stock_m3={},
        )
    assert [problem.got for problem in caught.value.problems] == ["'E9'", "'E8'"]


def in_turn(*visit_ids: str) -> RoutePlan:
    """The plan of one engine that has to make these visits in this order."""
    turns = [
        a_visit(one, x_m=PLACE_M[one], earliest_s=2000.0 * n, latest_s=2000.0 * n + 500.0)
        for n, one in enumerate(visit_ids)
    ]
    plan = GreedySolver().solve(a_problem([a_crew("E1")], turns), seed=0, budget=NO_TIME)
    assert [stop.visit_id for stop in plan.routes[0].stops] == list(visit_ids)
    return plan


def made_by(crew_id: str, *visit_ids: str) -> tuple[RoutingProblem, RoutePlan]:
    """A day of one engine, and its plan."""
    job = a_problem([a_crew(crew_id)], [a_visit(one, x_m=PLACE_M[one]) for one in visit_ids])
    return job, GreedySolver().solve(job, seed=0, budget=NO_TIME)


def told(job: RoutingProblem, old: RoutePlan, new: RoutePlan) -> list[str]:
    """What is said over the radio; E1 is known by name though it is out."""
    return [change.words for change in changes_between(job, old, new, {"E1": "Engine E1"})]


def test_every_kind_of_change_is_told() -> None:
    """Dropped, added, another crew, another turn: with the names on the doors."""
    both, turned = in_turn("east", "west"), in_turn("west", "east")
    job, east = made_by("E1", "east")
    two, _ = made_by("E1", "east", "west")
    assert told(two, both, east) == ["House west: dropped (was Engine E1)"]
    assert told(two, east, both) == ["House west: added for Engine E1"]
    assert told(two, both, turned) == [
        "House east: Engine E1 now makes it after House west",
        "House west: Engine E1 now makes it after the start",
    ]
    other, by_other = made_by("E2", "east")
    assert told(other, east, by_other) == ["House east: now Engine E2 instead of Engine E1"]
    assert told(job, both, east) == []  # the west is no part of what is left


def test_no_change_is_no_talk() -> None:
    """The same orders at other times: nothing to tell."""
    old = in_turn("east", "west")
    job = a_problem([a_crew("E1")], [a_visit(one, x_m=x) for one, x in PLACE_M.items()])
    assert changes_between(job, old, old) == ()
