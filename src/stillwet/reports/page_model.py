"""What stands on the sheets, as plain words in boxes: the page model that the template sets."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import asdict
from typing import Any

from stillwet.domain.plan import AssetPlan, Plan, SurfacePlan, Verdict
from stillwet.domain.suitability import Fit
from stillwet.reports.local_time import LocalClock, clock_of, plan_times
from stillwet.reports.plan_rows import (
    Finding,
    asset_ratio,
    asset_rows,
    conditional_words,
    crew_lines,
    face_row,
    findings,
    load_lines,
    mix_words,
    plan_concentrate,
    tally,
    untested_words,
    weather_lines,
)
from stillwet.reports.source_list import SourceList, breakable
from stillwet.reports.words import (
    NONE,
    VERDICT_WORDS,
    Units,
    chance,
    clean,
    coat,
    coat_detail,
    compass,
    first_sentences,
    minutes,
    minutes_held,
    percent_number,
    quantity,
    ratio,
    ratio_basis,
    short_name,
    shorten,
)

Model = dict[str, Any]
_LONGEST_TITLE = 90
_LONGEST_NAME = 160  # on a sheet; a table row cuts sooner
_LONGEST_IN_TABLE = 30
_REASONS_IN_OPENING = 3
_SUITED = {
    Fit.USE: "yes, by the rules asked",
    Fit.ONLY_IF: "only if: see the cautions",
    Fit.DO_NOT: "no: lay no gel here",
}


def page_model(plan: Plan, units: Units, alone: Collection[str] = ()) -> Model:
    """Everything the template prints, in the reader's words, in the order of the pages.

    ``alone``: ids of the assets that no crew comes to, of which the opening tells apart.
    """
    clock = clock_of(plan)
    times = plan_times(plan)
    references = SourceList(units)
    of_job = references.paragraphs(plan.inputs)
    cards = [
        _card(number, asset, plan, references, clock)
        for number, asset in enumerate(plan.assets, start=1)
    ]
    return {
        "id": plan.id,
        "job": breakable(shorten(clean(plan.job_name), _LONGEST_TITLE)),
        "made": clock.full(plan.made_s),
        "start": clock.full(plan.start_s, up=True),
        "zone": f"Times are {clock.zone_words(times)}: {clock.days(times)}.",
        "mix": mix_words(plan),
        "tally": [[words, count] for words, count in tally(plan)],
        "findings": [_finding(found) for found in findings(plan, alone)],
        "rows": [_row(asdict(row), _LONGEST_IN_TABLE) for row in asset_rows(plan, units)],
        "cautions": _texts(plan.cautions),
        "warnings": _texts(filter(None, (conditional_words(plan), *plan.warnings))),
        "untested": untested_words(plan),
        "load": load_lines(plan, units),
        "crews": crew_lines(plan, units),
        "weather": weather_lines(plan, units),
        "numbers": of_job,
        "sources": references.listed(),
        "made_with": f"Model version {plan.model_version}, {plan.members} members, "
        f"seed {plan.seed}, inputs {plan.input_hash[:16]}.",
        "assets": cards,
    }


def _finding(found: Finding) -> Model:
    """One group of the opening, in full and in short for a page that cannot hold it.

    What is doubtful is only named: its reasons are on the cards.
    """
    reasons = [
        {"names": breakable(names) + ": ", "reason": breakable(why)} for names, why in found.reasons
    ]
    short = [
        {
            "names": breakable(shorten(names, 90)) + ": ",
            "reason": breakable(first_sentences(why, 120)),
        }
        for names, why in found.reasons[:_REASONS_IN_OPENING]
    ]
    if found.verdict == VERDICT_WORDS[Verdict.DOUBTFUL]:
        names = "; ".join(names for names, _ in found.reasons)
        reasons = [{"names": breakable(names), "reason": ""}]
        short = [{"names": breakable(shorten(names, 160)), "reason": ""}]
    return {
        "verdict": found.verdict,
        "count": found.count,
        "meaning": found.meaning,
        "reasons": reasons,
        "short": short,
        "more": "The table names them all." if len(reasons) > len(short) else "",
    }


def _row(cells: Model, limit: int) -> Model:
    return cells | {"name": breakable(short_name(cells["name"], limit))}


def _texts(texts: Iterable[str]) -> list[str]:
    return [breakable(clean(text)) for text in texts]


def _card(
    number: int, asset: AssetPlan, plan: Plan, references: SourceList, clock: LocalClock
) -> Model:
    units = references.units
    faces = [
        _face(index, face, asset, units, clock)
        for index, face in enumerate(asset.surfaces, start=1)
    ]
    return {
        "number": number,
        "name": breakable(short_name(asset.name, _LONGEST_NAME)),
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
        "numbers": references.paragraphs(asset.inputs),
        "job_untested": references.untested_line(plan.inputs),
    }


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
            "head": f"Mix, {ratio_basis(plan.ratio_basis)}",
            "big": f"{percent_number(asset_ratio(asset))} %",
            "small": f"{quantity(asset.mix_m3, 'm3', units)}, of it "
            f"{plan_concentrate(plan, asset.concentrate_m3, units)} concentrate",
        },
        _spray_box(asset, clock),
        {
            "head": "Wet until",
            "big": clock.short(face.hold_until_90_s) if face.hold_until_90_s else "not sure",
            "small": f"90 % sure; 50 %: {clock.short(face.hold_until_50_s)}",
        },
        fire,
    ]


def _spray_box(asset: AssetPlan, clock: LocalClock) -> Model:
    face = asset.governing
    until, work = clock.short(face.apply_until_s), f"{minutes(asset.work_s)} of work"
    if face.apply_from_s is None:
        return {"head": "Spray", "big": until, "small": f"latest finish; {work}"}
    start = clock.short(face.apply_from_s, up=True)
    return {"head": "Spray", "big": start, "small": f"to {until}, {work}"}


def _facts(asset: AssetPlan, units: Units, clock: LocalClock) -> list[list[str]]:
    face = asset.governing
    fire = clean(asset.exposure)
    if asset.fire_bearing_deg is None:
        fire += ", direction not given: every face is taken to face it"
    else:
        fire += f" from the {compass(asset.fire_bearing_deg)}"
    ignites = face.bare_ignition_s
    bare = (
        "bare: does not ignite" if ignites is None else f"bare: ignites in {minutes_held(ignites)}"
    )
    wet = minutes_held(face.protection_s)
    asks = f"{coat(face.water_demand_50_kg_m2, units)}; "
    asks += f"9 in 10 up to {coat(face.water_demand_90_kg_m2, units)}"
    return [
        ["Is gel right here", _SUITED[asset.suitability]],
        ["Fire", fire],
        ["Front arrives by", clock.short(asset.arrival_to_s, up=True)],
        ["Chance it holds", _chance(asset)],
        ["Fire boils off", asks],
        ["Weather takes before it", coat(face.drying_to_arrival_kg_m2, units)],
        ["Most heat on the face", quantity(face.peak_flux_w_m2, "W/m2", units)],
        ["Under that heat", bare if wet == NONE else f"{bare}; coated: {wet}"],
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
        f"Mix set to {ratio(asset_ratio(asset), plan.ratio_basis)}; delivered ____ %",
        "Clear of streams, wells and cisterns",
        f"All faces coated at ___:___ (by {leave})",
        "Coat checked by touch on the governing face",
        f"Crew clear at ___:___ (by {leave})",
        "Afterwards: residue washed off, gear flushed",
    ]
