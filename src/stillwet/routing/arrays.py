"""A routing problem as plain arrays for the kernels. Plumbing: nothing is decided here."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.problem import RoutingProblem

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Shorts = NDArray[np.int16]

NEVER_S = -1e300  # a latest start that no time meets
ALWAYS_S = 1e300
NEAR = 4  # fill points looked at on one leg


# Columns of the tables in Arrays.
EARLIEST, MIX, CONCENTRATE, AFTER, AFTER_GAP = 0, 1, 2, 3, 4  # visit; AFTER is -1 for none
SHIFT_FROM, SHIFT_TO, HAS_END, USABLE, WATER, CARRIED, CARRY_LIMIT = 0, 1, 2, 3, 4, 5, 6  # crew
FLOW, HOOKUP, OPENS, CLOSES, PLACES = 0, 1, 2, 3, 4  # fill point
STOCK, LOAD_TIME = 0, 1  # depot


class Arrays(NamedTuple):
    """K crews, N visits, F fill points, D depots, P places. Few and wide, so that kernels build
    fast.

    USABLE is what a full tank may spray, WATER what is usable at the start (below 0 when the crew
    starts below its reserve), CARRIED the concentrate on board at the start.
    """

    travel: Floats  # (K, P, P)
    service: Floats  # (K, N) set-up and nozzle time
    latest: Floats  # (K, N) latest start of work: window, egress and shift; NEVER_S if not able
    visit: Floats  # (N, 5)
    crew: Floats  # (K, 7)
    fill: Floats  # (F, 5)
    depot: Floats  # (D, 2)
    near: Shorts  # (K, P, N, at most NEAR) fill points with the least detour on the way to a visit

    @property
    def after(self) -> Ints:
        """The visit each visit follows, or -1."""
        return self.visit[:, AFTER].astype(np.int64)

    def with_crew(self, **columns: Floats | float) -> Arrays:
        """The same with some columns of the crews replaced, named in lower case."""
        crew = self.crew.copy()
        for name, values in columns.items():
            crew[:, _CREW_COLUMNS[name]] = values
        return self._replace(crew=crew)


_CREW_COLUMNS = {"shift_from": SHIFT_FROM, "shift_to": SHIFT_TO, "usable": USABLE, "water": WATER}
_CREW_COLUMNS["carried"] = CARRIED


def make_arrays(problem: RoutingProblem) -> Arrays:
    """The arrays of a problem."""
    crews, visits = problem.crews, problem.visits
    index = {visit.id: float(number) for number, visit in enumerate(visits)}
    size = problem.place_count
    matrices = [problem.travel[crew.profile].seconds for crew in crews]
    travel = np.array(matrices, dtype=np.float64).reshape(len(crews), size, size)
    visit_rows = [
        [
            visit.earliest_s,
            visit.mix_m3,
            visit.concentrate_m3,
            -1.0 if visit.after is None else index[visit.after],
            visit.after_gap_s,
        ]
        for visit in visits
    ]
    crew_rows = [
        [
            crew.shift_from_s,
            crew.shift_to_s,
            float(crew.end_m is not None),
            crew.usable_m3,
            crew.water_m3 - crew.reserve_m3,
            crew.concentrate_m3,
            crew.concentrate_capacity_m3,
        ]
        for crew in crews
    ]
    fill_rows = [
        [point.fill_flow_m3_s, point.hookup_s, point.opens_s, point.closes_s, float(point.places)]
        for point in problem.fill_points
    ]
    return Arrays(
        travel=travel,
        service=_service(problem),
        latest=latest_starts(make_limits(problem)),
        visit=_table(visit_rows, 5),
        crew=_table(crew_rows, 7),
        fill=np.clip(_table(fill_rows, 5), NEVER_S, ALWAYS_S),
        depot=_table([[depot.stock_m3, depot.load_s] for depot in problem.depots], 2),
        near=_near_fill_points(problem, travel),
    )


def _table(rows: list[list[float]], width: int) -> Floats:
    return np.array(rows, dtype=np.float64).reshape(len(rows), width)


class Limits(NamedTuple):
    """What a latest start comes from: who is able (K, N), windows and leave-by times (N,), shift
    ends (K,), service times (K, N).
    """

    able: NDArray[np.bool_]
    window: Floats
    leave: Floats
    over: Floats
    service: Floats


def make_limits(problem: RoutingProblem) -> Limits:
    """The limits of a problem."""
    crews, visits = problem.crews, problem.visits
    able = [
        [visit.needs <= crew.capabilities and crew.tank_m3 >= crew.reserve_m3 for visit in visits]
        for crew in crews
    ]
    return Limits(
        able=np.array(able, dtype=np.bool_).reshape(len(crews), len(visits)),
        window=np.array([visit.latest_s for visit in visits], dtype=np.float64),
        leave=np.array([visit.leave_by_s for visit in visits], dtype=np.float64),
        over=np.array([crew.shift_to_s for crew in crews], dtype=np.float64),
        service=_service(problem),
    )


def latest_starts(
    limits: Limits,
    *,
    window_more_s: Floats | float = 0.0,
    fire_more_s: Floats | float = 0.0,
    shift_more_s: float = 0.0,
) -> Floats:
    """Latest start of work of each crew at each visit, shape (K, N); NEVER_S for a crew not able.

    Windows, fires (each of one visit or of all) and shifts may be loosened by so many seconds.
    """
    over = (limits.over + shift_more_s)[:, None]
    done = np.minimum(limits.leave + fire_more_s, over) - limits.service
    latest = np.clip(np.minimum(limits.window + window_more_s, done), NEVER_S, ALWAYS_S)
    return np.asarray(np.where(limits.able, latest, NEVER_S))


def _near_fill_points(problem: RoutingProblem, travel: Floats) -> Shorts:
    crews, visits, points = len(problem.crews), len(problem.visits), len(problem.fill_points)
    first, size = problem.visit_place(0), problem.place_count
    kept = min(NEAR, points)
    near = np.zeros((crews, size, visits, kept), dtype=np.int16)  # the largest table by far
    if kept == points:  # no choice to make
        near[...] = np.arange(points)
        return near
    fill = slice(problem.fill_place(0), problem.fill_place(0) + points)
    usable = np.array([crew.usable_m3 for crew in problem.crews])
    hookup = np.array([point.hookup_s for point in problem.fill_points])
    flow = np.array([point.fill_flow_m3_s for point in problem.fill_points])
    fill_time = hookup + usable[:, None] / flow
    for k in range(crews):  # a crew at a time: places x visits x points may be large
        there = travel[k][:, fill][:, None, :] + fill_time[k]
        onward = travel[k][fill, first : first + visits].T[None, :, :]
        near[k] = np.argsort(there + onward, axis=2, kind="stable")[:, :, :kept]
    return near


def _service(problem: RoutingProblem) -> Floats:
    setup = np.array([crew.setup_s for crew in problem.crews], dtype=np.float64)
    flow = np.array([crew.spray_flow_m3_s for crew in problem.crews], dtype=np.float64)
    mix = np.array([visit.mix_m3 for visit in problem.visits], dtype=np.float64)
    return np.asarray(setup[:, None] + mix[None, :] / flow[:, None])


def is_coupled(arrays: Arrays) -> bool:
    """True when crews can hinder each other: queues, shared stock, or visits that follow others."""
    crews = len(arrays.crew)
    if bool((arrays.visit[:, AFTER] >= 0).any()) or bool((arrays.fill[:, PLACES] < crews).any()):
        return True
    needed = float(arrays.visit[:, CONCENTRATE].sum())
    short = bool((arrays.crew[:, CARRIED] < needed).any())
    return short and bool((arrays.depot[:, STOCK] < needed).any())


def longest_leg(arrays: Arrays) -> float:
    """The longest finite travel time of any crew [s]; 0 when there is none."""
    finite = arrays.travel[np.isfinite(arrays.travel)]
    return float(finite.max()) if finite.size else 0.0


def horizon(problem: RoutingProblem) -> tuple[float, float]:
    """First start and last end of any shift; (0, 0) without crews."""
    if not problem.crews:
        return (0.0, 0.0)
    first = min(crew.shift_from_s for crew in problem.crews)
    last = max(crew.shift_to_s for crew in problem.crews)
    return (first, max(last, math.nextafter(first, math.inf)))
