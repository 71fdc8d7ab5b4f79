"""The explanation as JSON (``stillwet.explain/1``): SI, moments as ISO 8601, null for none."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from stillwet.domain.basis import Input
from stillwet.domain.chain import AssetShares, Chain, JobShares, Link, Share, Step
from stillwet.domain.plan import AssetPlan, Plan
from stillwet.reports.causes import cause_of
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_json import record_to_json, sound_text

SCHEMA = "stillwet.explain/1"


def chain_to_json(chain: Chain) -> dict[str, Any]:
    """One asset's explanation as plain dictionaries that ``explain.schema.json`` accepts."""
    clock = LocalClock(chain.plan.time_zone)
    face = chain.asset.governing
    return {
        "schema": SCHEMA,
        "about": "asset",
        **_plan(chain.plan),
        **_asset(chain.asset),
        "reason": sound_text(chain.asset.reason),
        "governing_surface_id": sound_text(face.surface.id),
        "governing_surface": sound_text(face.surface.label),
        "steps": [_step(step, clock) for step in chain.steps],
        "other_inputs": _inputs(chain.others, clock),
        "shares": _shares(chain.shares),
    }


def job_shares_to_json(found: JobShares) -> dict[str, Any]:
    """What a whole plan hangs on, as plain dictionaries that ``explain.schema.json`` accepts."""
    return {
        "schema": SCHEMA,
        "about": "job",
        **_plan(found.plan),
        "assets": [_asset_shares(part) for part in found.assets],
        "shares": _shares(found.shares),
    }


def _plan(plan: Plan) -> dict[str, Any]:
    return {
        "plan_id": plan.id,
        "job_name": sound_text(plan.job_name),
        "time_zone": plan.time_zone,
        "seed": plan.seed,
        "members": plan.members,
    }


def _asset(asset: AssetPlan) -> dict[str, Any]:
    return {
        "asset_id": sound_text(asset.asset_id),
        "name": sound_text(asset.name),
        "value": asset.value,
        "verdict": str(asset.verdict),
        "probability_fraction": asset.governing.probability,
    }


def _asset_shares(part: AssetShares) -> dict[str, Any]:
    return {**_asset(part.asset), "shares": _shares(part.shares)}


def _step(step: Step, clock: LocalClock) -> dict[str, Any]:
    return {
        "question": step.question,
        "links": [_link(link, clock) for link in step.links],
        "inputs": _inputs(step.inputs, clock),
        "causes": list(step.causes),
    }


def _link(link: Link, clock: LocalClock) -> dict[str, Any]:
    is_moment = link.unit == "time"
    return {
        "quantity": link.quantity,
        "value": None if is_moment else link.value,
        "unit": "fraction" if link.unit == "ratio" else link.unit,
        "time": clock.iso(link.value) if is_moment else None,
        "absent": link.absent,
        "model": link.model,
        "source": link.source,
    }


def _inputs(inputs: Iterable[Input], clock: LocalClock) -> list[dict[str, Any]]:
    return [record_to_json(item, clock) for item in inputs]


def _shares(shares: Iterable[Share]) -> list[dict[str, Any]]:
    return [
        {
            "cause": share.cause,
            "words": cause_of(share.cause).words,
            "alone_fraction": share.first_order,
            "with_others_fraction": share.total,
        }
        for share in shares
    ]
