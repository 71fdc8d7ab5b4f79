"""What stands on the sheets, as plain words in boxes: the page model that the template sets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from stillwet.domain.basis import Input
from stillwet.domain.plan import AssetPlan, Plan, SurfacePlan, Verdict
from stillwet.reports.local_time import LocalClock, clock_of, plan_times
from stillwet.reports.plan_rows import (
    Finding,
    SourceLine,
    asset_ratio,
    asset_rows,
    crew_lines,
    face_row,
    findings,
    load_lines,
    mix_words,
    source_lines,
    tally,
    untested_words,
    weather_lines,
)
from stillwet.reports.words import (
    NONE,
    VERDICT_WORDS,
    Units,
    chance,
    clean,
    coat,
    coat_detail,
    compass,
    minutes,
    percent_number,
    quantity,
    ratio,
    ratio_basis,
    shorten,
)

Model = dict[str, Any]
_LONGEST_TITLE = 90
_LONGEST_NAME = 160  # on a sheet; a table row cuts sooner
_LONGEST_IN_TABLE = 30
_REASONS_IN_OPENING = 3
_BREAK_EVERY = 14


def page_model(plan: Plan, units: Units) -> Model:
    """Everything the template prints, in the reader's words, in the order of the pages."""
    clock = clock_of(plan)
    times = plan_times(plan)
    return {
        "id": plan.id,
        "job": breakable(shorten(clean(plan.job_name), _LONGEST_TITLE)),
        "made": clock.full(plan.made_s),
        "start": clock.full(plan.start_s, up=True),
        "zone": f"Times are {clock.zone_words(times)}: {clock.days(times)}.",
        "mix": mix_words(plan),
        "tally": [[words, count] for words, count in tally(plan)],
        "findings": [_finding(found) for found in findings(plan)],
        "rows": [_row(asdict(row), _LONGEST_IN_TABLE) for row in asset_rows(plan, units)],
        "cautions": _texts(plan.cautions),
        "warnings": _texts(plan.warnings),
        "untested": untested_words(plan),
        "load": load_lines(plan, units),
        "crews": crew_lines(plan, units),
        "weather": weather_lines(plan, units),
        "sources": _sources(plan.inputs, units),
        "made_with": f"Model version {plan.model_version}, {plan.members} members, "
        f"seed {plan.seed}, inputs {plan.input_hash[:16]}.",
        "assets": [_card(n, a, plan, units, clock) for n, a in enumerate(plan.assets, start=1)],
    }


def _finding(found: Finding) -> Model:
    shown = [
        {"names": breakable(shorten(names, 120)), "reason": breakable(shorten(reason, 130))}
        for names, reason in found.reasons[:_REASONS_IN_OPENING]
    ]
    left = len(found.reasons) > len(shown)
    return {
        "verdict": found.verdict,
        "count": found.count,
        "meaning": found.meaning,
        "reasons": shown,
        "more": "The table names the others." if left else "",
    }


def _row(cells: Model, limit: int) -> Model:
    return cells | {"name": breakable(shorten(cells["name"], limit))}


def _texts(texts: Sequence[str]) -> list[str]:
    return [breakable(clean(text)) for text in texts]


def _sources(inputs: Sequence[Input], units: Units) -> Model:
    """Numbers grouped by where they came from: untested defaults apart, because they need eyes."""
    lines = source_lines(inputs, units)
    return {
        "untested": _by_source(line for line in lines if line.untested),
        "rest": _by_source(line for line in lines if not line.untested),
    }


def _by_source(lines: Iterable[SourceLine]) -> list[list[str]]:
    groups: dict[str, list[str]] = {}
    for line in lines:
        groups.setdefault(line.source, []).append(_told(line))
    return [[breakable(source), breakable("; ".join(told))] for source, told in groups.items()]


def _told(line: SourceLine) -> str:
    return f"{line.name} {line.value}" + (f" ({line.interval})" if line.interval else "")


def breakable(text: str) -> str:
    """The text with places to break inside words too long for a column (zero-width spaces)."""
    return " ".join(
        "\u200b".join(word[at : at + _BREAK_EVERY] for at in range(0, len(word), _BREAK_EVERY))
        for word in text.split(" ")
    )


def _card(number: int, asset: AssetPlan, plan: Plan, units: Units, clock: LocalClock) -> Model:
    faces = [
        _face(index, face, asset, units, clock)
        for index, face in enumerate(asset.surfaces, start=1)
    ]
    return {
        "number": number,
        "name": breakable(shorten(clean(asset.name), _LONGEST_NAME)),
        "kind": f"{clean(asset.kind)}, {shorten(clean(asset.asset_id), 20)}",
        "verdict": VERDICT_WORDS[asset.verdict],
        "reason": breakable(clean(asset.reason)),
        "note": breakable(shorten(clean(asset.note), 400)),
        "answers": _answers(asset, plan, units, clock),
        "facts": _facts(asset, units, clock),
        "faces": faces,
        "governing": clean(asset.governing.surface.label),
        "governs": clean(asset.governing.governs),
        "steps": _steps(asset, plan, clock),
        "cautions": _texts(asset.cautions),
        "sources": _sources(asset.inputs, units),
        "job_untested": _job_untested(plan, units),
    }


