"""Keeping sees every kind of change, and nothing where there is none."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from enum import Enum
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from kept import keeping
from kept.keeping import assert_kept, compare, keep, load
from kept.plain import to_plain


class _Colour(Enum):
    RED = "r"
    BLUE = "b"


@dataclass(frozen=True)
class _Row:
    name: str
    depth: float | None
    colour: _Colour = _Colour.RED


@dataclass(frozen=True, eq=False)
class _Record:
    rows: tuple[_Row, ...]
    by_colour: dict[_Colour, int]
    table: Any
    is_dry: bool | int = True
    count: int = 3
    size: float = 0.1


def _record() -> _Record:
    rows = tuple(_Row(f"row {n}", None if n == 3 else n / 7) for n in range(30))
    return _Record(rows, {_Colour.BLUE: 2}, np.arange(60.0).reshape(3, 20) ** 2)


def _changed_row(number: int, **changes: Any) -> _Record:
    rows = list(_record().rows)
    rows[number] = replace(rows[number], **changes)
    return replace(_record(), rows=tuple(rows))


def _swapped() -> Any:
    table = _record().table.copy()
    table[1, 3], table[2, 3] = table[2, 3], table[1, 3]
    return table


CHANGES = {
    "a number": replace(_record(), size=0.1 * (1 + 1e-5)),
    "a count": replace(_record(), count=4),
    "a truth": replace(_record(), is_dry=False),
    "a truth become a number": replace(_record(), is_dry=1),
    "an entry": replace(_record(), by_colour={_Colour.BLUE: 2, _Colour.RED: 0}),
    "a depth among thirty": _changed_row(10, depth=1.5),
    "a depth gone": _changed_row(10, depth=None),
    "a name among thirty": _changed_row(10, name="rows"),
    "a choice among thirty": _changed_row(10, colour=_Colour.BLUE),
    "one row less": replace(_record(), rows=_record().rows[:-1]),
    "two cells that changed places": replace(_record(), table=_swapped()),
    "another shape": replace(_record(), table=_record().table.reshape(4, 15)),
}


@pytest.mark.parametrize("changed", CHANGES.values(), ids=CHANGES.keys())
def test_a_change_is_told(changed: _Record) -> None:
    """Of whatever kind; and nothing is told of the record itself, or of rounding."""
    kept = to_plain(_record())
    assert compare(kept, to_plain(_record())) == []
    assert compare(kept, to_plain(replace(_record(), size=0.1 * (1 + 1e-8)))) == []
    assert compare(kept, to_plain(changed))


def test_a_difference_names_its_place() -> None:
    """The path in the record, what was kept and what came."""
    one: Any = to_plain({"walls": [_Row("n", 1.0)]})
    other = to_plain({"walls": [_Row("n", 1.5)]})
    assert compare(one, other) == ["walls[0].depth: kept 1.0, came 1.5"]
    assert compare(one, {}) == [
        "walls: kept [{'name': 'n', 'depth': 1.0, 'colour': 'RED'}], came nothing"
    ]
    assert compare(one["walls"], [*one["walls"], None]) == ["[1]: kept nothing, came None"]


def test_numbers_that_json_lacks_are_words() -> None:
    """NaN and the infinities; numbers are kept to nine digits, days as they are written."""
    row = [float("nan"), float("inf"), -np.inf, np.float64(1 / 3), np.int64(2), date(2031, 8, 1)]
    assert to_plain(row) == ["nan", "inf", "-inf", 0.333333333, 2, "2031-08-01"]


def test_what_nobody_can_keep_is_refused() -> None:
    """A function, or the kind of a record, has no numbers to keep."""
    with pytest.raises(TypeError, match="can be kept, got function"):
        to_plain({"made by": _record})
    with pytest.raises(TypeError, match="can be kept, got type"):
        to_plain(_Row)


def test_what_is_kept_is_found_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Kept, read and compared; a second keeping tells what changed and leaves the rest."""
    monkeypatch.setattr(keeping, "FOLDER", tmp_path)
    load.cache_clear()
    answers: dict[str, Any] = {"whole": _record, "row": lambda: _Row("n", 1.0)}
    assert keep("room", "group", answers) == ["whole: new", "row: new"]
    assert_kept("room", "group", "whole", _record())
    with pytest.raises(AssertionError, match=r"row in room/group:\ndepth: kept 1.0, came 2.0"):
        assert_kept("room", "group", "row", _Row("n", 2.0))
    with pytest.raises(AssertionError, match="nothing is kept of 'new' in room/group: run python"):
        assert_kept("room", "group", "new", _record())
    answers = {"whole": lambda: replace(_record(), size=0.1 * (1 + 1e-8)), "new": _record}
    written = (tmp_path / "room" / "group.json").read_text(encoding="utf-8")
    assert keep("room", "group", answers) == ["row: gone", "new: new"]
    assert compare(load("room", "group")["whole"], to_plain(_record()), relative=0.0) == []
    assert max(map(len, written.splitlines())) < 200
    load.cache_clear()
