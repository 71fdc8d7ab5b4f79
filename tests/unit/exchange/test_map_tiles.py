"""Files of map tiles: MBTiles 1.3 and PMTiles 3, against readers and writers from elsewhere."""

from __future__ import annotations

import io
import random
import sqlite3
import struct
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from pathlib import Path

import numpy as np
import pyproj
import pytest
import rasterio
from PIL import Image
from pmtiles.reader import MmapSource, Reader
from pmtiles.tile import Compression, TileType, zxy_to_tileid
from rasterio.transform import Affine

from stillwet.errors import StillwetError
from stillwet.exchange.map_tiles import open_tiles
from stillwet.exchange.pmtiles import tile_id
from stillwet.exchange.tile_facts import TileReader, picture_type, plain_words, tile_box_deg
from tiles_fixture import GREEN, RED, Tiles, make_png, write_mbtiles, write_pmtiles

WORLD = {(1, x, y): make_png((40 + 80 * x, 60, 40 + 80 * y), 8) for x in (0, 1) for y in (0, 1)}
WRITERS: dict[str, Callable[..., Path]] = {
    "ground.mbtiles": write_mbtiles,
    "ground.pmtiles": write_pmtiles,
}


Opens = Callable[[Path], TileReader]


@pytest.fixture
def opens() -> Iterator[Opens]:
    """Opens files of tiles, and lets them all go at the end."""
    with ExitStack() as stack:

        def open_one(path: Path) -> TileReader:
            reader = open_tiles(path)
            stack.callback(reader.close)
            return reader

        yield open_one


def _told(path: Path) -> str:
    with pytest.raises(StillwetError) as told:
        open_tiles(path)
    return str(told.value)


@pytest.mark.parametrize("name", WRITERS)
def test_tiles_come_from_where_they_were_put(tmp_path: Path, opens: Opens, name: str) -> None:
    """Each of the four quarters of the world has its own picture; other zooms have none."""
    reader = opens(WRITERS[name](tmp_path / name, WORLD))
    assert {spot: reader.tile(*spot) for spot in WORLD} == WORLD
    assert reader.tile(0, 0, 0) is None
    assert reader.tile(2, 0, 0) is None
    assert reader.tile(1, 2, 0) is None
    assert reader.tile(1, 0, -1) is None


def test_mbtiles_stand_where_gdal_puts_them(tmp_path: Path) -> None:
    """Outside check: GDAL's MBTiles driver finds each colour at the same place on the ground."""
    tiles = {
        (3, x, y): make_png((20 + 30 * x, 20 + 30 * y, 90)) for x in range(8) for y in range(8)
    }
    path = write_mbtiles(tmp_path / "ground.mbtiles", tiles, minzoom="3", maxzoom="3")
    with rasterio.open(path) as other:
        for x, y in ((0, 0), (5, 2), (7, 7), (2, 6)):
            west, south, east, north = tile_box_deg(3, x, y)
            to_m = pyproj.Transformer.from_crs("EPSG:4326", other.crs, always_xy=True)
            (seen,) = other.sample([to_m.transform((west + east) / 2, (south + north) / 2)])
            assert tuple(seen[:3]) == (20 + 30 * x, 20 + 30 * y, 90)


def test_a_file_that_gdal_wrote_is_read(tmp_path: Path, opens: Opens) -> None:
    """Outside check the other way: GDAL writes a red square of ground; its facts and tile come."""
    west, south, east, north = tile_box_deg(10, 212, 388)
    to_m = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True)
    box = (*to_m.transform(west, south), *to_m.transform(east, north))
    squares = Affine((box[2] - box[0]) / 256, 0, box[0], 0, (box[1] - box[3]) / 256, box[3])
    path = tmp_path / "ground.mbtiles"
    with rasterio.open(
        path, "w", driver="MBTiles", width=256, height=256, count=3, dtype="uint8",
        crs="EPSG:3857", transform=squares, NAME="Red square",
    ) as made:  # fmt: skip
        made.write(np.full((3, 256, 256), np.array(RED, "u1")[:, None, None]))
    reader = opens(path)
    assert (reader.facts.name, reader.facts.min_zoom, reader.facts.max_zoom) == (
        "Red square",
        10,
        10,
    )
    assert reader.facts.west_deg == pytest.approx(west, abs=1e-4)
    assert reader.facts.north_deg == pytest.approx(north, abs=1e-4)
    raw = reader.tile(10, 212, 388)
    assert raw is not None
    assert Image.open(io.BytesIO(raw)).convert("RGB").getpixel((128, 128)) == RED


