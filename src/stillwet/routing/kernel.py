"""The loops that take the time: when to fill on a given order of visits, and where to insert a
visit.

Compiled; pure functions of arrays.

A *label* is a way of having got to a point of a route: time, usable water in the tank, concentrate
on board, seconds on the road. Labels that another one beats on all four are dropped, so what
remains is close to exact for the order of visits and one crew on its own. It is cut short in three
ways, for speed: at most ``LABELS`` labels are kept, a leg looks only at a few fill points
(arrays.NEAR), and concentrate is taken on only when the next visit would run short.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.compiling import compiled
from stillwet.routing.arrays import (
    AFTER,
    CARRIED,
    CARRY_LIMIT,
    CLOSES,
    CONCENTRATE,
    EARLIEST,
    FLOW,
    HAS_END,
    HOOKUP,
    LOAD_TIME,
    MIX,
    OPENS,
    SHIFT_FROM,
    SHIFT_TO,
    STOCK,
    USABLE,
    WATER,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
ArraysLike = Any  # arrays.Arrays; numba sees the named tuple

LABELS = 8
TIME, TANK, BOARD, ROAD = 0, 1, 2, 3
EPS_M3 = 1e-9
EPS_S = 1e-6


@compiled()
def _keep(
    out: Floats,
    back: Ints,
    count: int,
    time: float,
    tank: float,
    board: float,
    road: float,
    row: int,
    point: int,
    depot: int,
) -> int:
    """Add a label unless a kept one beats it; drop those it beats. Returns the new count."""
    for one in range(count):
        if (
            out[one, TIME] <= time + EPS_S
            and out[one, TANK] >= tank - EPS_M3
            and out[one, BOARD] >= board - EPS_M3
            and out[one, ROAD] <= road + EPS_S
        ):
            return count
    kept = 0
    for one in range(count):
        if not (
            time <= out[one, TIME]
            and tank >= out[one, TANK]
            and board >= out[one, BOARD]
            and road <= out[one, ROAD]
        ):
            if kept != one:
                for column in range(4):
                    out[kept, column] = out[one, column]
                for column in range(3):
                    back[kept, column] = back[one, column]
            kept += 1
    place = kept
    if kept == LABELS:
        place = 0
        for one in range(1, kept):
            if out[one, TIME] > out[place, TIME]:
                place = one
        if out[place, TIME] <= time:
            return kept
    else:
        kept += 1
    out[place, TIME] = time
    out[place, TANK] = tank
    out[place, BOARD] = board
    out[place, ROAD] = road
    back[place, 0] = row
    back[place, 1] = point
    back[place, 2] = depot
    return kept


@compiled()
def _filled_at(a: ArraysLike, k: int, arrive: float, tank: float, point: int) -> float:
    """When a tank is topped up; inf when the point closes or the shift ends before that."""
    amount = max(0.0, a.crew[k, USABLE] - tank)
    start = max(arrive, a.fill[point, OPENS])
    over = start + a.fill[point, HOOKUP] + amount / a.fill[point, FLOW]
    if not over <= min(a.fill[point, CLOSES], a.crew[k, SHIFT_TO]) + EPS_S:
        return np.inf
    return float(over)


@compiled()
def _extend(
    a: ArraysLike,
    k: int,
    place: int,
    labels: Floats,
    count: int,
    visit: int,
    rest_mix: float,
    out: Floats,
    back: Ints,
) -> int:
    """Labels after one more visit, going straight there or over a fill point, a depot, or both.

    ``rest_mix`` is what the route still asks, this visit included: a label that carries all of it
    need not fill any more.
    """
    base = 2 * len(a.crew) + len(a.visit)
    to = 2 * len(a.crew) + visit
    mix, concentrate = a.visit[visit, MIX], a.visit[visit, CONCENTRATE]
    latest = a.latest[k, visit] + EPS_S
    found = 0
    for row in range(count):
        fills = 0 if labels[row, TANK] >= rest_mix - EPS_M3 else a.near.shape[3]
        loads = 0 if labels[row, BOARD] >= concentrate - EPS_M3 else len(a.depot)
        for choice in range(-1, fills):
            point = -1 if choice < 0 else a.near[k, place, visit, choice]
            for depot in range(-1, loads):
                if depot >= 0 and a.depot[depot, STOCK] <= EPS_M3:
                    continue
                ways = 2 if point >= 0 and depot >= 0 else 1
                for load_first in range(ways):
                    time, tank = labels[row, TIME], labels[row, TANK]
                    board, road = labels[row, BOARD], labels[row, ROAD]
                    at = place
                    for turn in range(2):
                        is_load = (turn == 0) == (load_first == 1)
                        if is_load and depot >= 0:
                            stop = base + len(a.fill) + depot
                            leg = a.travel[k, at, stop]
                            time += leg + a.depot[depot, LOAD_TIME]
                            road += leg
                            board = max(board, a.crew[k, CARRY_LIMIT])
                            at = stop
                        elif not is_load and point >= 0:
                            leg = a.travel[k, at, base + point]
                            time = _filled_at(a, k, time + leg, tank, point)
                            road += leg
                            tank = max(tank, a.crew[k, USABLE])
                            at = base + point
                    leg = a.travel[k, at, to]
                    start = max(time + leg, a.visit[visit, EARLIEST])
                    tank -= mix
                    board -= concentrate
                    if start <= latest and tank >= -EPS_M3 and board >= -EPS_M3:
                        found = _keep(
                            out,
                            back,
                            found,
                            start + a.service[k, visit],
                            tank,
                            board,
                            road + leg,
                            row,
                            point,
                            depot if load_first == 0 else -2 - depot,
                        )
    return found


@compiled()
def _finish(a: ArraysLike, k: int, place: int, labels: Floats, count: int) -> tuple[int, float]:
    """The best label that gets the crew home (or just done) within its shift, and its road time."""
    best = -1
    road = np.inf
    end = np.inf
    leg = a.travel[k, place, len(a.crew) + k] if a.crew[k, HAS_END] > 0 else 0.0
    for row in range(count):
        time = labels[row, TIME] + leg
        if time <= a.crew[k, SHIFT_TO] + EPS_S and (
            labels[row, ROAD] + leg < road - EPS_S
            or (labels[row, ROAD] + leg <= road + EPS_S and time < end)
        ):
            best = row
            road = labels[row, ROAD] + leg
            end = time
    return best, road


@compiled()
def forward(
    a: ArraysLike, k: int, order: Ints, labels: Floats, back: Ints, counts: Ints
) -> tuple[int, float]:
    """Labels of every prefix of one crew's order of visits, written into ``labels``.

    labels shape (n + 1, LABELS, 4), back (n + 1, LABELS, 3), counts (n + 1,), for n = order.size.
    Returns the best final label (-1 when the order cannot be done) and its seconds on the road.
    """
    n = order.size
    rest_mix = 0.0
    for visit in order:
        rest_mix += a.visit[visit, MIX]
    labels[0, 0, TIME] = a.crew[k, SHIFT_FROM]
    labels[0, 0, TANK] = a.crew[k, WATER]
    labels[0, 0, BOARD] = a.crew[k, CARRIED]
    labels[0, 0, ROAD] = 0.0
    counts[0] = 1
    place = k
    for p in range(n):
        visit = order[p]
        counts[p + 1] = _extend(
            a,
            k,
            place,
            labels[p],
            counts[p],
            visit,
            rest_mix,
            labels[p + 1],
            back[p + 1],
        )
        if counts[p + 1] == 0:
            return -1, np.inf
        rest_mix -= a.visit[visit, MIX]
        place = 2 * len(a.crew) + visit
    best, road = _finish(a, k, place, labels[n], counts[n])
    return best, road


@compiled()
def trace(a: ArraysLike, order: Ints, back: Ints, row: int) -> Ints:
    """The steps of one crew's order with its fills and loads, back from the final label ``row``.

    Step numbers: visit i, fill point N + f, depot N + F + d.
    """
    visits, points = len(a.visit), len(a.fill)
    backwards = np.empty(3 * order.size, dtype=np.int64)
    count = 0
    for p in range(order.size, 0, -1):
        backwards[count] = order[p - 1]
        count += 1
        point, depot = back[p, row, 1], back[p, row, 2]
        load_first = depot < -1
        load = -2 - depot if load_first else depot
        if load >= 0 and not load_first:
            backwards[count] = visits + points + load
            count += 1
        if point >= 0:
            backwards[count] = visits + point
            count += 1
        if load >= 0 and load_first:
            backwards[count] = visits + points + load
            count += 1
        row = back[p, row, 0]
    return backwards[:count][::-1].copy()


@compiled()
def _latest_at(a: ArraysLike, k: int, order: Ints) -> Floats:
    """Latest start of each visit that still leaves time for the rest, fills not counted (n,)."""
    n = order.size
    base = 2 * len(a.crew)
    out = np.empty(n)
    for p in range(n - 1, -1, -1):
        visit = order[p]
        limit = a.latest[k, visit]
        if p == n - 1:
            if a.crew[k, HAS_END] > 0:
                home = a.travel[k, base + visit, len(a.crew) + k]
                limit = min(limit, a.crew[k, SHIFT_TO] - home - a.service[k, visit])
        else:
            leg = a.travel[k, base + visit, base + order[p + 1]]
            limit = min(limit, out[p + 1] - leg - a.service[k, visit])
        out[p] = limit
    return out


@compiled()
def _insert_at(
    a: ArraysLike,
    k: int,
    order: Ints,
    position: int,
    visit: int,
    prefix: Floats,
    count: int,
    rest: Floats,
    work: Floats,
    back: Ints,
) -> float:
    """Seconds on the road of the whole route with the visit inserted; inf when it cannot be
    done.
    """
    base = 2 * len(a.crew)
    place = k if position == 0 else base + order[position - 1]
    here, there = 0, 1
    mix = rest[position] + a.visit[visit, MIX]
    found = _extend(a, k, place, prefix, count, visit, mix, work[here], back)
    place = base + visit
    for q in range(position, order.size):
        if found == 0:
            return np.inf
        found = _extend(a, k, place, work[here], found, order[q], rest[q], work[there], back)
        here, there = there, here
        place = base + order[q]
    if found == 0:
        return np.inf
    return float(_finish(a, k, place, work[here], found)[1])


@compiled()
def _fills_on(back: Ints, row: int, n: int) -> Ints:
    """The fill point used on the way to each visit of the best route, -1 where none (n,)."""
    out = np.full(n, -1, dtype=np.int64)
    for p in range(n, 0, -1):
        out[p - 1] = back[p, row, 1]
        row = back[p, row, 0]
    return out


@compiled()
def _detour(a: ArraysLike, k: int, order: Ints, p: int, visit: int, fill: int) -> float:
    """About the least that inserting at position p adds to the road: past a fill on that leg or
    not.
    """
    base = 2 * len(a.crew)
    place = k if p == 0 else base + order[p - 1]
    middle = base + visit
    if p == order.size:
        if not a.crew[k, HAS_END] > 0:
            return float(a.travel[k, place, middle])
        home = len(a.crew) + k
        way = a.travel[k, place, middle] + a.travel[k, middle, home] - a.travel[k, place, home]
        return float(way)
    to = base + order[p]
    way = a.travel[k, place, middle] + a.travel[k, middle, to] - a.travel[k, place, to]
    if fill >= 0:
        at = base + len(a.visit) + fill
        before = a.travel[k, place, middle] + a.travel[k, middle, at] - a.travel[k, place, at]
        behind = a.travel[k, at, middle] + a.travel[k, middle, to] - a.travel[k, at, to]
        way = min(way, before, behind)
    return float(way)


@compiled()
def best_insertions(
    a: ArraysLike, k: int, order: Ints, candidates: Ints, position: Ints, added: Floats
) -> float:
    """For one crew's order, where each candidate costs least and how many seconds on the road it
    adds.

    Written into ``position`` and ``added`` (candidates,): inf where it does not fit. Returns the
    road time of the order as it is (inf, and nothing fits, when the order itself cannot be done).
    """
    n = order.size
    base = 2 * len(a.crew)
    labels = np.empty((n + 1, LABELS, 4))
    back = np.empty((n + 1, LABELS, 3), dtype=np.int64)
    counts = np.zeros(n + 1, dtype=np.int64)
    added[:] = np.inf
    position[:] = -1
    row, road = forward(a, k, order, labels, back, counts)
    if row < 0:
        return np.inf
    fills = _fills_on(back, row, n)
    last = _latest_at(a, k, order)
    rest = np.zeros(n + 1)
    for p in range(n - 1, -1, -1):
        rest[p] = rest[p + 1] + a.visit[order[p], MIX]
    soonest = np.empty(n + 1)
    for p in range(n + 1):
        soonest[p] = np.inf
        for one in range(counts[p]):
            soonest[p] = min(soonest[p], labels[p, one, TIME])
    work = np.empty((2, LABELS, 4))
    scrap = np.empty((LABELS, 3), dtype=np.int64)
    detour = np.empty(n + 1)
    for c in range(candidates.size):
        visit = candidates[c]
        if a.visit[visit, MIX] > max(a.crew[k, USABLE], a.crew[k, WATER]) + EPS_M3:
            continue
        low, high = _allowed_positions(a, order, visit)
        for p in range(n + 1):
            detour[p] = np.inf
            if p < low or p > high:
                continue
            place = k if p == 0 else base + order[p - 1]
            start = max(soonest[p] + a.travel[k, place, base + visit], a.visit[visit, EARLIEST])
            if not start <= a.latest[k, visit] + EPS_S:
                continue
            if p < n:
                then = start + a.service[k, visit] + a.travel[k, base + visit, base + order[p]]
                if not then <= last[p] + EPS_S:
                    continue
            detour[p] = _detour(a, k, order, p, visit, fills[p] if p < n else -1)
        while True:
            p = int(np.argmin(detour))
            if not detour[p] < added[c]:
                break
            detour[p] = np.inf
            total = _insert_at(a, k, order, p, visit, labels[p], counts[p], rest, work, scrap)
            if total - road < added[c]:
                added[c] = total - road
                position[c] = p
    return float(road)


@compiled()
def _allowed_positions(a: ArraysLike, order: Ints, visit: int) -> tuple[int, int]:
    """Positions after the visit it follows and before those that follow it, on the same route."""
    low, high = 0, order.size
    for p in range(order.size):
        if order[p] == int(a.visit[visit, AFTER]):
            low = p + 1
        if int(a.visit[order[p], AFTER]) == visit:
            high = min(high, p)
    return low, high
