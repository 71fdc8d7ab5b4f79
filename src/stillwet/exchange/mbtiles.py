"""Reader of MBTiles 1.3 (open specification): map tiles in an SQLite file, pictures only.

Only looks: the file is opened read-only, and whatever it has in place of the two tables (the
specification allows views) is asked within bounds of work and size.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.tile_facts import (
    MOST_TILE_BYTES,
    WORLD_DEG,
    TileFacts,
    TileReader,
    need_box,
    need_pictures,
    need_zooms,
    not_drawn,
    unreadable,
    words_of,
)

MAGIC = b"SQLite format 3\x00"
_COLUMNS = {
    "metadata": {"name", "value"},
    "tiles": {"zoom_level", "tile_column", "tile_row", "tile_data"},
}
_KEYS = ("name", "format", "bounds", "minzoom", "maxzoom", "attribution")
_MOST_STEPS = 200  # of a thousand instructions each: a sound look-up needs far less than one
_MOST_STEPS_AT_START = 200_000  # a look over all rows of a large file without its zooms
_PICTURES = {"png", "jpg", "jpeg", "webp"}
_A_TILE = "SELECT tile_data FROM tiles WHERE zoom_level = ? AND tile_column = ? AND tile_row = ?"


class MbTiles(TileReader):
    """An open MBTiles file."""

    def __init__(self, path: Path) -> None:
        """Raise StillwetError unless the file is whole enough to draw from."""
        self._place, self._lock, self._steps_left = path.name, threading.Lock(), 0
        with self._telling():
            self._connection = _connect(path)
        self._connection.set_progress_handler(self._is_too_much, 1000)
        try:
            with self._asking(_MOST_STEPS_AT_START):
                self.facts = self._read_facts(path.stem)
        except BaseException:
            self._connection.close()
            raise

    def _look_up(self, z: int, x: int, y: int) -> bytes | None:
        with self._asking(_MOST_STEPS):  # the file counts rows from the south
            row = self._connection.execute(_A_TILE, (z, x, (1 << z) - 1 - y)).fetchone()
        return bytes(row[0]) if row and isinstance(row[0], bytes) and row[0] else None

    def close(self) -> None:
        """Let the file go."""
        with self._lock:
            self._connection.close()

    def _read_facts(self, stem: str) -> TileFacts:
        for table, wanted in _COLUMNS.items():
            self._need_columns(table, wanted)
        marks = ", ".join("?" * len(_KEYS))
        rows = self._connection.execute(
            f"SELECT name, value FROM metadata WHERE name IN ({marks})",
            _KEYS,
        )
        found = {str(name): value for name, value in rows.fetchmany(100)}
        self._need_drawn(str(found.get("format") or ""))
        box = need_box(self._box(found.get("bounds")), self._place)
        zooms = need_zooms(*self._zooms(found), self._place)
        return TileFacts(*words_of(found, stem), *box, *zooms)

    def _need_columns(self, table: str, wanted: set[str]) -> None:
        named = self._connection.execute("SELECT name FROM pragma_table_info(?)", (table,))
        if not wanted <= {str(row[0]) for row in named}:
            told = f"a table {table} with {', '.join(sorted(wanted))} (MBTiles 1.3)"
            raise StillwetError(Problem("tiles file", told, "none", self._place))

    def _need_drawn(self, told: str) -> None:
        kind = told.lower().rpartition("/")[2].strip()
        if kind and kind not in _PICTURES:
            raise StillwetError(not_drawn(f"format {shown(told)}", self._place))
        row = self._connection.execute("SELECT tile_data FROM tiles LIMIT 1").fetchone()
        if row is None:
            raise StillwetError(Problem("tiles", "at least one", "none", self._place))
        need_pictures(bytes(row[0]) if isinstance(row[0], bytes) else b"", self._place)

    def _box(self, told: object) -> tuple[float, float, float, float]:
        if told is None or not str(told).strip():
            return WORLD_DEG
        try:
            west, south, east, north = (float(part) for part in str(told).split(","))
        except ValueError:
            wanted = "four numbers with commas: west, south, east, north in degrees"
            raise StillwetError(Problem("bounds", wanted, shown(told), self._place)) from None
        return west, south, east, north

    def _zooms(self, found: dict[str, object]) -> tuple[int, int]:
        told = [found.get("minzoom"), found.get("maxzoom")]
        if None in told:
            sql = "SELECT min(zoom_level), max(zoom_level) FROM tiles"
            told = [
                seen if said is None else said
                for said, seen in zip(told, self._connection.execute(sql).fetchone(), strict=True)
            ]
        try:
            least, most = (int(str(one)) for one in told)
        except ValueError:
            wanted = "whole numbers minzoom and maxzoom"
            got = " and ".join(shown(one) for one in told)
            raise StillwetError(Problem("zooms", wanted, got, self._place)) from None
        return least, most

    @contextmanager
    def _asking(self, most_steps: int) -> Iterator[None]:
        """One at a time, told in words, and never for ever."""
        with self._lock, self._telling():
            self._steps_left = most_steps
            yield

    @contextmanager
    def _telling(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            wanted = "an MBTiles file that can be read"
            raise unreadable(wanted, shown(str(error)), self._place) from None

    def _is_too_much(self) -> bool:
        """True gives the question up: asked every thousand instructions of it."""
        self._steps_left -= 1
        return self._steps_left < 0


def _connect(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode=ro",
        uri=True,
        isolation_level=None,
        check_same_thread=False,  # one lock stands before every question
    )
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, MOST_TILE_BYTES)
    connection.setlimit(sqlite3.SQLITE_LIMIT_ATTACHED, 0)
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA query_only = ON")
    return connection
