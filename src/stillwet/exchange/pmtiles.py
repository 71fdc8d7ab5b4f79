"""Reader of PMTiles 3 (open specification): map tiles in one file with directories, pictures only.

Every length that the file tells is held against the file's own size and against a bound before it
is believed, so that a bad file can neither lead outside itself nor fill the memory.
"""

from __future__ import annotations

import json
import struct
import threading
import zlib
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.tile_facts import (
    MOST_TILE_BYTES,
    TileFacts,
    TileReader,
    need_box,
    need_pictures,
    need_zooms,
    not_drawn,
    unreadable,
    words_of,
)

MAGIC = b"PMTiles"
_VERSION = 3
_HEADER = struct.Struct("<7sB11Q6B4iB2i")  # 127 bytes
_NONE, _GZIP = 1, 2
_COMPRESSIONS = {0: "unknown", _NONE: "none", _GZIP: "gzip", 3: "brotli", 4: "zstd"}
_KINDS = {0: "unknown", 1: "vector tiles (MVT)", 2: "PNG", 3: "JPEG", 4: "WebP", 5: "AVIF"}
_PICTURES = (2, 3, 4)
_DEEPEST = 4  # directories below one another
_MOST_DIRECTORY_BYTES = 8_000_000  # unpacked; some two million entries
_MOST_ENTRIES = 500_000
_MOST_WORDS_BYTES = 4_000_000
_KEPT_LEAVES = 32


@dataclass(frozen=True, slots=True)
class _Header:
    """The parts of the header that are needed here, by the names of the specification."""

    root: tuple[int, int]  # offset, length
    words: tuple[int, int]
    leaves_at: int
    tiles_at: int
    packed: int  # how directories and words are compressed
    tiles_packed: int
    kind: int
    zooms: tuple[int, int]
    box_deg: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class _Directory:
    """Entries by column: first tile id, how many tiles in a row, length, offset."""

    ids: list[int]
    runs: list[int]
    lengths: list[int]
    offsets: list[int]


