"""What stands on the sheets of lines, as plain words in boxes: the model that the template sets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from stillwet.domain.line_plan import LinePlan, LineSegmentPlan, LinesPlan
from stillwet.reports.line_rows import (
    hindrance_words,
    hour_row,
    line_pairs,
    refill_words,
    rule_words,
    segment_row,
    wait_words,
)
from stillwet.reports.line_words import (
    LINE_VERDICTS,
    clock_of_lines,
    coverage_label,
    coverage_number,
    coverage_to_lay,
    fire_words,
    hour_minute,
    length,
    lines_times,
    pace,
    span,
    widest_wanted,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.source_list import SourceList, breakable
from stillwet.reports.words import (
    Units,
    clean,
    percent_number,
    ratio_basis,
    short_name,
    shorten,
    unit_label,
)

Model = dict[str, Any]
SEGMENTS_ABREAST = 6  # columns of the table of hours; more segments get a table more


def lines_model(plan: LinesPlan, units: Units) -> Model:
    """Everything the template prints, in the reader's words, one sheet a line."""
    clock, times = clock_of_lines(plan), lines_times(plan)
    references = SourceList(units)
    sheets = [
        _sheet(number, line, plan, references, clock)
        for number, line in enumerate(plan.lines, start=1)
    ]
    return {
        "id": plan.id,
        "job": breakable(shorten(clean(plan.job_name), 90)),
        "made": clock.full(plan.made_s),
        "zone": f"Times are {clock.zone_words(times)}: {clock.days(times)}.",
        "product": clean(plan.product_name),
        "caution": plan.cautions[0],
        "cautions": [breakable(clean(text)) for text in plan.cautions[1:]],
        "warnings": [breakable(clean(text)) for text in plan.warnings],
        "lines": sheets,
        "numbers": references.paragraphs(plan.inputs),
        "sources": references.listed(),
        "made_with": f"Model version {plan.model_version}, {plan.members} members, "
        f"seed {plan.seed}, inputs {plan.input_hash[:16]}.",
    }


def _sheet(
    number: int, line: LinePlan, plan: LinesPlan, references: SourceList, clock: LocalClock
) -> Model:
    units = references.units
    return {
        "number": number,
        "name": breakable(short_name(line.name, 80)),
        "purpose": f"{line.purpose}, {length(line.length_m, units)}",
        "verdict": LINE_VERDICTS[line.verdict],
        "reason": breakable(clean(line.reason)),
        "note": breakable(shorten(clean(line.note), 300)),
        "answers": _answers(line, plan, units, clock),
        "hindrances": [
            {"reason": breakable(reason), "frees": breakable(frees)}
            for reason, frees in (hindrance_words(found, clock) for found in line.hindrances)
        ],
        "coverage_label": coverage_label(units),
        "is_lit": line.is_lit,
        "segments": [_segment(line, segment, units, clock) for segment in line.segments],
        "hours": _hour_tables(line, units, clock),
        "pairs": [
            [name, breakable(value)]
            for name, value in line_pairs(line, plan.ratio_basis, units, clock)
        ],
        "refills": refill_words(line, units, clock),
        "waits": wait_words(line, units),
        "rules": [
            {"name": name, "rule": words, "forecast": told, "kept": rule.is_kept}
            for rule in line.stop_rules
            for name, words, told in (rule_words(rule, clock),)
        ],
        "steps": _steps(line, units),
        "numbers": references.paragraphs(line.inputs),
    }


