"""Sheets as map files: GeoJSON (RFC 7946), GeoPackage (OGC 12-128) and GPX 1.1, all in WGS 84."""

from __future__ import annotations

import json
import math
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from stillwet.exchange.gpx import FIELDS_NAMESPACE, SHAPE
from stillwet.exchange.sheet_tables import plain_cell
from stillwet.exchange.sheets import Cells, Sheet, SheetRow, Value


def geojson_bytes(sheet: Sheet) -> bytes:
    """A FeatureCollection; every character of a text is kept."""
    from shapely.geometry import mapping

    features = [
        {"type": "Feature", "geometry": mapping(row.shape), "properties": row.cells}
        for row in sheet.rows
        if row.shape is not None
    ]
    # One feature a line, so that two versions of a file can be compared line by line.
    lines = ",\n".join(json.dumps(feature, ensure_ascii=False) for feature in features)
    return f'{{"type": "FeatureCollection", "features": [\n{lines}\n]}}\n'.encode()


def gpkg_bytes(sheets: Sequence[Sheet]) -> bytes:
    """A GeoPackage with a layer a list."""
    with tempfile.TemporaryDirectory(prefix="stillwet-") as folder:
        path = Path(folder) / "layers.gpkg"
        for sheet in sheets:
            _write_layer(sheet, path)
        return path.read_bytes()


def _write_layer(sheet: Sheet, path: Path) -> None:
    from pyogrio import raw
    from shapely import to_wkb

    shapes = [row.shape for row in sheet.rows]
    kinds = {shape.geom_type for shape in shapes if shape is not None}
    columns = [_column(sheet, header) for header in sheet.headers]
    raw.write(
        path,
        to_wkb(np.array(shapes, dtype=object)),
        [values for values, _ in columns],
        list(sheet.headers),
        field_mask=[mask for _, mask in columns],
        layer=sheet.name,
        driver="GPKG",
        geometry_type=kinds.pop() if len(kinds) == 1 else "Unknown",
        crs="EPSG:4326",
        append=path.exists(),
    )


def _column(sheet: Sheet, header: str) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """One column's values, and where they are missing."""
    cells = [row.cells.get(header) for row in sheet.rows]
    mask = np.array([cell is None for cell in cells])
    if any(isinstance(cell, (str, list)) for cell in cells):
        texts = ["" if cell is None else str(plain_cell(cell)) for cell in cells]
        return np.array(texts, dtype=object), mask
    return np.array([math.nan if cell is None else cell for cell in cells], dtype=np.float64), mask


def gpx_bytes(sheet: Sheet) -> bytes:
    """Waypoints for points and footprints, tracks for lines; all fields as extensions.

    A hand-held receiver shows names, notes and places and passes over the rest.
    """
    points = [_waypoint(row) for row in sheet.rows if row.shape and not _is_line(row)]
    tracks = [_track(row) for row in sheet.rows if row.shape and _is_line(row)]
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="Stillwet" xmlns="http://www.topografix.com/GPX/1/1">'
    )
    return "\n".join([head, *points, *tracks, "</gpx>\n"]).encode()


def _is_line(row: SheetRow) -> bool:
    return row.shape is not None and row.shape.geom_type == "LineString"


def _waypoint(row: SheetRow) -> str:
    import shapely
    from shapely.geometry import Point

    assert row.shape is not None  # the caller has looked
    middle = row.shape.representative_point()
    cells = dict(row.cells)
    if not isinstance(row.shape, Point):
        cells[SHAPE] = shapely.to_wkt(row.shape, rounding_precision=-1)
    return f"<wpt {_spot(middle.x, middle.y)}>{_told(row)}{_fields(cells)}</wpt>"


def _track(row: SheetRow) -> str:
    assert row.shape is not None  # the caller has looked
    points = "".join(f"<trkpt {_spot(x, y)}/>" for x, y in row.shape.coords)
    return f"<trk>{_told(row)}{_fields(row.cells)}<trkseg>{points}</trkseg></trk>"


def _spot(longitude: float, latitude: float) -> str:
    return f'lat="{_decimal(latitude)}" lon="{_decimal(longitude)}"'


def _decimal(degrees: float) -> str:
    """All figures and no exponent, which the schema's xsd:decimal does not know."""
    return np.format_float_positional(degrees, trim="0")


def _told(row: SheetRow) -> str:
    """Name and note in the standard's own elements."""
    name = row.cells.get("name") or row.cells.get("id")
    return _element("name", name) + _element("desc", row.cells.get("note"))


def _element(tag: str, value: Value | None) -> str:
    return "" if not value else f"<{tag}>{_text(value)}</{tag}>"


def _fields(cells: Cells) -> str:
    inner = "".join(
        f"<field name={quoteattr(header)}>{_text(value)}</field>" for header, value in cells.items()
    )
    return f'<extensions><fields xmlns="{FIELDS_NAMESPACE}">{inner}</fields></extensions>'


def _text(value: Value) -> str:
    plain = plain_cell(value)
    return escape(plain if isinstance(plain, str) else repr(plain))
