"""What every solver has to get right, by hand: times, tanks, turns, choices, limits."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from routing_jobs import HOUR, a_crew, a_fill_point, a_problem, a_visit
from stillwet.errors import StillwetError
from stillwet.routing.greedy_solver import GreedySolver
from stillwet.routing.plan import CrewRoute, Refill, RoutePlan, Stopped
from stillwet.routing.problem import ConcentrateDepot, RoutingProblem
from stillwet.routing.pyvrp_solver import PyvrpSolver
from stillwet.routing.solver import Budget, Solver
from stillwet.routing.validator import validate_plan

Plan = Callable[[RoutingProblem], RoutePlan]


@pytest.fixture(params=[GreedySolver(), PyvrpSolver()], ids=["insertion", "pyvrp"])
def plan(request: pytest.FixtureRequest) -> Plan:
    """A plan by each solver, with nothing wrong in it."""
    solver: Solver = request.param

    def make(problem: RoutingProblem) -> RoutePlan:
        found = solver.solve(problem, seed=1, budget=Budget(iterations=200))
        assert validate_plan(problem, found) == ()
        return found

    return make


def only(found: RoutePlan) -> CrewRoute:
    """The route of the only crew that goes out."""
    (route,) = (route for route in found.routes if route.steps)
    return route


def test_one_visit_by_hand(plan: Plan) -> None:
    """1 km at 10 m/s, 300 s of set-up, 600 L at 1 L/s: there at 100 s, done at 1000 s."""
    found = plan(a_problem([a_crew()], [a_visit()]))
    (stop,) = only(found).stops
    assert (stop.arrive_s, stop.start_s, stop.finish_s) == (100.0, 100.0, 1000.0)
    assert stop.tank_after_m3 == pytest.approx(1.8)
    assert found.prize == found.prize_possible == 10.0
    assert (found.travel_s, found.musts_missed, found.unserved) == (100.0, 0, ())
    assert only(found).end_s == 1000.0
    assert found.provenance == ("road: straight line x factor 1 (given), 36 km/h (22 mph)",)


def test_the_way_home_counts(plan: Plan) -> None:
    """A crew with an end place drives there: 100 s more on the road and on the clock."""
    found = plan(a_problem([a_crew(end_m=(0.0, 0.0))], [a_visit()]))
    assert (found.travel_s, only(found).end_s) == (200.0, 1100.0)
    short = a_problem([a_crew(end_m=(0.0, 0.0), shift_to_s=1099.0)], [a_visit()])
    assert plan(short).served == frozenset()


def test_work_waits_for_the_window(plan: Plan) -> None:
    """A window that opens at 2000 s: the crew stands there from 100 s and starts at 2000 s."""
    (stop,) = only(plan(a_problem([a_crew()], [a_visit(earliest_s=2000.0)]))).stops
    assert (stop.arrive_s, stop.start_s, stop.finish_s) == (100.0, 2000.0, 2900.0)


def test_a_second_trip_with_a_fill_in_between(plan: Plan) -> None:
    """Five visits of 0.6 m3 with 2.0 m3 usable: one fill, after two visits, since it is shortest.

    After two visits 1.2 m3 are gone: 120 s + 1.2 m3 at 10 L/s; two legs of hypot(1000, 500) m.
    """
    visits = [a_visit(f"v{n}") for n in range(5)]
    route = only(plan(a_problem([a_crew()], visits, [a_fill_point()])))
    (fill,) = route.refills
    assert [isinstance(step, Refill) for step in route.steps].index(True) == 2
    assert fill.amount_m3 == pytest.approx(1.2)
    assert fill.tank_after_m3 == pytest.approx(2.4)
    assert route.end_s == pytest.approx(100 + 5 * 900 + 2 * math.hypot(100, 50) + 120 + 120)


@pytest.mark.parametrize(
    ("water_m3", "amount_m3"), [(0.4, 2.0), (0.1, 2.3), (0.9, 1.5)], ids=["reserve", "below", "low"]
)
def test_a_part_full_tank_is_filled_first(plan: Plan, water_m3: float, amount_m3: float) -> None:
    """With less than the visit asks above the reserve the crew fills first: 50 s off, 10 L/s."""
    route = only(plan(a_problem([a_crew(water_m3=water_m3)], [a_visit()], [a_fill_point()])))
    fill, stop = route.refills[0], route.stops[0]
    assert fill.arrive_s == 50.0
    assert fill.amount_m3 == pytest.approx(amount_m3)
    assert fill.finish_s == pytest.approx(50.0 + 120.0 + amount_m3 / 0.01)
    assert stop.arrive_s == pytest.approx(fill.finish_s + math.hypot(100, 50))


def test_what_is_in_a_part_full_tank_is_used(plan: Plan) -> None:
    """1.0 m3 above the reserve is enough for the visit: nobody fills."""
    found = plan(a_problem([a_crew(water_m3=1.4)], [a_visit()], [a_fill_point()]))
    assert only(found).refills == ()


def test_a_fill_point_has_hours(plan: Plan) -> None:
    """It opens at 1000 s: the crew waits 950 s. Closing 1 s before the fill is over, no visit."""
    crew, visit = a_crew(water_m3=0.4), a_visit()
    found = plan(a_problem([crew], [visit], [a_fill_point(opens_s=1000.0)]))
    assert only(found).refills[0].wait_s == 950.0
    assert plan(a_problem([crew], [visit], [a_fill_point(closes_s=370.0)])).served == {"v1"}
    assert plan(a_problem([crew], [visit], [a_fill_point(closes_s=369.0)])).served == frozenset()


def test_the_prize_decides_when_not_all_can_be_made(plan: Plan) -> None:
    """A shift for one visit only: the one worth 11, not the one worth 10."""
    visits = [a_visit("west", x_m=-1000.0, prize=10.0), a_visit("east", prize=11.0)]
    found = plan(a_problem([a_crew(shift_to_s=1100.0)], visits))
    assert found.served == {"east"}
    assert (found.prize, found.prize_possible) == (11.0, 21.0)


def test_a_must_comes_before_any_prize(plan: Plan) -> None:
    """A must worth nothing displaces a visit worth a million."""
    visits = [a_visit("dear", prize=1e6), a_visit("must", x_m=-1000.0, prize=0.0, must=True)]
    found = plan(a_problem([a_crew(shift_to_s=1100.0)], visits))
    assert (found.served, found.musts_missed) == (frozenset({"must"}), 0)


def test_a_must_that_cannot_be_made_does_not_end_the_plan(plan: Plan) -> None:
    """The impossible must is told as missed; the other visit is made all the same."""
    found = plan(a_problem([a_crew()], [a_visit(), a_visit("must", mix_m3=9.0, must=True)]))
    assert (found.served, found.musts_missed) == (frozenset({"v1"}), 1)
    assert [one.visit_id for one in found.unserved] == ["must"]


def test_of_alternatives_one_is_made_and_the_best(plan: Plan) -> None:
    """The same coat at two times, worth 10 and 6: the first. Too late for the first: the second."""
    pair = [
        a_visit("early", group="coat", prize=10.0, latest_s=600.0),
        a_visit("late", group="coat", prize=6.0, earliest_s=600.0),
    ]
    found = plan(a_problem([a_crew()], pair))
    assert (found.served, found.prize_possible, found.unserved) == (frozenset({"early"}), 10.0, ())
    assert plan(a_problem([a_crew(shift_from_s=3600.0)], pair)).served == {"late"}


def test_only_a_crew_with_what_it_needs_goes(plan: Plan) -> None:
    """The ladder is on the engine that stands further away; that one goes."""
    crews = [a_crew("near"), a_crew("far", x_m=-5000.0, capabilities=frozenset({"ladder"}))]
    found = plan(a_problem(crews, [a_visit(needs=frozenset({"ladder"}))]))
    assert only(found).crew_id == "far"


def test_each_crew_has_its_own_travel(plan: Plan) -> None:
    """On foot the same way takes longer, so the engine gets the visit that is short of time."""
    job = a_problem([a_crew("foot", profile="foot"), a_crew("engine")], [a_visit(latest_s=150.0)])
    slow = type(job.travel["road"])(job.travel["road"].seconds * 5, "on foot")
    job = RoutingProblem(job.crews, job.visits, (), (), {**job.travel, "foot": slow})
    assert only(plan(job)).crew_id == "engine"


def test_a_second_coat_waits_for_the_first(plan: Plan) -> None:
    """600 s after the first coat is done, by whichever crew: done at 1000 s, again at 1600 s."""
    visits = [a_visit(), a_visit("again", after="v1", after_gap_s=600.0)]
    found = plan(a_problem([a_crew()], visits))
    first, second = only(found).stops
    assert (first.finish_s, second.start_s) == (1000.0, 1600.0)


def test_one_crew_waits_for_another(plan: Plan) -> None:
    """The second coat needs a ladder only the other crew has: that one waits there."""
    crews = [a_crew("one"), a_crew("two", capabilities=frozenset({"ladder"}))]
    visits = [
        a_visit(needs=frozenset(), prize=50.0, latest_s=200.0),
        a_visit("other", x_m=-1000.0, needs=frozenset({"ladder"}), latest_s=200.0),
        a_visit("again", after="v1", after_gap_s=2000.0, needs=frozenset({"ladder"})),
    ]
    found = plan(a_problem(crews, visits))
    assert found.served == {"v1", "other", "again"}
    last = found.routes[1].stops[-1]
    assert last.visit_id == "again"
    assert last.start_s == pytest.approx(1000.0 + 2000.0)


def test_no_second_coat_without_the_first(plan: Plan) -> None:
    """The first asks more than a tank holds, so neither is made."""
    visits = [a_visit(mix_m3=9.0), a_visit("again", after="v1")]
    assert plan(a_problem([a_crew()], visits)).served == frozenset()


@pytest.mark.parametrize(("places", "waits_s"), [(1, [0.0, 320.0]), (2, [0.0, 0.0])])
def test_engines_queue_at_a_fill_point(plan: Plan, places: int, waits_s: list[float]) -> None:
    """Two empty engines come at once; one fill takes 120 s + 2 m3 at 10 L/s: the other waits."""
    crews = [a_crew("E1", water_m3=0.4), a_crew("E2", water_m3=0.4)]
    visits = [a_visit("a", latest_s=1000.0), a_visit("b", latest_s=1000.0)]
    found = plan(a_problem(crews, visits, [a_fill_point(places=places)]))
    assert found.served == {"a", "b"}
    assert sorted(route.refills[0].wait_s for route in found.routes) == pytest.approx(waits_s)


def test_a_queue_can_cost_a_visit(plan: Plan) -> None:
    """As above with a window that the crew who waits cannot meet: one visit only."""
    crews = [a_crew("E1", water_m3=0.4), a_crew("E2", water_m3=0.4)]
    visits = [a_visit("a", latest_s=600.0), a_visit("b", latest_s=600.0)]
    assert len(plan(a_problem(crews, visits, [a_fill_point()])).served) == 1
    assert len(plan(a_problem(crews, visits, [a_fill_point(places=2)])).served) == 2


def test_concentrate_is_taken_on(plan: Plan) -> None:
    """A crew without concentrate passes the depot: 100 s there, 60 s loading, 100 s onward."""
    depot = ConcentrateDepot("D", "Cache", 0.0, 1000.0, stock_m3=1.0, load_s=60.0)
    job = a_problem([a_crew(concentrate_m3=0.0)], [a_visit(y_m=1000.0)], [], [depot])
    route = only(plan(job))
    assert route.loads[0].amount_m3 == pytest.approx(0.006)
    assert route.stops[0].arrive_s == pytest.approx(100.0 + 60.0 + 100.0)


def test_a_stock_is_shared(plan: Plan) -> None:
    """The cache holds concentrate for two of four visits: two are made, by whichever crews."""
    depot = ConcentrateDepot("D", "Cache", 0.0, 100.0, stock_m3=0.0125, load_s=60.0)
    crews = [a_crew("E1", concentrate_m3=0.0), a_crew("E2", concentrate_m3=0.0)]
    visits = [a_visit(f"v{n}", prize=10.0 + n) for n in range(4)]
    found = plan(a_problem(crews, visits, [], [depot]))
    assert found.served == {"v2", "v3"}


def test_a_crew_carries_no_more_than_it_can(plan: Plan) -> None:
    """Room for one visit's concentrate and three visits: three loads."""
    depot = ConcentrateDepot("D", "Cache", 1000.0, 100.0, stock_m3=1.0, load_s=60.0)
    crew = a_crew(concentrate_m3=0.0, concentrate_capacity_m3=0.007)
    route = only(plan(a_problem([crew], [a_visit(f"v{n}") for n in range(3)], [], [depot])))
    assert [load.amount_m3 for load in route.loads] == pytest.approx([0.006] * 3)


