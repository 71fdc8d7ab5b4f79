"""What is left on the faces now, as JSON (``stillwet.left/1``): SI, ISO 8601 times."""

from __future__ import annotations

import math
from typing import Any

from stillwet.domain.left import FaceLeft, Learned, Left
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_json import json_text, record_to_json, sound_text

SCHEMA = "stillwet.left/1"
_TIMES = (
    "laid",
    "hold_90",
    "hold_50",
    "hold_low",
    "hold_high",
    "unchecked_90",
    "unchecked_50",
    "fire_from",
    "fire_to",
)


def left_to_json(left: Left) -> dict[str, Any]:
    """What is left as plain dictionaries that ``left.schema.json`` accepts."""
    clock = LocalClock(left.time_zone)
    return {
        "schema": SCHEMA,
        "job_name": sound_text(left.job_name),
        "time_zone": left.time_zone,
        "now": clock.iso(left.now_s),
        "checks": left.checks,
        "weather_seen": left.weather_seen,
        "faces": [_face(face, left.now_s, clock) for face in left.faces],
        "not_laid": [sound_text(name) for name in left.not_laid],
        "washed": [sound_text(name) for name in left.washed],
        "passed": [sound_text(name) for name in left.passed],
        "learned": [_learned(one) for one in left.learned],
        "notes": [sound_text(note) for note in left.notes],
        "cautions": list(left.cautions),
        "inputs": [record_to_json(item, clock) for item in left.inputs],
    }


def left_json_text(left: Left) -> str:
    """The same as JSON text, one trailing newline."""
    return json_text(left_to_json(left))


def _face(face: FaceLeft, now_s: float, clock: LocalClock) -> dict[str, Any]:
    return {
        "surface_id": sound_text(face.surface_id),
        "asset_id": sound_text(face.asset_id),
        "asset_name": sound_text(face.asset_name),
        "label": sound_text(face.label),
        "laid_by": sound_text(face.laid_by),
        **{name: clock.iso(getattr(face, f"{name}_s")) for name in _TIMES},
        "minutes_to_go": math.floor(face.minutes_to_go(now_s)),
        "change_by_checks_minutes": round((face.hold_90_s - face.unchecked_90_s) / 60.0),
        "coat_kg_m2": face.coat_kg_m2,
        "left_kg_m2": face.left_kg_m2,
        "left_low_kg_m2": face.left_low_kg_m2,
        "left_high_kg_m2": face.left_high_kg_m2,
        "share_left_fraction": face.share_left,
        "chance_fraction": face.chance,
        "verdict": str(face.verdict),
        "checks": face.checks,
        "flags": list(face.flags),
    }


def _learned(one: Learned) -> dict[str, Any]:
    names = ("low_5", "middle", "high_95")
    return {
        "name": one.name,
        "unit": one.unit,
        "before": dict(zip(names, one.before, strict=True)),
        "after": dict(zip(names, one.after, strict=True)),
    }
