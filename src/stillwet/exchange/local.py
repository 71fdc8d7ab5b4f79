"""The local rules of a job, and the wells, springs and cisterns that gel has to stay away from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from stillwet.domain.suitability import Delivery, LocalRules, Well
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock
from stillwet.exchange.fields import Cell, Picker, Quantity, read_words
from stillwet.exchange.findings import Findings, note_doubles
from stillwet.exchange.ground import Ground
from stillwet.exchange.positions import POSITION_QUANTITIES, middle_of
from stillwet.exchange.records import Loose
from stillwet.exchange.tabular import Columns
from stillwet.exchange.toml_door import Section

GROUND_BUFFER = Quantity("ground_buffer", "length", 0.0, 5000.0, "m")
WELL_BUFFER = Quantity("well_buffer", "length", 0.0, 5000.0, "m")
WIND_LIMIT = Quantity("wind_limit", "speed", 0.0, 60.0, "m/s")
LOCAL_KEYS = (
    "ground_buffer",
    "well_buffer",
    "wind_limit",
    "approved",
    "delivery",
    "foam_in_equipment",
)
WELL_KINDS = ("well", "spring", "cistern")
WELL_COLUMNS = Columns(quantities=POSITION_QUANTITIES, words=("id", "name", "kind"))


def read_local(section: Section | None, clock: Clock, findings: Findings) -> LocalRules | None:
    """The [local] table, all unknown without one; None when it has a fault (noted)."""
    if section is None:
        return LocalRules()
    section.check_keys(LOCAL_KEYS, findings)
    picker = Picker(section.cells(LOCAL_KEYS), section.place, findings, clock)
    before = findings.count
    values: dict[str, Any] = {
        "ground_buffer_m": picker.optional_number(GROUND_BUFFER),
        "well_buffer_m": picker.optional_number(WELL_BUFFER),
        "wind_limit_m_s": picker.optional_number(WIND_LIMIT),
        "foam_in_equipment": optional_flag(picker, "foam_in_equipment"),
    }
    with findings.catching():
        values["approved"] = _names(section)
        if picker.has("delivery"):
            values["delivery"] = read_deliveries(picker.cells["delivery"])
    if findings.count > before:
        return None
    return LocalRules(basis=picker.basis, **values)


def optional_flag(picker: Picker, name: str) -> bool | None:
    """Yes, no, or None when nothing was handed over."""
    return picker.flag(name, otherwise=False) if picker.has(name) else None


def read_deliveries(cell: Cell) -> frozenset[Delivery]:
    """Ways of delivery, as a list or one text with commas."""
    words = read_words(cell, "delivery")
    unknown = sorted(words - set(Delivery))
    if unknown:
        wanted = "some of " + ", ".join(Delivery)
        raise StillwetError(Problem("delivery", wanted, shown(unknown[0]), cell.place))
    return frozenset(Delivery(word) for word in words)


def _names(section: Section) -> tuple[str, ...] | None:
    """The approved products: a list of names as written, which may hold commas."""
    raw = section.values.get("approved")
    if raw is None:
        return None
    if not isinstance(raw, list) or not all(isinstance(name, str) and name.strip() for name in raw):
        wanted = 'a list of product ids or names: ["clear", "Other gel"]'
        raise StillwetError(Problem("approved", wanted, shown(raw), section.place))
    return tuple(name.strip() for name in raw)


def read_wells(
    rows: Iterable[Loose], ground: Ground | None, clock: Clock, findings: Findings
) -> tuple[Well, ...]:
    """The wells, springs and cisterns of a list, in the job's CRS; faults are noted."""
    wells: list[Well] = []
    places: list[str] = []
    for number, row in enumerate(rows, start=1):
        picker = Picker(row.cells, row.place, findings, clock)
        identity = picker.text("id") if picker.has("id") else f"well-{number}"
        name = picker.text("name") if picker.has("name") else identity
        kind = picker.word("kind", WELL_KINDS) if picker.has("kind") else WELL_KINDS[0]
        where = middle_of(row.cells, row.geometry, row.place, findings)
        if picker.failed or where is None or ground is None:
            continue
        places.append(row.place)
        x_m, y_m = ground.point(*where)
        wells.append(Well(identity, name, kind, x_m, y_m))
    note_doubles(findings, zip(places, (well.id for well in wells), strict=True), "well")
    return tuple(wells)
