"""Trials as JSON (``stillwet.trial/1``): SI, ratios as fractions, null where there is none."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from typing import Any

from stillwet.domain.trial_report import TrialReport
from stillwet.reports.plan_json import json_text, sound_text

SCHEMA = "stillwet.trial/1"


def trial_to_json(report: TrialReport) -> dict[str, Any]:
    """The report as plain dictionaries that ``trial.schema.json`` accepts."""
    return {"schema": SCHEMA, **_record(report)}


def trial_json_text(report: TrialReport) -> str:
    """The report as JSON text, one trailing newline."""
    return json_text(trial_to_json(report))


def _record(record: Any) -> dict[str, Any]:
    return {item.name: _value(getattr(record, item.name)) for item in fields(record)}


def _value(value: Any) -> Any:
    if isinstance(value, str):
        return sound_text(value)
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, tuple):
        return [_value(part) for part in value]
    return _record(value) if is_dataclass(value) else value
