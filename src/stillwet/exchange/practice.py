"""Practice and uncertainty: the job's own numbers over the stated defaults."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stillwet.domain.basis import Basis, BasisKind, given
from stillwet.domain.job import Practice, Uncertainty
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock
from stillwet.exchange.fields import Cell, Default, Picker, Quantity, table_default
from stillwet.exchange.findings import Findings
from stillwet.exchange.toml_door import Section
from stillwet.tables import load_table
from stillwet.units import read_quantity

PRACTICE = (
    Quantity("transfer_efficiency", "fraction", 0.05, 1.0, "fraction", bare=True),
    Quantity("coat_variation", "", 0.0, 2.0),
    Quantity("cling_safety", "", 1.0, 10.0),
    Quantity("thinnest_coat", "water_depth", 0.0, 20.0, "mm"),
    Quantity("ember_reserve", "water_depth", 0.0, 10.0, "mm"),
    Quantity("ember_period", "time", 0.0, 86400.0, "s"),
    Quantity("water_efficiency", "fraction", 0.05, 1.0, "fraction", bare=True),
    Quantity("work_window", "time", 0.0, 86400.0, "s"),
    Quantity("egress_lead", "time", 0.0, 86400.0, "s"),
    Quantity("longest_wait", "time", 0.0, 7 * 86400.0, "s"),
    Quantity("ground_albedo", "fraction", 0.0, 1.0, "fraction", bare=True),
)
_NUMBER = re.compile(r"^\s*[-+]?[\d.]+(?:[eE][-+]?\d+)?")
_SPREADS = ("temperature", "humidity", "wind", "sun")
PERSISTENCE = Quantity("persistence", "time", 3600.0, 30 * 86400.0, "s")


def practice_defaults() -> dict[str, Default]:
    """The stated default of every knob."""
    rows = load_table("practice")["practice"]
    return {
        spec.name: table_default(
            rows[spec.name],
            unit=rows[spec.name]["unit"],
            dimension=spec.dimension,
            source=rows[spec.name]["source"],
        )
        for spec in PRACTICE
    }


@dataclass(frozen=True, slots=True)
class SpreadDefaults:
    """The stated spread of the forecast: pairs by name with their basis, and the persistence."""

    pairs: Mapping[str, tuple[float, float]]
    basis: Mapping[str, Basis]
    persistence: Default


def spread_defaults() -> SpreadDefaults:
    """What is taken of the forecast's spread where nothing is said."""
    table = load_table("practice")["uncertainty"]
    pairs = {name: (float(row[0]), float(row[1])) for name, row in _values(table).items()}
    basis = {
        name: Basis(
            BasisKind(table[name]["kind"]),
            table[name]["source"],
            float(table[name]["low"][0]),
            float(table[name]["high"][1]),
        )
        for name in _SPREADS
    }
    row = table[PERSISTENCE.name]
    default = table_default(row, unit=row["unit"], dimension="time", source=row["source"])
    return SpreadDefaults(pairs, basis, default)


def _values(table: Mapping[str, Any]) -> dict[str, Any]:
    return {name: table[name]["value"] for name in _SPREADS}


def read_practice(section: Section | None, clock: Clock, findings: Findings) -> Practice | None:
    """The knobs of the reckoning, or None when one has a fault (noted)."""
    names = [spec.name for spec in PRACTICE]
    if section is not None:
        section.check_keys(names, findings)
    cells = section.cells(names) if section is not None else {}
    picker = Picker(cells, "[practice]", findings, clock, practice_defaults())
    value = {spec.name: picker.number(spec) for spec in PRACTICE}
    if picker.failed:
        return None
    with findings.catching():
        return Practice(
            transfer_efficiency=value["transfer_efficiency"],
            coat_variation=value["coat_variation"],
            cling_safety=value["cling_safety"],
            thinnest_coat_kg_m2=value["thinnest_coat"],
            ember_reserve_kg_m2=value["ember_reserve"],
            ember_period_s=value["ember_period"],
            water_efficiency=value["water_efficiency"],
            work_window_s=value["work_window"],
            egress_lead_s=value["egress_lead"],
            longest_wait_s=value["longest_wait"],
            ground_albedo=value["ground_albedo"],
            basis=picker.basis,
        )
    return None


def read_uncertainty(
    section: Section | None, clock: Clock, findings: Findings
) -> Uncertainty | None:
    """The spread of the forecast, or None when one of its numbers has a fault (noted)."""
    if section is not None:
        section.check_keys((*_SPREADS, PERSISTENCE.name), findings)
    taken = spread_defaults()
    pairs, basis = dict(taken.pairs), dict(taken.basis)
    for name in _SPREADS:
        if section is not None and name in section.values:
            with findings.catching():
                pairs[name] = _pair(name, Cell(section.values[name], section.place))
                basis[name] = given(section.place)
    cells = {} if section is None else section.cells((PERSISTENCE.name,))
    place = "[uncertainty]" if section is None else section.place
    picker = Picker(cells, place, findings, clock, {PERSISTENCE.name: taken.persistence})
    persistence_s = picker.number(PERSISTENCE)
    if picker.failed:
        return None
    return Uncertainty(
        temperature_k=pairs["temperature"],
        humidity=pairs["humidity"],
        wind_log=pairs["wind"],
        sun_log=pairs["sun"],
        persistence_s=persistence_s,
        basis=basis | picker.basis,
    )


def _pair(name: str, cell: Cell) -> tuple[float, float]:
    """Standard deviations at the first hour and at 24 h."""
    raw = cell.raw
    if not isinstance(raw, list) or len(raw) != 2:
        wanted = "two spreads: at the first hour and at 24 h"
        raise StillwetError(Problem(name, wanted, shown(raw), cell.place))
    first, later = (_spread(name, Cell(item, cell.place)) for item in raw)
    return first, later


def _spread(name: str, cell: Cell) -> float:
    if name == "temperature":
        return _kelvin_difference(cell)
    if name == "humidity":
        return Quantity(name, "fraction", 0.0, 0.5, "fraction", bare=True).read(cell)
    return Quantity(name, "", 0.0, 2.0).read(cell)


def _kelvin_difference(cell: Cell) -> float:
    """A difference of temperatures: "2 C" is 2 K and "4 F" is 2.2 K, with no shift of zero."""
    at = read_quantity(cell.raw, dimension="temperature", field="temperature", place=cell.place)
    nothing = _NUMBER.sub("0 ", str(cell.raw), count=1)
    difference = at - read_quantity(nothing, dimension="temperature", field="temperature")
    if not 0.0 <= difference <= 20.0:
        raise StillwetError(
            Problem("temperature", "0 to 20 K of spread", shown(cell.raw), cell.place)
        )
    return difference
