"""Crews, water points, depots and wells as rows that their readers read back to the same."""

from __future__ import annotations

from typing import Any

from stillwet.domain.gear import Gear
from stillwet.domain.products import Crew, Depot, WaterPoint
from stillwet.domain.suitability import Well
from stillwet.exchange import crews as lists
from stillwet.exchange import gear as gears
from stillwet.exchange.places import Earth, written_time
from stillwet.exchange.sheets import Filler, SheetRow


def crew_row(crew: Crew, earth: Earth, zone: Any) -> tuple[SheetRow, list[str]]:
    """One crew with its day and its gear; and the fields that have aged."""
    filler = Filler({**lists.crew_defaults(), **gears.gear_defaults()}, crew.basis)
    filler.word("id", crew.id)
    filler.word("name", crew.name)
    filler.number(lists.TANK, crew.tank_m3)
    filler.number(lists.RESERVE, crew.reserve_m3)
    filler.number(lists.SPRAY_FLOW, crew.spray_flow_m3_s)
    filler.plain("people", crew.people)
    filler.number(lists.SETUP, crew.setup_s)
    filler.number(lists.SPEED, crew.speed_m_s)
    for name, time_s in (("shift_from", crew.shift_from_s), ("shift_to", crew.shift_to_s)):
        filler.word(name, "" if time_s is None else written_time(time_s, zone))
    filler.words("capabilities", crew.capabilities)
    filler.number(lists.WATER, crew.water_m3)
    filler.number(lists.CONCENTRATE, crew.concentrate_m3)
    filler.number(lists.CONCENTRATE_ROOM, crew.concentrate_room_m3)
    if crew.gear is not None:
        _gear_cells(filler, crew.gear, crew.spray_flow_m3_s)
    shape = None if crew.start_m is None else earth.point(*crew.start_m)
    return SheetRow(filler.cells, shape), filler.aged


def _gear_cells(filler: Filler, gear: Gear, spray_flow_m3_s: float) -> None:
    taken = gears.default_gear(spray_flow_m3_s)
    pump = zip(gear.pump_flow_m3_s, gear.pump_pressure_pa, strict=True)
    _pair_cell(filler, "pump", tuple(pump), taken["pump"], "{!r} m3/s at {!r} Pa")
    hose = tuple((length, bore) for bore, length in gear.hoses_m)
    _pair_cell(filler, "hose", hose, taken["hose"], "{!r} m of {!r} m")
    nozzle = ((gear.nozzle_flow_m3_s, gear.nozzle_pressure_pa),)
    _pair_cell(filler, "nozzle", nozzle, taken["nozzle"], "{!r} m3/s at {!r} Pa")
    filler.number(gears.LIFT, gear.lift_m)
    filler.number(gears.NOZZLE_LEAST, gear.nozzle_least_pa)
    filler.number(gears.DELIVERED_LOW, gear.delivered_low)
    filler.number(gears.DELIVERED_HIGH, gear.delivered_high)
    filler.number(gears.EDUCTOR, gear.eductor_flow_m3_s)


def _pair_cell(
    filler: Filler,
    name: str,
    pairs: tuple[gears.Pair, ...],
    taken: tuple[gears.Pair, ...],
    pattern: str,
) -> None:
    """Pairs as the readers take them, unless they are what is taken without being told."""
    if pairs != taken or filler.is_told(name):
        filler.cells[name] = "; ".join(pattern.format(*map(float, pair)) for pair in pairs)


def water_row(point: WaterPoint, earth: Earth) -> tuple[SheetRow, list[str]]:
    """One water point; and the fields that have aged."""
    filler = Filler(lists.water_defaults(), point.basis)
    filler.word("id", point.id)
    filler.word("name", point.name)
    filler.number(lists.FILL_FLOW, point.fill_flow_m3_s)
    filler.number(lists.HOOKUP, point.hookup_s)
    filler.plain("places", point.places)
    filler.number(lists.HARDNESS, point.hardness_kg_m3)
    filler.number(lists.WATER_TEMPERATURE, point.water_temperature_k)
    return SheetRow(filler.cells, earth.point(point.x_m, point.y_m)), filler.aged


def depot_row(depot: Depot, earth: Earth) -> tuple[SheetRow, list[str]]:
    """One depot of concentrate; and the fields that have aged."""
    filler = Filler(lists.depot_defaults(), depot.basis)
    filler.word("id", depot.id)
    filler.word("name", depot.name)
    filler.number(lists.STOCK, depot.stock_m3)
    filler.number(lists.LOAD_TIME, depot.load_s)
    return SheetRow(filler.cells, earth.point(depot.x_m, depot.y_m)), filler.aged


def well_row(well: Well, earth: Earth) -> SheetRow:
    """One well, spring or cistern."""
    filler = Filler()
    filler.word("id", well.id)
    filler.word("name", well.name)
    filler.word("kind", well.kind)
    return SheetRow(filler.cells, earth.point(well.x_m, well.y_m))
