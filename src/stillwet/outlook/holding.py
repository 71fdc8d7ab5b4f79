"""From drying demand to hold time, starts and coats, for every face, hour and cell.

The rules are those of a plan at one place: demand constant between its hourly trapezoids' ends, a
coat's thinnest tenth decides, quantiles over members are members themselves.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.compiling import compiled
from stillwet.outlook.ask import EVEN, HOUR_S, SURE, Ask

Array = NDArray[np.float64]
Answers = dict[str, NDArray[np.float32]]

_LEAST_RISE_KG_M2 = 1e-12  # of an hour without drying, so that nothing is divided by zero
_COLUMNS = 32  # cells times members at a time: their running sums stay in the nearest cache
_NODES = 8193
_MOST_DRYING_KG_M2 = 256.0  # grass blades in ten hot days; past it the last slope goes on

_jit: Any = compiled(error_model="numpy", nogil=True)


class CoatTable(NamedTuple):
    """Mean coat against summed demand: values and slopes at even nodes (cubic Hermite between)."""

    step: float
    coat: Array
    slope: Array


@lru_cache(maxsize=4)
def coat_table(rest: float, n: float, thinnest: float) -> CoatTable:
    """Coats needed at even nodes of demand, with their slopes in closed form.

    With G = m0 - (1-n) D - k^(1-n) m0^n = 0 the slope dm0/dD is (1-n) / (1 - n (k/m0)^(1-n)), for
    n = 1 it is 1 / (1 + ln(m0/k)); k is ``rest``, what must be kept.
    """
    from stillwet.physics.coat import coat_needed

    demand = np.linspace(0.0, _MOST_DRYING_KG_M2, _NODES)
    coat = np.asarray(coat_needed(target_kg_m2=rest, drying_kg_m2=demand, exponent=n))
    if n > 1 - 1e-9:
        slope = 1 / (1 + np.log(coat / rest)) if rest > 0 else np.zeros_like(coat)
    elif rest > 0:
        slope = (1 - n) / (1 - n * (rest / coat) ** (1 - n))
    else:
        slope = np.full_like(coat, 1 - n)
    return CoatTable(float(demand[1]), coat / thinnest, slope / thinnest)


def drying_held(ask: Ask) -> float:
    """Summed demand [kg/m2] under which the coat's thinnest tenth still keeps enough."""
    from stillwet.physics.coat import drying_until

    return float(
        drying_until(
            coat_kg_m2=ask.coat_kg_m2 * ask.thinnest,
            target_kg_m2=ask.keep_kg_m2,
            exponent=ask.exponent,
        )
    )


@_jit
def _coat(table: CoatTable, demand: float) -> float:
    place = demand / table.step
    lower = min(int(place), table.coat.size - 2)
    x = place - lower
    if x > 1:
        far: float = table.coat[lower + 1] + (x - 1) * table.step * table.slope[lower + 1]
        return far
    gap = 1 - x
    found: float = (
        gap * gap * (1 + 2 * x) * table.coat[lower]
        + x * x * (3 - 2 * x) * table.coat[lower + 1]
        + x * gap * table.step * (gap * table.slope[lower] - x * table.slope[lower + 1])
    )
    return found


@_jit
def _at(total: Array, hour: float) -> float:
    lower = min(max(int(hour), 0), total.size - 2)
    found: float = total[lower] + (hour - lower) * (total[lower + 1] - total[lower])
    return found


@_jit
def _lower(ordered: Array, share: float) -> float:
    """The member at a share from below: numpy's quantile with method "lower", of sorted values."""
    found: float = ordered[math.floor(share * (ordered.size - 1) + 1e-9)]
    return found


@_jit
def _higher(ordered: Array, share: float) -> float:
    found: float = ordered[math.ceil(share * (ordered.size - 1) - 1e-9)]
    return found


@_jit
def _sort(values: Array) -> None:
    """Sort in place; one member needs no call, which would take longer than all else here."""
    if values.size > 1:
        values.sort()


@_jit
def _first_at(total: Array, wanted: float, start: int) -> tuple[float, int]:
    """Hours at which the running sum reaches a value, from an hour on; the end if it never does."""
    last = total.size - 1
    lower = start
    while lower < last - 1 and total[lower + 1] <= wanted:
        lower += 1
    rise = max(total[lower + 1] - total[lower], _LEAST_RISE_KG_M2)
    return lower + min(max((wanted - total[lower]) / rise, 0.0), 1.0), lower


@_jit
def _last_at(total: Array, wanted: float) -> float:
    """The last hour at which the running sum is no more than a value; 0 if it always is more."""
    if wanted < 0:
        return 0.0
    upper = total.size - 1
    while upper > 0 and total[upper] > wanted:
        upper -= 1
    if upper == total.size - 1:
        return float(upper)
    rise = max(total[upper + 1] - total[upper], _LEAST_RISE_KG_M2)
    found: float = upper + min((wanted - total[upper]) / rise, 1.0)
    return found


@_jit
def _sum_up(totals: Array, demand: Array, first: int, count: int) -> None:
    """Running sums (count * M, H) of some cells' members, each in a line of its own.

    demand (H, C, M) is read along its rows, which lie together in memory.
    """
    members = demand.shape[2]
    for k in range(count * members):
        totals[k, 0] = 0.0
    for h in range(1, demand.shape[0]):
        for j in range(count):
            for m in range(members):
                k, c = j * members + m, first + j
                step = 0.5 * (demand[h, c, m] + demand[h - 1, c, m]) * HOUR_S
                totals[k, h] = totals[k, h - 1] + step


