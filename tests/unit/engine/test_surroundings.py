"""Distances to water and wells, against cases worked by hand on a flat grid."""

from __future__ import annotations

import math
from typing import Any

import pytest

from job_fixture import make_asset, make_job
from line_fixture import make_line, make_segment, make_work
from stillwet.domain.assets import Asset
from stillwet.domain.lines import WetSides
from stillwet.domain.suitability import Well
from stillwet.engine.surroundings import asset_shape, strip_shape, surroundings_of

LAKE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0), (0.0, 0.0))
ISLAND = ((40.0, 40.0), (60.0, 40.0), (60.0, 60.0), (40.0, 60.0), (40.0, 40.0))
POOL = ((45.0, 45.0), (55.0, 45.0), (55.0, 55.0), (45.0, 55.0), (45.0, 45.0))


def _pole(x_m: float, y_m: float) -> Asset:
    return make_asset(kind="pole", x_m=x_m, y_m=y_m, width_m=0.4, length_m=0.4)


def _to_water(asset: Asset, *streams: Any) -> float | None:
    around = surroundings_of(make_job(assets=(asset,), streams_m=streams))
    return around.to_water_m(asset_shape(asset))


def test_a_house_is_measured_from_its_wall() -> None:
    """A house 12 m long and 9 m wide that looks south: its wall is 4.5 m from its middle, so a
    stream that runs east and west 20 m north of it is 15.5 m away, one 20 m east of it 14 m.
    """
    house = make_asset(facing_deg=180.0)
    assert _to_water(house, ((-50.0, 20.0), (50.0, 20.0))) == pytest.approx(15.5)
    assert _to_water(house, ((20.0, -50.0), (20.0, 50.0))) == pytest.approx(14.0)


def test_a_turned_house_shows_its_other_side() -> None:
    """The same house looking west has a short side to the north: 14 m to the northern stream."""
    house = make_asset(facing_deg=270.0)
    assert _to_water(house, ((-50.0, 20.0), (50.0, 20.0))) == pytest.approx(14.0)


def test_a_corner_is_nearest_to_a_slanting_stream() -> None:
    """The stream x + y = 30: the corner (6, 4.5) is (30 - 10.5)/sqrt(2) away."""
    stream = ((30.0, 0.0), (0.0, 30.0))
    expected = 19.5 / math.sqrt(2.0)
    assert _to_water(make_asset(), stream) == pytest.approx(expected)


def test_a_footprint_replaces_the_typed_size() -> None:
    """A drawn square of 4 m: 18 m from the stream 20 m north."""
    ring = ((-2.0, -2.0), (2.0, -2.0), (2.0, 2.0), (-2.0, 2.0))
    house = make_asset(footprint_m=ring)
    assert _to_water(house, ((-50.0, 20.0), (50.0, 20.0))) == pytest.approx(18.0)


def test_a_pole_is_round() -> None:
    """A pole of 0.4 m at 10 m from the stream: 9.8 m."""
    assert _to_water(_pole(0.0, 0.0), ((-5.0, 10.0), (5.0, 10.0))) == pytest.approx(9.8)


def test_the_nearest_of_several_counts() -> None:
    """Three streams: the one at 12 m, whatever their order."""
    tracks = [((-5.0, y), (5.0, y)) for y in (300.0, 12.2, -80.0)]
    for streams in (tracks, tracks[::-1]):
        assert _to_water(_pole(0.0, 0.0), *streams) == pytest.approx(12.0)


def test_over_a_stream_is_no_distance() -> None:
    """A bridge across the stream stands at 0 m of it."""
    bridge = make_asset(kind="bridge", length_m=12.0, width_m=4.0)
    assert _to_water(bridge, ((-50.0, 0.0), (50.0, 0.0))) == 0.0


def test_in_a_pond_is_no_distance() -> None:
    """A pole in the middle of a lake drawn by its edge is in the water, not 50 m from it."""
    assert _to_water(_pole(20.0, 50.0), LAKE) == 0.0
    assert _to_water(_pole(-10.2, 50.0), LAKE) == pytest.approx(10.0)


def test_an_island_is_land_and_a_pool_on_it_is_water() -> None:
    """On an island of 20 m, 10 m from its shore less the pole; in a pool on the island 0 m; in the
    lake round it 0 m. The order of the rings does not matter.
    """
    for rings in ((LAKE, ISLAND), (ISLAND, LAKE)):
        assert _to_water(_pole(50.0, 50.0), *rings) == pytest.approx(9.8)
        assert _to_water(_pole(20.0, 20.0), *rings) == 0.0
    assert _to_water(_pole(50.0, 50.0), POOL, ISLAND, LAKE) == 0.0
    assert _to_water(_pole(42.5, 50.0), POOL, ISLAND, LAKE) == pytest.approx(2.3)


def test_two_ponds_that_overlap_are_both_water() -> None:
    """Neither lies inside the other, so the overlap is water as well."""
    other = tuple((x + 50.0, y) for x, y in LAKE)
    assert _to_water(_pole(75.0, 50.0), LAKE, other) == 0.0


def test_a_ring_that_crosses_itself_is_still_water() -> None:
    """A figure of eight, as a careless hand draws it: its loops are water and nothing fails."""
    eight = ((0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0), (0.0, 0.0))
    assert _to_water(_pole(8.0, 5.0), eight) == 0.0


def test_nothing_drawn_is_not_known() -> None:
    """Without streams and wells there is no distance, not an infinite one."""
    around = surroundings_of(make_job())
    shape = asset_shape(make_asset())
    assert around.to_water_m(shape) is None
    assert around.to_well_m(shape) is None


def test_a_well_is_measured_to() -> None:
    """A well 30 m east of the middle of the house: 24 m from its wall."""
    job = make_job(
        wells=(Well("w", "Well", "well", 30.0, 0.0), Well("v", "Far", "well", 90.0, 0.0))
    )
    assert surroundings_of(job).to_well_m(asset_shape(make_asset())) == pytest.approx(24.0)


@pytest.mark.parametrize(("sides", "expected"), [(WetSides.ONE, 43.5), (WetSides.BOTH, 44.75)])
def test_a_strip_is_measured_from_its_edge(sides: WetSides, expected: float) -> None:
    """A line along the x-axis, strip 4 m, bare line 2.5 m, stream 50 m north: 50 - 4 - 2.5 m where
    one side is wetted from the far edge of the bare line, 50 - 4 - 1.25 m where both are.
    """
    segment = make_segment(bare_width_m=2.5)
    line = make_line(segments=(segment,), work=make_work(wet_sides=sides))
    around = surroundings_of(make_job(lines=(line,), streams_m=(((-9.0, 50.0), (99.0, 50.0)),)))
    shape = strip_shape(segment, line.work.wet_sides)
    assert around.to_water_m(shape) == pytest.approx(expected, abs=0.01)
