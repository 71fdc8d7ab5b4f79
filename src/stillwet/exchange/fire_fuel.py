"""The fuel that carries a fire: its keys become one record, what is missing taken and said so."""

from __future__ import annotations

from functools import cache

from stillwet.domain.fire import Fuel
from stillwet.errors import Problem
from stillwet.exchange.fields import Default, Picker, Quantity, table_default
from stillwet.tables import load_table

FUEL_SLOPE = Quantity("fuel_slope", "angle", 0.0, 45.0, "deg", bare=True)
_DEAD = tuple(
    Quantity(f"moisture_{name}", "fraction", 0.0, 2.0, "fraction", bare=True)
    for name in ("1h", "10h", "100h")
)
_LIVE = tuple(
    Quantity(f"moisture_{name}", "fraction", 0.1, 3.5, "fraction", bare=True)
    for name in ("herb", "woody")
)
CANOPY_COVER = Quantity("canopy_cover", "fraction", 0.0, 1.0, "fraction", bare=True)
CANOPY_HEIGHT = Quantity("canopy_height", "length", 1.0, 120.0, "m")
CROWN_RATIO = Quantity("crown_ratio", "fraction", 0.0, 1.0, "fraction", bare=True)

_ALL = (FUEL_SLOPE, *_DEAD, *_LIVE, CANOPY_COVER, CANOPY_HEIGHT, CROWN_RATIO)
FUEL_QUANTITIES = {spec.name: spec for spec in _ALL}
FUEL_MODEL = "fuel_model"
# Key in the job file -> the record's own name for it, where they differ.
_RECORD_NAMES = {"fuel_model": "model", "fuel_slope": "slope"}


def fuel_codes() -> list[str]:
    """The codes of the standard fuel models."""
    return [str(row["code"]) for row in load_table("fuel_models")["model"]]


def fire_taken_for(code: str) -> str:
    """The named fire whose setback, width and embers go with a fuel model when none is named."""
    groups: dict[str, list[str]] = load_table("fuel_models")["taken_for"]
    return next(name for name, codes in groups.items() if _group(code) in codes)


def _group(code: str) -> str:
    """A numbered model itself, or the letters of a lettered one."""
    return code if code.isdigit() else code.rstrip("0123456789")


def read_fuel_model(picker: Picker) -> str | None:
    """The code of the fuel model, or None when there is none or it is faulty (noted)."""
    told = [name for name in FUEL_QUANTITIES if picker.has(name)]
    if not picker.has(FUEL_MODEL):
        if told:
            picker.failed = True
            wanted = f"a fuel model to go with {', '.join(told)}"
            place = picker.cells[told[0]].place
            picker.findings.add(Problem(FUEL_MODEL, wanted, "nothing", place, 'such as "GR4"'))
        return None
    return picker.word(FUEL_MODEL, fuel_codes()) or None


def read_fuel(picker: Picker, code: str, ground_slope_deg: float) -> Fuel | None:
    """The fuel record, or None when a value is faulty (noted).

    A slope left out is that of the ground between fire and asset, if that rises.
    """
    picker.defaults = {**picker.defaults, **fuel_defaults()}
    live = {spec.name: picker.number(spec) for spec in _LIVE}
    dead = {spec.name: picker.optional_number(spec) for spec in _DEAD}
    slope = picker.optional_number(FUEL_SLOPE)
    cover = picker.optional_number(CANOPY_COVER) or 0.0
    height, crown = 0.0, 0.0
    if cover > 0.0:
        height, crown = picker.number(CANOPY_HEIGHT), picker.number(CROWN_RATIO)
    if picker.failed:
        return None
    names = (FUEL_MODEL, *FUEL_QUANTITIES)
    with picker.findings.catching():
        return Fuel(
            model=code,
            moisture_herb=live["moisture_herb"],
            moisture_woody=live["moisture_woody"],
            slope_deg=max(0.0, ground_slope_deg) if slope is None else slope,
            moisture_1h=dead["moisture_1h"],
            moisture_10h=dead["moisture_10h"],
            moisture_100h=dead["moisture_100h"],
            canopy_cover=cover,
            canopy_height_m=height,
            crown_ratio=crown,
            basis={
                _RECORD_NAMES.get(name, name): picker.basis[name]
                for name in names
                if name in picker.basis
            },
        )
    return None


@cache
def fuel_defaults() -> dict[str, Default]:
    """What is taken of live fuel and crowns where nothing is said."""
    return {
        name: table_default(row, unit=row["unit"], dimension="fraction", source=row["source"])
        for name, row in load_table("practice")["fuel"].items()
    }