@_jit
def _fill_starts(
    earliest: NDArray[np.float32],
    latest: NDArray[np.float32],
    until: Array,
    asked: Array,
    totals: Array,
    first: int,
    count: int,
    held: float,
    from_h: float,
    until_h: float,
) -> None:
    """First and last moment for a coat on some cells of a face (C,); ``until`` for later."""
    members = asked.size
    for j in range(count):
        for m in range(members):
            k = j * members + m
            until[k] = _at(totals[k], until_h)
            asked[m] = _last_at(totals[k], until[k] - held)
        _sort(asked)
        start = _higher(asked, SURE)
        earliest[first + j] = start
        latest[first + j] = from_h if start <= from_h else np.nan


@_jit
def _fill_hour(
    mean: NDArray[np.float32],
    summed: NDArray[np.float32],
    even: NDArray[np.float32],
    sure: NDArray[np.float32],
    chance: NDArray[np.float32],
    coat: NDArray[np.float32],
    demand: Array,
    totals: Array,
    until: Array,
    pointer: NDArray[np.int64],
    duration: Array,
    asked: Array,
    hour: int,
    first: int,
    count: int,
    held: float,
    is_before: bool,
    table: CoatTable,
) -> None:
    """Answers (C,) of one face and hour for some cells; ``pointer`` goes on from hour to hour."""
    members = asked.size
    for j in range(count):
        c = first + j
        rate, total, holding = 0.0, 0.0, 0
        for m in range(members):
            k = j * members + m
            now = totals[k, hour]
            rate += demand[c, m]
            total += now
            when, pointer[k] = _first_at(totals[k], now + held, pointer[k])
            duration[m] = max(when - hour, 0.0)
            asked[m] = until[k] - now
            if asked[m] <= held:
                holding += 1
        _sort(duration)
        mean[c] = rate / members * HOUR_S
        summed[c] = total / members
        even[c] = _lower(duration, 1 - EVEN)
        sure[c] = _lower(duration, 1 - SURE)
        chance[c], coat[c] = np.nan, np.nan
        if is_before:
            _sort(asked)
            chance[c] = holding / members
            coat[c] = _coat(table, max(_higher(asked, SURE), 0.0))


@_jit
def _fill(
    mean: NDArray[np.float32],
    summed: NDArray[np.float32],
    even: NDArray[np.float32],
    sure: NDArray[np.float32],
    chance: NDArray[np.float32],
    coat: NDArray[np.float32],
    earliest: NDArray[np.float32],
    latest: NDArray[np.float32],
    demand: Array,
    held: float,
    from_h: float,
    until_h: float,
    table: CoatTable,
) -> None:
    """Every cell's answers, some cells at a time: hours of one cell lie far apart in memory."""
    faces, hours, cells, members = demand.shape
    run = max(_COLUMNS // members, 1)
    totals = np.empty((run * members, hours))
    pointer, until = np.empty(run * members, dtype=np.int64), np.empty(run * members)
    duration, asked = np.empty(members), np.empty(members)
    for s in range(faces):
        for first in range(0, cells, run):
            count = min(run, cells - first)
            _sum_up(totals, demand[s], first, count)
            _fill_starts(
                earliest[s], latest[s], until, asked, totals, first, count, held, from_h, until_h
            )
            pointer[:] = 0
            for h in range(hours):
                _fill_hour(
                    mean[s, h],
                    summed[s, h],
                    even[s, h],
                    sure[s, h],
                    chance[s, h],
                    coat[s, h],
                    demand[s, h],
                    totals,
                    until,
                    pointer,
                    duration,
                    asked,
                    h,
                    first,
                    count,
                    held,
                    h <= until_h,
                    table,
                )


def hold_answers(
    *, demand_kg_m2_s: Array, valid: NDArray[np.bool_], time_s: Array, ask: Ask
) -> Answers:
    """Every answer over faces, hours and cells from demand (S, H, C, M); missing cells are NaN.

    valid (C,); time_s (H,) hourly. By hour: (S, H, C); starts: (S, C).
    """
    faces, hours, cells, _ = demand_kg_m2_s.shape
    until_s = time_s[-1] if ask.until_s is None else ask.until_s
    from_s = until_s if ask.from_s is None else ask.from_s
    by_hour = [np.empty((faces, hours, cells), dtype=np.float32) for _ in range(6)]
    starts = [np.empty((faces, cells), dtype=np.float32) for _ in range(2)]
    _fill(
        *by_hour,
        *starts,
        np.ascontiguousarray(demand_kg_m2_s),
        drying_held(ask),
        (from_s - time_s[0]) / HOUR_S,
        (until_s - time_s[0]) / HOUR_S,
        coat_table(ask.keep_kg_m2, ask.exponent, ask.thinnest),
    )
    for values in (*by_hour, *starts):
        values[..., ~valid] = np.nan
    names = (
        "drying_demand",
        "drying_sum",
        "hold_time_even",
        "hold_time_sure",
        "hold_chance",
        "coat_needed",
        "earliest_start",
        "latest_start",
    )
    return dict(zip(names, (*by_hour, *starts), strict=True))
