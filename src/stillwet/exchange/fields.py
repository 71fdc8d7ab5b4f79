"""Fields: what one cell or key may hold, how it is read, and where it stood."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from stillwet.domain.basis import Basis, BasisKind, given
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock, read_time
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.units import from_si, is_bounded, is_unit, read_quantity, to_si

_COMPASS = (
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
)
_RISE = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(?:/|:| in )\s*(\d+(?:\.\d+)?)\s*$")  # "6/12" roof
_LABEL = re.compile(r"([A-Za-z%°]\S*)\s*$")
_YES = ("yes", "true", "y", "1")
_NO = ("no", "false", "n", "0")


@dataclass(frozen=True, slots=True)
class Cell:
    """One value as handed over: the unit its column gives, and the place for messages."""

    raw: object
    place: str
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with a unit; bounds are in ``unit`` (SI). Without a dimension it is a pure number.

    ``bare`` lets a plain number stand for degrees, or one between 0 and 1 for a fraction (never for
    mix ratios, where 0.5 is likelier half a percent).
    """

    name: str
    dimension: str
    low: float
    high: float
    unit: str = ""
    bare: bool = False

    def read(self, cell: Cell) -> float:
        """The value in SI, inside its bounds."""
        value = self._number(cell)
        if not is_bounded(value, self.low, self.high):
            got = (
                f"{cell.raw} {cell.unit or ''}".strip() if _is_plain(cell.raw) else shown(cell.raw)
            )
            wanted = self._bounds_in(_label_of(cell) or "")
            hint = "is it in another unit?" if self.dimension and value > self.high else ""
            raise StillwetError(Problem(self.name, wanted, got, cell.place, hint))
        return value

    def _bounds_in(self, label: str) -> str:
        """The bounds in the reader's own unit if it is one of ours, else in SI."""
        if not self.dimension or not is_unit(label, self.dimension):
            return f"{_short(self.low)} to {_short(self.high)} {self.unit}".strip()
        # A coat's depth may be labelled as a length: 1 mm is 1 kg/m2.
        scale = 1000.0 if self.dimension == "water_depth" and is_unit(label, "length") else 1.0
        low, high = (from_si(bound / scale, label) for bound in (self.low, self.high))
        return f"{_short(low)} to {_short(high)} {label}"

    def _number(self, cell: Cell) -> float:
        if not self.dimension:
            return _pure_number(cell, self.name)
        raw, unit = cell.raw, cell.unit
        slope = _RISE.match(raw) if isinstance(raw, str) and self.dimension == "angle" else None
        if slope is not None:
            return math.degrees(math.atan2(float(slope[1]), float(slope[2])))
        if unit is None and self.bare and self.dimension == "angle":
            unit = "deg"
        if unit is None and self.dimension == "fraction" and not self.bare and _is_plain(raw):
            raise StillwetError(
                Problem(
                    self.name,
                    "a unit after the number (%, fraction)",
                    shown(raw),
                    cell.place,
                    f'write it as "{raw} %"',
                )
            )
        return read_quantity(
            raw, dimension=self.dimension, field=self.name, place=cell.place, unit=unit
        )


def _short(value: float) -> str:
    """A number to four figures without an exponent."""
    return np.format_float_positional(value, precision=4, fractional=False, trim="-")


def _label_of(cell: Cell) -> str | None:
    """The unit written after the number, else the column's."""
    match = None if _is_plain(cell.raw) else _LABEL.search(str(cell.raw))
    return match[1] if match is not None else cell.unit


def is_labelled_by(cell: Cell, dimension: str) -> bool:
    """True when the value carries a unit of this dimension."""
    label = _label_of(cell)
    return label is not None and is_unit(label, dimension)


def _is_plain(raw: object) -> bool:
    """True for a number that carries no unit of its own."""
    try:
        return isinstance(raw, (str, int, float)) and math.isfinite(float(raw))
    except (ValueError, OverflowError):
        return False


def _pure_number(cell: Cell, name: str) -> float:
    wanted = "a number"
    if isinstance(cell.raw, bool) or not isinstance(cell.raw, (int, float, str)):
        raise StillwetError(Problem(name, wanted, shown(cell.raw), cell.place))
    try:
        return float(cell.raw)
    except (ValueError, OverflowError):
        raise StillwetError(Problem(name, wanted, shown(cell.raw), cell.place)) from None


def read_whole(cell: Cell, name: str, low: int, high: int) -> int:
    """A whole number between two bounds."""
    value = _pure_number(cell, name)
    if not is_bounded(value, low, high) or value != int(value):
        raise StillwetError(
            Problem(name, f"a whole number from {low} to {high}", shown(cell.raw), cell.place)
        )
    return int(value)


def read_text(cell: Cell, name: str) -> str:
    """Some text; a number (an id typed into a spreadsheet) becomes its digits."""
    raw = cell.raw
    if isinstance(raw, float) and raw.is_integer():
        raw = int(raw)
    is_number = type(raw) is int or (isinstance(raw, float) and math.isfinite(raw))
    if not is_number and not (isinstance(raw, str) and raw.strip()):
        raise StillwetError(Problem(name, "some text", shown(cell.raw), cell.place))
    return str(raw).strip()


def read_word(cell: Cell, name: str, words: Iterable[str]) -> str:
    """One of the allowed words, whatever its case and whether with spaces or underscores."""
    allowed = list(words)
    text = read_text(cell, name)
    for word in allowed:
        if _loose(word) == _loose(text):
            return word
    wanted = "one of " + ", ".join(allowed)
    raise StillwetError(
        Problem(name, wanted, shown(cell.raw), cell.place, nearest_hint(text, allowed))
    )


