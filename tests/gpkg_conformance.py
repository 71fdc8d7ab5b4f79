"""Whether a file is a GeoPackage, by the abstract test suite of the standard.

Source: OGC 12-128r18, GeoPackage Encoding Standard 1.3.1, Annex A (abstract test suite) and Annex C
(table definitions); numbers are its requirements. Only the clauses on the container, features and
attributes are here: a job file has no tiles and declares no extension. Written from the standard
and independent of the store's own code.
"""

from __future__ import annotations

import re
import sqlite3
import struct
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import TypeAlias

Column: TypeAlias = tuple[str, str, int, str | None, int]
Check: TypeAlias = Callable[[Path, sqlite3.Connection], Iterator[str]]

_PLAIN = re.compile(
    r"BOOLEAN|TINYINT|SMALLINT|MEDIUMINT|INT|INTEGER|FLOAT|DOUBLE|REAL|TEXT(\(\d+\))?|"
    r"BLOB(\(\d+\))?|DATE|DATETIME"
)
_GEOMETRIES = {
    "GEOMETRY": 0,
    "POINT": 1,
    "LINESTRING": 2,
    "POLYGON": 3,
    "MULTIPOINT": 4,
    "MULTILINESTRING": 5,
    "MULTIPOLYGON": 6,
    "GEOMETRYCOLLECTION": 7,
}
# Annex C: name, declared type, NOT NULL, default, place in the primary key.
_ANNEX_C: dict[str, set[Column]] = {
    "gpkg_spatial_ref_sys": {
        ("srs_name", "TEXT", 1, None, 0),
        ("srs_id", "INTEGER", 0, None, 1),
        ("organization", "TEXT", 1, None, 0),
        ("organization_coordsys_id", "INTEGER", 1, None, 0),
        ("definition", "TEXT", 1, None, 0),
        ("description", "TEXT", 0, None, 0),
    },
    "gpkg_contents": {
        ("table_name", "TEXT", 1, None, 1),
        ("data_type", "TEXT", 1, None, 0),
        ("identifier", "TEXT", 0, None, 0),
        ("description", "TEXT", 0, "''", 0),
        ("last_change", "DATETIME", 1, "strftime('%Y-%m-%dT%H:%M:%fZ','now')", 0),
        ("min_x", "DOUBLE", 0, None, 0),
        ("min_y", "DOUBLE", 0, None, 0),
        ("max_x", "DOUBLE", 0, None, 0),
        ("max_y", "DOUBLE", 0, None, 0),
        ("srs_id", "INTEGER", 0, None, 0),
    },
    "gpkg_geometry_columns": {
        ("table_name", "TEXT", 1, None, 1),
        ("column_name", "TEXT", 1, None, 2),
        ("geometry_type_name", "TEXT", 1, None, 0),
        ("srs_id", "INTEGER", 1, None, 0),
        ("z", "TINYINT", 1, None, 0),
        ("m", "TINYINT", 1, None, 0),
    },
}


def faults(path: Path) -> list[str]:
    """Every departure from the standard, with the requirement's number; empty for a sound file."""
    found = []
    with closing(sqlite3.connect(path)) as connection:
        for number, check in CHECKS.items():
            found += [f"R{number}: {fault}" for fault in check(path, connection)]
    return found


def _rows(connection: sqlite3.Connection, query: str) -> list[tuple[object, ...]]:
    return connection.execute(query).fetchall()


def _names(connection: sqlite3.Connection, data_type: str) -> list[str]:
    query = "SELECT table_name FROM gpkg_contents WHERE data_type = ?"
    return [str(name) for (name,) in connection.execute(query, (data_type,))]


def _info(
    connection: sqlite3.Connection, table: str
) -> list[tuple[str, str, int, str | None, int]]:
    return [tuple(row[1:]) for row in connection.execute(f'PRAGMA table_info("{table}")')]


