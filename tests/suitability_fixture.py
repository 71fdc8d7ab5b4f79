"""Facts, places and helpers for the checks of suitability; the ground is a flat grid in metres."""

from __future__ import annotations

from typing import Any

from job_fixture import HOUR, START_S, make_asset, make_job
from stillwet.domain.suitability import Agent, Fit, RuleFinding, Scope, Suitability, Task, strictest
from stillwet.engine.suitability import Laying, asset_suitability
from stillwet.engine.suitability_fields import Facts, Value
from stillwet.engine.suitability_rules import evaluate
from stillwet.engine.surroundings import surroundings_of

FOOT = 0.3048
LAYING = Laying(START_S + 5 * HOUR, START_S + 6 * HOUR, 0.02)


def house_facts(**changes: Value | None) -> dict[str, Value | None]:
    """A house to be gelled from the ground with an approved product, far from everything."""
    facts: dict[str, Value | None] = {
        "task": Task.STRUCTURE,
        "agent": Agent.GEL,
        "kind": "house",
        "delivery": "ground",
        "product": "Invented gel",
        "product_type": "superabsorbent_dispersion",
        "product_approved": True,
        "foam_in_equipment": False,
        "hardness": 0.05,
        "hardness_known": True,
        "water_drawn": True,
        "wells_drawn": True,
        "water_distance": 1000.0,
        "well_distance": 1000.0,
        "wind_at_lay": 2.0,
        "lay_to_fire": 3600.0,
        "ratio": 0.02,
        "ratio_low": 0.005,
        "ratio_high": 0.03,
        "ratio_share": 0.6,
        "has_roof": True,
    }
    return facts | changes


def rules_of(facts: Facts) -> set[str]:
    """The ids of the rules that apply."""
    return {found.rule_id for found in evaluate(facts)}


def found_by(facts: Facts, rule_id: str) -> RuleFinding:
    """The finding of one rule, which must apply."""
    (found,) = [one for one in evaluate(facts) if one.rule_id == rule_id]
    return found


def fit_of(facts: Facts) -> Fit:
    """The strictest verdict."""
    return strictest(evaluate(facts))


def fit_for(task: Task, agent: Agent) -> Fit:
    """What is said of an agent for a task, whatever the job."""
    return strictest(evaluate({"task": task, "agent": agent}, (Scope.TASK,)))


def suits(asset: dict[str, Any] | None = None, **job: Any) -> Suitability:
    """What the rules say of one asset at the origin of an invented job."""
    only = make_asset(**(asset or {}))
    made = make_job(assets=(only,), **job)
    return asset_suitability(made, only, surroundings_of(made), LAYING)


def fired(said: Suitability) -> set[str]:
    """The ids of the rules that apply to a place."""
    return {found.rule_id for found in said.findings}
