"""Faces of assets: areas by hand geometry and directions by compass."""

from __future__ import annotations

import math

import pytest

from job_fixture import make_asset
from stillwet.domain.assets import Geometry
from stillwet.engine.faces import compass_word, faces_of, ring_area


def test_house_has_four_walls_and_two_slopes_of_hand_computed_area() -> None:
    """12 x 9 x 2.7 m, 20 degree gable: walls 32.4 and 24.3 m2, slopes 108/2/cos(20)."""
    faces = {face.label: face for face in faces_of(make_asset())}
    assert set(faces) == {
        "north wall",
        "east wall",
        "south wall",
        "west wall",
        "south roof",
        "north roof",
    }
    assert faces["south wall"].area_m2 == pytest.approx(32.4)
    assert faces["east wall"].area_m2 == pytest.approx(24.3)
    assert faces["south roof"].area_m2 == pytest.approx(54.0 / math.cos(math.radians(20)))
    assert faces["south roof"].tilt_deg == 20.0
    for label, azimuth in (("north", 0), ("east", 90), ("south", 180), ("west", 270)):
        assert faces[f"{label} wall"].azimuth_deg == pytest.approx(azimuth, abs=1e-9)


def test_footprint_walls_look_outwards() -> None:
    """An L of six edges: the two edges of each direction join into one face of summed length."""
    ring = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (4.0, 4.0), (4.0, 8.0), (0.0, 8.0))
    house = make_asset(footprint_m=ring, eave_height_m=3.0, roof_pitch_deg=0.0)
    faces = {face.label: face for face in faces_of(house)}
    assert faces["south wall"].area_m2 == pytest.approx(30.0)
    assert faces["north wall"].area_m2 == pytest.approx(30.0)
    assert faces["east wall"].area_m2 == pytest.approx(24.0)
    assert faces["roof"].area_m2 == pytest.approx(56.0)
    assert faces["roof"].tilt_deg == 0.0


def test_turned_house_faces_the_way_it_was_told() -> None:
    """A front looking south-west gives a south-west long wall."""
    faces = {face.label: face for face in faces_of(make_asset(facing_deg=225.0))}
    front = faces["south-west wall"]
    assert front.area_m2 == pytest.approx(32.4)
    assert front.azimuth_deg == pytest.approx(225.0)


@pytest.mark.parametrize(
    ("kind", "count", "area", "geometry"),
    [
        ("pole", 4, math.pi * 0.3 * 3.0, Geometry.CYLINDER),
        ("tree", 4, math.pi * 0.3 * 3.0, Geometry.CYLINDER),
        ("fence", 2, 2 * 12.0 * 3.0, Geometry.WALL),
        ("bridge", 3, 12.0 * 0.3 + 2 * 12.0 * 3.0, None),
    ],
)
def test_other_shapes_have_their_hand_computed_area(
    kind: str, count: int, area: float, geometry: Geometry | None
) -> None:
    """Cylinder, two-sided screen and deck: total area by hand."""
    asset = make_asset(kind=kind, length_m=12.0, width_m=0.3, eave_height_m=3.0)
    faces = faces_of(asset)
    assert len(faces) == count
    assert sum(face.area_m2 for face in faces) == pytest.approx(area)
    if geometry is not None:
        assert {face.geometry for face in faces} == {geometry}
        assert {face.height_m for face in faces} == {1.5}  # the middle of 3 m


def test_compass_words_and_ring_area() -> None:
    """Half-octant edges round to the nearest word; the unit square counter-clockwise is +1."""
    assert compass_word(337.6) == "north"
    assert compass_word(201.0) == "south"
    assert compass_word(203.0) == "south-west"
    square = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    assert ring_area(square) == pytest.approx(1.0)
    assert ring_area(tuple(reversed(square))) == pytest.approx(-1.0)


