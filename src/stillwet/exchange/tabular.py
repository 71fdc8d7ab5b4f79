"""Tables as people keep them: CSV and spreadsheets become rows of labelled cells."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.fields import Cell, Quantity
from stillwet.exchange.files import decode_text
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.exchange.guard import unguarded
from stillwet.exchange.limits import MOST_LINE_LETTERS, MOST_TEXT_BYTES, counted, need_size
from stillwet.exchange.workbook import sheet_lines
from stillwet.units import is_unit, names_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_DECIMAL_COMMA = re.compile(r"^\s*[-+]?\d+,\d+(?:[eE][-+]?\d+)?(?:\s*[^\d\s.,].*)?\s*$")
_GROUPED = re.compile(r"^(\s*[-+]?\d{1,3}(?:\.\d{3})+),(?=\d)")
_BRACKETED = re.compile(r"^(.*?)\s*[\[(]\s*([^\])]*?)\s*[\])]$")
_LINES = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")
_DELIMITERS = ",;\t"
_MOST_TITLES = 5
_SURE = 0.85  # a column name this like a missing field's is taken for a slip of the pen


@dataclass(frozen=True, slots=True)
class Row:
    """One row or feature: its raw values by column, the place for messages, and its geometry."""

    number: int
    place: str
    values: Mapping[str, object]
    geometry: BaseGeometry | None = None  # longitude, latitude in degrees (WGS 84)


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of one file with its column names as written; ``noun`` is "row" or "feature"."""

    name: str
    noun: str
    headers: tuple[str, ...]
    rows: tuple[Row, ...]
    remarks: tuple[str, ...] = ()  # what was passed over
    has_decimal_commas: bool = False
    header_row: int = 1
    width: int = 0  # columns that hold anything, also those without a name


def read_csv(content: bytes, *, name: str, key: str) -> Table:
    """A CSV file with one header row: comma, semicolon or tab between, decimal commas with ";"."""
    need_size(content, MOST_TEXT_BYTES, name=name, key=key)
    text = decode_text(content, name=name, key=key)
    delimiter = delimiter_of(text)
    csv.field_size_limit(MOST_LINE_LETTERS)  # a long track is one cell; the lines are bounded
    reader = csv.reader(text_lines(text), delimiter=delimiter, strict=True)
    try:
        table = _as_table(reader, name=name, key=key)
    except csv.Error as error:
        place = f"{name}, line {reader.line_num}"
        hint = "is a quotation mark left open, or one inside a cell not doubled?"
        raise StillwetError(Problem(key, "a CSV file", str(error), place, hint)) from None
    return replace(table, has_decimal_commas=delimiter == ";")


def delimiter_of(text: str) -> str:
    """What stands between the cells of a CSV text: looked for in the first line that has any."""
    lines = (line[0] for line in _LINES.finditer(text))
    first = next((line for line in lines if any(mark in line for mark in _DELIMITERS)), "")
    return max(_DELIMITERS, key=first.count)


def text_lines(text: str) -> Iterator[str]:
    """The lines with their ends, one at a time."""
    for match in _LINES.finditer(text):
        if match.end() - match.start() > MOST_LINE_LETTERS:
            raise csv.Error(f"a line of more than {MOST_LINE_LETTERS:,} letters")
        yield match[0]


def read_xlsx(content: bytes, *, name: str, key: str, sheet: str | None = None) -> Table:
    """One sheet of a spreadsheet (the first, unless named) with one header row."""
    return _as_table(sheet_lines(content, name=name, key=key, sheet=sheet), name=name, key=key)


def read_table(content: bytes, *, name: str, key: str, sheet: str | None = None) -> Table:
    """A table from CSV or XLSX, by the file's ending."""
    if PurePath(name).suffix.lower() == ".xlsx":
        return read_xlsx(content, name=name, key=key, sheet=sheet)
    return read_csv(content, name=name, key=key)


def _as_table(lines: Iterable[Iterable[Any]], *, name: str, key: str) -> Table:
    """Header and rows; a title above the header is passed over, and that is said."""
    kept = [
        (number, line)
        for number, line in counted(lines, name=name, key=key)
        if any(not is_blank(cell) for cell in line)
    ]
    if not kept:
        raise StillwetError(Problem(key, "a header row and rows", "an empty file", name))
    titles = _titles(kept)
    (header_row, head), kept = kept[titles], kept[titles + 1 :]
    headers = tuple("" if is_blank(cell) else str(cell).strip() for cell in head)
    rows = tuple(
        Row(number, f"{name}, row {number}", _by_header(headers, line)) for number, line in kept
    )
    if not rows:
        raise StillwetError(Problem(key, "at least one row below the header", "none", name))
    told = [f"{name}: {titles} line(s) above the header passed over"] if titles else []
    nameless = _nameless(headers, kept)
    if nameless:
        letters = ", ".join(column_letter(index) for index in nameless[:10])
        told.append(
            f"{name}: columns without a header not used: {letters} (a header merged over several "
            "columns names only the first)"
        )
    width = max(len(headers), *(index + 1 for index in nameless), 0)
    return Table(name, "row", headers, rows, tuple(told), header_row=header_row, width=width)


