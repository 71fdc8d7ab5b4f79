"""Travel times between places: over a road network, by straight line, or by the shuttle rule.

Each matrix says where it came from, because a straight line is a guess and a plan has to show it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import Problem, StillwetError
from stillwet.routing.problem import Point, TravelMatrix
from stillwet.units import from_si

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DETOUR_FACTOR = 1.3  # untested default
DETOUR_LOW, DETOUR_HIGH = 1.1, 1.6
ACCESS_SPEED_M_S = 3.0  # from the road to the place and back; untested default
ACCESS_LOW_M_S, ACCESS_HIGH_M_S = 1.0, 8.0
SNAP_LIMIT_M = 300.0  # untested default
SNAP_LOW_M, SNAP_HIGH_M = 50.0, 1000.0
_LEAST_EDGE_S = 1e-9  # a sparse graph drops edges of weight zero


@dataclass(frozen=True, eq=False)
class RoadGraph:
    """Straight road edges between nodes.

    node_x_m, node_y_m shape (nodes,); edge_from, edge_to node numbers shape (edges,); speed_m_s
    what the road allows, shape (edges,); one_way shape (edges,), True where only from -> to may be
    driven. A bent road is several edges. Closed roads are left out.
    """

    node_x_m: Floats
    node_y_m: Floats
    edge_from: Ints
    edge_to: Ints
    speed_m_s: Floats
    one_way: NDArray[np.bool_]

    def __post_init__(self) -> None:
        edges = self.edge_from.size
        if edges == 0:
            raise StillwetError(Problem("roads", "at least one edge", "none"))
        if not self.edge_to.size == self.speed_m_s.size == self.one_way.size == edges:
            raise StillwetError(Problem("roads", f"{edges} values in every edge column", "fewer"))
        ends = np.concatenate([self.edge_from, self.edge_to])
        if ends.min() < 0 or ends.max() >= self.node_x_m.size:
            raise StillwetError(Problem("edge ends", "numbers of nodes", "a number of no node"))
        if not (np.isfinite(self.speed_m_s).all() and (self.speed_m_s > 0).all()):
            raise StillwetError(Problem("road speed", "above 0 m/s", "0 or less, or no number"))


def _distances(places: Sequence[Point]) -> Floats:
    xy = np.asarray(places, dtype=np.float64).reshape(-1, 2)
    return np.asarray(np.hypot(*(xy[:, None, :] - xy[None, :, :]).transpose(2, 0, 1)))


def speed_words(speed_m_s: float) -> str:
    """A speed for the reader, in both systems."""
    return f"{speed_m_s * 3.6:.0f} km/h ({from_si(speed_m_s, 'mph'):.0f} mph)"


def straight_line_travel(
    places: Sequence[Point], *, speed_m_s: float, factor: float | None = None
) -> TravelMatrix:
    """Straight-line distance times a detour factor over a speed; for want of a road network."""
    told = (
        f"straight line x factor {DETOUR_FACTOR} "
        f"(untested default {DETOUR_LOW}-{DETOUR_HIGH}), {speed_words(speed_m_s)}"
        if factor is None
        else f"straight line x factor {factor:g} (given), {speed_words(speed_m_s)}"
    )
    _need_speed(speed_m_s)
    scale = DETOUR_FACTOR if factor is None else factor
    return TravelMatrix(_distances(places) * scale / speed_m_s, told)


def road_travel(
    places: Sequence[Point],
    roads: RoadGraph,
    *,
    speed_m_s: float,
    snap_limit_m: float = SNAP_LIMIT_M,
    access_speed_m_s: float = ACCESS_SPEED_M_S,
) -> TravelMatrix:
    """Quickest ways over the road network, the vehicle never faster than ``speed_m_s``.

    A place is joined to the nearest point of the nearest edge, the way to it driven at
    ``access_speed_m_s``; a place further than ``snap_limit_m`` from any road cannot be reached
    (inf).
    """
    _need_speed(speed_m_s)
    from scipy.sparse.csgraph import dijkstra

    xy = np.asarray(places, dtype=np.float64).reshape(-1, 2)
    count = len(xy)
    edge, share, gap = _snap(xy, roads)
    nodes = roads.node_x_m.size
    graph = _split_graph(roads, edge, share, count, speed_m_s)
    snapped = nodes + np.arange(count)
    between = np.asarray(dijkstra(graph, directed=True, indices=snapped))[:, snapped]
    access = np.where(gap <= snap_limit_m, gap / access_speed_m_s, np.inf)
    seconds = between + access[:, None] + access[None, :]
    same = np.all(xy[:, None, :] == xy[None, :, :], axis=2)
    seconds[same] = 0.0
    told = (
        f"road network of {roads.edge_from.size} edges, at most {speed_words(speed_m_s)}, "
        f"places joined within {_told(snap_limit_m, SNAP_LIMIT_M, SNAP_LOW_M, SNAP_HIGH_M)} m at "
        f"{_told(access_speed_m_s, ACCESS_SPEED_M_S, ACCESS_LOW_M_S, ACCESS_HIGH_M_S)} m/s"
    )
    return TravelMatrix(seconds, told)


def _told(value: float, default: float, low: float, high: float) -> str:
    return f"{value:g} (untested default {low:g}-{high:g})" if value == default else f"{value:g}"


def _need_speed(speed_m_s: float) -> None:
    if not 0.0 < speed_m_s < np.inf:
        raise StillwetError(Problem("speed", "above 0 m/s", f"{speed_m_s}"))


def _snap(xy: Floats, roads: RoadGraph) -> tuple[Ints, Floats, Floats]:
    """Nearest edge of each place, the share of the edge at its foot point, and the gap [m]."""
    start = np.column_stack([roads.node_x_m[roads.edge_from], roads.node_y_m[roads.edge_from]])
    along = np.column_stack([roads.node_x_m[roads.edge_to], roads.node_y_m[roads.edge_to]]) - start
    length2 = np.maximum((along**2).sum(axis=1), 1e-12)
    edge = np.empty(len(xy), dtype=np.int64)
    share, gap = np.empty(len(xy)), np.empty(len(xy))
    for row, point in enumerate(xy):  # a row at a time: places x edges may be large
        feet = np.clip(((point - start) * along).sum(axis=1) / length2, 0.0, 1.0)
        off = np.hypot(*(start + feet[:, None] * along - point).T)
        edge[row] = np.argmin(off)
        share[row], gap[row] = feet[edge[row]], off[edge[row]]
    return edge, share, gap


def _split_graph(
    roads: RoadGraph, edge: Ints, share: Floats, count: int, speed_m_s: float
) -> csr_array[np.float64]:
    """The network with a node of its own for each foot point, as a sparse matrix of seconds."""
    from scipy.sparse import csr_array

    nodes = roads.node_x_m.size
    length = np.hypot(
        roads.node_x_m[roads.edge_to] - roads.node_x_m[roads.edge_from],
        roads.node_y_m[roads.edge_to] - roads.node_y_m[roads.edge_from],
    )
    seconds = length / np.minimum(roads.speed_m_s, speed_m_s)
    plain = np.setdiff1d(np.arange(seconds.size), edge)
    pieces = [(roads.edge_from[plain], roads.edge_to[plain], seconds[plain], roads.one_way[plain])]
    for one in np.unique(edge):
        feet = np.flatnonzero(edge == one)
        feet = feet[np.argsort(share[feet], kind="stable")]
        chain = np.concatenate([[roads.edge_from[one]], nodes + feet, [roads.edge_to[one]]])
        steps = np.diff(np.concatenate([[0.0], share[feet], [1.0]])) * seconds[one]
        one_way = roads.one_way[one] & (steps > _LEAST_EDGE_S)  # a place at a junction is on it
        pieces.append((chain[:-1], chain[1:], steps, one_way))
    tail, head, cost, forward = (np.concatenate(column) for column in zip(*pieces, strict=True))
    back = ~forward
    tails, heads = np.concatenate([tail, head[back]]), np.concatenate([head, tail[back]])
    costs = np.maximum(np.concatenate([cost, cost[back]]), _LEAST_EDGE_S)
    tails, heads, costs = _quickest_of_parallel(tails, heads, costs)
    return csr_array((costs, (tails, heads)), shape=(nodes + count, nodes + count))


def _quickest_of_parallel(tails: Ints, heads: Ints, costs: Floats) -> tuple[Ints, Ints, Floats]:
    """One edge per pair of nodes: a sparse matrix would add parallel ones up."""
    order = np.lexsort((costs, heads, tails))
    tails, heads, costs = tails[order], heads[order], costs[order]
    first = np.ones(tails.size, dtype=bool)
    first[1:] = (np.diff(tails) != 0) | (np.diff(heads) != 0)
    return tails[first], heads[first], costs[first]
