"""Crews, water points and depots: what carries and sprays, and where it is filled."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from stillwet.domain.products import Crew, Depot, WaterPoint
from stillwet.exchange.clock import Clock
from stillwet.exchange.fields import Default, Picker, Quantity, table_default
from stillwet.exchange.findings import Findings, note_doubles
from stillwet.exchange.gear import GEAR_QUANTITIES, GEAR_WORDS, read_gear
from stillwet.exchange.ground import Ground
from stillwet.exchange.positions import POSITION_QUANTITIES, middle_of
from stillwet.exchange.records import Loose
from stillwet.exchange.tabular import Columns
from stillwet.tables import load_table

TANK = Quantity("tank", "volume", 0.01, 50.0, "m3")
RESERVE = Quantity("reserve", "volume", 0.0, 50.0, "m3")
SPRAY_FLOW = Quantity("spray_flow", "flow", 1e-5, 0.1, "m3/s")
SETUP = Quantity("setup", "time", 0.0, 7200.0, "s")
SPEED = Quantity("speed", "speed", 0.1, 40.0, "m/s")
FILL_FLOW = Quantity("fill_flow", "flow", 1e-5, 1.0, "m3/s")
WATER = Quantity("water", "volume", 0.0, 50.0, "m3")
CONCENTRATE = Quantity("concentrate", "volume", 0.0, 50.0, "m3")
CONCENTRATE_ROOM = Quantity("concentrate_room", "volume", 0.0, 50.0, "m3")
HOOKUP = Quantity("hookup", "time", 0.0, 7200.0, "s")
STOCK = Quantity("stock", "volume", 0.0, 1000.0, "m3")
LOAD_TIME = Quantity("load_time", "time", 0.0, 7200.0, "s")
HARDNESS = Quantity("hardness", "hardness", 0.0, 5.0, "g/L")
WATER_TEMPERATURE = Quantity("water_temperature", "temperature", 273.15, 323.15, "K")

_CREW = {spec.name: spec for spec in (TANK, RESERVE, SPRAY_FLOW, SETUP, SPEED)}
_ON_BOARD = {spec.name: spec for spec in (WATER, CONCENTRATE, CONCENTRATE_ROOM)}
_WATER = {spec.name: spec for spec in (FILL_FLOW, HOOKUP, HARDNESS, WATER_TEMPERATURE)}
_DEPOT = {spec.name: spec for spec in (STOCK, LOAD_TIME)}
CREW_COLUMNS = Columns(
    quantities={**_CREW, **_ON_BOARD, **POSITION_QUANTITIES, **GEAR_QUANTITIES},
    words=("id", "name", "people", "shift_from", "shift_to", "capabilities", *GEAR_WORDS),
)
WATER_COLUMNS = Columns(
    quantities={**_WATER, **POSITION_QUANTITIES}, words=("id", "name", "places")
)
DEPOT_COLUMNS = Columns(quantities={**_DEPOT, **POSITION_QUANTITIES}, words=("id", "name"))


def _defaults(label: str, specs: dict[str, Quantity]) -> dict[str, Default]:
    rows = load_table("practice")[label]
    return {
        name: table_default(
            row,
            unit=row["unit"],
            dimension=specs[name].dimension if name in specs else "",
            source=row["source"],
        )
        for name, row in rows.items()
    }


def crew_defaults() -> dict[str, Default]:
    """What is taken of a crew where nothing is said."""
    return _defaults("crew", _CREW)


def water_defaults() -> dict[str, Default]:
    """What is taken of a water point where nothing is said."""
    return _defaults("water_point", _WATER)


def depot_defaults() -> dict[str, Default]:
    """What is taken of a depot where nothing is said."""
    return _defaults("depot", _DEPOT)


def read_crews(
    rows: Iterable[Loose], ground: Ground | None, clock: Clock, findings: Findings
) -> tuple[Crew, ...]:
    """The crews of a list, those with a place in the job's CRS; faults are noted."""
    made: list[tuple[str, Crew]] = []
    for row in rows:
        picker = Picker(row.cells, row.place, findings, clock, crew_defaults())
        identity = picker.text("id")
        numbers = {name: picker.number(spec) for name, spec in _CREW.items()}
        people = picker.whole("people", 1, 50)
        name = picker.text("name") if picker.has("name") else identity
        day = _day(row, picker, ground, findings)
        gear = None if picker.failed else read_gear(picker, numbers["spray_flow"])
        if picker.failed or day is None:
            continue
        with findings.catching():
            crew = Crew(
                id=identity,
                name=name,
                tank_m3=numbers["tank"],
                reserve_m3=numbers["reserve"],
                spray_flow_m3_s=numbers["spray_flow"],
                people=people,
                setup_s=numbers["setup"],
                speed_m_s=numbers["speed"],
                gear=gear,
                basis=picker.basis,
                **day,
            )
            made.append((row.place, crew))
    note_doubles(findings, ((place, crew.id) for place, crew in made), "crew")
    return tuple(crew for _, crew in made)


