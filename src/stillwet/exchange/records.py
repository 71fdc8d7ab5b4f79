"""Lists in the job file or beside it: [[crew]] tables, TOML, CSV, XLSX, map files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from stillwet.errors import Problem
from stillwet.exchange.fields import Cell
from stillwet.exchange.files import Files
from stillwet.exchange.findings import Findings
from stillwet.exchange.geo import need_degrees, shape_of_text
from stillwet.exchange.tabular import Columns, Row, Table, match_columns, read_table
from stillwet.exchange.toml_door import Section, load_toml, sections_of
from stillwet.exchange.vector import ENDINGS, read_features

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TABLE_ENDINGS = (".csv", ".txt", ".tsv", ".xlsx")
TRACK = "track"  # the column of a table that holds a line as well-known text, in degrees
FILE_KEYS = ("file", "layer", "sheet", "columns")


@dataclass(frozen=True, slots=True)
class Loose:
    """One row of any list: its cells by field, its place, its geometry if it has one."""

    place: str
    cells: Mapping[str, Cell]
    geometry: BaseGeometry | None = None


def open_table(section: Section, files: Files, findings: Findings) -> Table | None:
    """The table or map file a section names, or None when there is none to be had (noted)."""
    name = section.text("file", findings)
    if name is None:
        if "file" not in section.values:
            findings.add(Problem("file", "the name of a file", "nothing", section.place))
        return None
    key = f"{section.label} file"
    suffix = PurePath(name).suffix.lower()
    if suffix not in (*ENDINGS, *TABLE_ENDINGS):
        wanted = "a file ending in " + ", ".join((*TABLE_ENDINGS, *ENDINGS))
        findings.add(Problem(key, wanted, repr(name), section.place))
        return None
    with findings.catching():
        content = files.read(name, key=key)
        if suffix in ENDINGS:
            layer = section.text("layer", findings)
            return read_features(content, name=name, key=key, findings=findings, layer=layer)
        sheet = section.text("sheet", findings)
        return _with_tracks(read_table(content, name=name, key=key, sheet=sheet), findings)
    return None


def default_cells(section: Section, columns: Columns, findings: Findings) -> dict[str, Cell]:
    """What a section's ``defaults`` say of every row that says nothing itself."""
    told = section.table("defaults", findings)
    given = Section("defaults", f"{section.place} defaults", told)
    given.check_keys(columns.names, findings)
    return given.cells(columns.names)


def _with_tracks(table: Table, findings: Findings) -> Table:
    """The table with what its column of tracks draws as the rows' geometry."""
    if TRACK not in table.headers:
        return table
    rows = []
    for row in table.rows:
        with findings.catching():
            rows.append(_drawn(row))
    headers = tuple(header for header in table.headers if header != TRACK)
    return replace(table, headers=headers, rows=tuple(rows))


def _drawn(row: Row) -> Row:
    text = row.values.get(TRACK)
    if text is None:
        return row
    shape = shape_of_text(str(text), field=TRACK, place=row.place)
    need_degrees(shape, row.place)
    values = {header: value for header, value in row.values.items() if header != TRACK}
    return replace(row, values=values, geometry=shape)


def read_list(
    section: Section | None,
    inline: list[Section],
    columns: Columns,
    *,
    label: str,
    files: Files,
    findings: Findings,
) -> list[Loose]:
    """The rows of a list: the job's own [[label]] tables, then those of the file it names."""
    rows = [_from_section(own, columns, findings) for own in inline]
    if section is None:
        return rows
    section.check_keys(FILE_KEYS, findings)
    name = section.values.get("file")
    if isinstance(name, str) and PurePath(name).suffix.lower() == ".toml":
        return rows + _from_toml(name, section, columns, label, files, findings)
    table = open_table(section, files, findings)
    if table is None:
        return rows
    matched = match_columns(table, columns, findings, section.table("columns", findings))
    return rows + [Loose(row.place, matched.cells(row), row.geometry) for row in table.rows]


def _from_toml(
    name: str,
    section: Section,
    columns: Columns,
    label: str,
    files: Files,
    findings: Findings,
) -> list[Loose]:
    data: dict[str, Any] = {}
    with findings.catching():
        key = f"{section.label} file"
        data = load_toml(files.read(name, key=key), name=name, key=key)
        if label not in data:
            findings.add(Problem(key, f"tables headed [[{label}]]", "none", name))
    found = sections_of(data, label, name=name, findings=findings)
    return [_from_section(own, columns, findings) for own in found]


def _from_section(section: Section, columns: Columns, findings: Findings) -> Loose:
    section.check_keys(columns.names, findings)
    return Loose(section.place, section.cells(columns.names))