def _titles(kept: list[tuple[int, list[Any]]]) -> int:
    """How many lines of a single cell stand above a header of several."""
    alone = [sum(not is_blank(cell) for cell in line) == 1 for _, line in kept[: _MOST_TITLES + 1]]
    first = alone.index(False) if False in alone else 0
    return first if first <= _MOST_TITLES else 0


def _nameless(headers: tuple[str, ...], kept: list[tuple[int, list[Any]]]) -> list[int]:
    """The columns that hold values under no name of their own."""
    filled = {
        index
        for _, line in kept
        for index, cell in enumerate(line)
        if not (index < len(headers) and headers[index]) and not is_blank(cell)
    }
    return sorted(filled)


def column_letter(index: int) -> str:
    """A column as spreadsheets call it: A, B, ..., Z, AA."""
    head, tail = divmod(index, 26)
    return (column_letter(head - 1) if head else "") + chr(ord("A") + tail)


def _by_header(headers: tuple[str, ...], line: list[Any]) -> dict[str, object]:
    return {
        header: _plain(cell)
        for header, cell in zip(headers, line, strict=False)
        if header and not is_blank(cell)
    }


def _plain(cell: Any) -> object:
    if isinstance(cell, str):
        return unguarded(cell.strip())
    if isinstance(cell, date) and not isinstance(cell, datetime):
        return datetime.combine(cell, time())
    return cell


def is_blank(cell: object) -> bool:
    """True for an empty cell."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


@dataclass(frozen=True)
class Columns:
    """The fields a table may hold: those with units, and those that are words, flags or times."""

    quantities: Mapping[str, Quantity]
    words: tuple[str, ...]
    required: tuple[str, ...] = ()
    bearings: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Every field name."""
        return (*self.quantities, *self.words, *self.bearings)

    def dimension(self, name: str) -> str:
        """The dimension of a field, or an empty text for one that has none."""
        if name in self.bearings:
            return "angle"
        return self.quantities[name].dimension if name in self.quantities else ""


@dataclass
class Matched:
    """Which column of a table feeds which field, and the unit its header gives."""

    headers: dict[str, str] = field(default_factory=dict)  # field -> header
    units: dict[str, str | None] = field(default_factory=dict)
    refused: set[str] = field(default_factory=set)  # named, but faulty: not to be missed as well
    with_commas: set[str] = field(default_factory=set)  # fields whose numbers have decimal commas

    def cells(self, row: Row) -> dict[str, Cell]:
        """The row's values by field."""
        return {
            name: self.cell(name, row)
            for name, header in self.headers.items()
            if not is_blank(row.values.get(header))
        }

    def cell(self, name: str, row: Row) -> Cell:
        """The row's value of one field; None where it is blank."""
        raw = row.values.get(self.headers[name])
        if name in self.with_commas and isinstance(raw, str):
            raw = _point_for_comma(raw)
        return Cell(raw, row.place, self.units[name])


def _point_for_comma(text: str) -> str:
    """1,5 and 1.234,5 as 1.5 and 1234.5; anything else as it is."""
    if grouped := _GROUPED.match(text):
        return grouped[1].replace(".", "") + "." + text[grouped.end() :]
    return text.replace(",", ".", 1) if _DECIMAL_COMMA.match(text) else text


def match_columns(
    table: Table, columns: Columns, findings: Findings, mapping: Mapping[str, Any] | None = None
) -> Matched:
    """Find each field's column: by the job's mapping first, then by the header's own words.

    A header is a field's name, with spaces or hyphens for underscores if wished, and with its unit
    in brackets ("eave height [ft]") or after an underscore ("eave_height_ft").
    """
    matched = Matched()
    if table.has_decimal_commas:
        matched.with_commas.update(columns.quantities, columns.bearings)
    for remark in table.remarks:
        findings.tell(remark)
    _use_mapping(matched, table, columns, mapping or {}, findings)
    left = [header for header in table.headers if header not in matched.headers.values()]
    left = list(dict.fromkeys(left))
    unused = [
        header for header in left if not _use_header(matched, header, columns, table, findings)
    ]
    _look_at_unused([header for header in unused if header], matched, columns, table, findings)
    for name in columns.required:
        if name not in matched.headers and name not in matched.refused:
            got = "columns " + ", ".join(header for header in table.headers if header)
            hint = f'name the column, or map it with columns = {{ {name} = "your column" }}'
            findings.add(Problem(name, "a column of this name", shown(got, 200), table.name, hint))
    return matched


