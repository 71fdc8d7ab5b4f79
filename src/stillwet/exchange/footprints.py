"""Footprints: from a drawn polygon to a checked ring, its length, width and facing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stillwet.errors import Problem, StillwetError

if TYPE_CHECKING:
    from shapely.geometry import LineString, Polygon
    from shapely.geometry.base import BaseGeometry

_SMALLEST_PART_M2 = 1.0


@dataclass(frozen=True, slots=True)
class Footprint:
    """One ground plan in metres: outer ring counter-clockwise without the closing point."""

    ring_m: tuple[tuple[float, float], ...] | None
    x_m: float
    y_m: float
    length_m: float
    width_m: float
    facing_deg: float | None  # the way a long side looks, the more southerly; None for a point
    area_m2: float


@dataclass(frozen=True, slots=True)
class Parts:
    """The polygons of one feature, and what had to be left out."""

    polygons: tuple[Polygon, ...]
    small: int  # how many slivers were left out


def outer_rings(geometry: BaseGeometry, place: str) -> list[Polygon]:
    """The outer rings of a Polygon or MultiPolygon in degrees, largest first, holes filled.

    Raises StillwetError when a ring crosses itself, saying where in longitude and latitude.
    """
    from shapely.geometry import MultiPolygon, Polygon

    found = list(geometry.geoms) if isinstance(geometry, MultiPolygon) else [geometry]
    outers = [Polygon(part.exterior) for part in found if isinstance(part, Polygon)]
    for outer in outers:
        _need_simple(outer, place)
    return sorted(outers, key=lambda part: part.area, reverse=True)


def worthwhile_parts(outers: list[Polygon]) -> Parts:
    """The parts worth planning for; those under a square metre go when there are larger ones."""
    large = [outer for outer in outers if outer.area >= _SMALLEST_PART_M2] or outers[:1]
    return Parts(tuple(large), len(outers) - len(large))


def _need_simple(polygon: Polygon, place: str) -> None:
    from shapely.validation import explain_validity

    if polygon.is_valid and polygon.area > 0:
        return
    reason = explain_validity(polygon) if not polygon.is_valid else "no area"
    got = reason.replace("Self-intersection", "it crosses itself at ").replace("[", "").rstrip("]")
    hint = "draw the corners in order around the building"
    raise StillwetError(Problem("footprint", "a ring that does not cross itself", got, place, hint))


def measure(polygon: Polygon) -> Footprint:
    """Length, width and facing of a projected polygon, from its smallest enclosing rectangle."""
    import shapely
    from shapely.geometry.polygon import orient

    # About its own corner: millions of metres from the origin the rectangle is a millimetre off.
    near = shapely.transform(polygon, lambda spots: spots - spots[0])
    corners = shapely.get_coordinates(near.minimum_rotated_rectangle)
    sides = [corners[1] - corners[0], corners[2] - corners[1]]
    sizes = [float(math.hypot(*side)) for side in sides]
    along = sides[0] if sizes[0] >= sizes[1] else sides[1]
    ring = shapely.get_coordinates(orient(polygon))[:-1]
    middle = polygon.representative_point()
    return Footprint(
        ring_m=tuple((float(x), float(y)) for x, y in ring),
        x_m=float(middle.x),
        y_m=float(middle.y),
        length_m=max(sizes),
        width_m=min(sizes),
        facing_deg=southerly_normal(float(along[0]), float(along[1])),
        area_m2=float(polygon.area),
    )


def measure_track(track: LineString) -> Footprint:
    """Length, middle and facing of a line that stands for a fence or bridge."""
    import shapely

    middle = shapely.line_interpolate_point(track, 0.5, normalized=True)
    (x0, y0), *_, (x1, y1) = shapely.get_coordinates(track)
    return Footprint(
        ring_m=None,
        x_m=float(middle.x),
        y_m=float(middle.y),
        length_m=float(track.length),
        width_m=0.0,
        facing_deg=southerly_normal(float(x1 - x0), float(y1 - y0)),
        area_m2=0.0,
    )


def southerly_normal(east: float, north: float) -> float:
    """Of the two directions square to a line, the one that looks more to the south, in degrees."""
    normal = math.degrees(math.atan2(north, -east)) % 360.0
    return normal if 90.0 <= normal < 270.0 else (normal + 180.0) % 360.0
