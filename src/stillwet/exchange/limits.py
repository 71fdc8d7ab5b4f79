"""How large a file may be: past these sizes a reader says so instead of filling the memory.

Measured so that no reader needs 500 MB (tests/unit/exchange/test_sizes.py). A job is far smaller.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from stillwet.errors import Problem, StillwetError

MEGABYTE = 1_000_000
MOST_TREE_BYTES = 10 * MEGABYTE  # JSON and GPX: read whole into a tree many times their size
MOST_TOML_BYTES = MEGABYTE
MOST_TEXT_BYTES = 60 * MEGABYTE  # CSV
MOST_YEAR_BYTES = 20 * MEGABYTE  # a typical year is 2 MB
MOST_CELLS = 1_000_000  # filled cells of a table
MOST_LINE_LETTERS = 1_000_000  # of one line of CSV
MOST_LINES = 1_200_000  # rows of a table, blank ones too: a sheet has 1 048 576
MOST_UNPACKED_BYTES = 300 * MEGABYTE  # of a workbook, which is a packed folder
MOST_FEATURES = 50_000  # of a map layer


def need_size(content: bytes, most: int, *, name: str, key: str, hint: str = "") -> None:
    """Raise unless a file is small enough to be read."""
    if len(content) > most:
        wanted = f"at most {most / MEGABYTE:g} MB of this kind of file"
        got = f"{len(content) / MEGABYTE:.1f} MB"
        raise StillwetError(Problem(key, wanted, got, name, hint or "keep what the job needs"))


def need_few(count: int, *, name: str, key: str) -> None:
    """Raise unless a map file has few enough features."""
    if count > MOST_FEATURES:
        wanted, hint = f"at most {MOST_FEATURES:,} features", "cut it to the job's area"
        raise StillwetError(Problem(key, wanted, "more", name, hint))


def counted(
    lines: Iterable[Iterable[Any]], *, name: str, key: str
) -> Iterator[tuple[int, list[Any]]]:
    """The lines that hold anything, with their numbers; raises when there are too many."""
    cells = 0
    for number, raw in enumerate(lines, start=1):
        line = list(raw)
        filled = sum(cell is not None and cell != "" for cell in line)
        cells += filled
        if cells > MOST_CELLS or number > MOST_LINES:
            wanted = f"a table of at most {MOST_CELLS:,} filled cells"
            got = f"more by row {number}"
            raise StillwetError(Problem(key, wanted, got, name, "keep what the job needs"))
        if filled:
            yield number, line
