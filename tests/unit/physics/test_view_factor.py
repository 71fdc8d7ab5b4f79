"""View factors: the exact polygon against closed forms, limits, sums and brute force."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from stillwet.physics.view_factor import (
    face_normal,
    flame_panel_corners,
    view_factor_element_parallel,
    view_factor_element_perpendicular,
    view_factor_flame_panel,
    view_factor_parallel_rectangles,
    view_factor_perpendicular_rectangles,
    view_factor_polygon_lambert,
)

LENGTH = st.floats(0.05, 50.0)


def _rectangle(corner: list[float], along: list[float], up: list[float]) -> np.ndarray:
    c, a, u = np.array(corner), np.array(along), np.array(up)
    return np.array([c, c + a, c + a + u, c + u])


@given(width=LENGTH, height=LENGTH, gap=LENGTH)
def test_polygon_is_the_parallel_closed_form(width: float, height: float, gap: float) -> None:
    """The contour integral gives Siegel and Howell's element-to-parallel-rectangle, any size."""
    corners = _rectangle([0, 0, gap], [width, 0, 0], [0, height, 0])
    exact = view_factor_polygon_lambert(corners_m=corners, normal=[0.0, 0.0, 1.0])
    closed = view_factor_element_parallel(width=width, height=height, gap=gap)
    assert exact == pytest.approx(closed, rel=1e-9, abs=1e-12)


@given(width=LENGTH, height=LENGTH, gap=LENGTH)
def test_polygon_is_the_perpendicular_closed_form(width: float, height: float, gap: float) -> None:
    """The contour integral gives the perpendicular rectangle, one edge on the horizon."""
    corners = _rectangle([gap, 0, 0], [0, width, 0], [0, 0, height])
    exact = view_factor_polygon_lambert(corners_m=corners, normal=[0.0, 0.0, 1.0])
    closed = view_factor_element_perpendicular(height=height, width=width, gap=gap)
    assert exact == pytest.approx(closed, rel=1e-7, abs=1e-12)


@given(width=LENGTH, height=LENGTH, gap=LENGTH, below=LENGTH)
def test_what_lies_below_the_horizon_counts_nothing(
    width: float, height: float, gap: float, below: float
) -> None:
    """A wall sunk below the point's own plane counts for its part above it, no more, no less."""
    whole = _rectangle([gap, 0, -below], [0, width, 0], [0, 0, height + below])
    exact = view_factor_polygon_lambert(corners_m=whole, normal=[0.0, 0.0, 1.0])
    closed = view_factor_element_perpendicular(height=height, width=width, gap=gap)
    assert exact == pytest.approx(closed, rel=1e-7, abs=1e-12)


@given(
    tilt=st.floats(0, 90),
    azimuth=st.floats(0, 360),
    lean=st.floats(0, 70),
    distance=st.floats(1, 80),
    height=st.floats(0, 8),
)
def test_slices_of_a_flame_add_up(
    tilt: float, azimuth: float, lean: float, distance: float, height: float
) -> None:
    """A flame cut into left and right halves is seen as the whole, whatever way the face looks."""
    corners = flame_panel_corners(
        distance_m=distance,
        flame_length_m=6.0,
        flame_width_m=30.0,
        flame_tilt_deg=lean,
        face_height_m=height,
    )
    middle_base, middle_tip = (corners[0] + corners[1]) / 2, (corners[2] + corners[3]) / 2
    left = np.array([corners[0], middle_base, middle_tip, corners[3]])
    right = np.array([middle_base, corners[1], corners[2], middle_tip])
    normal = face_normal(tilt_deg=tilt, azimuth_deg=azimuth, fire_bearing_deg=40.0)
    parts = [view_factor_polygon_lambert(corners_m=half, normal=normal) for half in (left, right)]
    whole = view_factor_polygon_lambert(corners_m=corners, normal=normal)
    assert whole == pytest.approx(sum(parts), abs=1e-9)
    assert 0.0 <= whole <= 1.0


@pytest.mark.parametrize("seed", range(6))
def test_polygon_agrees_with_brute_integration(seed: int) -> None:
    """The double cosine over pi r2 integrated over a clipped, skewed flame sheet gives the same."""
    random = np.random.default_rng(seed)
    normal = random.normal(size=3)
    normal /= np.linalg.norm(normal)
    corners = flame_panel_corners(
        distance_m=float(random.uniform(3, 8)),
        flame_length_m=float(random.uniform(2, 6)),
        flame_width_m=float(random.uniform(4, 12)),
        flame_tilt_deg=20.0,
        face_height_m=float(random.uniform(0, 4)),
    )
    along, up = corners[1] - corners[0], corners[3] - corners[0]
    area_normal = np.cross(along, up)

    def share(v: float, u: float) -> float:
        point = corners[0] + u * along + v * up
        facing = max(0.0, float(point @ normal))
        return facing * abs(float(point @ area_normal)) / (np.pi * float(point @ point) ** 2)

    brute, _ = integrate.dblquad(share, 0, 1, 0, 1, epsabs=1e-6)
    exact = view_factor_polygon_lambert(corners_m=corners, normal=normal)
    assert exact == pytest.approx(brute, abs=2e-5)


