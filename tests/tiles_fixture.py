"""Files of map tiles, built by the open specifications, for tests of what reads and draws them."""

from __future__ import annotations

import sqlite3
import struct
import zlib
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path

Spot = tuple[int, int, int]  # zoom, column, row from the north
Tiles = Mapping[Spot, bytes]
GREEN, RED = (30, 160, 60), (190, 40, 30)


def make_png(colour: tuple[int, int, int], side: int = 256) -> bytes:
    """A square picture of one colour (ISO/IEC 15948: signature, IHDR, IDAT, IEND)."""
    rows = (b"\0" + bytes(colour) * side) * side
    head = struct.pack(">2I5B", side, side, 8, 2, 0, 0, 0)
    parts = (b"IHDR", head), (b"IDAT", zlib.compress(rows)), (b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in parts
    )


def write_mbtiles(path: Path, tiles: Tiles, **words: str) -> Path:
    """A file by MBTiles 1.3: two tables, rows of tiles counted from the south (TMS)."""
    told = {"name": "Invented ground", "format": "png"} | words
    with closing(sqlite3.connect(path)) as made, made:
        made.execute("CREATE TABLE metadata (name text, value text)")
        made.execute(
            "CREATE TABLE tiles (zoom_level integer, tile_column integer, tile_row integer, "
            "tile_data blob)"
        )
        made.execute("CREATE UNIQUE INDEX spot ON tiles (zoom_level, tile_column, tile_row)")
        made.executemany("INSERT INTO metadata VALUES (?, ?)", told.items())
        rows = [(z, x, 2**z - 1 - y, raw) for (z, x, y), raw in tiles.items()]
        made.executemany("INSERT INTO tiles VALUES (?, ?, ?, ?)", rows)
    return path


def write_pmtiles(path: Path, tiles: Tiles, **words: object) -> Path:
    """A file by the specification's own library; ``words`` go into its header or its metadata."""
    from pmtiles.tile import Compression, TileType, zxy_to_tileid
    from pmtiles.writer import write

    zooms = [z for z, _, _ in tiles]
    header = {
        "tile_type": TileType.PNG,
        "tile_compression": Compression.NONE,
        "min_zoom": min(zooms),
        "max_zoom": max(zooms),
        "min_lon_e7": -1800000000,
        "min_lat_e7": -850000000,
        "max_lon_e7": 1800000000,
        "max_lat_e7": 850000000,
        "center_zoom": 0,
        "center_lon_e7": 0,
        "center_lat_e7": 0,
    }
    told = {"name": "Invented ground"} | {k: v for k, v in words.items() if k not in header}
    with write(str(path)) as writer:
        for spot, raw in sorted(tiles.items(), key=lambda one: zxy_to_tileid(*one[0])):
            writer.write_tile(zxy_to_tileid(*spot), raw)
        header |= {k: v for k, v in words.items() if k in header}
        writer.finalize(header, told)
    return path
