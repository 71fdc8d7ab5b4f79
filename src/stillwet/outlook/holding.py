"""From drying demand to hold time, starts and coats, for every face, hour and cell.

The rules are those of a plan at one place: demand constant between its hourly trapezoids' ends, a
coat's thinnest tenth decides, quantiles over members are members themselves.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.compiling import compiled
from stillwet.outlook.ask import EVEN, HOUR_S, SURE, Ask

Array = NDArray[np.float64]
Answers = dict[str, NDArray[np.float32]]

_LEAST_RISE_KG_M2 = 1e-12  # of an hour without drying, so that nothing is divided by zero
_NODES = 8193
_MOST_DRYING_KG_M2 = 256.0  # grass blades in ten hot days; past it the last slope goes on

_jit: Any = compiled(error_model="numpy", nogil=True)


class CoatTable(NamedTuple):
    """Mean coat against summed demand: values and slopes at even nodes (cubic Hermite between)."""

    step: float
    coat: Array
    slope: Array


def coat_table(ask: Ask) -> CoatTable:
    """Coats needed at even nodes of demand, with their slopes in closed form.

    With G = m0 - (1-n) D - k^(1-n) m0^n = 0 the slope dm0/dD is (1-n) / (1 - n (k/m0)^(1-n)), for
    n = 1 it is 1 / (1 + ln(m0/k)).
    """
    from stillwet.physics.coat import coat_needed

    demand = np.linspace(0.0, _MOST_DRYING_KG_M2, _NODES)
    coat = np.asarray(
        coat_needed(target_kg_m2=ask.keep_kg_m2, drying_kg_m2=demand, exponent=ask.exponent)
    )
    rest, n = ask.keep_kg_m2, ask.exponent
    if n > 1 - 1e-9:
        slope = 1 / (1 + np.log(coat / rest)) if rest > 0 else np.zeros_like(coat)
    elif rest > 0:
        slope = (1 - n) / (1 - n * (rest / coat) ** (1 - n))
    else:
        slope = np.full_like(coat, 1 - n)
    return CoatTable(float(demand[1]), coat / ask.thinnest, slope / ask.thinnest)


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
def _lower(values: Array, share: float) -> float:
    """The member at a share from below: numpy's quantile with method "lower"; sorts in place."""
    values.sort()
    found: float = values[math.floor(share * (values.size - 1) + 1e-9)]
    return found


@_jit
def _higher(values: Array, share: float) -> float:
    values.sort()
    found: float = values[math.ceil(share * (values.size - 1) - 1e-9)]
    return found


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
    valid: NDArray[np.bool_],
    held: float,
    from_h: float,
    until_h: float,
    table: CoatTable,
) -> None:
    faces, hours, cells, members = demand.shape
    totals = np.empty((members, hours))
    pointer = np.empty(members, dtype=np.int64)
    duration = np.empty(members)
    until, asked = np.empty(members), np.empty(members)
    for s in range(faces):
        for c in range(cells):
            if not valid[c]:
                mean[s, :, c] = np.nan
                summed[s, :, c] = np.nan
                even[s, :, c] = np.nan
                sure[s, :, c] = np.nan
                chance[s, :, c] = np.nan
                coat[s, :, c] = np.nan
                earliest[s, c] = np.nan
                latest[s, c] = np.nan
                continue
            for m in range(members):
                totals[m, 0] = 0.0
                for h in range(1, hours):
                    step = 0.5 * (demand[s, h, c, m] + demand[s, h - 1, c, m]) * HOUR_S
                    totals[m, h] = totals[m, h - 1] + step
                pointer[m] = 0
                until[m] = _at(totals[m], until_h)
                asked[m] = _last_at(totals[m], until[m] - held)
            start = _higher(asked, SURE)
            earliest[s, c] = start
            latest[s, c] = from_h if start <= from_h else np.nan
            for h in range(hours):
                rate, total, holding = 0.0, 0.0, 0
                for m in range(members):
                    rate += demand[s, h, c, m]
                    total += totals[m, h]
                    when, pointer[m] = _first_at(totals[m], totals[m, h] + held, pointer[m])
                    duration[m] = max(when - h, 0.0)
                    asked[m] = until[m] - totals[m, h]
                    if asked[m] <= held:
                        holding += 1
                mean[s, h, c] = rate / members * HOUR_S
                summed[s, h, c] = total / members
                even[s, h, c] = _lower(duration, 1 - EVEN)
                sure[s, h, c] = _lower(duration, 1 - SURE)
                if h <= until_h:
                    chance[s, h, c] = holding / members
                    coat[s, h, c] = _coat(table, max(_higher(asked, SURE), 0.0))
                else:
                    chance[s, h, c] = np.nan
                    coat[s, h, c] = np.nan


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
        demand_kg_m2_s,
        valid,
        drying_held(ask),
        (from_s - time_s[0]) / HOUR_S,
        (until_s - time_s[0]) / HOUR_S,
        coat_table(ask),
    )
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
