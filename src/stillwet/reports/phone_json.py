"""A crew's own day for its phone (``stillwet.phone/1``): each stop in words, and what was logged.

The words come in both systems of units, so that a phone without a network can switch. Numbers and
moments that the phone reckons with are beside them: ISO 8601 in UTC.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep, StepKind
from stillwet.domain.log import CoatChecked, CoatLaid, Entry, Stock, WashedOff
from stillwet.domain.log_merge import Standing
from stillwet.reports.crew_pages import before_first
from stillwet.reports.crew_rows import (
    chance_words,
    coated_with,
    crew_clock,
    face_coat,
    face_share,
    ratio_words,
    run_words,
    step_amount,
    step_name,
    tank_words,
    turn_words,
)
from stillwet.reports.crew_tracks import Degrees
from stillwet.reports.local_time import LocalClock
from stillwet.reports.log_text import EntryTeller
from stillwet.reports.words import Units, clean, minutes, quantity

SCHEMA = "stillwet.phone/1"
_SHOWN = 80  # entries: the last of the day are the ones that get corrected
_VERBS = {StepKind.COAT: "Spray", StepKind.FILL: "Fill", StepKind.LOAD: "Load concentrate"}
# Word of the log -> unit it is asked in and example; texts as the log reads them.
_ASKED: dict[Units, dict[str, tuple[str, str]]] = {
    Units.US: {
        "coat": ("in", "1/8"),
        "mix": ("gal", "55"),
        "ratio": ("%", "1.5"),
        "temperature": ("F", "88"),
        "humidity": ("%", "22"),
        "wind": ("mph", "8"),
        "volume": ("gal", "120"),
    },
    Units.METRIC: {
        "coat": ("mm", "3"),
        "mix": ("L", "200"),
        "ratio": ("%", "1.5"),
        "temperature": ("C", "31"),
        "humidity": ("%", "22"),
        "wind": ("km/h", "13"),
        "volume": ("L", "450"),
    },
}
_COATS = {
    Units.US: ("1/16", "1/8", "3/16", "1/4", "5/16", "3/8", "1/2"),
    Units.METRIC: ("1", "2", "3", "4", "5", "6", "8", "10", "12"),
}


def run_to_json(plan: CrewPlan, run: CrewRun, degrees: Degrees) -> dict[str, Any]:
    """The crew's stops: what the phone reckons with, and the words by units."""
    utc = LocalClock("UTC")
    return {
        "crew_plan_id": plan.id,
        "made": utc.iso(plan.made_s),
        "stops": [_reckoned(number, step, utc) for number, step in enumerate(run.steps, 1)],
        "words": {str(units): _run_words(plan, run, degrees, units) for units in Units},
    }


def asked_json() -> dict[str, Any]:
    """The units that amounts are asked in, with an example of each, and the steps of a gauge."""
    return {
        str(units): {
            "asked": {
                word: {"unit": unit, "example": example}
                for word, (unit, example) in _ASKED[units].items()
            },
            "coats": [f"{step} {_ASKED[units]['coat'][0]}" for step in _COATS[units]],
        }
        for units in Units
    }


def log_to_json(
    judged: Standing, names: Mapping[str, str], clock: LocalClock, *, assets: set[str], crew: str
) -> dict[str, Any]:
    """What was logged of these assets or by this crew; entries at odds with another are marked.

    ``seen`` are the ids of all of it, also of what has been corrected since.
    """
    own = [one for one in judged.entries if _is_of(one, assets, crew)]
    lost = [one for one in judged.contested if _is_of(one, assets, crew)]
    past = [one for one in judged.superseded if _is_of(one, assets, crew)]
    tellers = {str(units): EntryTeller(names, units, clock) for units in Units}
    shown = [*((one, "stands") for one in own), *((one, "at odds") for one in lost)]
    shown.sort(key=lambda pair: pair[0].when_s, reverse=True)
    return {
        "entries": [_entry(one, state, tellers, clock) for one, state in shown[:_SHOWN]],
        "seen": sorted({one.id for one in (*own, *lost, *past)}),
    }


