"""The drying demand by facing and hour, as a text table of at most 100 columns and as JSON."""

from __future__ import annotations

from typing import Any

from stillwet.domain.facing import FacingDemand
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_json import json_text
from stillwet.reports.text_table import WIDTH, fill, pad, wrap_cells
from stillwet.reports.words import Units, clean, coat, number, unit_label

SCHEMA = "stillwet.demand/1"
_RATE = "kg/m2/h"
_TIME_WIDTH = 9
_HOUR_S = 3600.0
_DAY_HOURS = 24


def demand_text(demand: FacingDemand, *, time_zone: str, units: str) -> str:
    """One row an hour, one column a facing, in mm/h or in/h; facings that do not fit go below.

    The last row sums the first 24 hours. ``units`` is "us" or "metric".
    """
    told, clock = Units(units), LocalClock(time_zone)
    times = [float(time) for time in demand.time_s]
    heading = [
        f"DRYING DEMAND, {unit_label(_RATE, told)} of water from a fully wet coat",
        *fill(f"Times are {clock.zone_words(times)}: {clock.days(times)}"),
        *fill("A coat dries at this rate at first, then slower. Dew adds nothing."),
    ]
    facings = list(range(len(demand.labels)))
    wide = _column_width(demand)
    many = max(1, (WIDTH - _TIME_WIDTH) // (wide + 2))
    blocks = [facings[start : start + many] for start in range(0, len(facings), many)]
    tables = [_table(demand, block, wide, told, clock) for block in blocks]
    return "\n\n".join("\n".join(lines) for lines in [heading, *tables]) + "\n"


def _column_width(demand: FacingDemand) -> int:
    longest = max(len(word) for label in demand.labels for word in clean(label).split())
    return min(20, max(8, longest))


def _table(
    demand: FacingDemand, facings: list[int], wide: int, units: Units, clock: LocalClock
) -> list[str]:
    heads = [wrap_cells(clean(demand.labels[facing]), wide) for facing in facings]
    height = max(len(head) for head in heads)
    lines = [
        _row("", [([""] * (height - len(head)) + head)[line] for head in heads], wide)
        for line in range(height)
    ]
    rule = "-" * len(_row("", ["x" * wide] * len(facings), wide))
    lines.append(rule)
    for hour, time in enumerate(demand.time_s):
        rates = [float(demand.demand_kg_m2_s[facing, hour]) * _HOUR_S for facing in facings]
        lines.append(
            _row(clock.short(float(time)), [number(rate, _RATE, units) for rate in rates], wide)
        )
    sums = [
        coat(float(demand.demand_kg_m2_s[facing, :_DAY_HOURS].sum()) * _HOUR_S, units)
        for facing in facings
    ]
    hours = min(_DAY_HOURS, len(demand.time_s))
    return [*lines, rule, _row(f"sum {hours} h", sums, wide)]


def _row(lead: str, cells: list[str], wide: int) -> str:
    shown = "".join("  " + pad(cell, wide, right=True) for cell in cells)
    return (pad(lead, _TIME_WIDTH) + shown).rstrip()


def demand_to_json(demand: FacingDemand, *, time_zone: str) -> dict[str, Any]:
    """The demand as plain dictionaries: kg/m2/h (mm/h), times ISO 8601 in the zone."""
    clock = LocalClock(time_zone)
    return {
        "schema": SCHEMA,
        "time_zone": time_zone,
        "time": [clock.iso(float(time)) for time in demand.time_s],
        "facings": [
            {
                "label": clean(label),
                "demand_kg_m2_h": [float(rate) * _HOUR_S for rate in rates],
            }
            for label, rates in zip(demand.labels, demand.demand_kg_m2_s, strict=True)
        ],
    }


def demand_json_text(demand: FacingDemand, *, time_zone: str) -> str:
    """The demand as JSON text with one trailing newline."""
    return json_text(demand_to_json(demand, time_zone=time_zone))
