"""A routing problem in the terms of PyVRP 0.14, and its answers back as orders of visits.

PyVRP counts in whole numbers and knows no refill time by volume, no queue, no visit that follows
another and no concentrate. What it gets is therefore a little too strict in time and blind to the
rest; its orders are put right afterwards by the exact timetable (schedule, search):

- Water is a *pickup* (each visit picks emptiness up, a fill point takes it off), so that a
  part-full tank is an initial load.
- Service and fill times differ by crew, so they ride on the legs that leave a place. A fill takes
  the time of a whole tank: an upper bound, the true time is by volume.
- A latest start that depends on the crew (egress) becomes that of the slowest crew able to make it.
- A crew without what a visit needs finds it further away than the day is long.
- Must visits are optional ones with a very large prize: an impossible one is then left out and
  explained, not the end of the search.
- Windows of visits that follow others are tightened by the least time between the two.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.arrays import (
    AFTER_GAP,
    CLOSES,
    EARLIEST,
    FLOW,
    HAS_END,
    HOOKUP,
    MIX,
    NEVER_S,
    OPENS,
    SHIFT_FROM,
    SHIFT_TO,
    USABLE,
    WATER,
    Arrays,
    longest_leg,
)
from stillwet.routing.search import Model

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_MUST_OVER_PRIZE = 5.0  # a must weighs so many times the largest prize
_LEGS_PER_VISIT = 10.0  # the smallest prize is worth so many of the longest legs
_PRIZE_STEPS = 1e7  # largest prize over the smallest one counted
_GRAIN = 1e-6  # a whole number this near is that number


@dataclass(frozen=True, eq=False)
class PyvrpModel:
    """PyVRP's data, and which of our visits its clients are."""

    data: Any
    clients: Ints

    def orders(self, solution: Any, crews: int) -> list[list[int]]:
        """Our visits in the order of each crew's route."""
        orders: list[list[int]] = [[] for _ in range(crews)]
        for route in solution.routes():
            orders[route.vehicle_type()] = [
                int(self.clients[step.idx]) for step in route if step.is_client()
            ]
        return orders


def make_pyvrp_model(model: Model, time_unit_s: float, volume_unit_m3: float) -> PyvrpModel:
    """PyVRP's data for the visits that some crew could make."""
    import pyvrp

    arrays, kept = model.arrays, model.hopeful
    early, late = _windows(arrays, kept)
    origin = float(arrays.crew[:, SHIFT_FROM].min())
    units = _Units(origin, time_unit_s, volume_unit_m3)
    groups = _groups(model, kept)
    prizes = _prizes(model, kept, longest_leg(arrays) / time_unit_s)
    crews, points = len(arrays.crew), len(arrays.fill)
    # Locations: crew starts, crew ends, "anywhere", clients, fill points.
    anywhere, first_client = 2 * crews, 2 * crews + 1
    first_point = first_client + kept.size
    group_of = {client: row for row, members in enumerate(groups) for client in members}
    clients = [
        pyvrp.Client(
            location=first_client + row,
            pickup=[units.volume_up(arrays.visit[visit, MIX])],
            tw_early=units.time_up(early[row]),
            tw_late=max(units.time_up(early[row]), units.time_down(late[row])),
            prize=int(prizes[row]),
            required=False,
            group=group_of.get(row),
        )
        for row, visit in enumerate(kept)
    ]
    homes = [pyvrp.Depot(location=place) for place in range(2 * crews + 1)]
    fills = [
        pyvrp.Depot(first_point + point, *units.opening(arrays, point)) for point in range(points)
    ]
    vehicles = [
        pyvrp.VehicleType(
            num_available=1,
            capacity=[units.volume_down(arrays.crew[k, USABLE])],
            start_depot=k,
            end_depot=crews + k if arrays.crew[k, HAS_END] else anywhere,
            tw_early=units.time_up(arrays.crew[k, SHIFT_FROM]),
            tw_late=units.time_down(arrays.crew[k, SHIFT_TO]),
            profile=k,
            initial_load=[units.empty_at_start(arrays, k)],
            reload_depots=[2 * crews + 1 + point for point in range(points)],
        )
        for k in range(crews)
    ]
    legs = [_legs(arrays, kept, k, units) for k in range(crews)]
    data = pyvrp.ProblemData(
        locations=[pyvrp.Location(0, 0) for _ in range(first_point + points)],
        clients=clients,
        depots=[*homes, *fills],
        vehicle_types=vehicles,
        distance_matrices=[road for road, _ in legs],
        duration_matrices=[time for _, time in legs],
        groups=[pyvrp.ClientGroup(list(members), required=False) for members in groups],
    )
    return PyvrpModel(data, kept)


