"""Shapes at the door: possible longitudes and latitudes, and well-known text."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from stillwet.errors import Problem, StillwetError, shown

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


GEOMETRIES = (
    "Point",
    "MultiPoint",
    "LineString",
    "MultiLineString",
    "Polygon",
    "MultiPolygon",
)
_WORDS_OF_TEXT = tuple(name.upper() for name in GEOMETRIES)


def need_degrees(geometry: BaseGeometry, place: str) -> None:
    """Raise unless the geometry has points, all of them possible longitudes and latitudes."""
    import shapely

    if geometry.is_empty:
        raise StillwetError(Problem("geometry", "coordinates", "an empty geometry", place))
    spots = shapely.get_coordinates(geometry)
    # Not ``bounds``, which pass over NaN.
    (west, south), (east, north) = spots.min(axis=0), spots.max(axis=0)
    # "not <=" so that NaN is refused too.
    if not (-180 <= west <= east <= 180 and -90 <= south <= north <= 90):
        got = f"{west:g}, {south:g} to {east:g}, {north:g}"
        wanted = "longitude -180 to 180, latitude -90 to 90 degrees"
        hint = "are these metres of a projection?"
        raise StillwetError(Problem("geometry", wanted, got, place, hint))


def shape_of_text(text: str, *, field: str, place: str) -> BaseGeometry:
    """A flat shape from well-known text; its coordinates are not looked at.

    Neither curves nor collections are taken: nested ones take time by the square of their depth.
    """
    import shapely

    try:
        if text.lstrip().upper().startswith(_WORDS_OF_TEXT):
            with np.errstate(invalid="ignore"):
                return shapely.force_2d(shapely.from_wkt(text))
    except (shapely.errors.ShapelyError, ValueError):
        pass  # told below, as any text that is none
    wanted = 'well-known text such as "LINESTRING (-105.20 39.75, -105.19 39.76)"'
    raise StillwetError(Problem(field, wanted, shown(text), place))
