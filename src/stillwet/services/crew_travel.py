"""Driving times for the crews of a job: over its roads, or straight lines with a stated detour."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from stillwet.domain.job import Job
from stillwet.domain.roads import Road
from stillwet.routing.problem import Point, TravelMatrix
from stillwet.routing.roads import RoadGraph, road_travel, straight_line_travel

_JOIN_M = 0.5  # drawn points this near are one junction
_FASTEST_M_S = 40.0  # for a road that says nothing: above any crew's own speed


def profile_of(speed_m_s: float) -> str:
    """The name of the travel matrix of crews of this speed."""
    return f"{speed_m_s:g} m/s"


def crew_travel(job: Job, places: tuple[Point, ...]) -> Mapping[str, TravelMatrix]:
    """One matrix for each speed among the job's crews."""
    graph = road_graph(job.roads) if job.roads else None
    speeds = dict.fromkeys(crew.speed_m_s for crew in job.crews)
    return {
        profile_of(speed): straight_line_travel(places, speed_m_s=speed)
        if graph is None
        else road_travel(places, graph, speed_m_s=speed)
        for speed in speeds
    }


def road_graph(roads: tuple[Road, ...]) -> RoadGraph:
    """The roads as straight edges between their drawn points, joined where they share one."""
    nodes: dict[tuple[int, int], int] = {}
    spots: list[Point] = []
    edges: list[tuple[int, int, float, bool]] = []
    for road in roads:
        speed = _FASTEST_M_S if road.speed_m_s is None else road.speed_m_s
        numbers = [_node(point, nodes, spots) for point in road.track_m]
        edges += [
            (tail, head, speed, road.one_way) for tail, head in pairwise(numbers) if tail != head
        ]
    x, y = np.array(spots, dtype=np.float64).T
    tails, heads, speeds, one_way = zip(*edges, strict=True) if edges else ((), (), (), ())
    return RoadGraph(
        node_x_m=x,
        node_y_m=y,
        edge_from=np.array(tails, dtype=np.int64),
        edge_to=np.array(heads, dtype=np.int64),
        speed_m_s=np.array(speeds, dtype=np.float64),
        one_way=np.array(one_way, dtype=np.bool_),
    )


def _node(point: Point, nodes: dict[tuple[int, int], int], spots: list[Point]) -> int:
    """The number of the junction at a point, a new one where there is none yet.

    Looked for in the cell of the point and the eight round it, so that two points near each other
    on either side of a cell's edge still join.
    """
    cell = (round(point[0] / _JOIN_M), round(point[1] / _JOIN_M))
    for east in (0, -1, 1):
        for north in (0, -1, 1):
            known = nodes.get((cell[0] + east, cell[1] + north))
            if known is not None and _is_near(point, spots[known]):
                return known
    nodes[cell] = len(spots)
    spots.append(point)
    return nodes[cell]


def _is_near(one: Point, other: Point) -> bool:
    return float(np.hypot(one[0] - other[0], one[1] - other[1])) <= _JOIN_M
