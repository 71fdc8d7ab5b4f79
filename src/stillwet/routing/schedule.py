"""The exact timetable: orders of visits become steps with times, tank levels, fills and queues.

Both solvers end here, so both mean the same by a plan. For one crew's order the fills are placed as
well as they can be (kernel.forward); then all crews run on one clock (clockwork.run_together), each
fill taking the time its own volume needs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.arrays import Arrays
from stillwet.routing.plan import ConcentrateLoad, CrewRoute, Refill, Step, Stop
from stillwet.routing.problem import RoutingProblem

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Orders = Sequence[Ints]  # visit numbers, one array a crew


@dataclass(frozen=True, eq=False)
class Timetable:
    """All crews on one clock; see clockwork.run_together for the arrays."""

    steps: Ints
    lengths: Ints
    times: Floats
    amounts: Floats
    fault: Ints
    ends: Floats

    @property
    def is_sound(self) -> bool:
        """True when no step breaks a constraint."""
        return not bool(self.fault.any())

    @property
    def travel_s(self) -> float:
        """Seconds on the road of all crews."""
        return float(self.ends[:, 1].sum())


def steps_of(arrays: Arrays, crew: int, order: Ints) -> tuple[Ints, int]:
    """A crew's order with its fills and loads put in, as step numbers.

    Returns the steps and -1; or, where the order cannot be done, no steps and the position of the
    first visit that fails.
    """
    from stillwet.routing import kernel

    n = order.size
    labels = np.empty((n + 1, kernel.LABELS, 4))
    back = np.empty((n + 1, kernel.LABELS, 3), dtype=np.int64)
    counts = np.zeros(n + 1, dtype=np.int64)
    row, _ = kernel.forward(arrays, crew, order, labels, back, counts)
    if row < 0:
        empty = np.flatnonzero(counts == 0)
        return np.empty(0, dtype=np.int64), int(empty[0]) - 1 if empty.size else n - 1
    return kernel.trace(arrays, order, back, row), -1


def run_steps(arrays: Arrays, steps: Sequence[Ints]) -> Timetable:
    """Put every crew's steps on one clock."""
    from stillwet.routing import clockwork

    crews = len(steps)
    lengths = np.array([one.size for one in steps], dtype=np.int64)
    width = max(1, int(lengths.max())) if crews else 1
    table = np.zeros((crews, width), dtype=np.int64)
    for crew, one in enumerate(steps):
        table[crew, : one.size] = one
    times, amounts = np.zeros((crews, width, 3)), np.zeros((crews, width, 2))
    fault = np.zeros((crews, width), dtype=np.int64)
    ends = clockwork.run_together(arrays, table, lengths, times, amounts, fault)
    return Timetable(table, lengths, times, amounts, fault, ends)


def routes_of(problem: RoutingProblem, timetable: Timetable) -> tuple[CrewRoute, ...]:
    """The timetable as records."""
    routes = []
    for number, crew in enumerate(problem.crews):
        steps = tuple(
            _step(problem, number, timetable, column)
            for column in range(int(timetable.lengths[number]))
        )
        end, travel = timetable.ends[number]
        routes.append(CrewRoute(crew.id, steps, crew.shift_from_s, float(end), float(travel)))
    return tuple(routes)


def _step(problem: RoutingProblem, crew: int, timetable: Timetable, column: int) -> Step:
    code = int(timetable.steps[crew, column])
    arrive, start, finish = (float(one) for one in timetable.times[crew, column])
    amount, usable = (float(one) for one in timetable.amounts[crew, column])
    level = max(0.0, usable + problem.crews[crew].reserve_m3)
    visits, points = len(problem.visits), len(problem.fill_points)
    if code < visits:
        visit = problem.visits[code]
        return Stop(visit.id, visit.asset_id, arrive, start, finish, visit.mix_m3, level)
    if code < visits + points:
        point = problem.fill_points[code - visits]
        return Refill(point.id, arrive, start, finish, amount, level)
    depot = problem.depots[code - visits - points]
    return ConcentrateLoad(depot.id, arrive, start, finish, amount)
