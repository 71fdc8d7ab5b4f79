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
