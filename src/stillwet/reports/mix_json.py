"""The mix window as JSON (``stillwet.mix/1``): SI, ratios as fractions, null for none."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from enum import StrEnum
from typing import Any

from stillwet.domain.mix_window import AssetWindow, MixWindow, Wall
from stillwet.reports.plan_json import json_text, sound_text

SCHEMA = "stillwet.mix/1"

# Fields whose unit the record's own name leaves out.
_RENAMED = {
    "ratio": "ratio_fraction",
    "low": "low_fraction",
    "high": "high_fraction",
    "label_low": "label_low_fraction",
    "label_high": "label_high_fraction",
    "plan_ratio": "plan_ratio_fraction",
    "ratio_shown": "ratio_shown_fraction",
    "soft_lower": "soft_water_lower_fraction",
}


def mix_to_json(window: MixWindow) -> dict[str, Any]:
    """The window as plain dictionaries that ``mix.schema.json`` accepts."""
    shown = _record(window)
    return {"schema": SCHEMA, "is_open": window.is_open, **shown}


def mix_json_text(window: MixWindow) -> str:
    """The window as JSON text, one trailing newline."""
    return json_text(mix_to_json(window))


def _record(record: Any) -> dict[str, Any]:
    is_ratio = isinstance(record, (Wall, MixWindow, AssetWindow)) or hasattr(record, "fit")
    shown: dict[str, Any] = {}
    if isinstance(record, AssetWindow):
        shown |= {"is_open": record.is_open, "is_closed_by_hardness": record.is_closed_by_hardness}
    for item in fields(record):
        name = _RENAMED.get(item.name, item.name) if is_ratio else item.name
        shown[name] = _value(getattr(record, item.name))
    return shown


def _value(value: Any) -> Any:
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, str):
        return sound_text(value)
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, tuple):
        return [_value(part) for part in value]
    return _record(value) if is_dataclass(value) else value
