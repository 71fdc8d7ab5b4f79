"""The fire an asset is to meet: its own numbers over the job's, over a named fire's."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from stillwet.domain.fire import FireExposure
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.fields import (
    Cell,
    Default,
    Picker,
    Quantity,
    read_word,
    row_names,
    table_default,
)
from stillwet.exchange.findings import Findings
from stillwet.exchange.fire_also import ALSO, read_also, standing_fires
from stillwet.exchange.fire_fuel import (
    FUEL_MODEL,
    FUEL_QUANTITIES,
    fire_taken_for,
    read_fuel,
    read_fuel_model,
)
from stillwet.exchange.toml_door import Section
from stillwet.tables import load_table

FLAME_LENGTH = Quantity("flame_length", "length", 0.0, 100.0, "m")
FLAME_WIDTH = Quantity("flame_width", "length", 0.0, 10_000.0, "m")
FLAME_TILT = Quantity("flame_tilt", "angle", 0.0, 80.0, "deg", bare=True)
SPREAD_RATE = Quantity("spread_rate", "speed", 0.0, 10.0, "m/s")
RESIDENCE = Quantity("residence", "time", 0.0, 7200.0, "s")
SETBACK = Quantity("setback", "length", 0.0, 500.0, "m")
FLUX_PEAK = Quantity("flux_peak", "heat_flux", 0.0, 300e3, "W/m2")
FLUX_DURATION = Quantity("flux_duration", "time", 0.0, 7200.0, "s")
GROUND_SLOPE = Quantity("ground_slope", "angle", -45.0, 45.0, "deg", bare=True)

_FLAME = (FLAME_LENGTH, FLAME_WIDTH, FLAME_TILT, SPREAD_RATE, RESIDENCE, SETBACK)
_FRONT = (*_FLAME, FLUX_PEAK, FLUX_DURATION, GROUND_SLOPE)
FIRE_QUANTITIES = {spec.name: spec for spec in _FRONT} | FUEL_QUANTITIES
FIRE_WORDS = ("exposure", "arrival_from", "arrival_to", FUEL_MODEL, ALSO)
FIRE_BEARINGS = ("fire_from",)
FIRE_KEYS = ("exposure", "arrival", "from", FUEL_MODEL, ALSO, *FIRE_QUANTITIES)


def fire_section_cells(section: Section | None, findings: Findings) -> dict[str, Cell]:
    """The job's [fire] table by the same field names as an asset list's columns."""
    if section is None:
        return {}
    section.check_keys(FIRE_KEYS, findings)
    cells = section.cells(("exposure", FUEL_MODEL, ALSO, *FIRE_QUANTITIES))
    if "from" in section.values:
        cells["fire_from"] = Cell(section.values["from"], section.place)
    arrival = section.values.get("arrival")
    if isinstance(arrival, list) and len(arrival) == 2:
        cells["arrival_from"] = Cell(arrival[0], section.place)
        cells["arrival_to"] = Cell(arrival[1], section.place)
    elif arrival is not None:
        wanted = "the earliest and the latest time: [from, to]"
        findings.add(Problem("arrival", wanted, shown(arrival), section.place))
    return cells


def exposure_names() -> dict[str, str]:
    """Every way to write a named fire (its id or its label) and its id."""
    return row_names(load_table("exposures"))


def read_fire(picker: Picker) -> FireExposure | None:
    """One asset's fire out of its cells (already laid over the job's own), or None when faulty.

    A missing flame, rate, residence or setback is the named fire's, with its basis; with a fuel
    model the plan reckons flame, rate and residence from fuel and weather instead.
    """
    code = read_fuel_model(picker)
    exposure = _exposure(picker, code)
    picker.defaults = {**picker.defaults, **named_fire(exposure)}
    arrival_from_s = picker.time("arrival_from")
    arrival_to_s = picker.time("arrival_to")
    numbers = {spec.name: picker.number(spec) for spec in _FLAME} if exposure else {}
    bearing = picker.bearing("fire_from") if picker.has("fire_from") else None
    peak, duration = picker.optional_number(FLUX_PEAK), picker.optional_number(FLUX_DURATION)
    slope = picker.optional_number(GROUND_SLOPE) or 0.0
    fuel = read_fuel(picker, code, slope) if code is not None else None
    named = {name: named_fire(name) for name in standing_fires()}
    also = read_also(picker, {spec.name: spec for spec in _FLAME}, named)
    if picker.failed or not numbers:
        return None
    with picker.findings.catching():
        return FireExposure(
            name=exposure,
            arrival_from_s=arrival_from_s,
            arrival_to_s=_after(arrival_from_s, arrival_to_s, picker),
            flame_length_m=numbers["flame_length"],
            flame_width_m=numbers["flame_width"],
            flame_tilt_deg=numbers["flame_tilt"],
            spread_rate_m_s=numbers["spread_rate"],
            residence_s=numbers["residence"],
            setback_m=numbers["setback"],
            bearing_deg=bearing,
            flux_peak_w_m2=peak,
            flux_duration_s=duration,
            ground_slope_deg=slope,
            fuel=fuel,
            also=also,
            basis=_fire_basis(picker),
        )
    return None


def _exposure(picker: Picker, fuel_model: str | None) -> str:
    names = exposure_names()
    cell = picker.cells.get("exposure")
    if cell is None and fuel_model is not None:
        return fire_taken_for(fuel_model)
    if cell is None:
        picker.failed = True
        wanted = "a fuel_model, or a named fire: one of " + ", ".join(load_table("exposures"))
        picker.findings.add(Problem("exposure", wanted, "nothing", picker.place))
        return ""
    before = picker.findings.count
    with picker.findings.catching():
        return names[read_word(cell, "exposure", names)]
    picker.failed = picker.failed or picker.findings.count > before
    return ""


def _after(arrival_from_s: float, arrival_to_s: float, picker: Picker) -> float:
    if arrival_to_s < arrival_from_s:
        cell = picker.cells["arrival_to"]
        wanted = "a time not before the earliest arrival"
        raise StillwetError(Problem("arrival_to", wanted, shown(cell.raw), cell.place))
    return arrival_to_s


@cache
def named_fire(exposure: str) -> dict[str, Default]:
    """The named fire's own numbers as defaults, by field."""
    row: Mapping[str, Any] = load_table("exposures").get(exposure, {})
    found = {}
    for spec in _FLAME:
        written = next((key for key in row if key.startswith(spec.name + "_")), None)
        if written is not None:
            value, unit, low, high, source, kind = row[written]
            cells = {"value": value, "low": low, "high": high, "source": source, "kind": kind}
            found[spec.name] = table_default(
                cells, unit=unit, dimension=spec.dimension, source=source
            )
    return found


def _fire_basis(picker: Picker) -> dict[str, Any]:
    own = (*(spec.name for spec in _FRONT), "exposure", "arrival_from", "arrival_to")
    basis = {name: picker.basis[name] for name in own if name in picker.basis}
    if "fire_from" in picker.basis:
        basis["bearing"] = picker.basis["fire_from"]
    return basis
