"""Where a row stands: a drawn geometry, longitude and latitude, or x and y of a stated CRS."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.fields import Cell, Quantity, read_text
from stillwet.exchange.findings import Findings
from stillwet.exchange.geo import need_degrees, shape_of_text
from stillwet.exchange.vector import need_on_earth, to_degrees

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

LATITUDE = Quantity("latitude", "angle", -90.0, 90.0, "deg", bare=True)
LONGITUDE = Quantity("longitude", "angle", -180.0, 180.0, "deg", bare=True)
X = Quantity("x", "", -1e8, 1e8)
Y = Quantity("y", "", -1e8, 1e8)
POSITION_QUANTITIES = {spec.name: spec for spec in (LATITUDE, LONGITUDE, X, Y)}


@dataclass(frozen=True, slots=True)
class Placer:
    """Brings positions typed into a table to longitude and latitude; ``crs`` is for x and y."""

    crs: Any = None  # pyproj CRS, or None: x and y are refused

    def place(
        self, cells: Mapping[str, Cell], geometry: BaseGeometry | None, place: str
    ) -> BaseGeometry:
        """The row's geometry in longitude, latitude; raises StillwetError when it has none."""
        from shapely.geometry import Point

        if geometry is not None:
            return geometry
        if "footprint" in cells:
            return self._from_wkt(cells["footprint"])
        if "longitude" in cells and "latitude" in cells:
            return Point(LONGITUDE.read(cells["longitude"]), LATITUDE.read(cells["latitude"]))
        if "x" in cells and "y" in cells:
            point = Point(X.read(cells["x"]), Y.read(cells["y"]))
            return self._degrees(point, place)
        raise StillwetError(
            Problem("position", "latitude and longitude, or x and y with a crs", "nothing", place)
        )

    def _from_wkt(self, cell: Cell) -> BaseGeometry:
        text = read_text(cell, "footprint")
        geometry = shape_of_text(text, field="footprint", place=cell.place)
        if self.crs is not None:
            return self._degrees(geometry, cell.place)
        need_degrees(geometry, cell.place)
        return geometry

    def _degrees(self, geometry: BaseGeometry, place: str) -> BaseGeometry:
        if self.crs is None:
            hint = 'add crs = "EPSG:32612" or the like beside file'
            raise StillwetError(Problem("x", "the crs of x and y", "no crs", place, hint))
        degrees = to_degrees(geometry, self.crs)
        need_degrees(degrees, place)
        return degrees


def middle_of(
    cells: Mapping[str, Cell], geometry: BaseGeometry | None, place: str, findings: Findings
) -> tuple[float, float] | None:
    """Longitude and latitude of a row's place, or None when it has none (noted)."""
    where: BaseGeometry | None = None
    with findings.catching():
        where = Placer().place(cells, geometry, place)
    if where is None:
        return None
    middle = where.representative_point()
    return middle.x, middle.y


def read_crs(text: str | None, place: str) -> Any:
    """The CRS a job names for x and y ("EPSG:26912"), or None when it names none."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    if text is None:
        return None
    try:
        crs = CRS.from_user_input(text)
    except CRSError:
        wanted = 'a coordinate reference system such as "EPSG:32612"'
        raise StillwetError(Problem("crs", wanted, shown(text), place)) from None
    need_on_earth(crs, place)
    return crs
