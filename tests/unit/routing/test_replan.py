"""Planning again in the middle of the day: what is done stays, little else moves."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from routing_jobs import a_crew, a_fill_point, a_problem, a_visit
from stillwet.errors import StillwetError
from stillwet.routing.greedy_solver import GreedySolver
from stillwet.routing.plan import RoutePlan, Stopped
from stillwet.routing.problem import ConcentrateDepot, Point, RoutingProblem, TravelMatrix
from stillwet.routing.pyvrp_solver import PyvrpSolver
from stillwet.routing.replan import CrewNow, Replan, changes_between, remaining_problem, replan
from stillwet.routing.roads import straight_line_travel
from stillwet.routing.solver import Budget
from stillwet.routing.validator import validate_plan

BUDGET = Budget(iterations=100)
SOLVER = PyvrpSolver()
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


def test_what_is_done_is_gone_and_crews_stand_where_they_are() -> None:
    """Done visits leave the problem; crews start from now, here, with what they hold."""
    left = remaining_problem(
        a_day(),
        now_s=NOW_S,
        done={"e0": 1000.0, "w0": 1000.0},
        crews_now=[standing("E1", 1000.0), standing("E2", -1000.0, 0.8)],
        make_travel=make_travel,
    )
    assert {visit.id for visit in left.visits} == {"e1", "e2", "e3", "w1", "w2", "w3"}
    assert all(visit.earliest_s == NOW_S for visit in left.visits)
    assert [(crew.x_m, crew.water_m3) for crew in left.crews] == [(1000.0, 1.2), (-1000.0, 0.8)]
    assert [crew.shift_from_s for crew in left.crews] == [NOW_S + 100.0] * 2
    assert left.travel["road"].seconds[0, left.visit_place(0)] == pytest.approx(30.0)


def test_a_follower_of_what_is_done_waits_from_then() -> None:
    """Done at 1800 s and a gap of 900 s: no sooner than 2700 s, and it follows nothing any more."""
    job = a_problem([a_crew("E1")], [a_visit(), a_visit("again", after="v1", after_gap_s=900.0)])
    left = remaining_problem(
        job,
        now_s=NOW_S,
        done={"v1": 1800.0},
        crews_now=[standing("E1", 0.0)],
        make_travel=make_travel,
    )
    (again,) = left.visits
    assert (again.earliest_s, again.after) == (2700.0, None)


def test_the_alternatives_of_what_is_done_are_gone() -> None:
    """A second coat that follows the alternative not chosen counts from the one that was made."""
    job = a_problem(
        [a_crew("E1")],
        [
            a_visit("early", group="coat"),
            a_visit("late", group="coat"),
            a_visit("again", after="early", after_gap_s=600.0),
        ],
    )
    left = remaining_problem(
        job,
        now_s=NOW_S,
        done={"late": 1900.0},
        crews_now=[standing("E1", 0.0)],
        make_travel=make_travel,
    )
    (again,) = left.visits
    assert (again.id, again.earliest_s, again.after) == ("again", 2500.0, None)


def test_stocks_and_shifts_from_now() -> None:
    """What a cache holds now replaces what it held; a crew held beyond its shift has none left."""
    depot = ConcentrateDepot("D", "Cache", 0.0, 0.0, 1.0, 60.0)
    job = a_problem([a_crew("E1", shift_to_s=NOW_S)], [a_visit()], [], [depot])
    left = remaining_problem(
        job,
        now_s=NOW_S,
        done={},
        crews_now=[standing("E1", 0.0)],
        make_travel=make_travel,
        stock_m3={"D": 0.25},
    )
    assert left.depots[0].stock_m3 == 0.25
    assert left.crews[0].shift_from_s == left.crews[0].shift_to_s == NOW_S + 100.0


def test_unknown_crews_and_visits_are_refused() -> None:
    """A typing error over the radio is told, all at once."""
    with pytest.raises(StillwetError) as caught:
        remaining_problem(
            a_day(),
            now_s=NOW_S,
            done={"x": 0.0},
            crews_now=[standing("E9", 0.0)],
            make_travel=make_travel,
        )
    assert [problem.field for problem in caught.value.problems] == ["crew", "done"]


def again(done: Mapping[str, float], *crews: CrewNow) -> Replan:
    """Plan the day, then plan it again from now."""
    job = a_day()
    old = SOLVER.solve(job, seed=1, budget=BUDGET)
    assert old.served == {visit.id for visit in job.visits}
    left = remaining_problem(job, now_s=NOW_S, done=done, crews_now=crews, make_travel=make_travel)
    found = replan(left, old, SOLVER, seed=1, budget=BUDGET)
    assert validate_plan(left, found.plan) == ()
    return found


def test_a_day_that_goes_as_planned_changes_nothing() -> None:
    """Crews where the plan had them: every order stays, nothing is told over the radio."""
    found = again(
        {"e0": 1000.0, "w0": 1000.0}, standing("E1", 1000.0, 1.9), standing("E2", -1000.0, 1.9)
    )
    assert (found.kept, found.changes) == (True, ())
    assert found.plan.stopped is Stopped.DONE
    assert found.plan.served == {"e1", "e2", "e3", "w1", "w2", "w3"}


def test_a_crew_that_drops_out_hands_over() -> None:
    """E2 is out of service: its visits go to E1, and only those are told."""
    found = again({"e0": 1000.0, "w0": 1000.0}, standing("E1", 1000.0))
    assert found.plan.served == {"e1", "e2", "e3", "w1", "w2", "w3"}
    told = {change.visit_id: change for change in found.changes}
    assert {"w1", "w2", "w3"} <= set(told)
    assert (told["w1"].old_crew, told["w1"].new_crew) == ("E2", "E1")
    assert "now Engine E1 instead of E2" in told["w1"].words


def in_turn(*visit_ids: str) -> RoutePlan:
    """The plan of one engine that has to make these visits in this order."""
    turns = [
        a_visit(one, x_m=PLACE_M[one], earliest_s=2000.0 * n, latest_s=2000.0 * n + 500.0)
        for n, one in enumerate(visit_ids)
    ]
    plan = GreedySolver().solve(a_problem([a_crew("E1")], turns), seed=0, budget=NO_TIME)
    assert [stop.visit_id for stop in plan.routes[0].stops] == list(visit_ids)
    return plan


def one_or_the_other(dear: float, *, must: bool = False) -> tuple[RoutingProblem, RoutePlan]:
    """Two houses, both to be begun within 150 s, 200 s apart; the old plan knew the eastern one.

    So the old orders have no room for the one in the west, worth ``dear``.
    """
    east = a_visit("east", x_m=PLACE_M["east"], latest_s=150.0)
    west = a_visit("west", x_m=PLACE_M["west"], latest_s=150.0, prize=dear, must=must)
    old = GreedySolver().solve(a_problem([a_crew("E1")], [east]), seed=0, budget=NO_TIME)
    return a_problem([a_crew("E1")], [east, west]), old


@pytest.mark.parametrize(
    ("dear", "fresh_worth", "kept"),
    [(10.1, 0.02, True), (10.3, 0.02, False), (10.3, 0.05, True), (100.0, 0.02, False)],
)
def test_a_fresh_plan_is_taken_only_when_it_is_worth_the_talk(
    dear: float, fresh_worth: float, kept: bool
) -> None:
    """10.1 for 10 is a gain of 1 %, 10.3 one of 3 %: above the share asked, the west it is."""
    job, old = one_or_the_other(dear)
    found = replan(job, old, SOLVER, seed=1, budget=BUDGET, fresh_worth=fresh_worth)
    assert found.kept == kept
    assert found.plan.served == {"east" if kept else "west"}
    words = [change.words for change in found.changes]
    told = ["House east: dropped (was Engine E1)", "House west: added for Engine E1"]
    assert words == ([] if kept else told)


def test_a_must_is_worth_any_change() -> None:
    """A must worth nothing else displaces the old plan however much changes cost."""
    job, old = one_or_the_other(0.0, must=True)
    found = replan(job, old, SOLVER, seed=1, budget=BUDGET, fresh_worth=100.0)
    assert (found.kept, found.plan.musts_missed) == (False, 0)


def test_the_old_orders_are_put_right() -> None:
    """East, then west was the plan; now the west closes at 110 s: it is moved to the front."""
    west = a_visit("west", x_m=PLACE_M["west"], latest_s=110.0)
    job = a_problem([a_crew("E1")], [a_visit("east", x_m=PLACE_M["east"]), west])
    found = replan(job, in_turn("east", "west"), SOLVER, seed=1, budget=BUDGET)
    assert (found.kept, found.plan.prize) == (True, 20.0)
    assert [change.words for change in found.changes] == [
        "House east: Engine E1 now makes it after House west",
        "House west: Engine E1 now makes it after the start",
    ]


def test_a_new_visit_is_added_and_told() -> None:
    """A house nobody thought of: it goes to a crew, the rest stays."""
    job = a_day()
    old = SOLVER.solve(job, seed=1, budget=BUDGET)
    more = a_problem(job.crews, [*job.visits, a_visit("new", x_m=-2200.0)], job.fill_points)
    found = replan(more, old, SOLVER, seed=1, budget=BUDGET)
    assert found.kept
    assert [(one.visit_id, one.old_crew, one.new_crew) for one in found.changes][-1] == (
        "new",
        None,
        "E2",
    )
    assert "added for Engine E2" in found.changes[-1].words


def test_no_change_is_no_talk() -> None:
    """The same orders at other times: nothing to tell."""
    old = in_turn("east", "west")
    job = a_problem([a_crew("E1")], [a_visit(one, x_m=x) for one, x in PLACE_M.items()])
    assert changes_between(job, old, old) == ()
