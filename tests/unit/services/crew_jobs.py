"""Small invented jobs for the crews' tests: huts round a yard, two engines, one water point."""

from __future__ import annotations

from functools import cache
from typing import Any

from job_fixture import HOUR, START_S, make_asset, make_crew, make_fire, make_job, make_weather
from stillwet.domain.assets import Asset
from stillwet.domain.crew_plan import CrewPlan, StepKind
from stillwet.domain.crew_status import OldFace, OldVisit
from stillwet.domain.job import Job
from stillwet.domain.products import WaterPoint
from stillwet.routing.greedy_solver import GreedySolver
from stillwet.services.crewing import Knobs, plan_crews

KNOBS = Knobs(iterations=20, seed=3)


def hut(name: str, **changes: Any) -> Asset:
    """A small hut that the fire passes at 20 m."""
    values: dict[str, Any] = {
        "id": name,
        "name": f"Hut {name}",
        "kind": "shed",
        "length_m": 4.0,
        "width_m": 3.0,
        "eave_height_m": 2.2,
        "fire": make_fire(setback_m=20.0),
    }
    return make_asset(**(values | changes))


def huts(count: int, **changes: Any) -> tuple[Asset, ...]:
    """Huts in a row, 40 m apart, each worth a little less than the one before."""
    return tuple(
        hut(f"a{number}", x_m=40.0 * number, value=100.0 - number, **changes)
        for number in range(1, count + 1)
    )


def yard(**changes: Any) -> Job:
    """Four huts, two engines at the pond, 16 members."""
    crews = (
        make_crew(id="c1", name="Engine One", start_m=(0.0, 0.0)),
        make_crew(id="c2", name="Engine Two", start_m=(0.0, 10.0), setup_s=480.0),
    )
    values: dict[str, Any] = {
        "assets": huts(4),
        "members": 16,
        "crews": crews,
        "weather": make_weather(),
        "water_points": (
            WaterPoint("w1", "Invented pond", 0.0, -20.0, 0.01, 0.05, 288.15, hookup_s=60.0),
        ),
    }
    return make_job(**(values | changes))


def planned(job: Job, knobs: Knobs = KNOBS, **more: Any) -> CrewPlan:
    """The crew plan by the simple solver, as if made an hour before the start."""
    return plan_crews(job, solver=GreedySolver(), now_s=START_S - HOUR, knobs=knobs, **more)


@cache
def yard_plan() -> CrewPlan:
    """The plan of the yard as it is, made once."""
    return planned(yard())


def old_orders(plan: CrewPlan) -> dict[str, tuple[OldVisit, ...]]:
    """The visits of a plan as the reader of its JSON would give them."""
    return {
        run.crew_id: tuple(
            OldVisit(
                step.visit_id,
                step.place_id,
                step.part,
                step.parts,
                step.x_m,
                step.y_m,
                step.finish_s,
                step.tank_after_m3 or 0.0,
                step.concentrate_m3,
                tuple(OldFace(f.surface_id, f.share, f.starts_s) for f in step.faces),
                step.coat,
                step.coats,
                step.is_recoat,
            )
            for step in run.steps_of(StepKind.COAT)
        )
        for run in plan.crews
    }
