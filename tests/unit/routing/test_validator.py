"""The second opinion finds each kind of fault: a sound plan is doctored, one thing at a time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from routing_jobs import a_crew, a_fill_point, a_problem, a_visit
from stillwet.routing.greedy_solver import GreedySolver
from stillwet.routing.plan import ConcentrateLoad, CrewRoute, Refill, RoutePlan, Step, Stop
from stillwet.routing.problem import ConcentrateDepot, RoutingProblem
from stillwet.routing.solver import Budget
from stillwet.routing.validator import validate_plan

LADDER, HOSE = frozenset({"ladder"}), frozenset({"long hose"})


def a_job() -> RoutingProblem:
    """Two engines that fill in turn, load concentrate, coat, coat again, and drive home."""
    home = (0.0, 0.0)
    crews = [
        a_crew("E1", water_m3=0.4, concentrate_m3=0.0, end_m=home, capabilities=LADDER),
        a_crew("E2", water_m3=0.4, concentrate_m3=0.0, end_m=home, capabilities=HOSE),
    ]
    visits = [
        a_visit("v1", needs=LADDER, mix_m3=2.0, latest_s=1200.0, fire_s=9000.0, egress_s=600.0),
        a_visit("v2", x_m=-1000.0, needs=HOSE, mix_m3=2.0, latest_s=1200.0, must=True),
        a_visit("again", after="v1", after_gap_s=300.0),
        a_visit("a1", x_m=-500.0, group="a"),
        a_visit("a2", x_m=-600.0, group="a", prize=5.0),
        a_visit("far", mix_m3=9.0),
    ]
    depot = ConcentrateDepot("D", "Cache", 0.0, 100.0, stock_m3=1.0, load_s=60.0)
    return a_problem(crews, visits, [a_fill_point()], [depot])


JOB = a_job()
PLAN = GreedySolver().solve(JOB, seed=1, budget=Budget(iterations=50))


def kinds(problem: RoutingProblem, plan: RoutePlan) -> set[str]:
    """The kinds of fault found."""
    return {violation.kind for violation in validate_plan(problem, plan)}


def doctored(
    choose: Callable[[Step], bool], change: Callable[[Step], Step | None], plan: RoutePlan = PLAN
) -> RoutePlan:
    """The plan with its first step that fits changed, or taken out."""
    done = False
    routes = []
    for route in plan.routes:
        steps: list[Step] = []
        for step in route.steps:
            if done or not choose(step):
                steps.append(step)
                continue
            done = True
            changed = change(step)
            if changed is not None:
                steps.append(changed)
        routes.append(replace(route, steps=tuple(steps)))
    assert done
    return replace(plan, routes=tuple(routes))


def edited(kind: type[Step], id: str | None = None, **more: Any) -> RoutePlan:
    """The plan with numbers added to the fields of one step (other values replace)."""

    def choose(step: Step) -> bool:
        return isinstance(step, kind) and (id is None or getattr(step, "visit_id", None) == id)

    def change(step: Step) -> Step:
        fields = {
            name: getattr(step, name) + one if isinstance(one, float) else one
            for name, one in more.items()
        }
        return replace(step, **fields)

    return doctored(choose, change)


def visit_with(id: str, **changes: Any) -> RoutingProblem:
    """The job with one visit changed behind the plan's back."""
    visits = tuple(replace(v, **changes) if v.id == id else v for v in JOB.visits)
    return replace(JOB, visits=visits)


def test_the_plan_itself_is_sound_and_has_everything_in_it() -> None:
    """Fills, loads, a second coat, one alternative, a queue: what is doctored below is there."""
    assert validate_plan(JOB, PLAN) == ()
    assert {"v1", "v2", "again"} <= PLAN.served
    assert PLAN.musts_missed == 0
    refills = [refill for route in PLAN.routes for refill in route.refills]
    assert any(refill.wait_s > 0 for refill in refills)
    assert any(route.loads for route in PLAN.routes)


