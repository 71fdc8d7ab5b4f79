"""Shapes at the door: possible longitudes and latitudes, and well-known text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stillwet.errors import Problem, StillwetError, shown

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


def need_degrees(geometry: BaseGeometry, place: str) -> None:
    """Raise unless the geometry has points, all of them possible longitudes and latitudes."""
    if geometry.is_empty:
        raise StillwetError(Problem("geometry", "coordinates", "an empty geometry", place))
    west, south, east, north = geometry.bounds
    # "not <=" so that NaN is refused too.
    if not (-180 <= west <= east <= 180 and -90 <= south <= north <= 90):
        got = f"{west:g}, {south:g} to {east:g}, {north:g}"
        wanted = "longitude -180 to 180, latitude -90 to 90 degrees"
        hint = "are these metres of a projection?"
        raise StillwetError(Problem("geometry", wanted, got, place, hint))


def shape_of_text(text: str, *, field: str, place: str) -> BaseGeometry:
    """A flat shape from well-known text; its coordinates are not looked at."""
    import shapely

    try:
        return shapely.force_2d(shapely.from_wkt(text))
    except (shapely.errors.ShapelyError, ValueError):
        wanted = 'well-known text such as "LINESTRING (-105.20 39.75, -105.19 39.76)"'
        raise StillwetError(Problem(field, wanted, shown(text), place)) from None
