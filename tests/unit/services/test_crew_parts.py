"""Cutting an asset's work into parts: volumes, tanks, faces and times."""

from __future__ import annotations

import pytest

from job_fixture import HOUR, START_S, make_asset, make_fire, make_job
from stillwet.domain.plan import AssetPlan
from stillwet.domain.roads import Road
from stillwet.engine.make_plan import make_plan
from stillwet.errors import StillwetError
from stillwet.services.crew_parts import (
    Cut,
    Layers,
    Pace,
    cut_layers,
    cut_passes,
    layers_of,
    part_of,
    parts_needed,
    recut,
)
from stillwet.services.crew_travel import road_graph


def _house() -> AssetPlan:
    house = make_asset(fire=make_fire(setback_m=20.0))
    return make_plan(make_job(assets=(house,), members=16), now_s=0.0).assets[0]


def _order(asset: AssetPlan) -> dict[str, float]:
    return {face.surface.id: START_S + n * HOUR for n, face in enumerate(asset.surfaces)}


def _layers(asset: AssetPlan) -> Layers:
    return layers_of(asset, _order(asset))


def _laid(cuts: tuple[Cut, ...]) -> dict[str, float]:
    laid: dict[str, float] = {}
    for cut in cuts:
        for name, share in cut.shares:
            laid[name] = laid.get(name, 0.0) + share
    return laid


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_parts_add_up_and_fit_the_tank(count: int) -> None:
    """Every face is laid once in all, and no part asks more than the tank that set the count."""
    asset = _house()
    tank = asset.mix_m3 / count
    numbers = range(1, count + 1)
    cuts = cut_layers("a", _layers(asset), _order(asset), numbers, count, tank)
    assert parts_needed(asset.mix_m3, tank) == count
    assert _laid(cuts) == pytest.approx({face.surface.id: 1.0 for face in asset.surfaces})
    assert max(cut.mix_m3(_layers(asset)) for cut in cuts) <= tank + 1e-9


def test_parts_end_with_a_face_where_the_tank_allows() -> None:
    """With room in the tank a part that nearly ends with a face ends with it: no slivers."""
    asset = _house()
    roomy = cut_layers("a", _layers(asset), _order(asset), (1, 2), 2, asset.mix_m3)
    shares = [share for cut in roomy for _, share in cut.shares]
    assert min(shares) > 0.2


def test_faces_come_in_the_order_they_may_be_sprayed() -> None:
    """The face that may be sprayed first comes first, and later ones start after its litres."""
    asset = _house()
    order = _order(asset)
    (cut,) = cut_layers("a", _layers(asset), order, (1,), 1, asset.mix_m3)
    assert [name for name, _ in cut.shares] == list(order)
    part = part_of("a", cut, _layers(asset))
    pace = Pace(setup_s=600.0, flow_m3_s=0.002)
    starts = part.face_starts(START_S, pace)
    assert starts[0] == START_S + 600.0
    assert starts[1] - starts[0] == pytest.approx(part.portions[0].mix_m3 / 0.002)
    # Work may begin so late that the last face, allowed last, is just reached in time.
    earliest = part.earliest_s(pace)
    reached = zip(part.face_starts(earliest, pace), order.values(), strict=True)
    spare = [start - allowed for start, allowed in reached]
    assert min(spare) == pytest.approx(0.0, abs=1e-6)


def test_cuts_stay_while_they_fit_and_grow_when_they_do_not() -> None:
    """A large enough tank leaves the cuts alone; a small one makes more, with all still laid."""
    asset = _house()
    cuts = cut_layers("a", _layers(asset), _order(asset), (1, 2), 2, asset.mix_m3 / 2)
    assert recut("a", _layers(asset), _order(asset), cuts, asset.mix_m3 / 2) == cuts
    more = recut("a", _layers(asset), _order(asset), cuts, asset.mix_m3 / 3.5)
    assert [cut.number for cut in more] == [1, 2, 3, 4]
    assert _laid(more) == pytest.approx(_laid(cuts))


@pytest.mark.parametrize("tanks", [0.4, 0.8, 2.0])
def test_two_passes_lay_half_each_in_the_same_parts(tanks: float) -> None:
    """Each pass lays half of every face, both are cut alike, and both fit the tank."""
    asset = _house()
    cuts = cut_passes("a", _layers(asset), _order(asset), asset.mix_m3 * tanks, 2)
    first, second = ([cut for cut in cuts if cut.coat == coat] for coat in (1, 2))
    assert _laid(tuple(first)) == pytest.approx({f.surface.id: 0.5 for f in asset.surfaces})
    assert [cut.shares for cut in first] == [cut.shares for cut in second]
    assert len(first) == parts_needed(asset.mix_m3 / 2, asset.mix_m3 * tanks)
    assert len({cut.visit_id for cut in cuts}) == len(cuts)
    assert recut("a", _layers(asset), _order(asset), cuts, asset.mix_m3 * tanks) == cuts
    smaller = recut("a", _layers(asset), _order(asset), cuts, asset.mix_m3 * tanks / 3)
    assert _laid(smaller) == pytest.approx(_laid(cuts))
    assert {cut.coat for cut in smaller} == {1, 2}


def test_roads_join_where_they_share_a_point() -> None:
    """Two roads within half a metre of each other join; a crossing without a point does not."""
    east = Road(((0.0, 0.0), (100.0, 0.0)), speed_m_s=10.0)
    north = Road(((100.2, 0.3), (100.0, 80.0)), one_way=True)
    over = Road(((50.0, -50.0), (50.0, 50.0)))
    graph = road_graph((east, north, over))
    assert graph.node_x_m.size == 5
    assert graph.edge_from.size == 3
    assert graph.one_way.tolist() == [False, True, False]
    with pytest.raises(StillwetError):
        Road(((0.0, 0.0),))