@pytest.mark.parametrize(
    ("plan", "kind"),
    [
        (replace(PLAN, routes=PLAN.routes[:1]), "crew"),
        (edited(Stop, visit_id="nobody"), "step"),
        (edited(Stop, "v2", visit_id="v1"), "twice"),
        (edited(Stop, "again", visit_id="a2"), "group"),
        (replace(PLAN, unserved=()), "account"),
        (doctored(lambda step: isinstance(step, Stop), lambda step: None), "account"),
        (edited(Stop, "v1", arrive_s=-50.0), "travel"),
        (edited(Stop, "v1", start_s=-1e4), "order"),
        (edited(Stop, "v1", finish_s=-10.0), "work"),
        (edited(Stop, "again", start_s=-3000.0), "after"),
        (edited(Stop, "v1", tank_after_m3=0.1), "totals"),
        (edited(Stop, "v1", mix_m3=0.1), "totals"),
        (edited(Stop, "v1", asset_id="another"), "totals"),
        (edited(Refill, finish_s=-10.0), "fill time"),
        (edited(Refill, amount_m3=0.1), "tank"),
        (edited(Refill, amount_m3=-1.0), "reserve"),
        (edited(Refill, tank_after_m3=0.1), "totals"),
        (edited(ConcentrateLoad, finish_s=-10.0), "load time"),
        (edited(ConcentrateLoad, amount_m3=1.0), "concentrate"),
        (edited(ConcentrateLoad, amount_m3=-0.005), "concentrate"),
        (replace(PLAN, prize=PLAN.prize + 1.0), "totals"),
        (replace(PLAN, prize_possible=PLAN.prize_possible + 1.0), "totals"),
        (replace(PLAN, musts_missed=1), "totals"),
        (replace(PLAN, travel_s=PLAN.travel_s - 1.0), "totals"),
    ],
)
def test_a_doctored_plan_is_found_out(plan: RoutePlan, kind: str) -> None:
    """One step or total of the plan is made untrue: the fault is told by its kind."""
    assert kind in kinds(JOB, plan)


@pytest.mark.parametrize("field", ["start_s", "end_s", "travel_s"])
def test_the_totals_of_a_route_are_reckoned_anew(field: str) -> None:
    """A route that says it starts, ends or drives otherwise than it does is found out."""
    first: CrewRoute = PLAN.routes[0]
    told = replace(first, **{field: getattr(first, field) - 1.0})
    plan = replace(PLAN, routes=(told, *PLAN.routes[1:]))
    assert kinds(JOB, plan) == {"totals"}


@pytest.mark.parametrize(
    ("problem", "kind"),
    [
        (visit_with("v1", latest_s=200.0), "window"),
        (visit_with("v1", earliest_s=8000.0), "window"),
        (visit_with("v1", fire_s=1500.0), "egress"),
        (visit_with("v1", egress_s=8000.0), "egress"),
        (visit_with("v2", needs=LADDER), "capability"),
        (visit_with("v1", concentrate_m3=0.2), "concentrate"),
        (visit_with("v2", after="far"), "after"),
        (replace(JOB, crews=tuple(replace(c, shift_to_s=3000.0) for c in JOB.crews)), "shift"),
        (replace(JOB, crews=tuple(replace(c, setup_s=900.0) for c in JOB.crews)), "work"),
        (replace(JOB, fill_points=(replace(JOB.fill_points[0], closes_s=300.0),)), "opening"),
        (replace(JOB, fill_points=(replace(JOB.fill_points[0], opens_s=300.0),)), "opening"),
        (replace(JOB, depots=(replace(JOB.depots[0], stock_m3=0.001),)), "stock"),
    ],
)
def test_a_plan_for_another_job_is_found_out(problem: RoutingProblem, kind: str) -> None:
    """The job is changed instead: the same plan now breaks that constraint."""
    assert kind in kinds(problem, PLAN)


def test_two_engines_at_one_fill_point_are_found_out() -> None:
    """A point with two places and a plan that uses both, held against one place."""
    wide = replace(JOB, fill_points=(replace(JOB.fill_points[0], places=2),))
    plan = GreedySolver().solve(wide, seed=1, budget=Budget(iterations=50))
    assert validate_plan(wide, plan) == ()
    assert kinds(JOB, plan) == {"queue"}