def _job_untested(plan: Plan, units: Units) -> str:
    """The job's untested defaults in one line: they reach every sheet, so every sheet says so."""
    told = [_told(line) for line in source_lines(plan.inputs, units) if line.untested]
    return breakable("; ".join(told))


def _answers(asset: AssetPlan, plan: Plan, units: Units, clock: LocalClock) -> list[Model]:
    """The five boxes on top of a sheet: what, how thick, when to spray, until when, when fire."""
    face = asset.governing
    fire_from = clock.short(asset.fire_window_from_s)
    fire = {
        "head": "Fire",
        "big": fire_from,
        "small": f"to {clock.short(asset.fire_window_to_s, up=True)} with embers",
    }
    if face.coat_kg_m2 <= 0:
        return [{"head": "Coat", "big": "none", "small": "lay no coat here"}, fire]
    return [
        {
            "head": "Coat",
            "big": coat(face.coat_kg_m2, units),
            "small": coat_detail(face.coat_kg_m2, units),
        },
        {
            "head": "Mix",
            "big": f"{percent_number(asset_ratio(asset))} %",
            "small": f"{ratio_basis(plan.ratio_basis)}; {quantity(asset.mix_m3, 'm3', units)} of "
            f"mix with {quantity(asset.concentrate_m3, 'm3', units)} concentrate",
        },
        {
            "head": "Spray",
            "big": clock.short(face.apply_from_s, up=True),
            "small": f"to {clock.short(face.apply_until_s)}, {minutes(asset.work_s)} of work",
        },
        {
            "head": "Wet until",
            "big": clock.short(face.hold_until_90_s) if face.hold_until_90_s else "not sure",
            "small": f"90 % sure; 50 %: {clock.short(face.hold_until_50_s)}",
        },
        fire,
    ]


def _facts(asset: AssetPlan, units: Units, clock: LocalClock) -> list[list[str]]:
    face = asset.governing
    fire = clean(asset.exposure)
    if asset.fire_bearing_deg is None:
        fire += ", direction not given: every face is taken to face it"
    else:
        fire += f" from the {compass(asset.fire_bearing_deg)}"
    bare = minutes(face.bare_ignition_s) if face.bare_ignition_s is not None else "does not ignite"
    wet = minutes(face.protection_s)
    demand = f"middle case {coat(face.water_demand_50_kg_m2, units)}, "
    return [
        ["Fire", fire],
        ["Front arrives by", clock.short(asset.arrival_to_s, up=True)],
        ["Chance the coat meets it", _chance(asset)],
        ["Fire boils off", demand + f"nine in ten {coat(face.water_demand_90_kg_m2, units)}"],
        ["Weather takes before it", coat(face.drying_to_arrival_kg_m2, units)],
        ["Most heat on the face", quantity(face.peak_flux_w_m2, "W/m2", units)],
        ["Under that heat", f"bare face: {bare}" + ("" if wet == NONE else f"; with coat: {wet}")],
        ["Area of its faces", quantity(asset.area_m2, "m2", units)],
    ]


def _chance(asset: AssetPlan) -> str:
    if asset.verdict is Verdict.DO_NOT_COAT:
        return NONE
    return chance(asset.governing.probability)


def _face(
    number: int, face: SurfacePlan, asset: AssetPlan, units: Units, clock: LocalClock
) -> Model:
    row = _row(asdict(face_row(number, face, asset, units, clock)), 40)
    coated = face.coat_kg_m2 > 0
    return row | {
        "area": quantity(face.surface.area_m2, "m2", units),
        "needed": coat(face.coat_needed_kg_m2, units),
        "cling": coat(face.cling_limit_kg_m2, units),
        "mix_volume": quantity(face.mix_m3, "m3", units) if coated else NONE,
        "nozzle": minutes(face.spray_s) if coated else NONE,
        "is_governing": face.surface.id == asset.governing.surface.id,
    }


def _steps(asset: AssetPlan, plan: Plan, clock: LocalClock) -> list[str]:
    """The tick boxes of a sheet, in the order of the work."""
    face = asset.governing
    if face.coat_kg_m2 <= 0:
        return [
            "Crew told: no coat here, and why",
            "What is done instead: ____________________",
            "Nobody left to guard it on the strength of gel",
        ]
    leave = clock.short(face.apply_until_s)
    return [
        "Escape route and safety zone known to all",
        "Vents, gaps and openings closed; litter cleared",
        "Pump, tank and hose flushed; no foam in them",
        f"Mix set to {ratio(asset_ratio(asset), plan.ratio_basis)}; delivered: ______ %",
        "Clear of streams, wells and cisterns",
        f"All faces coated; finished at ____:____ (by {leave})",
        "Coat checked by touch on the governing face",
        f"Crew clear at ____:____ (by {leave})",
        "Afterwards: residue washed off, gear flushed",
    ]
