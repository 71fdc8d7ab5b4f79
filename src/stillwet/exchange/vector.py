"""Map files: GeoJSON and GeoPackage features become rows with a geometry in longitude, latitude."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

import numpy as np

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.files import decode_text
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.exchange.geo import GEOMETRIES, need_degrees
from stillwet.exchange.gpx import read_gpx
from stillwet.exchange.limits import MOST_FEATURES, MOST_TREE_BYTES, need_few, need_size
from stillwet.exchange.tabular import Row, Table

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_SQLITE_MARK = b"SQLite format 3\x00"
ENDINGS = (".geojson", ".json", ".gpkg", ".gpx")


def read_features(
    content: bytes, *, name: str, key: str, findings: Findings, layer: str | None = None
) -> Table:
    """The features of a GeoJSON, GeoPackage or GPX file, by its ending."""
    suffix = PurePath(name).suffix.lower()
    if suffix == ".gpkg":
        return read_gpkg(content, name=name, key=key, findings=findings, layer=layer)
    if suffix == ".gpx":
        return read_gpx(content, name=name, key=key, findings=findings, layer=layer)
    return read_geojson(content, name=name, key=key, findings=findings)


def read_geojson(content: bytes, *, name: str, key: str, findings: Findings) -> Table:
    """A GeoJSON FeatureCollection; coordinates are longitude, latitude (RFC 7946, section 4)."""
    data = load_json(content, name=name, key=key)
    if not isinstance(data, dict) or data.get("type") != "FeatureCollection":
        got = data.get("type") if isinstance(data, dict) else type(data).__name__
        raise StillwetError(Problem(key, "a GeoJSON FeatureCollection", shown(got), name))
    _refuse_other_crs(data.get("crs"), name)
    features = data.get("features")
    if not isinstance(features, list) or not features:
        raise StillwetError(Problem(key, "at least one feature", "none", name))
    need_few(len(features), name=name, key=key)
    rows = []
    for number, feature in enumerate(features, start=1):
        with findings.catching():
            rows.append(_geojson_row(feature, number, f"{name}, feature {number}"))
    headers = tuple(dict.fromkeys(header for row in rows for header in row.values))
    return Table(name, "feature", headers, tuple(rows))


def load_json(content: bytes, *, name: str, key: str) -> Any:
    """JSON text as plain values, with the line of a fault."""
    hint = "cut it to the job's area; a map may be a GeoPackage instead"
    need_size(content, MOST_TREE_BYTES, name=name, key=key, hint=hint)
    text = decode_text(content, name=name, key=key)
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        place = f"{name}, line {error.lineno}"
        raise StillwetError(Problem(key, "JSON text", error.msg, place)) from None
    except (ValueError, RecursionError):
        raise StillwetError(
            Problem(key, "JSON text", "numbers or nesting too long", name)
        ) from None


def _refuse_other_crs(crs: object, name: str) -> None:
    """RFC 7946 took the ``crs`` member away; older writers still set it, at times to metres."""
    if crs is None:
        return
    text = json.dumps(crs)
    if not any(mark in text for mark in ("CRS84", "EPSG::4326", "EPSG:4326")):
        hint = "export it as GeoJSON in WGS 84 longitude and latitude, or as GeoPackage"
        wanted = "longitude and latitude in WGS 84 (RFC 7946)"
        raise StillwetError(Problem("crs", wanted, shown(text, 100), name, hint))


def _geojson_row(feature: Any, number: int, place: str) -> Row:
    if not isinstance(feature, dict) or not isinstance(feature.get("geometry"), dict):
        raise StillwetError(Problem("geometry", "a feature with a geometry", "none", place))
    raw = feature["geometry"]
    if raw.get("type") not in GEOMETRIES:
        wanted = "one of " + ", ".join(GEOMETRIES)
        raise StillwetError(Problem("geometry", wanted, shown(raw.get("type")), place))
    geometry = shape_of_json(raw, wanted="coordinates", place=place)
    need_degrees(geometry, place)
    properties = feature.get("properties")
    values = dict(properties) if isinstance(properties, dict) else {}
    if "id" not in values and isinstance(feature.get("id"), (str, int)):
        values["id"] = feature["id"]
    return Row(number, place, values, geometry)


def shape_of_json(raw: Any, *, wanted: str, place: str) -> BaseGeometry:
    """A shape from a GeoJSON geometry; its coordinates are not looked at.

    Raises StillwetError for whatever the library cannot make one of.
    """
    from shapely.errors import ShapelyError
    from shapely.geometry import shape

    try:
        with np.errstate(invalid="ignore"):  # what is not a number is told where places are read
            return shape(raw)
    except (
        *(ShapelyError, ValueError, TypeError, IndexError),
        *(KeyError, AttributeError, OverflowError),
    ):
        got = shown(json.dumps(raw), 100)
        raise StillwetError(Problem("geometry", wanted, got, place)) from None


def read_gpkg(
    content: bytes, *, name: str, key: str, findings: Findings, layer: str | None = None
) -> Table:
    """One layer of a GeoPackage, in whatever CRS, brought to longitude and latitude.

    Read from bytes already in memory, so the library never opens the file on disk: opening a
    GeoPackage that another part of this process holds open would drop its locks.
    """
    if not content.startswith(_SQLITE_MARK):
        raise StillwetError(Problem(key, "a GeoPackage", "something else", name))
    chosen, meta, fids, shapes, columns = _read_layer(content, layer, name, key)
    if fids is None or len(fids) == 0:
        raise StillwetError(Problem(key, "at least one feature", "none", f"{name}, {chosen}"))
    need_few(len(fids), name=f"{name}, {chosen}", key=key)
    crs = _crs(meta["crs"], f"{name}, layer {chosen}")
    headers = tuple(str(header) for header in meta["fields"])
    rows = []
    for index, fid in enumerate(fids):
        place = f"{name}, feature {fid}"
        values = {
            header: _plain(column[index]) for header, column in zip(headers, columns, strict=True)
        }
        with findings.catching():
            rows.append(Row(int(fid), place, values, _degrees(shapes[index], crs, place)))
    return Table(name, "feature", headers, tuple(rows))


def _read_layer(
    content: bytes, layer: str | None, name: str, key: str
) -> tuple[str, Any, Any, Any, Any]:
    """A layer's name, facts, feature ids, shapes (well-known binary) and columns of values."""
    import warnings

    import pyogrio
    from pyogrio.errors import DataLayerError, DataSourceError, FeatureError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # that bytes in memory have no file name
            chosen = _layer(content, layer, name)
            read = pyogrio.raw.read(
                content,
                layer=chosen,
                return_fids=True,
                max_features=MOST_FEATURES + 1,
                datetime_as_string=True,  # as moments they would lose their zone
            )
    except (DataSourceError, DataLayerError, FeatureError, ValueError, RuntimeError) as error:
        raise StillwetError(Problem(key, "a GeoPackage", shown(str(error), 120), name)) from None
    return (chosen, *read)


