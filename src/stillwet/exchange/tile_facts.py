"""What a file of map tiles says of itself, and what every reader of such a file offers."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from html.parser import HTMLParser

from stillwet.errors import Problem, StillwetError, shown

DEEPEST_ZOOM = 30
MOST_TILE_BYTES = 8_000_000
MOST_WORDS = 400  # characters of a name or a credit that are kept
MOST_MARKUP = 20_000  # characters of it that are looked at
_MERCATOR_TOP_DEG = 85.0511287798066  # where the square of the world ends


@dataclass(frozen=True, slots=True)
class TileFacts:
    """Name, credit, reach in degrees (WGS 84) and zooms of one file of tiles."""

    name: str
    credit: str
    west_deg: float
    south_deg: float
    east_deg: float
    north_deg: float
    min_zoom: int
    max_zoom: int

    def covers(self, z: int, x: int, y: int) -> bool:
        """True when tile (z, x, y), y from the north, is one of this file's zooms and reach."""
        if not self.min_zoom <= z <= self.max_zoom or not (0 <= x < 1 << z and 0 <= y < 1 << z):
            return False
        west, south, east, north = tile_box_deg(z, x, y)
        return (
            west < self.east_deg
            and east > self.west_deg
            and south < self.north_deg
            and north > self.south_deg
        )


class TileReader(ABC):
    """An open file of tiles; may be asked from several threads."""

    facts: TileFacts

    def tile(self, z: int, x: int, y: int) -> bytes | None:
        """The picture of a tile, y counted from the north; None where the file has none."""
        return self._look_up(z, x, y) if self.facts.covers(z, x, y) else None

    @abstractmethod
    def _look_up(self, z: int, x: int, y: int) -> bytes | None:
        """The picture of a tile within the file's reach."""

    @abstractmethod
    def close(self) -> None:
        """Let the file go."""


def unreadable(wanted: str, got: str, place: str) -> StillwetError:
    """What is told of a file that is not whole."""
    hint = "copy it anew, or make it anew; a copy on a stick may be cut short"
    return StillwetError(Problem("tiles file", wanted, got, place, hint))


def tile_box_deg(z: int, x: int, y: int) -> tuple[float, float, float, float]:
    """West, south, east, north of a tile [deg], y from the north.

    Spherical Mercator (EPSG:3857) over the square of the world, each zoom halving the tiles: the
    "global-mercator" profile of the Tile Map Service Specification 1.0.0 (OSGeo), with rows
    counted from the top.
    """
    return (
        x / (1 << z) * 360.0 - 180.0,
        _latitude_deg((y + 1) / (1 << z)),
        (x + 1) / (1 << z) * 360.0 - 180.0,
        _latitude_deg(y / (1 << z)),
    )


def _latitude_deg(down: float) -> float:
    return math.degrees(math.atan(math.sinh(math.pi * (1.0 - 2.0 * down))))


def picture_type(raw: bytes) -> str:
    """The media type of a picture by its first bytes; empty where it is none that is drawn.

    PNG: ISO/IEC 15948, 5.2. JPEG: ITU-T T.81, B.1.1.3 (SOI and a marker). WebP: RFC 9649, 2.4.
    """
    if raw.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if raw.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if raw.startswith(b"RIFF") and raw[8:12] == b"WEBP":
        return "image/webp"
    return ""


def need_pictures(raw: bytes, place: str) -> None:
    """Raise StillwetError unless a file's tile is a picture that is drawn here."""
    if not picture_type(raw):
        got = "vector tiles" if raw.startswith(b"\x1f\x8b") else f"{raw[:8]!r} at a tile's start"
        raise StillwetError(not_drawn(got, place))


def not_drawn(got: str, place: str) -> Problem:
    """What is told of tiles that hold something else than pictures."""
    hint = "vector tiles are not drawn here; bring the same map as pictures"
    return Problem("tiles", "pictures (PNG, JPEG or WebP)", got, place, hint)


def need_box(
    box: tuple[float, float, float, float], place: str
) -> tuple[float, float, float, float]:
    """West, south, east, north in degrees, or StillwetError."""
    west, south, east, north = box
    if -180.0 <= west < east <= 180.0 and -90.0 <= south < north <= 90.0:
        return box
    wanted = "west, south, east, north in degrees, west and south first"
    raise StillwetError(Problem("bounds", wanted, shown(box), place))


def need_zooms(least: int, most: int, place: str) -> tuple[int, int]:
    """The least and the greatest zoom, or StillwetError."""
    if 0 <= least <= most <= DEEPEST_ZOOM:
        return least, most
    wanted = f"zooms from 0 to {DEEPEST_ZOOM}, the least first"
    raise StillwetError(Problem("zooms", wanted, f"{least} to {most}", place))


WORLD_DEG = (-180.0, -_MERCATOR_TOP_DEG, 180.0, _MERCATOR_TOP_DEG)


_APART = {"br", "div", "li", "p", "td"}  # tags that set words apart


class _Words(HTMLParser):
    """The words of some markup; scripts and styles are none."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self._hidden = 0

    def handle_starttag(self, tag: str, _attrs: list[tuple[str, str | None]]) -> None:
        self._hidden += tag in ("script", "style")
        self.words.append(" " * (tag in _APART))

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("script", "style")
        self.words.append(" " * (tag in _APART))

    def handle_data(self, data: str) -> None:
        if self._hidden <= 0:
            self.words.append(data)


def plain_words(text: object) -> str:
    """A name or credit as plain words: markup taken out, white space and length tamed."""
    reader = _Words()
    reader.feed(str(text or "")[:MOST_MARKUP])
    reader.close()
    words = " ".join("".join(reader.words).split())
    return "".join(one for one in words if one.isprintable())[:MOST_WORDS]


def words_of(found: Mapping[str, object], stem: str) -> tuple[str, str]:
    """Name (the file's own where it tells none) and credit from a file's metadata."""
    return plain_words(found.get("name")) or stem, plain_words(found.get("attribution"))
