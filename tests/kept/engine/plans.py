"""Whole plans, and what they stand on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from job_fixture import START_S
from kept.engine.jobs import PLACES
from kept.engine.refusals import refusal
from kept.keeping import Answers
from stillwet.domain.job import Job
from stillwet.engine.cautions import job_cautions
from stillwet.engine.drying import drying_by_facing
from stillwet.engine.make_plan import make_plan, plan_of
from stillwet.engine.prepared import prepare
from stillwet.engine.sky import job_sky


def plan(make: Callable[[], Job]) -> object:
    """A job's plan, less the marks of the version that made it, and what stands in it twice."""
    made = make_plan(make(), now_s=START_S - 777.0)
    return {
        "governing": {asset.asset_id: asset.governing.surface.id for asset in made.assets},
        "assets": [replace(asset, governing=None) for asset in made.assets],  # type: ignore[arg-type]
        "job": replace(made, id="", model_version="", assets=(), cautions=()),
    }


def grounds(make: Callable[[], Job]) -> object:
    """What a plan stands on: fires, members, sky, drying, demand, mix and cling."""
    prepared = prepare(make())
    job = prepared.job
    return {
        "fires": [asset.fire for asset in job.assets],
        "members": prepared.members,
        "sky": job_sky(job, prepared.members),
        "drying": prepared.drying,
        "asks": prepared.asks,
        "ends": prepared.demand.end_s,
        "mix": replace(prepared.mix, product=None),  # type: ignore[arg-type]
        "cling": prepared.cling,
        "from": prepared.from_s,
        "until": prepared.until_s,
    }


def faces_by_crews() -> object:
    """Faces with moments of their own, some before the start of work."""
    prepared = prepare(PLACES["every kind"]())
    moments = {
        face.id: START_S + 1700.0 * (row % 14) - 900.0
        for row, face in enumerate(prepared.surfaces)
        if row % 3
    }
    made = plan_of(prepared, now_s=START_S, lay_times=moments)
    faces = [face for asset in made.assets for face in asset.surfaces]
    return {
        "laid": [(face.surface.id, face.lay_time_s, face.coat_kg_m2) for face in faces],
        "holds": [(face.probability, face.hold_until_50_s, face.hold_until_90_s) for face in faces],
    }


def refused() -> object:
    """A job without crews cannot be planned."""
    job = replace(PLACES["one house"](), crews=())
    return refusal(lambda: make_plan(job, now_s=START_S))


def progress() -> list[tuple[str, float]]:
    """What is told while a plan is made."""
    steps: list[tuple[str, float]] = []
    make_plan(PLACES["one house"](), now_s=START_S, progress=lambda *step: steps.append(step))
    return steps


# Jobs whose plan says what another's says, and those that stand on what another stands on.
_SAME_PLAN = {"measured sun", "sun and cloud", "sunny ensemble", "embers alone"}
_SAME_GROUNDS = {"approved here", "embers alone", "tried product"}
PLANS: Answers = {
    **{name: partial(plan, make) for name, make in PLACES.items() if name not in _SAME_PLAN},
    "every kind, by crews": faces_by_crews,
    "cautions": job_cautions,
    "progress": progress,
    "refused": refused,
}
GROUNDS: Answers = {
    name: partial(grounds, make) for name, make in PLACES.items() if name not in _SAME_GROUNDS
} | {
    "one house, demand by facing": lambda: drying_by_facing(PLACES["one house"]()),
    "measured sun, demand by facing": lambda: drying_by_facing(PLACES["measured sun"]()),
}