def test_tile_boxes_are_squares_of_mercator_by_proj() -> None:
    """Outside check: PROJ's EPSG:3857 gives each box the world's side over 2^z, from its edge."""
    to_m = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True)
    half = np.pi * 6378137.0  # EPSG:3857: the sphere of WGS 84's semi-major axis
    for z, x, y in ((0, 0, 0), (4, 3, 9), (14, 3413, 6210)):
        west, south, east, north = tile_box_deg(z, x, y)
        side = 2 * half / 2**z
        assert to_m.transform(west, south) == pytest.approx(
            (x * side - half, half - (y + 1) * side)
        )
        assert to_m.transform(east, north) == pytest.approx(
            ((x + 1) * side - half, half - y * side)
        )


def test_tile_numbers_are_those_of_the_other_library() -> None:
    """Outside check: the Hilbert number of a tile by the specification's own library."""
    draw = random.Random(3)
    for z in range(27):
        for _ in range(40):
            x, y = draw.randrange(1 << z), draw.randrange(1 << z)
            assert tile_id(z, x, y) == zxy_to_tileid(z, x, y)


def test_many_tiles_with_leaf_directories(tmp_path: Path, opens: Opens) -> None:
    """20,000 tiles need directories below the root; every answer is the other library's."""
    draw = random.Random(5)
    tiles = {(9, n % 256, n // 256): draw.randbytes(draw.randrange(9, 99)) for n in range(20000)}
    tiles[9, 0, 0] = make_png(GREEN)
    path = write_pmtiles(tmp_path / "many.pmtiles", tiles)
    reader = opens(path)
    with path.open("rb") as file:
        other = Reader(MmapSource(file))
        assert other.header()["leaf_directory_length"] > 0
        for _ in range(300):
            spot = (9, draw.randrange(512), draw.randrange(512))
            assert reader.tile(*spot) == other.get(*spot) == tiles.get(spot)


def test_one_picture_for_a_run_of_sea(tmp_path: Path, opens: Opens) -> None:
    """Equal pictures in a row are one entry of the directory, and each tile still has its own."""
    tiles = {(4, x, y): make_png(GREEN, 2) for x in range(16) for y in range(16)}
    reader = opens(write_pmtiles(tmp_path / "sea.pmtiles", tiles))
    assert all(reader.tile(*spot) == raw for spot, raw in tiles.items())


@pytest.mark.parametrize("name", WRITERS)
def test_nothing_comes_from_outside_the_bounds(tmp_path: Path, opens: Opens, name: str) -> None:
    """A file that says it reaches only over the north-east has nothing to show elsewhere."""
    bounds: dict[str, object] = {"bounds": "10.5,20.5,30,40"}
    if name.endswith("pmtiles"):
        corners = ("min_lon_e7", "min_lat_e7", "max_lon_e7", "max_lat_e7")
        bounds = dict(zip(corners, (105000000, 205000000, 300000000, 400000000), strict=True))
    reader = opens(WRITERS[name](tmp_path / name, WORLD, **bounds))
    assert (reader.facts.west_deg, reader.facts.north_deg) == (10.5, 40.0)
    assert reader.tile(1, 1, 0) == WORLD[1, 1, 0]
    assert [reader.tile(*spot) for spot in ((1, 0, 0), (1, 0, 1), (1, 1, 1))] == [None] * 3


def test_metadata_gives_name_zooms_and_a_credit_without_markup(
    tmp_path: Path, opens: Opens
) -> None:
    """What the specification lets a file tell; the credit's markup is taken out."""
    credit = '&copy; Invented <a href="https://x.invalid">Survey</a><script>bad()</script>'
    path = write_mbtiles(
        tmp_path / "a.mbtiles", WORLD, minzoom="1", maxzoom="4", attribution=credit, name="Hill\0s"
    )
    facts = opens(path).facts
    assert (facts.min_zoom, facts.max_zoom) == (1, 4)
    assert facts.credit == "© Invented Survey"
    assert facts.name == "Hills"
    packed = write_pmtiles(tmp_path / "b.pmtiles", WORLD, attribution=credit)
    assert opens(packed).facts.credit == "© Invented Survey"


def test_a_file_without_a_name_is_called_as_the_file(tmp_path: Path, opens: Opens) -> None:
    """No name, no zooms: the file's own name, and the zooms of its tiles."""
    facts = opens(write_mbtiles(tmp_path / "creek side.mbtiles", WORLD, name="")).facts
    assert (facts.name, facts.min_zoom, facts.max_zoom) == ("creek side", 1, 1)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            {"format": "pbf"},
            "tiles: wanted pictures (PNG, JPEG or WebP), got format 'pbf' (a.mbtiles)",
        ),
        ({"bounds": "1,2,3"}, "bounds: wanted four numbers with commas"),
        ({"bounds": "30,2,3,4"}, "bounds: wanted west, south, east, north in degrees"),
        ({"bounds": "nan,2,3,4"}, "bounds: wanted west, south, east, north in degrees"),
        ({"minzoom": "low"}, "zooms: wanted whole numbers minzoom and maxzoom"),
        ({"minzoom": "7", "maxzoom": "2"}, "zooms: wanted zooms from 0 to 30, the least first"),
        ({"maxzoom": "99"}, "zooms: wanted zooms from 0 to 30"),
    ],
)
def test_bad_metadata_is_told(tmp_path: Path, words: dict[str, str], told: str) -> None:
    """Each fault in words: what was wanted, what came, in which file."""
    found = _told(write_mbtiles(tmp_path / "a.mbtiles", WORLD, **words))
    assert found.startswith(told)
    assert "(a.mbtiles)" in found


