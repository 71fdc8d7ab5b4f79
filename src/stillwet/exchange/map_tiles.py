"""Open a file of map tiles that somebody brings: MBTiles or PMTiles, known by its first bytes."""

from __future__ import annotations

from pathlib import Path

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange import mbtiles, pmtiles
from stillwet.exchange.tile_facts import TileReader


def open_tiles(path: Path) -> TileReader:
    """The file's reader, or StillwetError that says what is wrong with the file."""
    try:
        with path.open("rb") as file:
            begins = file.read(16)
    except OSError as error:
        got = error.strerror or str(error)
        raise StillwetError(Problem("tiles file", "a file", got, str(path))) from None
    if begins.startswith(mbtiles.MAGIC):
        return mbtiles.MbTiles(path)
    if begins.startswith(pmtiles.MAGIC):
        return pmtiles.PmTiles(path)
    wanted, got = "MBTiles 1.3 or PMTiles 3", f"a file that begins with {shown(begins[:8])}"
    hint = "a GIS writes such a file from a map or an air photo"
    raise StillwetError(Problem("tiles file", wanted, got, path.name, hint))
