"""Hourly weather tables (CSV or spreadsheet) with a time column and labelled columns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from stillwet.domain.basis import given
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock, read_time
from stillwet.exchange.fields import Cell, read_bearing
from stillwet.exchange.findings import Findings
from stillwet.exchange.tabular import Columns, Matched, Table, match_columns
from stillwet.exchange.weather_members import (
    MEMBER,
    join_members,
    need_same_hours,
    rows_by_member,
)
from stillwet.exchange.weather_series import NEEDED, SUN, WEATHER_QUANTITIES, Draft

_NOT_A_NUMBER = ("nan", "na", "n/a", "null", "none", "-", "--", "m")
WEATHER_COLUMNS = Columns(
    quantities=WEATHER_QUANTITIES,
    words=("time", MEMBER),
    required=("time", *NEEDED),
    bearings=("wind_direction",),
)


def read_weather_table(
    table: Table, draft: Draft, *, mapping: Mapping[str, Any], clock: Clock, findings: Findings
) -> Draft | None:
    """Fill the draft's hours and columns from the table; None when it has faults.

    Every bad cell is noted with its row. A wind direction may be blank; nothing else may. With a
    member column the table is an ensemble, one row an hour and member.
    """
    before = findings.count
    matched = match_columns(table, WEATHER_COLUMNS, findings, mapping)
    if "time" not in matched.headers:
        return None
    header = matched.headers.get(MEMBER)
    groups = {"": table.rows} if header is None else rows_by_member(table.rows, header)
    parts = [replace(table, rows=rows) for rows in groups.values()]
    times = [_times(part, matched, clock, findings) for part in parts]
    names = [name for name in matched.headers if name not in ("time", MEMBER)]
    columns = {name: [_column(name, part, matched, findings) for part in parts] for name in names}
    if findings.count > before:
        return None
    with findings.catching():
        need_same_hours(dict(zip(groups, times, strict=True)), name=table.name)
        draft.time_s = np.array(times[0])
        draft.rows = tuple(row.number for row in parts[0].rows)
        joined = {name: np.stack(own, axis=1) for name, own in columns.items()}
        join_members(draft, joined, findings)
        draft.basis.update({name: given(table.name) for name in names})
        return draft
    return None


def _times(table: Table, matched: Matched, clock: Clock, findings: Findings) -> list[float]:
    times: list[float] = []
    for row in table.rows:
        cell = matched.cells(row).get("time")
        with findings.catching():
            if cell is None:
                raise StillwetError(Problem("time", "a date and time", "nothing", row.place))
            after_s = times[-1] if times else float("-inf")
            times.append(read_time(cell.raw, clock, field="time", place=row.place, after_s=after_s))
    return times


def _column(name: str, table: Table, matched: Matched, findings: Findings) -> Any:
    values = np.full(len(table.rows), np.nan)
    for index, row in enumerate(table.rows):
        cell = matched.cell(name, row)
        if name == "wind_direction" and _is_missing(cell.raw):
            continue
        with findings.catching():
            values[index] = _value(name, cell)
    return values


def _value(name: str, cell: Cell) -> float:
    if _is_missing(cell.raw):
        got = "nothing" if cell.raw is None else f"{shown(cell.raw)}, a missing value"
        hint = "fill the hour, or leave the whole column out if it may be"
        hint = hint if name not in (*NEEDED, *SUN) else "fill the hour from another source"
        raise StillwetError(Problem(name, "a number in every hour", got, cell.place, hint))
    if name == "wind_direction":
        return read_bearing(cell, name)
    return WEATHER_QUANTITIES[name].read(cell)


def _is_missing(raw: object) -> bool:
    if raw is None or (isinstance(raw, float) and np.isnan(raw)):
        return True
    return isinstance(raw, str) and raw.strip().lower() in _NOT_A_NUMBER