def _cut(path: Path, keep: float) -> Path:
    raw = path.read_bytes()
    path.write_bytes(raw[: int(len(raw) * keep)])
    return path


def _with(path: Path, at: int, raw: bytes) -> Path:
    whole = bytearray(path.read_bytes())
    whole[at : at + len(raw)] = raw
    path.write_bytes(whole)
    return path


BAD: dict[str, tuple[Callable[[Path], Path], str]] = {
    "text": (lambda f: _named(f / "a.mbtiles", b"no tiles"), "MBTiles 1.3 or PMTiles 3"),
    "empty": (lambda f: _named(f / "a.mbtiles", b""), "MBTiles 1.3 or PMTiles 3"),
    "absent": (lambda f: f / "a.mbtiles", "wanted a file"),
    "folder": (lambda f: f, "wanted a file"),
    "no tables": (lambda f: _other_database(f / "a.mbtiles"), "a table metadata with name, value"),
    "no tile": (lambda f: write_mbtiles(f / "a.mbtiles", {}), "tiles: wanted at least one"),
    "vector": (
        lambda f: write_mbtiles(f / "a.mbtiles", {(0, 0, 0): b"\x1f\x8b12"}, format=""),
        "got vector tiles",
    ),
    "no picture": (
        lambda f: write_mbtiles(f / "a.mbtiles", {(0, 0, 0): b"<svg onload=x>"}),
        "wanted pictures",
    ),
    "cut database": (lambda f: _cut(write_mbtiles(f / "a.mbtiles", WORLD), 0.6), "can be read"),
    "cut archive": (lambda f: _cut(write_pmtiles(f / "a.pmtiles", WORLD), 0.2), "within the file"),
    "vector archive": (
        lambda f: write_pmtiles(f / "a.pmtiles", WORLD, tile_type=TileType.MVT),
        "got vector tiles (MVT)",
    ),
    "old archive": (
        lambda f: _with(write_pmtiles(f / "a.pmtiles", WORLD), 7, b"\2"),
        "PMTiles of version 3, got version 2",
    ),
    "archive packed otherwise": (
        lambda f: _with(write_pmtiles(f / "a.pmtiles", WORLD), 97, b"\4"),
        "compression none or gzip, got zstd",
    ),
    "archive that leads outside": (
        lambda f: _with(write_pmtiles(f / "a.pmtiles", WORLD), 16, struct.pack("<Q", 2**63)),
        "parts that lie within the file",
    ),
}


def _named(path: Path, raw: bytes) -> Path:
    path.write_bytes(raw)
    return path


