"""Why a plan says what it says, and what a change flips, in words for a screen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from stillwet.domain.basis import BasisKind, Input
from stillwet.domain.chain import Chain, Share
from stillwet.domain.comparison import Comparison, NotTried
from stillwet.domain.plan import Plan
from stillwet.reports.causes import SHARES_MEAN, advice, cause_of, counted, percent
from stillwet.reports.chain_text import link_value
from stillwet.reports.comparison_text import change_words, flip_words, let_down_words
from stillwet.reports.local_time import clock_of, plan_times
from stillwet.reports.plan_rows import asset_rows, findings, tally
from stillwet.reports.words import (
    VERDICT_WORDS,
    Units,
    chance,
    clean,
    input_interval,
    input_name,
    input_value,
    is_untested,
)

_COMMAND = "stillwet compare"  # advice for a terminal; a screen has its own way to it


def plan_words(plan: Plan, units: str) -> dict[str, Any]:
    """A plan for a screen: what does not hold first, then a row an asset."""
    clock, times = clock_of(plan), plan_times(plan)
    rows = asset_rows(plan, Units(units))
    return {
        "plan_id": plan.id,
        "times": f"{clock.zone_words(times)}: {clock.days(times)}",
        "tally": [{"verdict": verdict, "count": count} for verdict, count in tally(plan)],
        "findings": [
            {
                "verdict": one.verdict,
                "count": one.count,
                "meaning": one.meaning,
                "reasons": [{"names": names, "reason": reason} for names, reason in one.reasons],
            }
            for one in findings(plan)
        ],
        "rows": [
            {
                "asset_id": asset.asset_id,
                "name": row.name,
                "verdict": row.verdict,
                "chance": row.chance,
                "coat": row.coat,
                "mix": row.mix,
                "water": row.water,
                "apply_from": row.apply_from,
                "apply_until": row.apply_until,
                "hold_90": row.hold_90,
                "hold_50": row.hold_50,
                "fire_from": row.fire_from,
                "fire_to": row.fire_to,
                "governs": row.governs,
            }
            for asset, row in zip(plan.assets, rows, strict=True)
        ],
    }


def why_words(chain: Chain, units: str) -> dict[str, Any]:
    """One asset's answer: verdict, what it hangs on most, then every step with its numbers."""
    told, clock = Units(units), clock_of(chain.plan)
    asset, face = chain.asset, chain.asset.governing
    return {
        "asset_id": asset.asset_id,
        "name": clean(asset.name),
        "verdict": VERDICT_WORDS[asset.verdict],
        "chance": chance(face.probability),
        "reason": clean(asset.reason),
        "face": clean(face.surface.label),
        "shares": _shares(chain.shares),
        "shares_mean": SHARES_MEAN,
        "advice": [clean(text) for text in advice(chain.shares) if _COMMAND not in text],
        "steps": [
            {
                "question": step.question,
                "links": [
                    {
                        "quantity": link.quantity,
                        "value": link_value(link, chain.plan, told, clock),
                        "model": link.model,
                        "source": link.source,
                    }
                    for link in step.links
                ],
                "inputs": [_input(item, told) for item in step.inputs],
            }
            for step in chain.steps
        ],
    }


def _shares(shares: Iterable[Share]) -> list[dict[str, Any]]:
    return [
        {
            "words": cause_of(share.cause).words,
            "percent": percent(share.total),
            "alone": percent(share.first_order),
            "fraction": max(0.0, min(1.0, share.total)),
        }
        for share in counted(tuple(shares))
    ]


def _input(item: Input, units: Units) -> dict[str, Any]:
    kind = "" if item.basis.kind is BasisKind.GIVEN else str(item.basis.kind)
    return {
        "name": input_name(item.name),
        "value": input_value(item, units),
        "interval": input_interval(item, units),
        "kind": kind,
        "source": clean(item.basis.source),
        "is_untested": is_untested(item),
    }


def flips_words(found: Sequence[Comparison], not_tried: Sequence[NotTried]) -> dict[str, Any]:
    """Each change with what it flips, those that flip most first."""
    ordered = sorted(found, key=lambda one: (-len(one.flipped), -len(one.let_down)))
    return {
        "comparisons": [
            {
                "change": change_words(one),
                "flips": len(one.flipped),
                "flip_words": flip_words(one),
                "let_down_words": let_down_words(one),
                "warnings": [clean(text) for text in one.new_warnings],
            }
            for one in ordered
        ],
        "not_tried": [
            {"change": clean(item.change.words), "reason": clean(item.reason)} for item in not_tried
        ],
    }