def _answers(line: LinePlan, plan: LinesPlan, units: Units, clock: LocalClock) -> list[Model]:
    """The boxes on top: how much, which mix, how fast, how soon, until when."""
    most = max(line.segments, key=lambda segment: segment.coverage_kg_m2)
    slowest = min(line.segments, key=lambda segment: segment.walk_m_s)
    lags = [part.lag_allowed_s for part in line.segments if part.lag_allowed_s is not None]
    spare = [part.slack_s for part in line.segments if part.slack_s is not None]
    end = line.lit_s if line.is_lit else line.wetted_s
    return [
        {
            "head": "Lay up to",
            "big": f"{coverage_number(most.coverage_kg_m2, units)} {coverage_label(units)}",
            "small": f"at the nozzle, on {short_name(most.name, 24)}",
        },
        {
            "head": f"Mix, {ratio_basis(plan.ratio_basis)}",
            "big": f"{percent_number(line.mix_ratio)} %",
            "small": shorten(clean(plan.product_name), 40),
        },
        {
            "head": "Walk, slowest",
            "big": pace(slowest.walk_m_s, units),
            "small": "set by the pump" if slowest.is_flow_limited else "throttle the nozzle",
        },
        {
            "head": "Light within" if line.is_lit else "Must be met within",
            "big": span(min(lags, default=None)),
            "small": f"of wetting, 90 % sure; least to spare {span(min(spare, default=None))}",
        },
        {
            "head": "Work",
            "big": hour_minute(clock, line.start_s),
            "small": f"to {clock.short(end, up=True)}",
        },
    ]


def _segment(line: LinePlan, segment: LineSegmentPlan, units: Units, clock: LocalClock) -> Model:
    row = asdict(segment_row(segment, units, clock))
    return row | {
        "name": breakable(short_name(row["name"], 26)),
        "fuel": f"{segment.fuel_model} {segment.fuel_name}",
        "fire": fire_words(line, segment),
        "widths": widest_wanted(segment, units),
        "both": coverage_to_lay(segment.coverage_kg_m2),
        "flags": "; ".join(segment.flags),
        "black": length(segment.black_depth_m, units),
    }


def _hour_tables(line: LinePlan, units: Units, clock: LocalClock) -> list[Model]:
    """Lag by hour and segment, six segments abreast."""
    tables = []
    for start in range(0, len(line.segments), SEGMENTS_ABREAST):
        parts = line.segments[start : start + SEGMENTS_ABREAST]
        names = [breakable(short_name(part.name, 18)) for part in parts]
        tables.append({"names": names, "rows": _hour_rows(parts, units, clock)})
    return tables


def _hour_rows(parts: Sequence[LineSegmentPlan], units: Units, clock: LocalClock) -> list[Model]:
    rows = []
    for index, hour in enumerate(parts[0].hours):
        row = hour_row(hour, units, clock)
        cells = [_lag_cell(part, index, units, clock) for part in parts]
        weather = {"time": row.time, "air": row.air, "humidity": row.humidity, "wind": row.wind}
        rows.append(weather | {"lights": hour.may_light, "cells": cells})
    return rows


def _lag_cell(part: LineSegmentPlan, index: int, units: Units, clock: LocalClock) -> Model:
    row = hour_row(part.hours[index], units, clock)
    return {
        "lag": row.lag,
        "small": f"wet {row.hold_90}, {row.hold_50}",
        "none": part.hours[index].lag_90_s <= 0.0,
    }


def _steps(line: LinePlan, units: Units) -> list[str]:
    """The tick boxes of the sheet, in the order of the work."""
    steps = [
        "Local rule on gel for lines asked; burn plan or order in hand",
        "Escape route and safety zone known to all",
        "Pump, tank and hose flushed; no foam in them",
        "Test patch sprayed: does it cling, is the fuel wet below?",
        "Marks set at the segment ends and refill points",
        f"Spot weather taken: ____ {unit_label('K', units)}, ____ % RH, "
        f"wind ____ {unit_label('m/s', units)} from ____",
    ]
    if line.is_lit:
        flames = f"flames beside it measured: ____ {unit_label('m', units)}"
        steps.append(f"Test fire lit; {flames}")
        steps.append("Holding crew and lookout in place")
    steps.append("Strip looked over for gaps before each lighting")
    return steps
