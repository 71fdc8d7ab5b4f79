"""Control lines and streams out of map files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stillwet.domain.assets import Line, LinePurpose
from stillwet.errors import Problem
from stillwet.exchange.clock import Clock
from stillwet.exchange.fields import Picker, Quantity
from stillwet.exchange.files import Files
from stillwet.exchange.findings import Findings
from stillwet.exchange.ground import Ground
from stillwet.exchange.records import FILE_KEYS, open_table
from stillwet.exchange.tabular import Columns, Row, match_columns
from stillwet.exchange.toml_door import Section

if TYPE_CHECKING:
    from shapely.geometry import LineString

WIDTH = Quantity("width", "length", 0.1, 100.0, "m")
LINE_COLUMNS = Columns(quantities={"width": WIDTH}, words=("id", "name", "purpose", "note"))
Track = tuple[tuple[float, float], ...]


def read_lines(
    section: Section | None, ground: Ground | None, files: Files, clock: Clock, findings: Findings
) -> tuple[Line, ...]:
    """The control lines of a map file, in the job's CRS; faults are noted."""
    if section is None:
        return ()
    section.check_keys((*FILE_KEYS, "defaults"), findings)
    table = open_table(section, files, findings)
    if table is None:
        return ()
    matched = match_columns(table, LINE_COLUMNS, findings, section.table("columns", findings))
    given = section.table("defaults", findings)
    fallback = Section("defaults", f"{section.place} defaults", given)
    fallback.check_keys(LINE_COLUMNS.names, findings)
    lines = []
    for row in table.rows:
        cells = {**fallback.cells(LINE_COLUMNS.names), **matched.cells(row)}
        picker = Picker(cells, row.place, findings, clock)
        lines.extend(_lines_of(row, picker, ground))
    return tuple(lines)


def _lines_of(row: Row, picker: Picker, ground: Ground | None) -> list[Line]:
    identity = picker.text("id") if picker.has("id") else f"line-{row.number}"
    name = picker.text("name") if picker.has("name") else identity
    purpose = picker.word("purpose", [word.value for word in LinePurpose])
    width_m = picker.number(WIDTH)
    note = picker.text("note") if picker.has("note") else ""
    parts = _strings(row, picker.findings)
    if picker.failed or ground is None:
        return []
    made = []
    for index, part in enumerate(parts, start=1):
        suffix = f"-{index}" if len(parts) > 1 else ""
        with picker.findings.catching():
            made.append(
                Line(
                    id=identity + suffix,
                    name=name,
                    purpose=LinePurpose(purpose),
                    track_m=_track(part, ground),
                    width_m=width_m,
                    note=note,
                )
            )
    return made


def read_streams(
    section: Section | None, ground: Ground | None, files: Files, findings: Findings
) -> tuple[Track, ...]:
    """The streams of a map file as tracks in the job's CRS; a pond's or river's edge counts too."""
    if section is None:
        return ()
    section.check_keys(("file", "layer"), findings)
    table = open_table(section, files, findings)
    if table is None:
        return ()
    found = [part for row in table.rows for part in _strings(row, findings, edges=True)]
    return tuple(_track(part, ground) for part in found) if ground is not None else ()


def _strings(row: Row, findings: Findings, *, edges: bool = False) -> list[LineString]:
    from shapely.geometry import LineString, MultiLineString, MultiPolygon, Polygon

    geometry = row.geometry
    if edges and isinstance(geometry, (Polygon, MultiPolygon)):
        geometry = geometry.boundary
    if isinstance(geometry, LineString):
        return [geometry]
    if isinstance(geometry, MultiLineString):
        return list(geometry.geoms)
    got = "no geometry" if geometry is None else geometry.geom_type
    findings.add(Problem("geometry", "a line", got, row.place))
    return []


def _track(part: LineString, ground: Ground) -> Track:
    return tuple((float(x), float(y)) for x, y in ground.project(part).coords)
