"""Control lines, made of segments, and streams out of map files."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from stillwet.domain.lines import Line, LinePurpose, LineSegment, Track
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock
from stillwet.exchange.fields import Cell, Picker
from stillwet.exchange.files import Files
from stillwet.exchange.findings import Findings, note_doubles
from stillwet.exchange.ground import Ground
from stillwet.exchange.line_fields import (
    LINE_COLUMNS,
    WHOLE_LINE,
    line_defaults,
    pick_model,
    pick_purpose,
    pick_segment,
    pick_work,
    whole_line_basis,
)
from stillwet.exchange.records import FILE_KEYS, default_cells, open_table
from stillwet.exchange.tabular import Row, match_columns
from stillwet.exchange.toml_door import Section

if TYPE_CHECKING:
    from shapely.geometry import LineString


@dataclass
class _Group:
    """The features of one line in the order of the file, and what they say of the whole line."""

    identity: str
    place: str
    segments: list[LineSegment] = field(default_factory=list)
    cells: dict[str, Cell] = field(default_factory=dict)

    def take(self, cells: Mapping[str, Cell], findings: Findings) -> None:
        """Add what one feature says of the whole line; two answers to one question are a fault."""
        for name in WHOLE_LINE:
            cell = cells.get(name)
            if cell is None:
                continue
            before = self.cells.setdefault(name, cell)
            if (before.raw, before.unit) != (cell.raw, cell.unit):
                wanted = f"one {name} for the whole line {self.identity}"
                got = f"{shown(before.raw)} and {shown(cell.raw)}"
                findings.add(Problem(name, wanted, got, f"{before.place} and {cell.place}"))


def read_lines(
    section: Section | None, ground: Ground | None, files: Files, clock: Clock, findings: Findings
) -> tuple[Line, ...]:
    """The control lines of a map file, in the job's CRS; faults are noted.

    Features that name the same ``line`` are its segments, in the order of the file.
    """
    if section is None:
        return ()
    section.check_keys((*FILE_KEYS, "defaults"), findings)
    table = open_table(section, files, findings)
    if table is None:
        return ()
    matched = match_columns(table, LINE_COLUMNS, findings, section.table("columns", findings))
    fallback = default_cells(section, LINE_COLUMNS, findings)
    groups: dict[str, _Group] = {}
    for row in table.rows:
        cells = {**fallback, **matched.cells(row)}
        _add_row(groups, row, Picker(cells, row.place, findings, clock, line_defaults()), ground)
    made = [
        (group.place, line) for group in groups.values() for line in _lines(group, clock, findings)
    ]
    note_doubles(findings, ((place, line.id) for place, line in made), "line")
    return tuple(line for _, line in made)


def _add_row(groups: dict[str, _Group], row: Row, picker: Picker, ground: Ground | None) -> None:
    """One feature into its line's group."""
    identity = picker.text("id") if picker.has("id") else f"line-{row.number}"
    name = picker.text("name") if picker.has("name") else identity
    whole = picker.text("line") if picker.has("line") else identity
    group = groups.setdefault(whole, _Group(whole, row.place))
    cells = dict(picker.cells)
    if not picker.has("line") and "line_name" not in cells and picker.has("name"):
        cells["line_name"] = picker.cells["name"]
    group.take(cells, picker.findings)
    parts = line_strings(row, picker.findings)
    tracks = tuple(track_of(part, ground) for part in parts) if ground is not None else ()
    for segment in pick_segment(picker, identity=identity, name=name, tracks=tracks):
        group.segments.append(_joined(segment, group.segments, picker.findings))


def _joined(segment: LineSegment, before: list[LineSegment], findings: Findings) -> LineSegment:
    """The segment turned about when it was drawn the other way from the one before it."""
    if not before:
        return segment
    end = before[-1].track_m[-1]
    if math.dist(end, segment.track_m[0]) <= math.dist(end, segment.track_m[-1]):
        return segment
    findings.tell(f"line segment {segment.id}: drawn the other way from {before[-1].id}, turned")
    return replace(segment, track_m=segment.track_m[::-1])


def _lines(group: _Group, clock: Clock, findings: Findings) -> list[Line]:
    """The line of a group, or none when something of it is faulty (noted)."""
    picker = Picker(group.cells, group.place, findings, clock, line_defaults())
    purpose = pick_purpose(picker)
    work, model = pick_work(picker, purpose), pick_model(picker)
    name = picker.text("line_name") if picker.has("line_name") else group.identity
    if work is None or model is None or not group.segments or picker.failed:
        return []
    try:
        line = Line(
            id=group.identity,
            name=name,
            purpose=LinePurpose(purpose),
            segments=tuple(group.segments),
            work=work,
            model=model,
            note=group.segments[0].note,
            basis=whole_line_basis(picker),
        )
    except StillwetError as error:
        for problem in error.problems:
            findings.add(Problem(problem.field, problem.wanted, problem.got, group.place))
        return []
    return [line]


def read_streams(
    section: Section | None, ground: Ground | None, files: Files, findings: Findings
) -> tuple[Track, ...]:
    """The streams of a map file as tracks in the job's CRS; a pond's or river's edge counts too."""
    if section is None:
        return ()
    section.check_keys(("file", "layer", "sheet"), findings)
    table = open_table(section, files, findings)
    if table is None:
        return ()
    found = [part for row in table.rows for part in line_strings(row, findings, edges=True)]
    return tuple(track_of(part, ground) for part in found) if ground is not None else ()


def line_strings(row: Row, findings: Findings, *, edges: bool = False) -> list[LineString]:
    """The lines of a feature (with ``edges`` also those round a polygon); others are noted."""
    from shapely.geometry import LineString, MultiLineString, MultiPolygon, Polygon

    geometry = row.geometry
    if edges and isinstance(geometry, (Polygon, MultiPolygon)):
        geometry = geometry.boundary
    if isinstance(geometry, LineString):
        return [geometry]
    if isinstance(geometry, MultiLineString):
        return [part for part in geometry.geoms if not part.is_empty]
    got = "no geometry" if geometry is None else geometry.geom_type
    findings.add(Problem("geometry", "a line", got, row.place))
    return []


def track_of(part: LineString, ground: Ground) -> Track:
    """A drawn line in the job's CRS."""
    return tuple((float(x), float(y)) for x, y in ground.project(part).coords)