def _reckoned(number: int, step: CrewStep, utc: LocalClock) -> dict[str, Any]:
    return {
        "number": number,
        "kind": str(step.kind),
        "place_id": step.place_id,
        "start": utc.iso(step.start_s),
        "leave_by": utc.iso(step.leave_by_s),
        "must": step.must,
        "faces": [face.surface_id for face in step.faces],
    }


def _run_words(plan: CrewPlan, run: CrewRun, degrees: Degrees, units: Units) -> dict[str, Any]:
    clock = crew_clock(plan)
    return {
        "day": run_words(run, plan, clock, units),
        "before": before_first(run, plan, units),
        "stops": [_stop_words(step, plan, clock, degrees, units) for step in run.steps],
    }


def _stop_words(
    step: CrewStep, plan: CrewPlan, clock: LocalClock, degrees: Degrees, units: Units
) -> dict[str, Any]:
    is_coat = step.kind is StepKind.COAT
    return {
        "name": step_name(step),
        "work": f"{_VERBS[step.kind]} {step_amount(step, plan, units)}",
        "ratio": f"at {ratio_words(step, plan)}" if is_coat else "",
        "concentrate": coated_with((step,), plan, units) if is_coat else "",
        "where": place_words(*degrees(step.x_m, step.y_m)),
        "drive": minutes(step.drive_s),
        "arrive": clock.short(step.arrive_s, up=True),
        "start": clock.short(step.start_s, up=True),
        "done": clock.short(step.finish_s, up=True),
        "gone_by": "" if step.leave_by_s is None else clock.short(step.leave_by_s),
        "tank": tank_words(step, units),
        "chance": chance_words(step),
        "turn": turn_words(step, clock),
        "needs": [clean(need) for need in step.needs],
        "cautions": [clean(caution) for caution in step.cautions],
        "note": clean(step.note),
        "faces": [
            {
                "label": clean(face.label),
                "coat": face_coat(face, units),
                "share": face_share(face),
                "amount": quantity(face.mix_m3, "m3", units),
            }
            for face in step.faces
        ],
    }


def place_words(longitude: float, latitude: float) -> str:
    """A place in degrees with its hemisphere, to a metre: "40.01234 N, 105.27051 W" (WGS 84)."""
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{abs(latitude):.5f} {north}, {abs(longitude):.5f} {east}"


def _entry(
    entry: Entry, state: str, tellers: Mapping[str, EntryTeller], clock: LocalClock
) -> dict[str, Any]:
    body = entry.body
    return {
        "id": entry.id,
        "kind": entry.kind,
        "state": state,
        "when": LocalClock("UTC").iso(entry.when_s),
        "clock": clock.short(entry.when_s),
        "says": {units: teller.told(entry) for units, teller in tellers.items()},
        "by": clean(entry.writer),
        "device": clean(entry.device),
        "note": clean(entry.note),
        "replaces": entry.replaces,
        "faces": list(_faces_of(entry)),
        "feel": str(body.feel) if isinstance(body, CoatChecked) and body.feel else "",
    }


def _faces_of(entry: Entry) -> tuple[str, ...]:
    body = entry.body
    if isinstance(body, CoatLaid | WashedOff):
        return body.surface_ids
    return (body.surface_id,) if isinstance(body, CoatChecked) else ()


def _is_of(entry: Entry, assets: set[str], crew: str) -> bool:
    """True for what touches the crew's assets, was done by it, or is of no asset at all."""
    body, faces = entry.body, _faces_of(entry)
    if isinstance(body, CoatLaid | Stock) and body.crew_id == crew:
        return True
    if isinstance(body, Stock):
        return False
    return not faces or any(face.partition("/")[0] in assets for face in faces)
