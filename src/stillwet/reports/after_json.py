"""The account of a job as JSON (``stillwet.after/1``): SI, units in the names, ISO 8601 times."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from enum import StrEnum
from typing import Any

from stillwet.domain.after import After
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_json import json_text, sound_text

SCHEMA = "stillwet.after/1"

# Fields that hold a moment, not a span: written as ISO 8601 in the job's zone without the "_s".
_TIMES = frozenset(
    {
        *("now_s", "plan_made_s", "first_s", "last_s", "laid_s", "when_s", "from_s", "to_s"),
        *("wet_at_s", "dry_at_s", "washed_s", "due_s", "passed_s", "last_feel_s", "until_s"),
    }
)
# Fields of 5, 50 and 95 % points.
_BANDS = frozenset({"weight_band", "predicted_s", "expected_wet", "before", "after"})
_RENAMED = {
    "ratio": "ratio_fraction",
    "chance": "chance_fraction",
    "chance_wet": "chance_wet_fraction",
    "chance_dry": "chance_dry_fraction",
    "chance_not_dry": "chance_not_dry_fraction",
    "predicted": "predicted_fraction",
    "found": "found_fraction",
    "found_low": "found_low_fraction",
    "found_high": "found_high_fraction",
    "weight_band": "weight_band_kg_m2",
    "predicted_s": "predicted_dry",
}


def after_to_json(after: After) -> dict[str, Any]:
    """The account as plain dictionaries that ``after.schema.json`` accepts."""
    clock = LocalClock(after.time_zone)
    document = {"schema": SCHEMA, **_record(after, clock)}
    document["holding"]["verdict"] = after.holding.verdict
    return document


def after_json_text(after: After) -> str:
    """The same as JSON text, one trailing newline."""
    return json_text(after_to_json(after))


def _record(record: Any, clock: LocalClock) -> dict[str, Any]:
    shown: dict[str, Any] = {}
    for item in fields(record):
        value = getattr(record, item.name)
        name = _RENAMED.get(item.name, item.name)
        if item.name in _TIMES:
            shown[item.name.removesuffix("_s")] = clock.iso(value)
        elif item.name in _BANDS:
            shown[name] = _band(value, clock, is_time=item.name == "predicted_s")
        else:
            shown[name] = _value(value, clock)
    return shown


def _band(
    band: tuple[float, float, float] | None, clock: LocalClock, *, is_time: bool
) -> dict[str, Any] | None:
    if band is None:
        return None
    shown = [clock.iso(value) if is_time else _value(value, clock) for value in band]
    return dict(zip(("low_5", "middle", "high_95"), shown, strict=True))


def _value(value: Any, clock: LocalClock) -> Any:
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, str):
        return sound_text(value)
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, tuple):
        return [_value(part, clock) for part in value]
    return _record(value, clock) if is_dataclass(value) else value
