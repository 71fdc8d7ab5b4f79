"""All crews on one clock: queues at fill points, shared stock, visits that follow others.

Compiled; a pure function of arrays. Whoever arrives first is served first (ties by crew order). The
run goes on past a fault, so that all faults show.
"""

from __future__ import annotations

import numpy as np

from stillwet.compiling import compiled
from stillwet.routing.arrays import (
    AFTER,
    AFTER_GAP,
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
    PLACES,
    SHIFT_FROM,
    SHIFT_TO,
    STOCK,
    USABLE,
    WATER,
    Floats,
    Ints,
)
from stillwet.routing.kernel import EPS_M3, EPS_S, ArraysLike

# What went wrong at a step.
FINE, LATE, DRY, NO_CONCENTRATE, CLOSED, NO_STOCK, STUCK, NO_WAY = 0, 1, 2, 3, 4, 5, 6, 7

TANK, BOARD, CLOCK, ROAD = 0, 1, 2, 3  # columns of a crew's state


@compiled()
def _next_crew(
    a: ArraysLike, steps: Ints, lengths: Ints, step: Ints, at: Ints, state: Floats, done: Floats
) -> tuple[int, float, bool]:
    """Who arrives next and when; True when everyone left waits for someone. -1 when all are
    done.
    """
    crews, visits = len(a.crew), len(a.visit)
    soonest, stuck = -1, -1
    first, first_stuck = np.inf, np.inf
    for k in range(crews):
        if step[k] >= lengths[k]:
            continue
        code = steps[k, step[k]]
        arrive = state[k, CLOCK] + a.travel[k, at[k], 2 * crews + code]
        before = int(a.visit[code, AFTER]) if code < visits else -1
        if before >= 0 and np.isinf(done[before]):  # planned, not yet made
            stuck, first_stuck = k, arrive
            continue
        if soonest < 0 or arrive < first:
            soonest, first = k, arrive
    if soonest < 0 and stuck >= 0:
        return stuck, first_stuck, True
    return soonest, first, False


@compiled()
def _spray(
    a: ArraysLike, k: int, visit: int, arrive: float, state: Floats, done: Floats
) -> tuple[float, float, int]:
    """Start, finish and fault of a visit."""
    start = max(arrive, a.visit[visit, EARLIEST])
    fault = FINE
    if a.visit[visit, AFTER] >= 0:
        before = done[int(a.visit[visit, AFTER])]
        if np.isfinite(before):
            start = max(start, before + a.visit[visit, AFTER_GAP])
        else:
            fault = STUCK
    state[k, TANK] -= a.visit[visit, MIX]
    state[k, BOARD] -= a.visit[visit, CONCENTRATE]
    if not np.isfinite(arrive):
        fault = NO_WAY
    elif fault == FINE and not start <= a.latest[k, visit] + EPS_S:
        fault = LATE
    elif fault == FINE and state[k, TANK] < -EPS_M3:
        fault = DRY
    elif fault == FINE and state[k, BOARD] < -EPS_M3:
        fault = NO_CONCENTRATE
    done[visit] = start + a.service[k, visit]
    return start, done[visit], fault


@compiled()
def _fill_up(
    a: ArraysLike, k: int, point: int, arrive: float, state: Floats, free: Floats
) -> tuple[float, float, int, float]:
    """Start, finish, fault and amount of a fill at the first place that comes free."""
    slot = int(np.argmin(free[point]))
    start = max(arrive, a.fill[point, OPENS], free[point, slot])
    amount = max(0.0, a.crew[k, USABLE] - state[k, TANK])
    finish = start + a.fill[point, HOOKUP] + amount / a.fill[point, FLOW]
    free[point, slot] = finish
    state[k, TANK] += amount
    in_time = finish <= min(a.fill[point, CLOSES], a.crew[k, SHIFT_TO]) + EPS_S
    return start, finish, FINE if in_time else CLOSED, amount