def _day(
    row: Loose, picker: Picker, ground: Ground | None, findings: Findings
) -> dict[str, Any] | None:
    """What a crew's day starts from, as far as the list says it; None when its place is faulty."""
    start = None
    if row.geometry is not None or any(name in row.cells for name in POSITION_QUANTITIES):
        where = middle_of(row.cells, row.geometry, row.place, findings)
        if where is None or ground is None:
            return None
        start = ground.point(*where)
    board = {f"{name}_m3": picker.optional_number(spec) for name, spec in _ON_BOARD.items()}
    shift = {
        f"{name}_s": picker.time(name) if picker.has(name) else None
        for name in ("shift_from", "shift_to")
    }
    return {"start_m": start, "capabilities": picker.words("capabilities"), **board, **shift}


def read_water_points(
    rows: Iterable[Loose], ground: Ground | None, clock: Clock, findings: Findings
) -> tuple[WaterPoint, ...]:
    """The water points of a list, in the job's CRS; faults are noted."""
    made: list[tuple[str, WaterPoint]] = []
    for row in rows:
        picker = Picker(row.cells, row.place, findings, clock, water_defaults())
        identity = picker.text("id")
        numbers = {name: picker.number(spec) for name, spec in _WATER.items()}
        engines = picker.whole("places", 1, 100)
        name = picker.text("name") if picker.has("name") else identity
        where = middle_of(row.cells, row.geometry, row.place, findings)
        if picker.failed or where is None or ground is None:
            continue
        x_m, y_m = ground.point(*where)
        with findings.catching():
            point = WaterPoint(
                id=identity,
                name=name,
                x_m=x_m,
                y_m=y_m,
                fill_flow_m3_s=numbers["fill_flow"],
                hardness_kg_m3=numbers["hardness"],
                water_temperature_k=numbers["water_temperature"],
                basis=picker.basis,
                hookup_s=numbers["hookup"],
                places=engines,
            )
            made.append((row.place, point))
    note_doubles(findings, ((place, point.id) for place, point in made), "water point")
    return tuple(point for _, point in made)


def read_depots(
    rows: Iterable[Loose], ground: Ground | None, clock: Clock, findings: Findings
) -> tuple[Depot, ...]:
    """The depots of concentrate of a list, in the job's CRS; faults are noted."""
    made: list[tuple[str, Depot]] = []
    for row in rows:
        picker = Picker(row.cells, row.place, findings, clock, depot_defaults())
        identity = picker.text("id")
        stock, load_s = picker.number(STOCK), picker.number(LOAD_TIME)
        name = picker.text("name") if picker.has("name") else identity
        where = middle_of(row.cells, row.geometry, row.place, findings)
        if picker.failed or where is None or ground is None:
            continue
        x_m, y_m = ground.point(*where)
        with findings.catching():
            depot = Depot(identity, name, x_m, y_m, stock, load_s, picker.basis)
            made.append((row.place, depot))
    note_doubles(findings, ((place, depot.id) for place, depot in made), "depot")
    return tuple(depot for _, depot in made)
