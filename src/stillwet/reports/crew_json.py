"""The crews' day as JSON (``stillwet.crews/1``): SI, units in the names, ISO 8601 times."""

from __future__ import annotations

from dataclasses import fields
from functools import partial
from typing import Any

from stillwet.domain.crew_plan import CrewPlan
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_json import json_text, plain_value, sound_text

SCHEMA = "stillwet.crews/1"

# Fields that hold a moment, not a span: written as ISO 8601 in the job's zone without the "_s".
_TIMES = frozenset(
    {
        *("made_s", "start_s", "end_s", "arrive_s", "finish_s", "leave_by_s", "starts_s"),
        *("laid_s", "hold_90_s", "hold_50_s", "fire_from_s", "fire_to_s", "time_s"),
        "first_holds_until_s",
    }
)
_RENAMED = {
    "mix_ratio": "mix_ratio_fraction",
    "probability": "probability_fraction",
    "chance": "chance_fraction",
    "share": "share_fraction",
}
_PLACES = {"water_points_m": "water_points", "depots_m": "depots"}


def crew_plan_to_json(plan: CrewPlan) -> dict[str, Any]:
    """The crew plan as plain dictionaries that ``crews.schema.json`` accepts."""
    return {"schema": SCHEMA, **_record(plan, LocalClock(plan.time_zone))}


def crew_plan_json_text(plan: CrewPlan) -> str:
    """The crew plan as JSON text, the same bytes for the same plan."""
    return json_text(crew_plan_to_json(plan))


def _record(record: Any, clock: LocalClock) -> dict[str, Any]:
    shown: dict[str, Any] = {}
    nested = partial(_record, clock=clock)
    for item in fields(record):
        value = getattr(record, item.name)
        if item.name in _TIMES:
            shown[item.name.removesuffix("_s")] = clock.iso(value)
        elif item.name in _PLACES:
            places = [{"name": sound_text(n), "x_m": x, "y_m": y} for n, x, y in value]
            shown[_PLACES[item.name]] = places
        elif item.name == "assets_m":
            shown["assets"] = [
                {"id": sound_text(name), "x_m": x, "y_m": y} for name, x, y, _ in value
            ]
        elif item.name != "streams_m":
            shown[_RENAMED.get(item.name, item.name)] = plain_value(value, nested)
    return shown
