"""Lines as JSON (``stillwet.lines/1``): SI, units in the names, ISO 8601 times, null for none."""

from __future__ import annotations

from dataclasses import fields
from functools import partial
from typing import Any

from stillwet.domain.line_plan import LinesPlan
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_json import json_text, plain_value

SCHEMA = "stillwet.lines/1"

# Fields that hold moments, not spans: written as ISO 8601 in the job's zone without the "_s".
MOMENTS = frozenset(
    {
        "made_s",
        "issued_s",
        "from_s",
        "to_s",
        "time_s",
        "start_s",
        "wetted_s",
        "lit_s",
        "black_at_s",
        "arrival_from_s",
        "arrival_to_s",
        "wet_from_s",
        "wet_to_s",
        "lit_from_s",
        "lit_to_s",
        "latest_s",
        "dry_90_s",
        "dry_50_s",
        "leave_s",
        "back_s",
        "when_s",
        "good_hours_s",
    }
)
_RENAMED = {
    "mix_ratio": "mix_ratio_fraction",
    "finish_share": "finish_fraction",
    "delay_share": "delay_fraction",
    "dead_moisture": "dead_moisture_fraction",
    "extinction_moisture": "extinction_moisture_fraction",
    "relative_humidity": "relative_humidity_fraction",
    "relative_humidity_min": "relative_humidity_min_fraction",
    "fuel_surface": "fuel_surface_m2_m2",
}


def lines_to_json(plan: LinesPlan) -> dict[str, Any]:
    """The lines as plain dictionaries that ``lines.schema.json`` accepts."""
    return {"schema": SCHEMA, **_record(plan, LocalClock(plan.time_zone))}


def lines_json_text(plan: LinesPlan) -> str:
    """The lines as JSON text, one trailing newline, the same bytes for the same plan."""
    return json_text(lines_to_json(plan))


def _record(record: Any, clock: LocalClock) -> dict[str, Any]:
    shown: dict[str, Any] = {}
    nested = partial(_record, clock=clock)
    for item in fields(record):
        value = getattr(record, item.name)
        if item.name in MOMENTS:
            name = item.name.removesuffix("_s")
            is_many = isinstance(value, tuple)
            shown[name] = [clock.iso(each) for each in value] if is_many else clock.iso(value)
        else:
            shown[_RENAMED.get(item.name, item.name)] = plain_value(value, nested)
    return shown