@compiled()
def _take_on(
    a: ArraysLike, k: int, depot: int, later: Ints, arrive: float, state: Floats, stock: Floats
) -> tuple[float, int, float]:
    """Finish, fault and amount of a loading: what the route asks until the next one, no more."""
    visits, points = len(a.visit), len(a.fill)
    wanted = 0.0
    for code in later:
        if code >= visits + points:
            break
        if code < visits:
            wanted += a.visit[code, CONCENTRATE]
    amount = max(0.0, min(wanted, a.crew[k, CARRY_LIMIT]) - state[k, BOARD])
    fault = NO_STOCK if amount > stock[depot] + EPS_M3 else FINE
    amount = min(amount, stock[depot])
    stock[depot] -= amount
    state[k, BOARD] += amount
    return arrive + a.depot[depot, LOAD_TIME], fault, amount


@compiled()
def _free_places(a: ArraysLike) -> Floats:
    """When each place at each fill point comes free: now, or never where there is no such place."""
    most = 1
    for f in range(len(a.fill)):
        most = max(most, int(a.fill[f, PLACES]))
    free = np.full((len(a.fill), most), np.inf)
    for f in range(len(a.fill)):
        for slot in range(int(a.fill[f, PLACES])):
            free[f, slot] = -np.inf
    return free


@compiled()
def run_together(
    a: ArraysLike, steps: Ints, lengths: Ints, times: Floats, amounts: Floats, fault: Ints
) -> Floats:
    """Run every crew's steps on one clock.

    steps (K, T): visit i, fill point N + f, depot N + F + d; lengths (K,). Written: times (K, T, 3)
    arrive, start, finish; amounts (K, T, 2) filled or loaded, usable water left; fault (K, T).
    Returns (K, 2): when each crew is done (home if it has one) and its road time.
    """
    crews, visits, points = len(a.crew), len(a.visit), len(a.fill)
    done = np.full(visits, np.nan)  # nan: not in the plan; inf: planned, not yet made
    for k in range(crews):
        for t in range(lengths[k]):
            if steps[k, t] < visits:
                done[steps[k, t]] = np.inf
    free = _free_places(a)
    stock = a.depot[:, STOCK].copy()
    at, step = np.arange(crews), np.zeros(crews, dtype=np.int64)
    state = np.zeros((crews, 4))
    for k in range(crews):
        state[k, TANK], state[k, BOARD] = a.crew[k, WATER], a.crew[k, CARRIED]
        state[k, CLOCK] = a.crew[k, SHIFT_FROM]
    while True:
        k, arrive, is_stuck = _next_crew(a, steps, lengths, step, at, state, done)
        if k < 0:
            break
        t = step[k]
        code = steps[k, t]
        start, amount = arrive, 0.0
        if code < visits:
            start, finish, wrong = _spray(a, k, code, arrive, state, done)
        elif code < visits + points:
            start, finish, wrong, amount = _fill_up(a, k, code - visits, arrive, state, free)
        else:
            later = steps[k, t + 1 : lengths[k]]
            depot = code - visits - points
            finish, wrong, amount = _take_on(a, k, depot, later, arrive, state, stock)
        times[k, t, 0], times[k, t, 1], times[k, t, 2] = arrive, start, finish
        amounts[k, t, 0], amounts[k, t, 1] = amount, state[k, TANK]
        fault[k, t] = STUCK if is_stuck else wrong
        state[k, ROAD] += a.travel[k, at[k], 2 * crews + code]
        state[k, CLOCK] = finish
        at[k] = 2 * crews + code
        step[k] += 1
    ends: Floats = _send_home(a, lengths, at, state, fault)
    return ends


@compiled()
def _send_home(a: ArraysLike, lengths: Ints, at: Ints, state: Floats, fault: Ints) -> Floats:
    """When each crew is done and its road time (K, 2); marks a last step that ends too late."""
    crews = len(a.crew)
    ends = np.empty((crews, 2))
    for k in range(crews):
        home = 0.0
        if a.crew[k, HAS_END] > 0 and lengths[k] > 0:
            home = a.travel[k, at[k], crews + k]
        ends[k, 0] = state[k, CLOCK] + home
        ends[k, 1] = state[k, ROAD] + home
        too_late = lengths[k] > 0 and not ends[k, 0] <= a.crew[k, SHIFT_TO] + EPS_S
        if too_late and fault[k, lengths[k] - 1] == FINE:
            fault[k, lengths[k] - 1] = LATE
    return ends