def _loose(word: str) -> str:
    return word.casefold().replace("_", " ").replace("-", " ")


def read_words(cell: Cell, name: str) -> frozenset[str]:
    """Any words, as a list or as one text with commas or semicolons between them."""
    parts = cell.raw if isinstance(cell.raw, list) else re.split("[,;]", read_text(cell, name))
    if not all(isinstance(part, str) and part.strip() for part in parts):
        wanted = 'words such as "ladder, long hose"'
        raise StillwetError(Problem(name, wanted, shown(cell.raw), cell.place))
    return frozenset(" ".join(_loose(part).split()) for part in parts)


def read_flag(cell: Cell, name: str) -> bool:
    """Yes or no."""
    text = str(cell.raw).strip().casefold()
    if text in _YES or text in _NO:
        return text in _YES
    raise StillwetError(Problem(name, "yes or no", shown(cell.raw), cell.place))


def read_bearing(cell: Cell, name: str) -> float:
    """A direction in degrees clockwise from north, from "SW", "225 deg" or a plain 225.

    Degrees need no label: the trade has no other unit for a bearing.
    """
    if isinstance(cell.raw, str) and cell.raw.strip().upper() in _COMPASS:
        return _COMPASS.index(cell.raw.strip().upper()) * 22.5
    if isinstance(cell.raw, str) and cell.raw.strip()[:1].isalpha():
        raise StillwetError(
            Problem(name, "a compass point such as SW, or degrees", shown(cell.raw), cell.place)
        )
    return Quantity(name, "angle", 0.0, 360.0, "deg", bare=True).read(cell)


@dataclass(frozen=True, slots=True)
class Default:
    """What stands for a missing value: a number in SI or a word, and where it comes from."""

    value: float | str
    basis: Basis


def row_names(table: Mapping[str, Any], label: str = "label") -> dict[str, str]:
    """Every way to write a row of a data table, its id or its label, and its id."""
    return {name: name for name in table} | {str(row[label]): name for name, row in table.items()}


def table_default(row: Mapping[str, Any], *, unit: str, dimension: str, source: str) -> Default:
    """A default from a data table's row with value, low and high in ``unit``."""

    def si(number: float) -> float:
        return to_si(number, unit, dimension=dimension) if dimension else float(number)

    kind = BasisKind(row.get("kind", BasisKind.UNTESTED.value))
    basis = Basis(kind, str(row.get("source", source)), si(row["low"]), si(row["high"]))
    return Default(si(row["value"]), basis)


@dataclass
class Picker:
    """Takes the values of one record out of its cells, noting each one's basis and every fault.

    ``failed`` is True once a value was bad or missing; the record must not be made then.
    """

    cells: Mapping[str, Cell]
    place: str
    findings: Findings
    clock: Clock
    defaults: Mapping[str, Default] = field(default_factory=dict)
    basis: dict[str, Basis] = field(default_factory=dict)
    failed: bool = False

    def has(self, name: str) -> bool:
        """True when a value was handed over for this field."""
        return name in self.cells

    def number(self, spec: Quantity) -> float:
        """A quantity in SI; NaN when it is bad or missing."""
        value = self._take(spec.name, spec.read)
        return float(value) if isinstance(value, (int, float)) else float("nan")

    def optional_number(self, spec: Quantity) -> float | None:
        """A quantity in SI, or None when nothing was handed over."""
        return self.number(spec) if self.has(spec.name) else None

    def whole(self, name: str, low: int, high: int) -> int:
        """A whole number; 0 when it is bad or missing."""
        value = self._take(name, lambda cell: read_whole(cell, name, low, high))
        return int(value) if isinstance(value, (int, float)) else 0

    def word(self, name: str, words: Iterable[str]) -> str:
        """One of the words; empty when it is bad or missing."""
        return str(self._take(name, lambda cell: read_word(cell, name, words)) or "")

    def text(self, name: str) -> str:
        """Some text; empty when it is bad or missing."""
        return str(self._take(name, lambda cell: read_text(cell, name)) or "")

    def bearing(self, name: str) -> float:
        """A direction in degrees; NaN when it is bad or missing."""
        value = self._take(name, lambda cell: read_bearing(cell, name))
        return float(value) if isinstance(value, (int, float)) else float("nan")

    def time(self, name: str) -> float:
        """Epoch seconds; NaN when bad or missing."""
        value = self._take(
            name,
            lambda cell: read_time(cell.raw, self.clock, field=name, place=cell.place),
        )
        return float(value) if isinstance(value, (int, float)) else float("nan")

    def words(self, name: str) -> frozenset[str]:
        """A set of words; empty when nothing was handed over."""
        if not self.has(name):
            return frozenset()
        value = self._take(name, lambda cell: read_words(cell, name))
        return value if isinstance(value, frozenset) else frozenset()

    def flag(self, name: str, otherwise: bool) -> bool:
        """Yes or no, or what it is otherwise."""
        if not self.has(name):
            return otherwise
        return bool(self._take(name, lambda cell: read_flag(cell, name)))

    def _take(
        self, name: str, read: Callable[[Cell], float | int | str | bool | frozenset[str]]
    ) -> float | int | str | bool | frozenset[str] | None:
        cell = self.cells.get(name)
        if cell is None:
            return self._default(name)
        before = self.findings.count
        value: float | int | str | bool | frozenset[str] | None = None
        with self.findings.catching():
            value = read(cell)
            self.basis[name] = given(cell.place)
        self.failed = self.failed or self.findings.count > before
        return value

    def _default(self, name: str) -> float | str | None:
        default = self.defaults.get(name)
        if default is None:
            self.failed = True
            self.findings.add(Problem(name, "a value", "nothing", self.place))
            return None
        self.basis[name] = default.basis
        return default.value