def _use_mapping(
    matched: Matched,
    table: Table,
    columns: Columns,
    mapping: Mapping[str, Any],
    findings: Findings,
) -> None:
    for name, target in mapping.items():
        parts = target if isinstance(target, dict) else {"column": target}
        header, unit = parts.get("column"), parts.get("unit")
        matched.refused.add(name)
        if name not in columns.names:
            wanted = "one of " + ", ".join(columns.names)
            hint = nearest_hint(name, columns.names)
            findings.add(Problem("columns", wanted, shown(name), table.name, hint))
        elif strange := sorted(parts.keys() - {"column", "unit"}):
            wanted, hint = "column and unit alone", nearest_hint(strange[0], ("column", "unit"))
            findings.add(Problem(name, wanted, shown(strange[0]), table.name, hint))
        elif header not in table.headers:
            wanted = "one of the file's columns " + ", ".join(table.headers)
            hint = nearest_hint(str(header), table.headers)
            findings.add(Problem(name, shown(wanted, 300), shown(header), table.name, hint))
        elif table.headers.count(str(header)) > 1:
            findings.add(_doubled(name, str(header), table))
        elif unit is not None and not is_unit(str(unit), columns.dimension(name)):
            findings.add(_bad_unit(name, columns, unit, table.name))
        else:
            matched.refused.remove(name)
            label = None if unit is None else str(unit)
            _assign(matched, name, label, header, table.name, findings)


def _assign(
    matched: Matched, name: str, unit: str | None, header: str, place: str, findings: Findings
) -> None:
    if name in matched.headers:
        got = f"columns {shown(matched.headers[name])} and {shown(header)}"
        findings.add(Problem(name, "one column", got, place))
        return
    matched.headers[name] = header
    matched.units[name] = unit


def _doubled(name: str, header: str, table: Table) -> Problem:
    """A header that stands over several columns: which one counts is not ours to guess."""
    where = [column_letter(at) for at, own in enumerate(table.headers) if own == header]
    got = f"{shown(header)} over columns {' and '.join(where)}"
    return Problem(name, "one column", got, table.name, "rename the others")


def _bad_unit(name: str, columns: Columns, unit: object, place: str) -> Problem:
    dimension = columns.dimension(name)
    wanted = f"a unit of {dimension} ({names_of(dimension)})" if dimension else "no unit"
    return Problem(name, wanted, shown(unit), place)


def _use_header(
    matched: Matched, header: str, columns: Columns, table: Table, findings: Findings
) -> bool:
    """Take a header by its own words; False when it names no field."""
    name, unit = _split_header(header)
    if name not in columns.names:
        found = _with_unit_suffix(name, columns) if unit is None else None
        if found is not None and table.headers.count(header) > 1:
            findings.add(_doubled(found[0], header, table))
            matched.refused.add(found[0])
        elif found is not None:
            _assign(matched, *found, header, table.name, findings)
        return found is not None
    if unit is not None and not is_unit(unit, columns.dimension(name)):
        findings.add(_bad_unit(name, columns, unit, f"{table.name}, column {shown(header)}"))
        matched.refused.add(name)
    elif table.headers.count(header) > 1:
        findings.add(_doubled(name, header, table))
        matched.refused.add(name)
    else:
        _assign(matched, name, unit, header, table.name, findings)
    return True


def _split_header(header: str) -> tuple[str, str | None]:
    """Name and bracketed unit of a header."""
    bracketed = _BRACKETED.match(header)
    if bracketed is None:
        return _normal(header), None
    return _normal(bracketed[1]), bracketed[2]


def _with_unit_suffix(name: str, columns: Columns) -> tuple[str, str] | None:
    for known in sorted(columns.names, key=len, reverse=True):
        if not name.startswith(known + "_"):
            continue
        suffix = name.removeprefix(known + "_")
        for unit in (suffix, suffix.replace("_", "/", 1), suffix.replace("_", "")):
            if is_unit(unit, columns.dimension(known)):
                return known, unit
    return None


def _normal(header: str) -> str:
    return re.sub(r"[\s\-]+", "_", header.strip().lower())


def _look_at_unused(
    unused: list[str], matched: Matched, columns: Columns, table: Table, findings: Findings
) -> None:
    import difflib

    told = matched.refused.union(matched.headers)
    missing = [name for name in columns.names if name not in told]
    spare: list[str] = []
    for header in unused:
        name, _ = _split_header(header)
        close = [known for known in missing if name.startswith(known + "_")]
        close = close or difflib.get_close_matches(name, missing, n=1, cutoff=_SURE)
        if close:
            hint = f'did you mean "{close[0]}"?'
            wanted = "a field's name with a unit of its kind"
            findings.add(Problem("column", wanted, shown(header), table.name, hint))
        else:
            spare.append(header)
    if spare:
        findings.tell(f"{table.name}: columns not used: {', '.join(spare)}")
