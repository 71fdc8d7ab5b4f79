"""What faces are made of: the numbers a coat and a fire need, each with its source and interval."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Any

from stillwet.tables import load_table


class Harm(StrEnum):
    """What happens to the bare face at its limit."""

    IGNITES = "ignites"
    SAGS = "sags"
    CRACKS = "cracks"
    DIES = "dies"  # living bark: the tree under it
    HEATS = "heats"  # does not burn; what is behind or inside suffers


@dataclass(frozen=True, slots=True)
class Sourced:
    """One number in SI with its interval, source, and kind ("published" or "untested default")."""

    value: float
    unit: str
    low: float
    high: float
    source: str
    kind: str


@dataclass(frozen=True, slots=True)
class Material:
    """One row of ``data/materials.toml``."""

    name: str
    label: str  # plain words
    harm: Harm
    solar_absorptivity: Sourced  # of the coated face, to sunlight
    emissivity: Sourced  # of the coated face: long-wave, and its share of flame radiation taken up
    bare_emissivity: Sourced  # of the bare face, hot
    thermal_inertia_j2_m4k2s: Sourced  # k rho c, effective
    limit_temperature_k: Sourced  # surface temperature at which the harm is done
    critical_flux_w_m2: Sourced  # steady incident flux below which it never is
    bark_thickness_m: Sourced | None = None


def sourced(row: Any) -> Sourced:
    """A table entry ``[value, unit, low, high, source, kind]`` as a record."""
    value, unit, low, high, source, kind = row
    return Sourced(float(value), unit, float(low), float(high), source, kind)


@cache
def materials() -> Mapping[str, Material]:
    """Every material of the packaged table, by name."""
    columns = [field.name for field in fields(Material)][3:]
    found = {
        name: Material(
            name=name,
            label=row["label"],
            harm=Harm(row["harm"]),
            **{column: sourced(row[column]) for column in columns if column in row},
        )
        for name, row in load_table("materials").items()
    }
    return MappingProxyType(found)
