"""A crew's gear from its row: pump, hose, lift, nozzle and how far the proportioner strays."""

from __future__ import annotations

import re

from stillwet.domain.basis import given
from stillwet.domain.gear import Gear
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.fields import (
    Cell,
    Default,
    Picker,
    Quantity,
    read_text,
    table_default,
)
from stillwet.tables import load_table
from stillwet.units import read_quantity

LIFT = Quantity("lift", "length", -100.0, 150.0, "m")
NOZZLE_LEAST = Quantity("nozzle_least", "pressure", 0.0, 2e6, "Pa")
EDUCTOR = Quantity("eductor", "flow", 1e-5, 0.1, "m3/s")
DELIVERED_LOW = Quantity("delivered_low", "fraction", 0.2, 2.0, "fraction")
DELIVERED_HIGH = Quantity("delivered_high", "fraction", 0.2, 3.0, "fraction")
_PUMP_FLOW = Quantity("pump_flow", "flow", 1e-5, 0.5, "m3/s")
_PUMP_PRESSURE = Quantity("pump_pressure", "pressure", 0.0, 5e6, "Pa")
_HOSE_BORE = Quantity("hose_bore", "length", 0.005, 0.2, "m")
_HOSE_LENGTH = Quantity("hose_length", "length", 0.3, 3000.0, "m")
_NOZZLE_PRESSURE = Quantity("nozzle_pressure", "pressure", 1e4, 2e6, "Pa")
_INNER = (_PUMP_FLOW, _PUMP_PRESSURE, _HOSE_BORE, _HOSE_LENGTH, _NOZZLE_PRESSURE)

GEAR_QUANTITIES = {
    spec.name: spec for spec in (LIFT, NOZZLE_LEAST, EDUCTOR, DELIVERED_LOW, DELIVERED_HIGH)
}
GEAR_WORDS = ("pump", "hose", "nozzle")

Pair = tuple[float, float]


def gear_defaults() -> dict[str, Default]:
    """What is taken of gear where nothing is said, by field and by the parts of a pair."""
    specs = {spec.name: spec for spec in (*GEAR_QUANTITIES.values(), *_INNER)}
    return {
        name: table_default(
            row, unit=row["unit"], dimension=specs[name].dimension, source=row["source"]
        )
        for name, row in load_table("practice")["gear"].items()
    }


def default_gear(spray_flow_m3_s: float) -> dict[str, tuple[Pair, ...]]:
    """The pairs that are taken of pump, hose and nozzle where nothing is said."""
    taken = {name: float(default.value) for name, default in gear_defaults().items()}
    return {
        "pump": ((taken["pump_flow"], taken["pump_pressure"]),),
        "hose": ((taken["hose_length"], taken["hose_bore"]),),
        "nozzle": ((spray_flow_m3_s, taken["nozzle_pressure"]),),
    }


def read_gear(picker: Picker, spray_flow_m3_s: float) -> Gear | None:
    """The gear of a crew's row; what is not said is a stated default. None when it has faults.

    spray_flow_m3_s is what the nozzle passes when the row names none.
    """
    picker.defaults = {**picker.defaults, **gear_defaults()}
    pump = _pairs(picker, "pump", "at", ("flow", "pressure"), (_PUMP_FLOW, _PUMP_PRESSURE))
    hose = _pairs(picker, "hose", "of", ("length", "length"), (_HOSE_LENGTH, _HOSE_BORE))
    nozzle = _nozzle(picker, spray_flow_m3_s)
    lift, least = picker.number(LIFT), picker.number(NOZZLE_LEAST)
    low, high = picker.number(DELIVERED_LOW), picker.number(DELIVERED_HIGH)
    eductor = picker.optional_number(EDUCTOR)
    if picker.failed or pump is None or hose is None or nozzle is None:
        return None
    gear = None
    before = picker.findings.count
    with picker.findings.catching():
        _need_known_bores(hose, picker.place)
        gear = Gear(
            pump_flow_m3_s=tuple(flow for flow, _ in pump),
            pump_pressure_pa=tuple(pressure for _, pressure in pump),
            hoses_m=tuple((bore, length) for length, bore in hose),
            lift_m=lift,
            nozzle_flow_m3_s=nozzle[0],
            nozzle_pressure_pa=nozzle[1],
            nozzle_least_pa=least,
            delivered_low=low,
            delivered_high=high,
            eductor_flow_m3_s=eductor,
        )
    picker.failed = picker.failed or picker.findings.count > before
    return gear


def _nozzle(picker: Picker, spray_flow_m3_s: float) -> Pair | None:
    """Rated flow and pressure: the row's one pair, else the spray flow at the stated default."""
    if not picker.has("nozzle"):
        return spray_flow_m3_s, picker.number(_NOZZLE_PRESSURE)
    found = _pairs(picker, "nozzle", "at", ("flow", "pressure"), ())
    if found is not None and len(found) > 1:
        picker.failed = True
        picker.findings.add(
            Problem("nozzle", "one flow at one pressure", f"{len(found)} of them", picker.place)
        )
        return None
    return None if found is None else found[0]


def _pairs(
    picker: Picker,
    name: str,
    between: str,
    dimensions: tuple[str, str],
    otherwise: tuple[Quantity, ...],
) -> tuple[Pair, ...] | None:
    """Pairs such as "50 gal/min at 100 psi; 80 gal/min at 60 psi" in SI; the default if unsaid."""
    if not picker.has(name):
        first, second = (picker.number(spec) for spec in otherwise)
        return ((first, second),)
    cell = picker.cells[name]
    found: tuple[Pair, ...] | None = None
    before = picker.findings.count
    with picker.findings.catching():
        parts = [part for part in read_text(cell, name).split(";") if part.strip()]
        found = tuple(_pair(part, name, between, dimensions, cell) for part in parts or [""])
        picker.basis[name] = given(cell.place)
    picker.failed = picker.failed or picker.findings.count > before
    return found


def _pair(part: str, name: str, between: str, dimensions: tuple[str, str], cell: Cell) -> Pair:
    halves = re.split(rf"\s+{between}\s+", part.strip())
    if len(halves) != 2:
        example = {
            "pump": '"50 gal/min at 100 psi"',
            "nozzle": '"30 gal/min at 50 psi"',
            "hose": '"100 ft of 1.5 in"',
        }[name]
        raise StillwetError(Problem(name, f"text such as {example}", shown(cell.raw), cell.place))
    first, second = (
        read_quantity(half, dimension=dimension, field=name, place=cell.place)
        for half, dimension in zip(halves, dimensions, strict=True)
    )
    return first, second


def _need_known_bores(hose: tuple[Pair, ...], place: str) -> None:
    """Friction is tabled for nominal bores only; refuse another one here, not in the reckoning."""
    inch = read_quantity("1 in", dimension="length", field="hose")
    bores = [row["bore_in"] for row in load_table("hose")["hose"]]
    for _, bore_m in hose:
        if not any(abs(bore * inch - bore_m) < 1e-3 for bore in bores):
            known = ", ".join(f"{bore:g}" for bore in bores)
            raise StillwetError(
                Problem("hose", f"a bore of {known} in", f"{bore_m / inch:.3g} in", place)
            )
