"""The plan as JSON (``stillwet.plan/1``): SI, units in the names, ISO 8601 times, null for none."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from enum import StrEnum
from importlib import resources
from typing import Any

from stillwet.domain.plan import AssetPlan, Plan
from stillwet.reports.local_time import LocalClock

SCHEMA = "stillwet.plan/1"

# Fields that hold a moment, not a span: written as ISO 8601 in the job's zone without the "_s".
TIME_FIELDS = frozenset(
    {
        "made_s",
        "start_s",
        "issued_s",
        "from_s",
        "to_s",
        "lay_time_s",
        "apply_from_s",
        "apply_until_s",
        "hold_until_50_s",
        "hold_until_90_s",
        "fire_window_from_s",
        "fire_window_to_s",
        "arrival_to_s",
    }
)
# Fields whose unit or meaning the record's own name leaves out.
_RENAMED = {
    "mix_ratio": "mix_ratio_fraction",
    "probability": "probability_fraction",
    "relative_humidity_min": "relative_humidity_min_fraction",
}


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """The plan as plain dictionaries that ``plan.schema.json`` accepts."""
    return {"schema": SCHEMA, **record_to_json(plan, LocalClock(plan.time_zone))}


def plan_json_text(plan: Plan) -> str:
    """The plan as JSON text, one trailing newline, the same bytes for the same plan."""
    return json_text(plan_to_json(plan))


def json_text(document: dict[str, Any]) -> str:
    """A document as JSON text, one trailing newline; NaN and infinity are faults."""
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def packaged_schema(name: str) -> dict[str, Any]:
    """The JSON Schema that ships as ``<name>.schema.json``."""
    text = resources.files("stillwet.reports").joinpath(f"{name}.schema.json").read_text("utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def record_to_json(record: Any, clock: LocalClock) -> dict[str, Any]:
    """One record of a plan as the schema has it: units in the names, moments as ISO 8601."""
    shown: dict[str, Any] = {}
    for item in fields(record):
        value = getattr(record, item.name)
        if item.name in TIME_FIELDS:
            shown[item.name.removesuffix("_s")] = clock.iso(value)
        elif isinstance(record, AssetPlan) and item.name == "governing":
            shown["governing_surface_id"] = record.governing.surface.id
        elif isinstance(record, Plan) and item.name == "water_points_m":
            shown["water_points"] = [{"name": n, "x_m": x, "y_m": y} for n, x, y in value]
        else:
            shown[_RENAMED.get(item.name, item.name)] = plain_value(
                value, lambda record: record_to_json(record, clock)
            )
    return shown


def plain_value(value: Any, of_record: Callable[[Any], Any]) -> Any:
    """A field as JSON holds it: null for no number; records as ``of_record`` has them."""
    if isinstance(value, StrEnum):
        return str(value)
    if isinstance(value, str):
        return sound_text(value)
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, tuple):
        return [plain_value(part, of_record) for part in value]
    return of_record(value) if is_dataclass(value) else value


def sound_text(text: str) -> str:
    """The text without lone surrogates, which UTF-8 cannot carry."""
    return text.encode("utf-8", "replace").decode("utf-8")
