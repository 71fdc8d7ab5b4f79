"""The 53 standard surface fuel models as frozen records in SI."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import Problem, StillwetError, shown
from stillwet.tables import load_table
from stillwet.units import to_si

# Order of the fuel classes in every array of this room.
CLASSES = ("1h", "10h", "100h", "herb", "woody")

# Column of the record -> lowest, highest, unit: wide enough for any surface fuel a model could
# stand for, narrow enough that a wrong unit falls outside.
BOUNDS: dict[str, tuple[float, float, str]] = {
    "load_kg_m2": (0.0, 8.0, "kg/m2"),
    "surface_to_volume_1_m": (50.0, 15e3, "1/m"),
    "depth_m": (0.03, 3.0, "m"),
    "extinction_moisture": (0.10, 0.60, "fraction"),
    "heat_content_j_kg": (15e6, 24e6, "J/kg"),
}


@dataclass(frozen=True, eq=False)
class FuelModel:
    """One surface fuel bed. Arrays of shape (5,) follow ``CLASSES``: 1-h, 10-h, 100-h, herb, woody.

    A class without load keeps a surface to volume ratio (that of 1-h fuel), which then weighs
    nothing. ``is_dynamic``: herbs move from live to dead as they cure.
    """

    code: str
    name: str
    is_dynamic: bool
    load_kg_m2: NDArray[np.float64]
    surface_to_volume_1_m: NDArray[np.float64]
    depth_m: float
    extinction_moisture: float  # dead fuel, fraction
    heat_content_j_kg: float
    source: str

    def __post_init__(self) -> None:
        problems = [
            Problem(f"fuel model {self.code}: {column}", f"{low:g} to {high:g} {unit}", shown(got))
            for column, (low, high, unit) in BOUNDS.items()
            for got in np.atleast_1d(getattr(self, column))
            if not low <= got <= high
        ]
        if self.load_kg_m2.shape != (len(CLASSES),) or self.load_kg_m2[0] <= 0:
            problems.append(Problem(f"fuel model {self.code}: load_kg_m2", "some 1-h fuel", "none"))
        if problems:
            raise StillwetError(problems)


def _read_only(values: list[float], unit: str, dimension: str) -> NDArray[np.float64]:
    column = np.array([to_si(value, unit, dimension=dimension) for value in values])
    column.flags.writeable = False  # the records are shared
    return column


def _record(row: dict[str, Any], shared: dict[str, Any]) -> FuelModel:
    columns = {**shared, **row}
    first = row["surface_to_volume_1h_1_ft"]
    ratios = [columns.get(f"surface_to_volume_{name}_1_ft", first) for name in CLASSES]
    loads = [row[f"load_{name}_ton_ac"] for name in CLASSES]
    is_numbered = row["code"].isdigit()
    return FuelModel(
        code=row["code"],
        name=row["name"],
        is_dynamic=row["is_dynamic"],
        load_kg_m2=_read_only(loads, "ton/ac", "fuel_load"),
        surface_to_volume_1_m=_read_only(ratios, "1/ft", "surface_to_volume"),
        depth_m=to_si(row["depth_ft"], "ft", dimension="length"),
        extinction_moisture=to_si(row["extinction_percent"], "%", dimension="fraction"),
        heat_content_j_kg=to_si(columns["heat_content_btu_lb"], "btu/lb", dimension="heat_content"),
        source=shared["source_numbered" if is_numbered else "source_lettered"],
    )


@cache
def fuel_models() -> tuple[FuelModel, ...]:
    """All standard models, numbered ones first, in the printed order."""
    table = load_table("fuel_models")
    return tuple(_record(row, table["shared"]) for row in table["model"])


def fuel_model(code: str) -> FuelModel:
    """The model of this code ("1" to "13", "GR1" to "SB4"); raises StillwetError for any other.

    >>> fuel_model("gr2").name
    'low-load dry-climate grass'
    """
    found = {model.code: model for model in fuel_models()}
    wanted = code.strip().upper()
    if wanted not in found:
        raise StillwetError(
            Problem("fuel_model", "one of " + ", ".join(found), shown(code), hint="see the table")
        )
    return found[wanted]
