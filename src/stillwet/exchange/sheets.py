"""Records on their way out: rows of labelled cells with a place on the earth, for any format."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from stillwet.domain.basis import Basis, BasisKind
from stillwet.exchange.fields import Default, Quantity
from stillwet.units import si_name

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Value = str | float | list[dict[str, str]]
Cells = dict[str, Value]
_TOLD = (BasisKind.GIVEN, BasisKind.TRIAL)


class Form(StrEnum):
    """The formats a job's lists can be written in."""

    CSV = "csv"
    XLSX = "xlsx"
    GEOJSON = "geojson"
    GPKG = "gpkg"
    GPX = "gpx"


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One record: its cells by column, and its shape in longitude, latitude if it has one."""

    cells: Cells
    shape: BaseGeometry | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One list of a job under the name of its section in the job file."""

    name: str
    rows: tuple[SheetRow, ...]

    @property
    def headers(self) -> tuple[str, ...]:
        """Every column that some row fills."""
        return tuple(dict.fromkeys(header for row in self.rows for header in row.cells))

    @property
    def is_drawn(self) -> bool:
        """True when every row has a shape, so that it can be a layer of a map."""
        return all(row.shape is not None for row in self.rows)


def label_of(spec: Quantity) -> str:
    """A column's header: the field's name with its SI unit, such as "spray_flow_m3_s"."""
    if not spec.dimension:
        return spec.name
    return f"{spec.name}_{si_name(spec.dimension).replace('/', '_')}"


def flag_word(value: bool) -> str:
    """Yes or no, as the readers take it."""
    return "yes" if value else "no"


@dataclass
class Filler:
    """Fills the cells of one record and leaves out what a reader takes by itself.

    A stated default is written nowhere, so that it is one again when the file is read; only one
    that is no longer what the reader would take is written, and its field noted in ``aged``.
    """

    defaults: Mapping[str, Default] = field(default_factory=dict)
    basis: Mapping[str, Basis] = field(default_factory=dict)
    cells: Cells = field(default_factory=dict)
    aged: list[str] = field(default_factory=list)

    def number(self, spec: Quantity, value: float | None) -> None:
        """A quantity in SI under a header that names its unit; None is left out."""
        if value is not None and not self._is_taken(spec.name, value):
            self.cells[label_of(spec)] = float(value)

    def number_unless_zero(self, spec: Quantity, value: float) -> None:
        """A quantity that is nothing where the list does not tell it."""
        self.number(spec, value if value or self.is_told(spec.name) else None)

    def plain(self, name: str, value: float | None) -> None:
        """A number that has no unit, or a bearing in degrees."""
        if value is not None and not self._is_taken(name, value):
            self.cells[name] = float(value)

    def word(self, name: str, value: str) -> None:
        """Some text; an empty one is left out."""
        if value and not self._is_taken(name, value):
            self.cells[name] = value

    def flag(self, name: str, value: bool | None, *, otherwise: bool | None = None) -> None:
        """Yes or no; None, or what the reader takes without it, is left out unless it was told."""
        if value is not None and (value != otherwise or self.is_told(name)):
            self.cells[name] = flag_word(value)

    def words(self, name: str, values: Iterable[str]) -> None:
        """A set of words with commas between; an empty one is left out."""
        self.word(name, ", ".join(sorted(values)))

    def is_told(self, name: str) -> bool:
        """True when the value was handed over or fitted, not taken."""
        return name in self.basis and self.basis[name].kind in _TOLD

    def _is_taken(self, name: str, value: float | str) -> bool:
        default = self.defaults.get(name)
        is_default = default is not None and default.value == value
        if not is_default and name in self.basis and not self.is_told(name):
            self.aged.append(name)
        return is_default and not self.is_told(name)
