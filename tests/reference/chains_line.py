"""Composite functions for the reference cases of wetted lines."""

from __future__ import annotations

from stillwet.physics.fuel_models import fuel_model
from stillwet.physics.wet_fuel import water_for_extinction, wet_bed
from stillwet.units import to_si


def coverage_l_m2(*, gallons_per_100_ft2: float) -> float:
    """Coverage as the door reads it, in L/m2."""
    return to_si(gallons_per_100_ft2, "gal/100ft2", dimension="water_depth")


def water_to_extinction(*, code: str, fuel_moisture: float) -> float:
    """Water [kg/m2] that takes a model's dead fuel to extinction, no margin."""
    bed = wet_bed(fuel=fuel_model(code), cured_fraction=0.0)
    return float(water_for_extinction(bed=bed, fuel_moisture=fuel_moisture, margin=1.0))
