"""View factors: the share of what leaves one surface, or reaches one point, that meets another.

Closed forms for the textbook rectangles, and the exact contour integral for any flat polygon seen
by a point of any orientation, cut at that point's own horizon. All are for diffuse surfaces.
Sources: R. Siegel and J. R. Howell, Thermal Radiation Heat Transfer, appendix C; the contour
integral is Lambert's (1760), in the vector form of P. Moon, The Scientific Basis of Illuminating
Engineering (1936).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def view_factor_parallel_rectangles(*, width: ArrayLike, depth: ArrayLike, gap: ArrayLike) -> Any:
    """View factor [-] between two equal, directly opposed rectangles a gap apart.

    All lengths in one unit, positive, broadcast together. Siegel and Howell, configuration C-11.
    Loses digits (about 1e-9 absolute) when the gap is more than 1000 times the sides.
    Checks ``view_factor_polygon_lambert``.
    """
    x = np.asarray(width, dtype=float) / np.asarray(gap, dtype=float)
    y = np.asarray(depth, dtype=float) / np.asarray(gap, dtype=float)
    root_x, root_y = np.sqrt(1 + x**2), np.sqrt(1 + y**2)
    logarithm = 0.5 * np.log((1 + x**2) * (1 + y**2) / (1 + x**2 + y**2))
    arcs = x * root_y * np.arctan(x / root_y) + y * root_x * np.arctan(y / root_x)
    return (2 / (np.pi * x * y)) * (logarithm + arcs - x * np.arctan(x) - y * np.arctan(y))


def view_factor_perpendicular_rectangles(
    *, width: ArrayLike, height: ArrayLike, common_edge: ArrayLike
) -> Any:
    """View factor [-] from a floor to a wall that share an edge at a right angle.

    ``width`` of the floor away from the edge, ``height`` of the wall, ``common_edge`` length of
    the edge, in one unit. Siegel and Howell, configuration C-14.
    Checks ``view_factor_polygon_lambert``.
    """
    edge = np.asarray(common_edge, dtype=float)
    w, h = np.asarray(width, dtype=float) / edge, np.asarray(height, dtype=float) / edge
    w2, h2 = w**2, h**2
    both = w2 + h2
    logarithm = (
        np.log((1 + w2) * (1 + h2) / (1 + both))
        + w2 * np.log(w2 * (1 + both) / ((1 + w2) * both))
        + h2 * np.log(h2 * (1 + both) / ((1 + h2) * both))
    )
    arcs = w * np.arctan(1 / w) + h * np.arctan(1 / h) - np.sqrt(both) * np.arctan(both**-0.5)
    return (arcs + 0.25 * logarithm) / (np.pi * w)


def view_factor_element_parallel(*, width: ArrayLike, height: ArrayLike, gap: ArrayLike) -> Any:
    """View factor [-] of a point to a parallel rectangle, the point's normal through one corner.

    All lengths in one unit. Siegel and Howell, configuration B-3; 1/4 for an endless rectangle.
    Checks ``view_factor_polygon_lambert``.
    """
    x = np.asarray(width, dtype=float) / np.asarray(gap, dtype=float)
    y = np.asarray(height, dtype=float) / np.asarray(gap, dtype=float)
    root_x, root_y = np.sqrt(1 + x**2), np.sqrt(1 + y**2)
    return (x / root_x * np.arctan(y / root_x) + y / root_y * np.arctan(x / root_y)) / (2 * np.pi)


def view_factor_element_perpendicular(
    *, height: ArrayLike, width: ArrayLike, gap: ArrayLike
) -> Any:
    """View factor [-] of a point to a rectangle standing at a right angle to the point's plane.

    The rectangle's lower corner lies ``gap`` straight in front of the point, in its plane; it is
    ``width`` wide to one side and ``height`` high. Siegel and Howell, configuration B-4.
    Checks ``view_factor_polygon_lambert``.
    """
    a, b = np.asarray(height, dtype=float), np.asarray(width, dtype=float)
    c = np.asarray(gap, dtype=float)
    slant = np.hypot(a, c)
    return (np.arctan(b / c) - c / slant * np.arctan(b / slant)) / (2 * np.pi)


def _edge_share(start: Array, end: Array, normal: Array) -> Array:
    """One edge's part of the contour integral: angle subtended times the normal's component."""
    # The cross product by its components: several times faster than numpy's on small last axes.
    x0, y0, z0 = start[..., 0], start[..., 1], start[..., 2]
    x1, y1, z1 = end[..., 0], end[..., 1], end[..., 2]
    across_x, across_y, across_z = y0 * z1 - z0 * y1, z0 * x1 - x0 * z1, x0 * y1 - y0 * x1
    length = np.sqrt(across_x**2 + across_y**2 + across_z**2)
    angle = np.arctan2(length, x0 * x1 + y0 * y1 + z0 * z1)
    along = across_x * normal[..., 0] + across_y * normal[..., 1] + across_z * normal[..., 2]
    return np.where(length > 0, angle * along / np.where(length > 0, length, 1.0), 0.0)


def _cut(start: Array, end: Array, above_start: Array, above_end: Array) -> Array:
    """Where the edge from ``start`` to ``end`` crosses the horizon (height zero)."""
    drop = above_start - above_end
    share = np.where(drop == 0, 0.0, above_start / np.where(drop == 0, 1.0, drop))
    return start + share[..., None] * (end - start)


def view_factor_polygon_lambert(*, corners_m: ArrayLike, normal: ArrayLike) -> Any:
    """View factor [-] of a point at the origin to a flat convex polygon, by contour integral.

    corners_m: shape (..., K, 3), the polygon's K corners in order (either way round), seen from
    the point. normal: shape (..., 3), the unit normal of the point's surface. Returns (...).
    What lies behind the point's own surface (below its horizon) is cut away exactly: each edge is
    clipped, and the cut is closed along the horizon. Exact to rounding; zero when the point lies in
    the polygon's plane. A polygon that touches the point itself has no answer and gives nan-free
    but meaningless output: treat contact apart.
    """
    corners, facing = np.asarray(corners_m, dtype=float), np.asarray(normal, dtype=float)
    above = np.sum(corners * facing[..., None, :], axis=-1)
    total: Any = 0.0
    leaving: Any = 0.0
    entering: Any = 0.0
    count = corners.shape[-2]
    for index in range(count):
        after = (index + 1) % count
        start, end = corners[..., index, :], corners[..., after, :]
        up_start, up_end = above[..., index], above[..., after]
        start, end = np.broadcast_arrays(start, end)
        crossing = _cut(start, end, up_start, up_end)
        goes_down, comes_up = (up_start > 0) & (up_end <= 0), (up_start <= 0) & (up_end > 0)
        first = np.where(comes_up[..., None], crossing, start)
        last = np.where(goes_down[..., None], crossing, end)
        seen = (up_start > 0) | (up_end > 0)
        total = total + np.where(seen, _edge_share(first, last, facing), 0.0)
        leaving = leaving + np.where(goes_down[..., None], crossing, 0.0)
        entering = entering + np.where(comes_up[..., None], crossing, 0.0)
    total = total + _edge_share(leaving, entering, facing)
    return np.abs(total) / (2 * np.pi)


def face_normal(
    *, tilt_deg: ArrayLike, azimuth_deg: ArrayLike, fire_bearing_deg: float | None
) -> Array:
    """Unit normals (S, 3) of faces in the fire's frame: x towards the fire, y left of it, z up.

    tilt_deg (S,): 0 faces up, 90 is a wall. azimuth_deg (S,): the way the face looks, clockwise
    from north. fire_bearing_deg: where the fire comes from; None turns every face to the fire.
    """
    tilt = np.radians(np.asarray(tilt_deg, dtype=float))
    if fire_bearing_deg is None:
        turn = np.zeros_like(np.asarray(azimuth_deg, dtype=float))
    else:
        turn = np.radians(fire_bearing_deg - np.asarray(azimuth_deg, dtype=float))
    across = np.sin(tilt)
    parts = np.broadcast_arrays(across * np.cos(turn), across * np.sin(turn), np.cos(tilt))
    return np.stack(parts, axis=-1)


def flame_panel_corners(
    *,
    distance_m: ArrayLike,
    flame_length_m: ArrayLike,
    flame_width_m: ArrayLike,
    flame_tilt_deg: ArrayLike,
    face_height_m: ArrayLike,
    ground_slope_deg: ArrayLike = 0.0,
) -> Array:
    """Corners (..., 4, 3) [m] of a leaning flame sheet, seen from a face at the origin.

    The flame's base stands ``distance_m`` off, level with the ground there; it leans
    ``flame_tilt_deg`` from vertical towards the face. ground_slope_deg: rise of the ground from
    the fire to the face (positive: the fire comes uphill, so its base is lower).
    """
    tilt = np.radians(np.asarray(flame_tilt_deg, dtype=float))
    length = np.asarray(flame_length_m, dtype=float)
    away = np.asarray(distance_m, dtype=float)
    half = 0.5 * np.asarray(flame_width_m, dtype=float)
    foot = -np.asarray(face_height_m, dtype=float) - away * np.tan(np.radians(ground_slope_deg))
    base_x, base_z = away, foot
    tip_x, tip_z = away - length * np.sin(tilt), foot + length * np.cos(tilt)
    shape = np.broadcast_shapes(np.shape(tip_x), np.shape(tip_z), np.shape(half))
    corners = np.empty((*shape, 4, 3))
    for corner, (x, y, z) in enumerate(
        (
            (base_x, half, base_z),
            (base_x, -half, base_z),
            (tip_x, -half, tip_z),
            (tip_x, half, tip_z),
        )
    ):
        corners[..., corner, 0], corners[..., corner, 1], corners[..., corner, 2] = x, y, z
    return corners


def view_factor_flame_panel(
    *,
    distance_m: ArrayLike,
    flame_length_m: ArrayLike,
    flame_width_m: ArrayLike,
    flame_tilt_deg: ArrayLike,
    face_height_m: ArrayLike,
    normal: ArrayLike,
    ground_slope_deg: ArrayLike = 0.0,
) -> Any:
    """Exact view factor [-] of a face to a leaning flame sheet; arguments broadcast.

    As ``flame_panel_corners``; ``normal`` (..., 3) is the face's, from ``face_normal``.
    """
    corners = flame_panel_corners(
        distance_m=distance_m,
        flame_length_m=flame_length_m,
        flame_width_m=flame_width_m,
        flame_tilt_deg=flame_tilt_deg,
        face_height_m=face_height_m,
        ground_slope_deg=ground_slope_deg,
    )
    return view_factor_polygon_lambert(corners_m=corners, normal=normal)