def test_limits_of_closed_forms() -> None:
    """Endless neighbours give 1/4 at corners, plates that touch 1, far ones A/(pi r2)."""
    assert view_factor_element_parallel(width=1e6, height=1e6, gap=1.0) == pytest.approx(
        0.25, abs=1e-5
    )
    assert view_factor_element_perpendicular(height=1e6, width=1e6, gap=1.0) == pytest.approx(
        0.25, abs=1e-5
    )
    assert view_factor_parallel_rectangles(width=1.0, depth=1.0, gap=1e-6) == pytest.approx(
        1.0, abs=1e-5
    )
    far = view_factor_parallel_rectangles(width=1.0, depth=1.0, gap=100.0)
    assert far == pytest.approx(1 / (np.pi * 100**2), rel=1e-3)
    tiny = view_factor_perpendicular_rectangles(width=1e-4, height=1e4, common_edge=1.0)
    assert tiny == pytest.approx(0.5, abs=1e-3)


@given(width=LENGTH, height=LENGTH, edge=LENGTH)
def test_perpendicular_reciprocity(width: float, height: float, edge: float) -> None:
    """A1 F12 = A2 F21 between a floor and a wall."""
    there = view_factor_perpendicular_rectangles(width=width, height=height, common_edge=edge)
    back = view_factor_perpendicular_rectangles(width=height, height=width, common_edge=edge)
    assert width * there == pytest.approx(height * back, rel=1e-6, abs=1e-9)


def test_face_looking_away_sees_nothing_and_an_overhead_flame_only_the_roof() -> None:
    """A wall turned from the fire sees none of it; a flat roof sees only what stands above it."""
    away = face_normal(tilt_deg=90.0, azimuth_deg=180.0, fire_bearing_deg=0.0)
    roof = face_normal(tilt_deg=0.0, azimuth_deg=0.0, fire_bearing_deg=0.0)
    panel = {"distance_m": 5.0, "flame_length_m": 4.0, "flame_width_m": 20.0, "flame_tilt_deg": 0.0}
    seen = {
        name: view_factor_flame_panel(**panel, face_height_m=height, normal=normal)
        for name, height, normal in (("away", 1.0, away), ("low", 1.0, roof), ("high", 6.0, roof))
    }
    assert seen["away"] == pytest.approx(0.0, abs=1e-12)
    assert seen["high"] == pytest.approx(0.0, abs=1e-12)
    assert seen["low"] > 0.01


def test_uphill_fire_is_lower_on_the_face() -> None:
    """On a slope the flame's base drops by distance times tan(slope)."""
    corners = flame_panel_corners(
        distance_m=20.0,
        flame_length_m=5.0,
        flame_width_m=10.0,
        flame_tilt_deg=0.0,
        face_height_m=2.0,
        ground_slope_deg=30.0,
    )
    assert corners[0, 2] == pytest.approx(-2.0 - 20.0 * np.tan(np.pi / 6))
    assert corners[2, 2] - corners[1, 2] == pytest.approx(5.0)


def test_an_edge_on_the_horizon_is_neither_above_nor_below() -> None:
    """A wall that stands in the point's own plane: the closed form, from any corner, either way."""
    wall = np.array([(1.0, 0.0, 0.0), (1.0, 1.0, 0.0), (1.0, 1.0, 1.0), (1.0, 0.0, 1.0)])
    sunk = wall - np.array([0.0, 0.0, 0.4])  # the lower part is hidden
    up = np.array([0.0, 0.0, 1.0])
    whole = view_factor_element_perpendicular(height=1.0, width=1.0, gap=1.0)
    part = view_factor_element_perpendicular(height=0.6, width=1.0, gap=1.0)
    for turn in range(4):
        for corners, expected in ((wall, whole), (sunk, part)):
            ring = np.roll(corners, turn, axis=0)
            for way in (ring, ring[::-1]):
                found = view_factor_polygon_lambert(corners_m=way, normal=up)
                assert found == pytest.approx(float(expected), rel=1e-12)
