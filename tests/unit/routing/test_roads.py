"""Travel times: straight lines, the shuttle rule, and ways over a road network."""

from __future__ import annotations

import itertools
import math

import networkx as nx  # type: ignore[import-untyped]  # ships no types
import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.routing.roads import (
    DETOUR_FACTOR,
    RoadGraph,
    road_travel,
    straight_line_travel,
)

MILE_M = 1609.344


def a_road(one_way: bool = False) -> RoadGraph:
    """An L: 1000 m east at 10 m/s, then 500 m north at 5 m/s."""
    return RoadGraph(
        node_x_m=np.array([0.0, 1000.0, 1000.0]),
        node_y_m=np.array([0.0, 0.0, 500.0]),
        edge_from=np.array([0, 1]),
        edge_to=np.array([1, 2]),
        speed_m_s=np.array([10.0, 5.0]),
        one_way=np.array([one_way, one_way]),
    )


def test_straight_lines_by_hand() -> None:
    """3-4-5: 500 m at 10 m/s is 50 s, times the detour factor; and the source is told."""
    given = straight_line_travel([(0, 0), (300, 400)], speed_m_s=10.0, factor=1.0)
    assert given.seconds.tolist() == [[0.0, 50.0], [50.0, 0.0]]
    assert "given" in given.provenance
    default = straight_line_travel([(0, 0), (300, 400)], speed_m_s=10.0)
    assert default.seconds[0, 1] == pytest.approx(50.0 * DETOUR_FACTOR)
    assert "untested default" in default.provenance
    with pytest.raises(StillwetError, match="above 0 m/s"):
        straight_line_travel([(0, 0)], speed_m_s=0.0)


def test_the_way_over_an_l_by_hand() -> None:
    """From (200, 30) to (1000, 250): 30 m of access at 3 m/s, 800 m at 10, 250 m at 5 m/s."""
    travel = road_travel([(200, 30), (1000, 250)], a_road(), speed_m_s=20.0)
    assert travel.seconds[0, 1] == pytest.approx(10.0 + 80.0 + 50.0)
    assert travel.seconds[1, 0] == pytest.approx(140.0)
    assert travel.seconds[0, 0] == 0.0
    assert "road network of 2 edges" in travel.provenance


def test_the_vehicle_may_be_slower_than_the_road() -> None:
    """At most 4 m/s: 800 m and 250 m take 262.5 s whatever the road allows."""
    travel = road_travel([(200, 0), (1000, 250)], a_road(), speed_m_s=4.0)
    assert travel.seconds[0, 1] == pytest.approx(1050 / 4)


def test_two_places_on_one_edge() -> None:
    """Between two places on one road the way is the piece between them, in either order."""
    places = [(700, 0), (200, 0), (450, 0)]
    seconds = road_travel(places, a_road(), speed_m_s=20.0).seconds
    assert seconds[0].tolist() == pytest.approx([0.0, 50.0, 25.0])
    assert seconds[1].tolist() == pytest.approx([50.0, 0.0, 25.0])


def test_one_way_roads_are_driven_one_way() -> None:
    """Along the arrows as before; against them there is no way."""
    seconds = road_travel([(200, 0), (1000, 250)], a_road(one_way=True), speed_m_s=20.0).seconds
    assert seconds[0, 1] == pytest.approx(130.0)
    assert math.isinf(seconds[1, 0])


def test_a_place_far_from_any_road_cannot_be_reached() -> None:
    """301 m off the road with a limit of 300 m: no way there, from anywhere; 299 m: a way."""
    seconds = road_travel([(0, 0), (500, -301), (500, -299)], a_road(), speed_m_s=20.0).seconds
    assert math.isinf(seconds[0, 1])
    assert math.isinf(seconds[1, 2])
    assert seconds[0, 2] == pytest.approx(50 + 299 / 3)


@pytest.mark.parametrize("seed", range(6))
def test_the_network_against_a_graph_library(seed: int) -> None:
    """Random networks with parallel and one-way edges: the same times as networkx's Dijkstra."""
    r = np.random.default_rng(seed)
    nodes, edges = 30, 70
    roads = RoadGraph(
        node_x_m=r.uniform(0, 5000, nodes),
        node_y_m=r.uniform(0, 5000, nodes),
        edge_from=r.integers(0, nodes, edges),
        edge_to=r.integers(0, nodes, edges),
        speed_m_s=r.uniform(3, 25, edges),
        one_way=r.random(edges) < 0.3,
    )
    graph = nx.DiGraph()
    graph.add_nodes_from(range(nodes))
    for tail, head, speed, one_way in zip(
        roads.edge_from, roads.edge_to, roads.speed_m_s, roads.one_way, strict=True
    ):
        length = math.hypot(
            roads.node_x_m[tail] - roads.node_x_m[head], roads.node_y_m[tail] - roads.node_y_m[head]
        )
        for one, other in [(tail, head)] if one_way else [(tail, head), (head, tail)]:
            seconds = min(
                length / min(speed, 15.0),
                graph.get_edge_data(one, other, {"weight": math.inf})["weight"],
            )
            graph.add_edge(int(one), int(other), weight=seconds)
    used = sorted({int(n) for n in np.concatenate([roads.edge_from, roads.edge_to])})[:12]
    places = [(float(roads.node_x_m[n]), float(roads.node_y_m[n])) for n in used]
    travel = road_travel(places, roads, speed_m_s=15.0).seconds
    lengths = dict(nx.all_pairs_dijkstra_path_length(graph))
    for (row, one), (column, other) in itertools.product(enumerate(used), repeat=2):
        wanted = lengths[one].get(other, math.inf)
        assert travel[row, column] == pytest.approx(wanted, rel=1e-6, abs=1e-4)


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"edge_from": np.array([], dtype=np.int64)}, "at least one edge"),
        ({"edge_to": np.array([1])}, "every edge column"),
        ({"edge_to": np.array([1, 3])}, "numbers of nodes"),
        ({"speed_m_s": np.array([10.0, 0.0])}, "above 0 m/s"),
    ],
)
def test_a_broken_network_is_refused(changes: dict[str, np.ndarray], text: str) -> None:
    """Edges that lead nowhere or cannot be driven are told."""
    road = a_road()
    fields = {name: getattr(road, name) for name in RoadGraph.__dataclass_fields__}
    with pytest.raises(StillwetError, match=text):
        RoadGraph(**{**fields, **changes})
