"""Kinds of concentrate: the defaults of ``data/product_types.toml`` as checked records."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from stillwet.errors import Problem, StillwetError, shown
from stillwet.tables import load_table

UNTESTED = "untested default"


@dataclass(frozen=True, slots=True)
class Parameter:
    """One default: median, the interval that should hold nine products in ten, unit and source."""

    median: float
    low: float
    high: float
    unit: str
    source: str

    @property
    def is_untested(self) -> bool:
        """True when no publication or trial stands behind the number."""
        return self.source.startswith(UNTESTED)


@dataclass(frozen=True, slots=True)
class ProductType:
    """One kind of concentrate. Parameter names are those of the functions in rheology and cling."""

    id: str
    name: str
    ratio_basis: str  # "volume" or "mass"
    hydrates: str  # plain words for the mixing step
    hard_water: str  # plain words for what hard water does
    ratio_low: Parameter
    ratio_high: Parameter
    density_kg_m3: Parameter  # of the concentrate; bulk density for powders
    yield_coefficient_pa: Parameter
    yield_threshold: Parameter
    yield_exponent: Parameter
    consistency_pa_s: Parameter  # K at the threshold
    consistency_exponent: Parameter
    flow_index: Parameter
    hardness_half_kg_m3: Parameter
    hardness_exponent: Parameter
    temperature_slope_per_k: Parameter
    hydration_time_s: Parameter
    drying_exponent: Parameter
    adhesion_stress_pa: Parameter


def parameter_names() -> tuple[str, ...]:
    """The names of the numbers every product type has. Checks ``product_type``."""
    return tuple(field.name for field in fields(ProductType) if field.type == "Parameter")


def product_type_names() -> tuple[str, ...]:
    """The product types there are, in the order of the table. Feeds ``product_type``."""
    return tuple(load_table("product_types"))


def product_type(*, name: str) -> ProductType:
    """The product type of this name; raises StillwetError naming the ones there are."""
    table = load_table("product_types")
    if name not in table:
        raise StillwetError(
            Problem("product_type", "one of " + ", ".join(table), shown(name), "product_types")
        )
    row: dict[str, Any] = {
        key: Parameter(**value) if isinstance(value, dict) else value
        for key, value in table[name].items()
    }
    return ProductType(id=name, **row)
