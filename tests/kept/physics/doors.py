"""Units at the door, and the one shape of an error."""

from __future__ import annotations

from kept.keeping import Groups
from kept.physics.drawing import at
from stillwet import errors, units

_DIMENSIONS = tuple(dict.fromkeys(unit.dimension for unit in units.UNITS.values()))


def _read(text: object, dimension: str, unit: str | None = None) -> float:
    return units.read_quantity(
        text, dimension=dimension, field="width", place="yard.csv, row 3", unit=unit
    )


_UNITS = {
    "to_si": lambda: {
        name: units.to_si(12.5, name, dimension=unit.dimension)
        for name, unit in units.UNITS.items()
    },
    "from_si": lambda: {name: units.from_si(12.5, name) for name in units.UNITS},
    "difference_to_si": lambda: [
        units.difference_to_si(9.0, name, dimension="temperature") for name in ("F", "C", "K")
    ],
    "names_of": lambda: {dimension: units.names_of(dimension) for dimension in _DIMENSIONS},
    "si_name": lambda: {
        dimension: units.si_name(dimension) for dimension in _DIMENSIONS if dimension != "fuel_load"
    },
    "is_unit": lambda: [
        units.is_unit(name, dimension)
        for name in ("mm", "kg/m2", "Gal / Min", "°C", "m²", "ft³", "stone")
        for dimension in ("water_depth", "length", "flow", "temperature", "area", "volume")
    ],
    "to_si refused": at(
        units.to_si,
        {"value": float("nan"), "unit": "m", "dimension": "length"},
        {"value": 1.0, "unit": "stone", "dimension": "mass", "field": "tank", "place": "row 2"},
        {"value": 1.0, "unit": "in", "dimension": "water_depth"},
        {"value": 1.0, "unit": "s", "dimension": "water_depth"},
    ),
    "depth_in_inches": lambda: units.depth_in_inches(6.35),
    "read_quantity": at(
        _read,
        *(
            {"text": text, "dimension": dimension, "unit": unit}
            for text, dimension, unit in (
                ("12 gal/min", "flow", None),
                ("1/8 in", "length", None),
                ("2 1/4 inch", "water_depth", None),
                ("2-1/4 inches", "length", None),
                ("1/0 in", "length", None),
                (" -3.5e2  C ", "temperature", None),
                (".5", "fraction", None),
                (1, "fraction", None),
                (1.5, "fraction", None),
                ("1.5", "fraction", "%"),
                (7, "length", "ft"),
                (7, "length", None),
                ("7", "viscosity", None),
                ("seven", "length", None),
                (True, "length", "m"),
                (None, "length", "m"),
                ("7 mph", "length", "m"),
            )
        ),
    ),
    "is_bounded": lambda: [
        units.is_bounded(value, 0.0, 1.0)
        for value in (-0.1, 0.0, 0.5, 1.0, 1.1, float("nan"), float("inf"))
    ],
}

_ERRORS = {
    "Problem": lambda: [
        str(errors.Problem("wind", "0 to 60 m/s", "162")),
        str(errors.Problem("wind", "0 to 60 m/s", "162", "yard.csv, row 17", "is it in km/h?")),
    ],
    "StillwetError": lambda: [
        str(errors.StillwetError(errors.Problem("a", "b", "c"))),
        str(errors.StillwetError(errors.Problem(name, "b", "c") for name in "ad")),
    ],
    "shown": lambda: [errors.shown(value) for value in (1.5, "two", "x" * 58, "x" * 59, "x" * 99)],
}

GROUPS: Groups = {"units": _UNITS, "errors": _ERRORS}