@dataclass(frozen=True, slots=True)
class _Units:
    """Whole numbers, rounded so that what PyVRP finds feasible is so."""

    origin_s: float
    time_s: float
    volume_m3: float

    def time_up(self, instant_s: float) -> int:
        return max(0, math.ceil((instant_s - self.origin_s) / self.time_s - _GRAIN))

    def time_down(self, instant_s: float) -> int:
        steps = min(max((instant_s - self.origin_s) / self.time_s, 0.0), 1e12)
        return math.floor(steps + _GRAIN)

    def volume_up(self, volume_m3: float) -> int:
        return max(0, math.ceil(volume_m3 / self.volume_m3 - _GRAIN))

    def volume_down(self, volume_m3: float) -> int:
        return max(0, math.floor(volume_m3 / self.volume_m3 + _GRAIN))

    def empty_at_start(self, arrays: Arrays, k: int) -> int:
        """What is gone from the usable tank; below the reserve counts as all of it."""
        usable = arrays.crew[k, USABLE]
        gone = self.volume_up(usable - arrays.crew[k, WATER])
        return min(gone, self.volume_down(usable))

    def opening(self, arrays: Arrays, point: int) -> tuple[int, int]:
        """A fill has to be over by closing time: allow for the longest."""
        opens = self.time_up(max(arrays.fill[point, OPENS], self.origin_s))
        fill_s = _fill_times(arrays)[:, point].max()
        return opens, max(opens, self.time_down(arrays.fill[point, CLOSES] - fill_s))

    def legs(self, seconds: Floats, far: int) -> Ints:
        steps = np.ceil(np.minimum(seconds / self.time_s, far) - _GRAIN)
        return np.asarray(steps, dtype=np.int64)


def _fill_times(arrays: Arrays) -> Floats:
    """Time of filling a whole usable tank, (K, F)."""
    usable = arrays.crew[:, USABLE, None]
    return np.asarray(arrays.fill[:, HOOKUP] + usable / arrays.fill[:, FLOW])


def _windows(arrays: Arrays, kept: Ints) -> tuple[Floats, Floats]:
    """Earliest and latest start of the kept visits, tightened by those they follow or precede."""
    early = arrays.visit[:, EARLIEST].copy()
    late = np.full(early.size, np.inf)
    for visit in kept:
        able = arrays.latest[:, visit] >= early[visit]
        late[visit] = arrays.latest[able, visit].min() if able.any() else early[visit]
    service = arrays.service.min(axis=0)
    after = arrays.after
    for visit in _first_ones_first(after):
        before = after[visit]
        least = service[before] + arrays.visit[visit, AFTER_GAP]
        early[visit] = max(early[visit], early[before] + least)
    for visit in reversed(_first_ones_first(after)):
        before = after[visit]
        least = service[before] + arrays.visit[visit, AFTER_GAP]
        if late[visit] - least >= early[before]:
            late[before] = min(late[before], late[visit] - least)
    return early[kept], late[kept]


def _first_ones_first(after: Ints) -> list[int]:
    """Visits that follow others, each behind the one it follows."""
    depth = np.zeros(after.size, dtype=np.int64)
    for visit in range(after.size):
        step = int(after[visit])
        while step >= 0:
            depth[visit] += 1
            step = int(after[step])
    order = np.argsort(depth, kind="stable")
    return [int(visit) for visit in order if after[visit] >= 0]


def _groups(model: Model, kept: Ints) -> list[list[int]]:
    """Rows of kept visits that share a unit, where there are at least two."""
    members: dict[int, list[int]] = {}
    for row, visit in enumerate(kept):
        members.setdefault(int(model.unit[visit]), []).append(row)
    return [rows for rows in members.values() if len(rows) > 1]


def _prizes(model: Model, kept: Ints, longest: float) -> Ints:
    """Whole-number prizes beside travel in time units: any visit is worth a long way round."""
    prize = model.prize[kept]
    most = float(prize.max(initial=0.0))
    counted = prize[prize > most / _PRIZE_STEPS]
    least = float(counted.min()) if counted.size else 1.0
    scale = _LEGS_PER_VISIT * max(longest, 1.0) / least
    must = model.unit_must[model.unit[kept]] * max(_MUST_OVER_PRIZE * most, least)
    return np.asarray(np.rint((prize + must) * scale), dtype=np.int64)


def _legs(arrays: Arrays, kept: Ints, k: int, units: _Units) -> tuple[Ints, Ints]:
    """Distance (seconds on the road) and duration (with what is done before leaving) of one
    crew.
    """
    crews, visits, points = len(arrays.crew), len(arrays.visit), len(arrays.fill)
    rows = np.concatenate(
        [
            np.arange(2 * crews),
            2 * crews + kept,
            2 * crews + visits + np.arange(points),
        ]
    )
    travel = np.insert(arrays.travel[k][np.ix_(rows, rows)], 2 * crews, 0.0, axis=0)
    travel = np.insert(travel, 2 * crews, 0.0, axis=1)  # "anywhere" is no way off
    work = np.zeros(len(travel))
    first = 2 * crews + 1
    work[first : first + kept.size] = arrays.service[k, kept]
    work[first + kept.size :] = _fill_times(arrays)[k]
    unable = first + np.flatnonzero(arrays.latest[k, kept] <= NEVER_S)
    travel[:, unable] = np.inf
    day = arrays.crew[:, SHIFT_TO].max() - units.origin_s
    far = math.ceil(4 * (day + longest_leg(arrays)) / units.time_s) + 1
    road = units.legs(travel, far)
    time = units.legs(travel + work[:, None], far + math.ceil(work.max() / units.time_s))
    for matrix in (road, time):
        np.fill_diagonal(matrix, 0)
    return road, time
