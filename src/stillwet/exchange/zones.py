"""Zones of a region, as polygons of a GeoJSON file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from stillwet.domain.outlook_brief import Ring, Zone
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.fields import Cell, read_text
from stillwet.exchange.files import read_bytes
from stillwet.exchange.findings import Findings
from stillwet.exchange.tabular import Row, is_blank
from stillwet.exchange.vector import read_geojson

KEY = "--zones"
MOST_ZONES = 400
_LONGEST_NAME = 60


def read_zones(path: Path) -> tuple[Zone, ...]:
    """The zones of a GeoJSON FeatureCollection: property ``name``, and ``group`` where given.

    Zones without a group share one page.
    """
    findings = Findings()
    table = read_geojson(
        read_bytes(path, name=path.name, key=KEY), name=path.name, key=KEY, findings=findings
    )
    zones: list[Zone] = []
    for row in table.rows:
        with findings.catching():
            zones.append(_zone(row))
    findings.need_none()
    if len(zones) > MOST_ZONES:
        raise StillwetError(Problem(KEY, f"at most {MOST_ZONES} zones", shown(len(zones))))
    names = [zone.name for zone in zones]
    doubled = sorted({name for name in names if names.count(name) > 1})
    if doubled:
        wanted = "a name of its own for every zone"
        raise StillwetError(Problem("name", wanted, shown(doubled[0]) + " twice", path.name))
    return tuple(zones)


def _zone(row: Row) -> Zone:
    from shapely import make_valid

    name, group = _word(row, "name"), _word(row, "group", default="All zones")
    geometry: Any = row.geometry
    if geometry.geom_type not in ("Polygon", "MultiPolygon"):
        raise StillwetError(Problem("geometry", "a polygon", geometry.geom_type, row.place))
    if not geometry.is_valid:
        geometry = make_valid(geometry)
    parts = getattr(geometry, "geoms", [geometry])
    kept = [part for part in parts if part.geom_type == "Polygon" and part.area > 0]
    if not kept:
        raise StillwetError(Problem("geometry", "a polygon with an area", "none", row.place))
    return Zone(name, group, tuple(_rings(part) for part in kept))


def _rings(polygon: Any) -> tuple[Ring, ...]:
    rings = (polygon.exterior, *polygon.interiors)
    return tuple(tuple((float(x), float(y)) for x, y, *_ in ring.coords) for ring in rings)


def _word(row: Row, key: str, default: str | None = None) -> str:
    value = row.values.get(key)
    if is_blank(value):
        if default is None:
            raise StillwetError(Problem(key, "a text property", "none", row.place))
        return default
    word = read_text(Cell(value, row.place), key)
    if len(word) > _LONGEST_NAME:
        wanted = f"at most {_LONGEST_NAME} letters"
        raise StillwetError(Problem(key, wanted, shown(word), row.place))
    return word
