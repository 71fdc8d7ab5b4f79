"""Roads out of a map file: open stretches with their speeds; closed ones are left out and told."""

from __future__ import annotations

from stillwet.domain.roads import Road
from stillwet.exchange.clock import Clock
from stillwet.exchange.fields import Picker, Quantity
from stillwet.exchange.files import Files
from stillwet.exchange.findings import Findings
from stillwet.exchange.ground import Ground
from stillwet.exchange.lines import line_strings, track_of
from stillwet.exchange.records import FILE_KEYS, open_table
from stillwet.exchange.tabular import Columns, match_columns
from stillwet.exchange.toml_door import Section

ROAD_SPEED = Quantity("road_speed", "speed", 0.1, 40.0, "m/s")
ROAD_COLUMNS = Columns(quantities={ROAD_SPEED.name: ROAD_SPEED}, words=("one_way", "closed"))


def read_roads(
    section: Section | None, ground: Ground | None, files: Files, clock: Clock, findings: Findings
) -> tuple[Road, ...]:
    """The open roads of a map file in the job's CRS; faults are noted."""
    if section is None:
        return ()
    section.check_keys(FILE_KEYS, findings)
    table = open_table(section, files, findings)
    if table is None:
        return ()
    matched = match_columns(table, ROAD_COLUMNS, findings, section.table("columns", findings))
    roads: list[Road] = []
    closed = 0
    for row in table.rows:
        picker = Picker(matched.cells(row), row.place, findings, clock)
        if picker.flag("closed", otherwise=False):
            closed += 1
            continue
        speed = picker.optional_number(ROAD_SPEED)
        one_way = picker.flag("one_way", otherwise=False)
        parts = line_strings(row, findings)
        if picker.failed or ground is None:
            continue
        roads += [Road(track_of(part, ground), speed, one_way) for part in parts]
    if closed:
        findings.tell(f"{table.name}: {closed} closed road(s) left out")
    return tuple(roads)
