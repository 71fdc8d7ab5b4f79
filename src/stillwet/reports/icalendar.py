"""iCalendar text (RFC 5545): values escaped, lines folded, moments in UTC."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime

from stillwet.reports.words import clean

_LINE_OCTETS = 75  # section 3.1: no line longer, without its break


def calendar_text(product: str, name: str, events: Iterable[str]) -> str:
    """A whole calendar of these lines of events; lines end in CRLF and are folded."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:-//Stillwet//{product}//EN"]
    lines += ["CALSCALE:GREGORIAN", "METHOD:PUBLISH", f"X-WR-CALNAME:{escaped(name)}"]
    lines += [*events, "END:VCALENDAR"]
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def utc(time_s: float) -> str:
    """A moment (section 3.3.5, form 2), cut to the second."""
    return datetime.fromtimestamp(math.floor(time_s), UTC).strftime("%Y%m%dT%H%M%SZ")


def escaped(text: str) -> str:
    """Text as a value (section 3.3.11): backslash, semicolon, comma and line break escaped."""
    kept = "\n".join(clean(line) for line in text.split("\n"))
    for plain, shown in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        kept = kept.replace(plain, shown)
    return kept


def _folded(line: str) -> Iterator[str]:
    """The line in pieces of at most 75 octets, never inside a character; all but the first
    begin with a space.
    """
    piece, size = "", 0
    for character in line:
        octets = len(character.encode("utf-8", "replace"))
        if size + octets > _LINE_OCTETS:
            yield piece
            piece, size = " ", 1
        piece, size = piece + character, size + octets
    yield piece
