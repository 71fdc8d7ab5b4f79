"""What makes an SQLite file a GeoPackage: its marks, geometries and reference systems.

Source: OGC 12-128r18, GeoPackage Encoding Standard 1.3.1; R numbers below are its requirements.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]
Ring: TypeAlias = Sequence[Point]

APPLICATION_ID = 0x47504B47  # "GPKG", R2
STANDARD_VERSION = 10301  # 1.3.1, R2
_OWN_SRS_ID = 100_000  # of a reference system that no authority numbers

_MAGIC, _VERSION = b"GP", 0
_LITTLE_ENDIAN, _WITH_ENVELOPE = 0b1, 0b10  # flags: byte order, and the envelope of kind 1 (xy)
_WKB_POINT, _WKB_LINE, _WKB_POLYGON = 1, 2, 3


def point_blob(at: Point, srs_id: int) -> bytes:
    """A point (R19): header without envelope, then well-known binary."""
    return _header(srs_id) + _shape(_WKB_POINT) + struct.pack("<2d", *at)


def line_blob(track: Ring, srs_id: int) -> bytes:
    """A line through the points."""
    return _header(srs_id, track) + _shape(_WKB_LINE) + _points(track)


def polygon_blob(ring: Ring, srs_id: int) -> bytes:
    """A polygon without holes from its outer ring, which is closed here."""
    closed = [*ring, ring[0]]
    return _header(srs_id, ring) + _shape(_WKB_POLYGON) + struct.pack("<I", 1) + _points(closed)


def _header(srs_id: int, around: Ring | None = None) -> bytes:
    flags = _LITTLE_ENDIAN | (0 if around is None else _WITH_ENVELOPE)
    head = _MAGIC + struct.pack("<BBi", _VERSION, flags, srs_id)
    return head if around is None else head + struct.pack("<4d", *_envelope(around))


def _envelope(points: Ring) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), max(xs), min(ys), max(ys)


def _shape(kind: int) -> bytes:
    return struct.pack("<BI", 1, kind)


def _points(points: Ring) -> bytes:
    flat = [value for point in points for value in point]
    return struct.pack(f"<I{len(flat)}d", len(points), *flat)


@dataclass(frozen=True, slots=True)
class ReferenceSystem:
    """One row of gpkg_spatial_ref_sys."""

    srs_id: int
    name: str
    organization: str
    organization_id: int
    definition: str


# R11: the three that every GeoPackage has.
REQUIRED_SYSTEMS = (
    ReferenceSystem(-1, "Undefined Cartesian SRS", "NONE", -1, "undefined"),
    ReferenceSystem(0, "Undefined geographic SRS", "NONE", 0, "undefined"),
    ReferenceSystem(
        4326,
        "WGS 84 geodetic",
        "EPSG",
        4326,
        'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,'
        'AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,'
        'AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],'
        'AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]',
    ),
)


def reference_system(crs: str) -> ReferenceSystem:
    """The reference system of a job's CRS ("EPSG:32612"), its definition as WKT 1."""
    from pyproj import CRS

    found = CRS.from_user_input(crs)
    authority = found.to_authority(min_confidence=100)
    definition = found.to_wkt("WKT1_GDAL")
    if authority is not None and authority[1].isdigit():
        number = int(authority[1])
        return ReferenceSystem(number, found.name, authority[0], number, definition)
    return ReferenceSystem(_OWN_SRS_ID, found.name, "NONE", _OWN_SRS_ID, definition)


def extent(points: Sequence[Point]) -> tuple[float, float, float, float] | None:
    """Lowest x and y, highest x and y of a layer, or None when there is nothing in it."""
    sound = [(x, y) for x, y in points if math.isfinite(x) and math.isfinite(y)]
    if not sound:
        return None
    west, east, south, north = _envelope(sound)
    return west, south, east, north