def _layer(content: bytes, layer: str | None, name: str) -> str:
    import pyogrio

    layers = [str(row[0]) for row in pyogrio.list_layers(content)]
    if layer is None and len(layers) == 1:
        return layers[0]
    if layer in layers:
        return str(layer)
    hint = nearest_hint(layer or "", layers)
    got = "nothing" if layer is None else shown(layer)
    raise StillwetError(Problem("layer", "one of " + ", ".join(layers), got, name, hint))


def _crs(text: str | None, place: str) -> Any:
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        crs = CRS.from_user_input(text or "none")
    except CRSError:
        hint = "set the layer's coordinate system in the program that wrote it"
        wanted = "a coordinate reference system"
        raise StillwetError(Problem("crs", wanted, shown(text), place, hint)) from None
    need_on_earth(crs, place)
    return crs


def _degrees(wkb: bytes | None, crs: Any, place: str) -> BaseGeometry:
    import shapely

    if wkb is None:
        raise StillwetError(Problem("geometry", "a feature with a geometry", "none", place))
    try:
        geometry = shapely.from_wkb(wkb)
    except shapely.errors.ShapelyError as error:
        got = str(error).rpartition("Exception: ")[2]
        raise StillwetError(Problem("geometry", "a whole geometry", got, place)) from None
    if geometry.geom_type not in GEOMETRIES:
        wanted = "one of " + ", ".join(GEOMETRIES)
        raise StillwetError(Problem("geometry", wanted, geometry.geom_type, place))
    degrees = to_degrees(shapely.force_2d(geometry), crs)
    need_degrees(degrees, place)
    return degrees


def to_degrees(geometry: BaseGeometry, crs: Any) -> BaseGeometry:
    """A geometry of a CRS that ``need_on_earth`` has let pass in longitude, latitude (WGS 84)."""
    import shapely

    return shapely.transform(geometry, _to_degrees(crs), interleaved=False)


def need_on_earth(crs: Any, place: str) -> None:
    """Raise unless there is a way from a CRS to longitude and latitude (WGS 84)."""
    from pyproj.exceptions import ProjError

    try:
        _to_degrees(crs)
    except ProjError:
        wanted = "a coordinate reference system that leads to longitude and latitude"
        raise StillwetError(Problem("crs", wanted, shown(crs.name), place)) from None


@cache
def _to_degrees(crs: Any) -> Any:
    """The transformation itself: making it takes far longer than using it."""
    from pyproj import Transformer

    return Transformer.from_crs(crs, "EPSG:4326", always_xy=True).transform


def _plain(value: Any) -> object:
    plain = value.item() if hasattr(value, "item") else value
    return None if isinstance(plain, float) and math.isnan(plain) else plain