def _format(path: Path, _: sqlite3.Connection) -> Iterator[str]:
    if path.read_bytes()[:16] != b"SQLite format 3\x00":
        yield "not an SQLite file"


def _marks(path: Path, connection: sqlite3.Connection) -> Iterator[str]:
    if path.read_bytes()[68:72] != b"GPKG":
        yield "application_id is not GPKG"
    ((version,),) = _rows(connection, "PRAGMA user_version")
    if not isinstance(version, int) or not 10300 <= version < 10400:
        yield f"user_version {version} is not that of 1.3"


def _ending(path: Path, _: sqlite3.Connection) -> Iterator[str]:
    if path.suffix != ".gpkg":
        yield "the name does not end in .gpkg"


def _tables_of_annex_c(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    for table, columns in _ANNEX_C.items():
        there = set(_info(connection, table))
        if there != columns:
            yield f"{table}: {there ^ columns}"
    tables = [name for (name,) in _rows(connection, "SELECT name FROM sqlite_master")]
    extra = [t for t in tables if str(t).startswith("gpkg_") and t not in _ANNEX_C]
    if extra:
        yield f"gpkg_ tables that the standard does not know: {extra}"
    known = set(_names(connection, "features")) | set(_names(connection, "attributes"))
    query = "SELECT name FROM sqlite_master WHERE type IN ('table', 'view')"
    for (name,) in _rows(connection, query):
        if name not in known and not str(name).startswith(("gpkg_", "sqlite_")):
            yield f"{name} is in no table of contents"


def _data_types(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    for data_type in ("features", "attributes"):
        for table in _names(connection, data_type):
            for name, kind, *_rest in _info(connection, table):
                if not _PLAIN.fullmatch(kind) and kind not in _GEOMETRIES:
                    yield f"{table}.{name} is declared {kind}"


def _integrity(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    if _rows(connection, "PRAGMA integrity_check") != [("ok",)]:
        yield "integrity_check"


def _foreign_keys(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    for row in _rows(connection, "PRAGMA foreign_key_check"):
        yield str(row)


def _reference_systems(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    from pyproj import CRS

    query = (
        "SELECT srs_id, organization, organization_coordsys_id, definition "
        "FROM gpkg_spatial_ref_sys"
    )
    there = {row[0]: row[1:] for row in _rows(connection, query)}
    for number in (-1, 0):
        if there.get(number) != ("NONE", number, "undefined"):
            yield f"the record {number} is {there.get(number)}"
    if CRS.from_wkt(str(there[4326][2])) != CRS.from_epsg(4326):
        yield "4326 is not WGS 84"
    for code, (organization, identity, definition) in there.items():
        if organization == "EPSG" and not CRS.from_wkt(str(definition)).is_exact_same(
            CRS.from_wkt(CRS.from_epsg(int(str(identity))).to_wkt("WKT1_GDAL"))
        ):
            yield f"{code} is not what EPSG says it is"


def _used_systems(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    for row in _rows(
        connection,
        "SELECT table_name FROM gpkg_contents c LEFT JOIN gpkg_spatial_ref_sys s "
        "ON c.srs_id = s.srs_id WHERE c.data_type = 'features' AND s.srs_id IS NULL",
    ):
        yield f"{row[0]} lies in no reference system"


def _contents_names(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    for row in _rows(
        connection,
        "SELECT table_name FROM gpkg_contents "
        "WHERE table_name NOT IN (SELECT name FROM sqlite_master)",
    ):
        yield f"{row[0]} is not there"


def _last_change(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    for table, when in _rows(connection, "SELECT table_name, last_change FROM gpkg_contents"):
        if not re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", str(when)):
            yield f"{table}: {when}"


def _integer_key(data_type: str) -> Check:
    def check(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
        for table in _names(connection, data_type):
            keys = [(kind, place) for _n, kind, _x, _d, place in _info(connection, table) if place]
            if keys != [("INTEGER", 1)]:
                yield f"{table} has the key {keys}"
            ((sql,),) = _rows(connection, f"SELECT sql FROM sqlite_master WHERE name = '{table}'")
            if "INTEGER PRIMARY KEY AUTOINCREMENT" not in str(sql):
                yield f"{table}'s key does not number its rows by itself"

    return check


def _blobs(connection: sqlite3.Connection) -> Iterator[tuple[str, str, int, bytes]]:
    """Every geometry with its table, the type and the reference system the table declares."""
    for table, column, kind, srs_id in _rows(
        connection,
        "SELECT table_name, column_name, geometry_type_name, srs_id FROM gpkg_geometry_columns",
    ):
        for (blob,) in _rows(connection, f'SELECT "{column}" FROM "{table}"'):
            assert isinstance(blob, bytes)
            assert isinstance(srs_id, int)
            yield str(table), str(kind), srs_id, blob


def _headers(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    from shapely import from_wkb

    for table, kind, srs_id, blob in _blobs(connection):
        magic, version, flags, blob_srs = struct.unpack_from("<2sBBi", blob)
        envelope = (flags >> 1) & 0b111
        if magic != b"GP" or version != 0 or flags & 0b100000 or envelope > 4:
            yield f"{table}: header {blob[:8]!r}"
            continue
        size = {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}[envelope]
        shape = from_wkb(blob[8 + size :])
        if shape.is_empty != bool(flags & 0b10000):
            yield f"{table}: emptiness of {shape.wkt}"
        if envelope == 1:
            west, east, south, north = struct.unpack_from("<4d", blob, 8)
            if (west, south, east, north) != shape.bounds:
                yield f"{table}: the envelope is not that of {shape.wkt}"
        if shape.geom_type.upper() != kind:
            yield f"{table}: a {shape.geom_type} among {kind}"
        if blob_srs != srs_id:
            yield f"{table}: reference system {blob_srs}, declared {srs_id}"


def _geometry_columns(_: Path, connection: sqlite3.Connection) -> Iterator[str]:
    rows = _rows(
        connection,
        "SELECT g.table_name, column_name, geometry_type_name, g.srs_id, c.srs_id, z, m "
        "FROM gpkg_geometry_columns g LEFT JOIN gpkg_contents c USING (table_name)",
    )
    features = _names(connection, "features")
    if sorted(str(row[0]) for row in rows) != sorted(features):
        yield "feature tables and geometry columns do not match one to one"
    for table, column, kind, own, listed, z, m in rows:
        declared = {name: each for name, each, *_rest in _info(connection, str(table))}
        if declared.get(str(column)) != kind:
            yield f"{table}.{column} is declared {declared.get(str(column))}, listed {kind}"
        geometries = [each for each in declared.values() if each in _GEOMETRIES]
        if len(geometries) != 1:
            yield f"{table} has {len(geometries)} geometry columns"
        if kind not in _GEOMETRIES or own != listed or z not in (0, 1, 2) or m not in (0, 1, 2):
            yield f"{table}: {kind}, {own}, {listed}, {z}, {m}"
    parents = {
        row[2] for row in _rows(connection, "PRAGMA foreign_key_list(gpkg_geometry_columns)")
    }
    if parents != {"gpkg_contents", "gpkg_spatial_ref_sys"}:
        yield f"gpkg_geometry_columns refers to {parents}"


CHECKS: dict[str, Check] = {
    "1": _format,
    "2": _marks,
    "3": _ending,
    "4, 10, 13, 21": _tables_of_annex_c,
    "5": _data_types,
    "6": _integrity,
    "7, 16, 26": _foreign_keys,
    "11": _reference_systems,
    "12": _used_systems,
    "14": _contents_names,
    "15": _last_change,
    "18, 29": _integer_key("features"),
    "19, 20, 32, 33, 152": _headers,
    "22 to 25, 27, 28, 30, 31, 146": _geometry_columns,
    "118, 119": _integer_key("attributes"),
}
