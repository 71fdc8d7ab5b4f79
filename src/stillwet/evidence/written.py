"""What a crew would write down for a stress or a viscosity: the way back from ``readings``."""

from __future__ import annotations

import numpy as np

from stillwet.domain.trials import Coupon, Funnel, Reading, Slump, Spread, Viscosity, YieldEstimate
from stillwet.evidence.readings import MIX_DENSITY_KG_M3, QUART_M3, SLOUGH_S, Method
from stillwet.physics import funnel

CYLINDER_M = 0.08  # a piece of 3 in pipe
SPREAD_M3 = 1e-3
_WALL_DEG = 90.0
_FUNNEL_WATER_S = 25.0  # ``physics.funnel.viscosity_pitt``


def reading_of(method: Method, value: float) -> Reading:
    """The reading whose published relation gives ``value`` [Pa or Pa s] back.

    A board stands upright, a cylinder is ``CYLINDER_M`` wide and high, ``SPREAD_M3`` is poured and
    a quart runs out. What no crew could write down is brought to the nearest that it could.
    """
    match method:
        case Method.YIELD:
            return YieldEstimate(min(value, 2000.0))
        case Method.SLUMP:
            sunk = funnel.slump_pashias(
                yield_pa=value, density_kg_m3=MIX_DENSITY_KG_M3, height_m=CYLINDER_M
            )
            return Slump(float(sunk), CYLINDER_M)
        case Method.SPREAD:
            unit = funnel.yield_from_spread_roussel(
                volume_m3=SPREAD_M3, diameter_m=1.0, density_kg_m3=MIX_DENSITY_KG_M3
            )
            wide = (unit / max(value, 1e-6)) ** 0.2
            return Spread(float(np.clip(wide, 0.01, 2.0)), SPREAD_M3)
        case Method.COUPON:
            return Coupon(_coat(value), _WALL_DEG)
        case Method.SLOUGH:
            return Coupon(_coat(value), _WALL_DEG, slough_s=SLOUGH_S)
        case Method.SPINDLE:
            return Viscosity(float(np.clip(value, 1e-4, 100.0)))
        case Method.FUNNEL:
            seconds = _FUNNEL_WATER_S + value * 1e6 / MIX_DENSITY_KG_M3
            return Funnel(float(np.clip(seconds, _FUNNEL_WATER_S + 0.1, 3600.0)), QUART_M3)


def _coat(stress_pa: float) -> float:
    unit = float(funnel.yield_from_tilt(coat_kg_m2=1.0, tilt_deg=_WALL_DEG))
    return float(np.clip(stress_pa / unit, 0.01, 50.0))


def number_of(reading: Reading) -> tuple[float, str]:
    """What stands on the form for a reading, and its SI unit."""
    match reading:
        case YieldEstimate():
            return reading.yield_pa, "Pa"
        case Slump():
            return reading.slump_m, "m"
        case Spread():
            return reading.diameter_m, "m"
        case Coupon():
            return reading.coat_kg_m2, "kg/m2"
        case Viscosity():
            return reading.viscosity_pa_s, "Pa s"
        case Funnel():
            return reading.seconds, "s"


def tool_of(method: Method) -> float | None:
    """The size of what a reading is taken with: a cylinder's height [m], a volume [m3]."""
    return {Method.SLUMP: CYLINDER_M, Method.SPREAD: SPREAD_M3, Method.FUNNEL: QUART_M3}.get(method)
