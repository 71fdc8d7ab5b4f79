"""Proportioner checks as JSON (``stillwet.proportioner/1``): SI, ratios as fractions."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from enum import StrEnum
from typing import Any

from stillwet.domain.proportioner import ProportionerReport
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_json import json_text, sound_text

SCHEMA = "stillwet.proportioner/1"


def proportioner_to_json(report: ProportionerReport) -> dict[str, Any]:
    """The report as plain dictionaries that ``proportioner.schema.json`` accepts."""
    return {"schema": SCHEMA, **_record(report, LocalClock(report.time_zone))}


def proportioner_json_text(report: ProportionerReport) -> str:
    """The report as JSON text, one trailing newline."""
    return json_text(proportioner_to_json(report))


def _record(record: Any, clock: LocalClock) -> dict[str, Any]:
    shown: dict[str, Any] = {}
    for item in fields(record):
        value = getattr(record, item.name)
        if item.name == "when_s":
            every = value if isinstance(value, tuple) else (value,)
            times = [clock.iso(one) for one in every]
            shown["when"] = times if isinstance(value, tuple) else times[0]
        else:
            shown[item.name] = _value(value, clock)
    return shown


def _value(value: Any, clock: LocalClock) -> Any:
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, str):
        return sound_text(value)
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, tuple):
        return [_value(part, clock) for part in value]
    if isinstance(value, Mapping):
        return {name: _value(part, clock) for name, part in value.items()}
    return _record(value, clock) if is_dataclass(value) else value
