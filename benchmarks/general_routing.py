"""A general-purpose routing library (OR-Tools) on the same job, to set beside our own solver.

Not needed by Stillwet: ``pip install ortools`` to have this column in bench_routing.py. The model
is the one PyVRP gets (whole-tank fill times, the slowest able crew's latest start), not tuned:
cheapest insertion, then guided local search.
"""

from __future__ import annotations

import importlib
import importlib.util
import math
from typing import Any

import numpy as np

from stillwet.routing.arrays import (
    EARLIEST,
    FLOW,
    HOOKUP,
    MIX,
    NEVER_S,
    SHIFT_FROM,
    SHIFT_TO,
    USABLE,
    WATER,
    Arrays,
)
from stillwet.routing.search import Model

LITRE_M3 = 1e-3
SPARE_FILLS = 1.2  # copies of fill points over what coating everything would take


def is_installed() -> bool:
    """True when the library is there."""
    return importlib.util.find_spec("ortools") is not None


def general_orders(model: Model, seconds: int) -> list[list[int]]:
    """Each crew's order of visits after so many seconds of search."""
    pywrapcp: Any = importlib.import_module("ortools.constraint_solver.pywrapcp")
    enums: Any = importlib.import_module("ortools.constraint_solver.routing_enums_pb2")
    arrays, visits = model.arrays, model.hopeful
    crews = len(arrays.crew)
    place = _places(arrays, visits)
    anywhere = place.size
    manager = pywrapcp.RoutingIndexManager(
        place.size + 1, crews, list(range(crews)), [anywhere] * crews
    )
    routing = pywrapcp.RoutingModel(manager)
    _travel_and_time(routing, arrays, place, crews)
    _water(routing, manager, arrays, place, crews)
    _windows_and_prizes(routing, manager, model, crews)
    for node in range(crews + visits.size, place.size):
        routing.AddDisjunction([manager.NodeToIndex(node)], 0)
    search = pywrapcp.DefaultRoutingSearchParameters()
    search.first_solution_strategy = enums.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    search.local_search_metaheuristic = enums.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    search.time_limit.FromSeconds(seconds)
    solution = routing.SolveWithParameters(search)
    orders: list[list[int]] = [[] for _ in range(crews)]
    for crew in range(crews if solution else 0):
        index = routing.Start(crew)
        while not routing.IsEnd(index):
            node = manager.IndexToNode(index) - crews
            if 0 <= node < visits.size:
                orders[crew].append(int(visits[node]))
            index = solution.Value(routing.NextVar(index))
    return orders


def _places(arrays: Arrays, visits: np.ndarray) -> np.ndarray:
    """Matrix rows of the nodes: crew starts, visits, copies of fill points."""
    crews, points = len(arrays.crew), len(arrays.fill)
    wanted = SPARE_FILLS * arrays.visit[visits, MIX].sum() / arrays.crew[:, USABLE].mean()
    copies = math.ceil(wanted / max(1, points))
    first_fill = 2 * crews + len(arrays.visit)
    fills = np.tile(first_fill + np.arange(points), copies)
    return np.concatenate([np.arange(crews), 2 * crews + visits, fills])


def _travel_and_time(routing: Any, arrays: Arrays, place: np.ndarray, crews: int) -> None:
    """Seconds on the road as cost; those and the work before leaving as time."""
    visits = len(arrays.visit)
    horizon = math.floor(arrays.crew[:, SHIFT_TO].max())
    transits = []
    for crew in range(crews):
        road = np.ceil(arrays.travel[crew][np.ix_(place, place)])
        road = np.minimum(np.pad(road, (0, 1)), 10 * horizon).astype(
            int
        )  # "anywhere" is no way off
        work = np.zeros(place.size + 1)
        is_visit = (place >= 2 * crews) & (place < 2 * crews + visits)
        work[:-1][is_visit] = arrays.service[crew, place[is_visit] - 2 * crews]
        point = place[place >= 2 * crews + visits] - 2 * crews - visits
        fill = arrays.fill[point, HOOKUP] + arrays.crew[crew, USABLE] / arrays.fill[point, FLOW]
        work[:-1][place >= 2 * crews + visits] = fill
        time = road + np.ceil(work).astype(int)[:, None]
        cost = routing.RegisterTransitMatrix(road.tolist())
        routing.SetArcCostEvaluatorOfVehicle(cost, crew)
        transits.append(routing.RegisterTransitMatrix(time.tolist()))
    routing.AddDimensionWithVehicleTransits(transits, horizon, horizon, False, "time")
    time_dimension = routing.GetDimensionOrDie("time")
    for crew in range(crews):
        starts = math.ceil(arrays.crew[crew, SHIFT_FROM])
        time_dimension.CumulVar(routing.Start(crew)).SetValue(starts)
        ends = math.floor(arrays.crew[crew, SHIFT_TO])
        time_dimension.CumulVar(routing.End(crew)).SetRange(starts, ends)


def _water(routing: Any, manager: Any, arrays: Arrays, place: np.ndarray, crews: int) -> None:
    """Water gone from the tank: visits add to it, a fill takes off up to a whole tank."""
    capacity = np.floor(arrays.crew[:, USABLE] / LITRE_M3).astype(int)
    most = int(capacity.max())
    visits = len(arrays.visit)
    gone = np.zeros(place.size + 1, dtype=int)
    is_visit = (place >= 2 * crews) & (place < 2 * crews + visits)
    gone[:-1][is_visit] = np.ceil(arrays.visit[place[is_visit] - 2 * crews, MIX] / LITRE_M3)
    gone[:-1][place >= 2 * crews + visits] = -most
    step = routing.RegisterUnaryTransitVector(gone.tolist())
    routing.AddDimensionWithVehicleCapacity(step, most, capacity.tolist(), False, "water")
    water = routing.GetDimensionOrDie("water")
    for crew in range(crews):
        start = capacity[crew] - math.floor(arrays.crew[crew, WATER] / LITRE_M3)
        water.CumulVar(routing.Start(crew)).SetValue(int(min(max(start, 0), capacity[crew])))
        water.SlackVar(routing.Start(crew)).SetValue(0)
    for node in np.flatnonzero(is_visit):
        water.SlackVar(manager.NodeToIndex(int(node))).SetValue(0)


def _windows_and_prizes(routing: Any, manager: Any, model: Model, crews: int) -> None:
    arrays = model.arrays
    time = routing.GetDimensionOrDie("time")
    longest = arrays.travel[np.isfinite(arrays.travel)].max()
    scale = 10.0 * longest / model.prize[model.hopeful].min()
    for row, visit in enumerate(model.hopeful):
        index = manager.NodeToIndex(crews + row)
        early = math.ceil(arrays.visit[visit, EARLIEST])
        able = np.flatnonzero(arrays.latest[:, visit] >= max(early, NEVER_S))
        late = math.floor(arrays.latest[able, visit].min())
        time.CumulVar(index).SetRange(early, max(early, late))
        routing.VehicleVar(index).SetValues([-1, *able.tolist()])
        routing.AddDisjunction([index], round(float(model.prize[visit]) * scale))