class PmTiles(TileReader):
    """An open PMTiles file."""

    def __init__(self, path: Path) -> None:
        """Raise StillwetError unless the file is whole enough to draw from."""
        self._place, self._lock = path.name, threading.Lock()
        self._leaf = lru_cache(_KEPT_LEAVES)(self._read_directory)
        try:
            self._file, self._size = path.open("rb"), path.stat().st_size
        except OSError as error:
            raise self._bad("a file that can be read", error.strerror or "none") from None
        try:
            self._head = self._read_header()
            self._root = self._read_directory(*self._head.root)
            self.facts = self._read_facts(path.stem)
            self._need_a_picture()
        except BaseException:
            self._file.close()
            raise

    def _look_up(self, z: int, x: int, y: int) -> bytes | None:
        spot = self._find(tile_id(z, x, y))
        return None if spot is None else self._picture(*spot)

    def close(self) -> None:
        """Let the file go."""
        self._file.close()

    def _find(self, wanted: int) -> tuple[int, int] | None:
        """Offset and length of a tile among the tiles; None where there is none."""
        directory = self._root
        for _ in range(_DEEPEST):
            at = bisect_right(directory.ids, wanted) - 1
            if at < 0:
                return None
            offset, length = directory.offsets[at], directory.lengths[at]
            if directory.runs[at]:
                is_in = wanted - directory.ids[at] < directory.runs[at]
                return (offset, length) if is_in else None
            directory = self._leaf(self._head.leaves_at + offset, length)
        raise self._bad(f"directories at most {_DEEPEST} deep", "deeper ones")

    def _picture(self, offset: int, length: int) -> bytes:
        raw = self._read(self._head.tiles_at + offset, length, MOST_TILE_BYTES)
        return self._unpacked(raw, self._head.tiles_packed, MOST_TILE_BYTES)

    def _need_a_picture(self) -> None:
        directory = self._root
        for _ in range(_DEEPEST):
            if not directory.ids:
                raise StillwetError(Problem("tiles", "at least one", "none", self._place))
            if directory.runs[0]:
                raw = self._picture(directory.offsets[0], directory.lengths[0])
                need_pictures(raw, self._place)
                return
            at = self._head.leaves_at + directory.offsets[0]
            directory = self._leaf(at, directory.lengths[0])

    def _read_header(self) -> _Header:
        raw = self._read(0, _HEADER.size, _HEADER.size)
        magic, version, *rest = _HEADER.unpack(raw)
        if magic != MAGIC or version != _VERSION:
            raise self._bad(f"PMTiles of version {_VERSION}", f"version {version}")
        offsets, marks, corners = rest[:11], rest[11:17], rest[17:21]
        root_at, root, words_at, words, leaves_at, _leaves, tiles_at, *_ = offsets
        west, south, east, north = (one / 1e7 for one in corners)
        _clustered, packed, tiles_packed, kind, least, most = marks
        return _Header(
            (root_at, root),
            (words_at, words),
            leaves_at,
            tiles_at,
            packed,
            tiles_packed,
            kind,
            (least, most),
            (west, south, east, north),
        )

    def _read_facts(self, stem: str) -> TileFacts:
        head = self._head
        if head.kind not in _PICTURES:
            raise StillwetError(not_drawn(_KINDS.get(head.kind, str(head.kind)), self._place))
        box = need_box(head.box_deg, self._place)
        zooms = need_zooms(*head.zooms, self._place)
        return TileFacts(*words_of(self._read_words(), stem), *box, *zooms)

    def _read_words(self) -> dict[str, Any]:
        offset, length = self._head.words
        if not length:
            return {}
        packed = self._read(offset, length, _MOST_WORDS_BYTES)
        raw = self._unpacked(packed, self._head.packed, _MOST_WORDS_BYTES)
        try:
            found = json.loads(raw)
        except (ValueError, RecursionError):
            raise self._bad("metadata in JSON", shown(raw[:20])) from None
        return found if isinstance(found, dict) else {}

    def _read_directory(self, offset: int, length: int) -> _Directory:
        packed = self._read(offset, length, _MOST_DIRECTORY_BYTES)
        raw = self._unpacked(packed, self._head.packed, _MOST_DIRECTORY_BYTES)
        try:
            return _directory_of(raw)
        except (IndexError, ValueError):
            raise self._bad("sound directories", f"a broken one at byte {offset}") from None

    def _read(self, offset: int, length: int, most: int) -> bytes:
        if length > most or offset + length > self._size:
            got = f"{length} bytes at byte {offset} of {self._size}"
            raise self._bad("parts that lie within the file", got)
        try:
            with self._lock:
                self._file.seek(offset)
                raw = self._file.read(length)
        except (OSError, ValueError) as error:  # ValueError: it was closed
            raise self._bad("a file that can be read", shown(str(error))) from None
        if len(raw) != length:
            raise self._bad(f"{length} bytes at byte {offset}", f"{len(raw)}: it is cut short")
        return raw

    def _unpacked(self, raw: bytes, how: int, most: int) -> bytes:
        if how == _NONE:
            return raw
        if how != _GZIP:
            raise self._bad("compression none or gzip", _COMPRESSIONS.get(how, str(how)))
        unpack = zlib.decompressobj(wbits=31)
        try:
            found = unpack.decompress(raw, most)
        except zlib.error as error:
            raise self._bad("sound gzip", str(error)) from None
        if unpack.unconsumed_tail or not unpack.eof:
            raise self._bad(f"whole gzip of at most {most} bytes", "more, or a part")
        return found

    def _bad(self, wanted: str, got: str) -> StillwetError:
        return unreadable(wanted, got, self._place)


def tile_id(z: int, x: int, y: int) -> int:
    """The number of a tile: all coarser zooms first, then along the Hilbert curve of its own.

    PMTiles 3, "Tile ID".
    """
    number, side = ((1 << (2 * z)) - 1) // 3, 1 << z
    half = side >> 1
    while half:
        is_east, is_south = int(bool(x & half)), int(bool(y & half))
        number += half * half * ((3 * is_east) ^ is_south)
        if not is_south:
            if is_east:
                x, y = side - 1 - x, side - 1 - y
            x, y = y, x
        half >>= 1
    return number


def _directory_of(raw: bytes) -> _Directory:
    """PMTiles 3, "Directories": columns of varints, ids by difference, 0 for "right after"."""
    count, at = _varint(raw, 0)
    if count > _MOST_ENTRIES:
        raise ValueError
    columns: list[list[int]] = []
    for _ in range(4):
        column = []
        for _ in range(count):
            value, at = _varint(raw, at)
            column.append(value)
        columns.append(column)
    steps, runs, lengths, told = columns
    ids: list[int] = []
    offsets: list[int] = []
    for n, (step, offset) in enumerate(zip(steps, told, strict=True)):
        ids.append((ids[-1] if ids else 0) + step)
        follows = n > 0 and not offset
        offsets.append(offsets[n - 1] + lengths[n - 1] if follows else _less_one(offset))
    return _Directory(ids, runs, lengths, offsets)


def _less_one(offset: int) -> int:
    if not offset:
        raise ValueError
    return offset - 1


def _varint(raw: bytes, at: int) -> tuple[int, int]:
    """A number in sevens of bits, lowest first, and where the next one begins."""
    value = shift = 0
    while True:
        byte = raw[at]
        at += 1
        value |= (byte & 0x7F) << shift
        if byte < 0x80:
            return value, at
        shift += 7
        if shift > 63:
            raise ValueError