@pytest.mark.parametrize(
    "job",
    [
        a_problem([], [a_visit()]),
        a_problem([a_crew()], []),
        a_problem([], []),
        a_problem([a_crew()], [a_visit(mix_m3=9.0)]),
        a_problem([a_crew(reserve_m3=3.0)], [a_visit()]),
    ],
    ids=["no crew", "no visit", "nothing", "too large", "all of the tank is reserve"],
)
def test_nothing_to_do_is_an_answer(plan: Plan, job: RoutingProblem) -> None:
    """No exception: an empty plan that accounts for every visit."""
    found = plan(job)
    assert found.served == frozenset()
    assert found.stopped is Stopped.NOTHING_TO_DO
    assert {one.visit_id for one in found.unserved} == {visit.id for visit in job.visits}


@pytest.mark.parametrize(
    "fields",
    [{}, {"iterations": 1, "seconds": 1.0}, {"iterations": -1}, {"seconds": math.nan}],
)
def test_a_budget_is_iterations_or_seconds(fields: dict[str, float]) -> None:
    """Both, neither, less than none or no number is refused."""
    with pytest.raises(StillwetError):
        Budget(**fields)  # type: ignore[arg-type]  # wrong on purpose


def test_a_crew_that_is_late_on_shift_starts_late(plan: Plan) -> None:
    """A shift from 2 h on: arrival 100 s after that."""
    found = plan(a_problem([a_crew(shift_from_s=2 * HOUR)], [a_visit()]))
    assert only(found).stops[0].arrive_s == 2 * HOUR + 100.0
