"""Invented gear for tests: an engine's pump, a short hose, a proportioner that strays."""

from __future__ import annotations

from typing import Any

from stillwet.domain.gear import Gear
from stillwet.units import to_si

GPM = to_si(1.0, "gal/min", dimension="flow")
PSI = to_si(1.0, "psi", dimension="pressure")


def make_gear(**changes: Any) -> Gear:
    """250 psi up to 100 gal/min, 15 m of 1.75 in hose, 30 gal/min at 50 psi, 90 to 120 %."""
    values: dict[str, Any] = {
        "pump_flow_m3_s": (100 * GPM,),
        "pump_pressure_pa": (250 * PSI,),
        "hoses_m": ((1.75 * 0.0254, 15.0),),
        "lift_m": 3.0,
        "nozzle_flow_m3_s": 30 * GPM,
        "nozzle_pressure_pa": 50 * PSI,
        "nozzle_least_pa": 20 * PSI,
        "delivered_low": 0.9,
        "delivered_high": 1.2,
    }
    return Gear(**(values | changes))