def _other_database(path: Path) -> Path:
    with closing(sqlite3.connect(path)) as made, made:
        made.execute("CREATE TABLE notes (text)")
    return path


@pytest.mark.parametrize("case", BAD)
def test_bad_files_are_told(tmp_path: Path, case: str) -> None:
    """No file brings a traceback, and each message says what was wanted."""
    make, told = BAD[case]
    assert told in _told(make(tmp_path))


def test_no_byte_of_an_archive_brings_a_traceback(tmp_path: Path) -> None:
    """Each byte of header and root turned over: a sound reader, or the one error of the house."""
    tiles: Tiles = {(z, 0, 0): make_png(GREEN, 2) for z in range(4)}
    path = write_pmtiles(tmp_path / "a.pmtiles", tiles)
    raw, refused = path.read_bytes(), 0
    for at in range(200):
        _with(path, at, bytes([raw[at] ^ 0xFF]))
        try:
            reader = open_tiles(path)
            reader.tile(2, 0, 0)
            reader.close()
        except StillwetError:
            refused += 1
        _named(path, raw)
    assert refused > 50


def test_gzip_that_unfolds_is_not_unfolded(tmp_path: Path) -> None:
    """A root directory of 40 kB that would unpack to 40 MB is refused."""
    import gzip

    path = write_pmtiles(tmp_path / "a.pmtiles", WORLD)
    bomb = gzip.compress(bytes(40_000_000))
    end = path.stat().st_size
    _with(path, 8, struct.pack("<2Q", end, len(bomb)))
    path.write_bytes(path.read_bytes() + bomb)
    assert "whole gzip of at most" in _told(path)


def test_tiles_packed_by_gzip_are_unpacked(tmp_path: Path, opens: Opens) -> None:
    """An archive may pack each tile as well."""
    import gzip

    packed = {spot: gzip.compress(raw) for spot, raw in WORLD.items()}
    path = write_pmtiles(tmp_path / "a.pmtiles", packed, tile_compression=Compression.GZIP)
    assert opens(path).tile(1, 1, 0) == WORLD[1, 1, 0]


def test_a_view_that_never_ends_is_given_up(tmp_path: Path, opens: Opens) -> None:
    """The specification lets a view stand for the tiles; one that counts for ever is stopped."""
    path = write_mbtiles(tmp_path / "a.mbtiles", WORLD, minzoom="0", maxzoom="3")
    with closing(sqlite3.connect(path)) as made, made:
        made.execute("ALTER TABLE tiles RENAME TO held")
        made.execute(
            "CREATE VIEW tiles AS SELECT * FROM held UNION ALL SELECT 9, 9, count(*), NULL FROM ("
            "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i FROM n)"
        )
    reader = opens(path)
    begun = time.monotonic()
    with pytest.raises(StillwetError, match="interrupted"):
        reader.tile(3, 0, 0)
    assert time.monotonic() - begun < 10.0


def test_the_file_is_only_looked_at(tmp_path: Path, opens: Opens) -> None:
    """Opened from a folder and a file that cannot be written to, and not a byte is changed."""
    path = write_mbtiles(tmp_path / "a b%20#?.mbtiles", WORLD)
    before = path.read_bytes()
    reader = opens(path)
    assert reader.tile(1, 0, 0) == WORLD[1, 0, 0]
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_pictures_are_known_by_their_bytes() -> None:
    """First bytes by ISO/IEC 15948, ITU-T T.81 and RFC 9649; everything else is none."""
    assert picture_type(make_png(GREEN, 1)) == "image/png"
    assert picture_type(b"\xff\xd8\xff\xe0\0\x10JFIF") == "image/jpeg"
    assert picture_type(b"RIFF\x24\0\0\0WEBPVP8 ") == "image/webp"
    for other in (b"", b"<svg>", b"<html>", b"GIF89a", b"RIFF\x24\0\0\0WAVE", b"\x1f\x8b"):
        assert picture_type(other) == ""


def test_words_are_tamed() -> None:
    """Entities become letters, white space one blank, and length has an end."""
    assert plain_words("<b>A</b>, B<br>C&amp;\n\tD") == "A, B C& D"
    assert plain_words(None) == ""
    assert len(plain_words("x" * 10_000)) == 400