def test_the_slopes_of_a_roof_look_opposite_ways_and_a_deck_looks_up() -> None:
    """One the way of the front, one half a turn from it, over north too; a deck lies level."""
    for facing in (10.0, 200.0):
        house = make_asset(facing_deg=facing)
        roofs = [face for face in faces_of(house) if face.geometry is Geometry.ROOF]
        assert sorted(face.azimuth_deg for face in roofs) == [
            facing % 180.0,
            facing % 180.0 + 180.0,
        ]
    bridge = make_asset(kind="bridge", length_m=12.0, width_m=3.0, eave_height_m=3.0)
    (deck,) = (face for face in faces_of(bridge) if face.geometry is Geometry.ROOF)
    assert deck.tilt_deg == 0.0


@pytest.mark.parametrize("facing", [0.0, 33.0, 118.0, 245.0])
def test_a_closed_house_has_as_much_face_each_way(facing: float) -> None:
    """Gauss: areas times outward directions add up to nothing, and roofs cover the plan, however
    the house is turned; its areas do not change with the turning.
    """
    house = make_asset(facing_deg=facing)
    still = make_asset(facing_deg=0.0)
    faces = faces_of(house)
    walls = [face for face in faces if face.geometry is Geometry.WALL]
    for way in (math.sin, math.cos):
        assert sum(x.area_m2 * way(math.radians(x.azimuth_deg)) for x in walls) == pytest.approx(
            0.0, abs=1e-4
        )
    roofs = [face for face in faces if face.geometry is Geometry.ROOF]
    cover = sum(face.area_m2 * math.cos(math.radians(face.tilt_deg)) for face in roofs)
    assert cover == pytest.approx(house.length_m * house.width_m)
    assert sorted(x.area_m2 for x in faces) == pytest.approx(
        sorted(x.area_m2 for x in faces_of(still))
    )
    # The middle of a slope is half way up to the ridge, which stands over the middle of the width.
    ridge = house.eave_height_m + house.width_m / 2 * math.tan(math.radians(20.0))
    for face in roofs:
        assert face.height_m == pytest.approx((house.eave_height_m + ridge) / 2)


def test_a_roof_is_level_below_five_degrees_and_crumbs_are_no_walls() -> None:
    """4.9 degrees is one face and 5 are two; a jog of 4 cm in a footprint makes no face."""
    assert [x.label for x in faces_of(make_asset(roof_pitch_deg=4.9))][4:] == ["roof"]
    assert len(faces_of(make_asset(roof_pitch_deg=5.0))) == 6
    ring = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (9.96, 4.04), (0.0, 4.04))
    labels = {face.label for face in faces_of(make_asset(footprint_m=ring))}
    assert "north-east wall" in labels  # 5.7 cm long
    ring = ((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (9.97, 4.03), (0.0, 4.03))
    assert "north-east wall" not in {face.label for face in faces_of(make_asset(footprint_m=ring))}


def test_a_fence_has_two_sides_that_look_opposite_ways() -> None:
    """Each of the fence's whole area, upright, named after where it looks."""
    fence = make_asset(
        kind="fence", length_m=12.0, width_m=0.1, eave_height_m=2.0, facing_deg=300.0
    )
    one, other = faces_of(fence)
    assert (one.azimuth_deg, other.azimuth_deg) == (300.0, 120.0)
    assert (one.label, other.label) == ("north-west side", "south-east side")
    assert one.area_m2 == other.area_m2 == 24.0
    assert one.tilt_deg == other.tilt_deg == 90.0
    assert one.length_m == 2.0


def test_a_pole_looks_to_the_four_quarters_of_the_compass() -> None:
    """North, east, south and west, a quarter of the round each, as wide as it is thick."""
    sides = faces_of(make_asset(kind="pole", width_m=0.3, eave_height_m=8.0))
    assert [(x.label, x.azimuth_deg) for x in sides] == [
        ("north side", 0.0),
        ("east side", 90.0),
        ("south side", 180.0),
        ("west side", 270.0),
    ]
    for side in sides:
        assert side.area_m2 == pytest.approx(math.pi * 0.3 * 8.0 / 4)
        assert (side.length_m, side.height_m, side.tilt_deg) == (0.3, 4.0, 90.0)
