"""Plan beside plan as JSON (``stillwet.compare/1``) and as CSV: SI, moments as ISO 8601."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

from stillwet.domain.comparison import AsLaid, Comparison, NotTried, Pair, WhatIf
from stillwet.domain.plan import AssetPlan, Plan, Verdict
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_csv import csv_cell
from stillwet.reports.plan_json import sound_text

SCHEMA = "stillwet.compare/1"


def comparisons_to_json(
    found: Sequence[Comparison], not_tried: Sequence[NotTried]
) -> dict[str, Any]:
    """Comparisons with one plan as plain dictionaries that ``compare.schema.json`` accepts."""
    before = found[0].before
    return {
        "schema": SCHEMA,
        "job_name": sound_text(before.job_name),
        "time_zone": before.time_zone,
        "seed": before.seed,
        "members": before.members,
        "comparisons": [_comparison(one) for one in found],
        "not_tried": [
            {"change": _change(item.change), "reason": sound_text(item.reason)}
            for item in not_tried
        ],
    }


def _change(change: WhatIf) -> dict[str, str]:
    return {"text": sound_text(change.text), "words": sound_text(change.words)}


def _comparison(found: Comparison) -> dict[str, Any]:
    clock = LocalClock(found.before.time_zone)
    return {
        "changes": [_change(change) for change in found.changes],
        "flips": len(found.flipped),
        "let_down": len(found.let_down),
        "warnings": [sound_text(text) for text in found.new_warnings],
        "before": _totals(found.before),
        "after": _totals(found.after),
        "assets": [_pair(pair, clock) for pair in found.pairs],
    }


def _totals(plan: Plan) -> dict[str, Any]:
    counts = {
        verdict.value.replace(" ", "_"): sum(asset.verdict is verdict for asset in plan.assets)
        for verdict in Verdict
    }
    return {
        "plan_id": plan.id,
        **counts,
        "mix_m3": plan.load.mix_m3,
        "water_m3": plan.load.water_m3,
        "concentrate_m3": plan.load.concentrate_m3,
        "packs": plan.load.packs,
        "cost": plan.load.cost,
        "currency": plan.load.currency,
        "work_s": sum(asset.work_s for asset in plan.assets),
    }


def _pair(pair: Pair, clock: LocalClock) -> dict[str, Any]:
    return {
        "asset_id": sound_text(pair.before.asset_id),
        "name": sound_text(pair.before.name),
        "is_flipped": pair.is_flipped,
        "is_let_down": pair.is_let_down,
        "before": _side(pair.before, clock),
        "after": _side(pair.after, clock),
        "as_laid": _as_laid(pair.as_laid),
    }


def _as_laid(found: AsLaid | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "verdict": str(found.verdict),
        "probability_fraction": found.probability,
        "surface": sound_text(found.surface),
    }


def _side(asset: AssetPlan, clock: LocalClock) -> dict[str, Any]:
    face = asset.governing
    return {
        "verdict": str(asset.verdict),
        "probability_fraction": face.probability,
        "governing_surface_id": sound_text(face.surface.id),
        "governs": face.governs,
        "reason": sound_text(asset.reason),
        "coat_kg_m2": face.coat_kg_m2,
        "mix_ratio_fraction": face.mix_ratio,
        "apply_from": clock.iso(face.apply_from_s),
        "apply_until": clock.iso(face.apply_until_s),
        "hold_until_90": clock.iso(face.hold_until_90_s),
        "hold_until_50": clock.iso(face.hold_until_50_s),
        "water_m3": asset.water_m3,
        "concentrate_m3": asset.concentrate_m3,
        "work_s": asset.work_s,
    }


def comparisons_csv_text(found: Sequence[Comparison]) -> str:
    """One row an asset and comparison (RFC 4180, CRLF): each number before and after, in SI."""
    page = io.StringIO()
    writer = csv.writer(page)
    sides = list(_side(found[0].before.assets[0], LocalClock("UTC")))
    columns = [f"{name}_{when}" for name in sides for when in ("before", "after")]
    as_laid = ["verdict_as_laid", "probability_fraction_as_laid", "is_let_down"]
    writer.writerow(["change", "asset_id", "asset_name", "is_flipped", *as_laid, *columns])
    for one in found:
        clock = LocalClock(one.before.time_zone)
        change = " & ".join(item.text for item in one.changes)
        for pair in one.pairs:
            before, after = _side(pair.before, clock), _side(pair.after, clock)
            cells = [cell for name in sides for cell in (before[name], after[name])]
            lead = [change, pair.before.asset_id, pair.before.name, _yes(pair.is_flipped)]
            on = pair.as_laid
            laid = [None, None] if on is None else [str(on.verdict), on.probability]
            row = (*lead, *laid, _yes(pair.is_let_down), *cells)
            writer.writerow([csv_cell(cell) for cell in row])
    return page.getvalue()


def _yes(is_so: bool) -> str:
    return "true" if is_so else "false"
