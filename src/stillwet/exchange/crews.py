"""Crews and water points: what carries and sprays, and where it is filled."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from stillwet.domain.products import Crew, WaterPoint
from stillwet.exchange.clock import Clock
from stillwet.exchange.fields import Default, Picker, Quantity, table_default
from stillwet.exchange.findings import Findings, note_doubles
from stillwet.exchange.ground import Ground
from stillwet.exchange.positions import POSITION_QUANTITIES, Placer
from stillwet.exchange.records import Loose
from stillwet.exchange.tabular import Columns
from stillwet.tables import load_table

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TANK = Quantity("tank", "volume", 0.01, 50.0, "m3")
RESERVE = Quantity("reserve", "volume", 0.0, 50.0, "m3")
SPRAY_FLOW = Quantity("spray_flow", "flow", 1e-5, 0.1, "m3/s")
SETUP = Quantity("setup", "time", 0.0, 7200.0, "s")
SPEED = Quantity("speed", "speed", 0.1, 40.0, "m/s")
FILL_FLOW = Quantity("fill_flow", "flow", 1e-5, 1.0, "m3/s")
HARDNESS = Quantity("hardness", "hardness", 0.0, 5.0, "kg/m3")
WATER_TEMPERATURE = Quantity("water_temperature", "temperature", 273.15, 323.15, "K")

_CREW = {spec.name: spec for spec in (TANK, RESERVE, SPRAY_FLOW, SETUP, SPEED)}
_WATER = {spec.name: spec for spec in (FILL_FLOW, HARDNESS, WATER_TEMPERATURE)}
CREW_COLUMNS = Columns(quantities=_CREW, words=("id", "name", "people"))
WATER_COLUMNS = Columns(quantities={**_WATER, **POSITION_QUANTITIES}, words=("id", "name"))


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


def read_crews(rows: Iterable[Loose], clock: Clock, findings: Findings) -> tuple[Crew, ...]:
    """The crews of a list; faults are noted."""
    crews: list[Crew] = []
    places: list[str] = []
    for row in rows:
        picker = Picker(row.cells, row.place, findings, clock, _defaults("crew", _CREW))
        identity = picker.text("id")
        numbers = {name: picker.number(spec) for name, spec in _CREW.items()}
        people = picker.whole("people", 1, 50)
        name = picker.text("name") if picker.has("name") else identity
        if picker.failed:
            continue
        places.append(row.place)
        with findings.catching():
            crews.append(
                Crew(
                    id=identity,
                    name=name,
                    tank_m3=numbers["tank"],
                    reserve_m3=numbers["reserve"],
                    spray_flow_m3_s=numbers["spray_flow"],
                    people=people,
                    setup_s=numbers["setup"],
                    speed_m_s=numbers["speed"],
                    basis=picker.basis,
                )
            )
    note_doubles(findings, zip(places, (crew.id for crew in crews), strict=False), "crew")
    return tuple(crews)


def read_water_points(
    rows: Iterable[Loose], ground: Ground | None, clock: Clock, findings: Findings
) -> tuple[WaterPoint, ...]:
    """The water points of a list, in the job's CRS; faults are noted."""
    points: list[WaterPoint] = []
    places: list[str] = []
    for row in rows:
        picker = Picker(row.cells, row.place, findings, clock, _defaults("water_point", _WATER))
        identity = picker.text("id")
        numbers = {name: picker.number(spec) for name, spec in _WATER.items()}
        name = picker.text("name") if picker.has("name") else identity
        where = _middle(row, findings)
        if picker.failed or where is None or ground is None:
            continue
        places.append(row.place)
        x_m, y_m = ground.point(*where)
        with findings.catching():
            points.append(
                WaterPoint(
                    id=identity,
                    name=name,
                    x_m=x_m,
                    y_m=y_m,
                    fill_flow_m3_s=numbers["fill_flow"],
                    hardness_kg_m3=numbers["hardness"],
                    water_temperature_k=numbers["water_temperature"],
                    basis=picker.basis,
                )
            )
    note_doubles(findings, zip(places, (p.id for p in points), strict=False), "water point")
    return tuple(points)


def _middle(row: Loose, findings: Findings) -> tuple[float, float] | None:
    geometry: BaseGeometry | None = None
    with findings.catching():
        geometry = Placer().place(row.cells, row.geometry, row.place)
    if geometry is None:
        return None
    middle = geometry.representative_point()
    return middle.x, middle.y
