"""From the pump to the nozzle: the flow that comes out, or why none does.

Loss and pump curve meet at one flow, because every loss rises with flow and the pump's pressure
falls. "Cannot" is an answer with its reason, not an error.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from stillwet.constants import WATER_DENSITY
from stillwet.errors import Problem, StillwetError
from stillwet.physics.friction import (
    friction_factor_newtonian,
    pressure_drop_darcy,
    reynolds_pipe,
)
from stillwet.physics.guards import Numbers
from stillwet.physics.hose import (
    EDUCTOR_FLOW_BAND,
    EDUCTOR_LOSS,
    GPM,
    INCH,
    PSI,
    CoefficientSet,
    HoseRule,
    eductor_outlet,
    fitting_loss,
    hose_loss_rule,
    hose_rule,
    lift_pressure,
    nozzle_pressure_freeman,
)
from stillwet.physics.pipeflow import pressure_drop_herschel_bulkley
from stillwet.physics.rheology import FlowCurve, water_viscosity_patek
from stillwet.physics.roots import rising_root

_CALIBRATION_FLOW_PER_AREA = 6.0  # m/s, a working hose velocity: where the rule's bore is read off
_CALIBRATION_TEMPERATURE_K = 293.15


@dataclass(frozen=True, slots=True)
class PumpCurve:
    """Pressure the pump gives at each flow: flow rising from 0, pressure never rising."""

    flow_m3_s: tuple[float, ...]
    pressure_pa: tuple[float, ...]

    def __post_init__(self) -> None:
        flow, pressure = np.array(self.flow_m3_s), np.array(self.pressure_pa)
        if flow.size < 2 or flow.size != pressure.size:
            raise StillwetError(
                Problem("pump curve", "two or more pairs of flow and pressure", f"{flow.size}")
            )
        if flow[0] != 0.0 or (np.diff(flow) <= 0).any() or (np.diff(pressure) > 0).any():
            raise StillwetError(
                Problem(
                    "pump curve",
                    "flow rising from 0 and pressure never rising",
                    f"flow {self.flow_m3_s}, pressure {self.pressure_pa}",
                    hint="start with the closed-nozzle pressure at flow 0",
                )
            )

    def pressure_at(self, flow_m3_s: Numbers) -> NDArray[np.float64]:
        """Pressure [Pa] at a flow [m3/s], straight between points; 0 beyond the last."""
        return np.asarray(np.interp(flow_m3_s, self.flow_m3_s, self.pressure_pa, right=0.0))


@dataclass(frozen=True, slots=True)
class HoseLay:
    """Everything between the pump and the nozzle. Heights and lengths in m, tip in m."""

    hoses: tuple[tuple[float, float], ...]  # (nominal bore, length), pump to nozzle
    lift_m: float  # nozzle above pump
    tip_m: float  # smooth bore, or equivalent_tip of a rated nozzle
    nozzle_pressure_min_pa: float  # below this the nozzle makes no pattern
    fitting_coefficient: float = 0.0  # sum of k, on the last hose's bore
    eductor_flow_m3_s: float | None = None  # rated flow of an in-line eductor; None without one
    eductor_loss: float = EDUCTOR_LOSS


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Where pump and lay meet. ``reason`` is empty when it works, else says why it cannot."""

    flow_m3_s: float
    reason: str
    pump_pa: float
    eductor_pa: float
    hose_pa: float
    fittings_pa: float
    lift_pa: float
    nozzle_pa: float
    warnings: tuple[str, ...]

    @property
    def works(self) -> bool:
        """True when gel or water leaves the nozzle as it should."""
        return not self.reason


@cache
def effective_bore(*, rule: HoseRule, which: CoefficientSet) -> float:
    """Bore of the smooth pipe [m] that loses what the hose rule says, for water at 6 m/s.

    Handbook coefficients imply bores that differ from the nominal: 1.13 in for "1 in".
    """
    flow = _CALIBRATION_FLOW_PER_AREA * 0.25 * np.pi * rule.bore_m**2
    coefficient = rule.coefficient(which)
    loss = float(hose_loss_rule(flow_m3_s=flow, length_m=1.0, coefficient=coefficient))
    viscosity = water_viscosity_patek(temperature_k=_CALIBRATION_TEMPERATURE_K)

    def drop(inverse_bore: Numbers) -> Numbers:
        bore = 1.0 / np.asarray(inverse_bore)
        velocity = flow / (0.25 * np.pi * bore**2)
        reynolds = reynolds_pipe(
            velocity_m_s=velocity,
            diameter_m=bore,
            density_kg_m3=WATER_DENSITY,
            viscosity_pa_s=viscosity,
        )
        return pressure_drop_darcy(
            friction_factor=friction_factor_newtonian(reynolds=reynolds, relative_roughness=0.0),
            length_m=1.0,
            diameter_m=bore,
            density_kg_m3=WATER_DENSITY,
            velocity_m_s=velocity,
        )

    return 1.0 / float(rising_root(function=drop, target=loss, low=0.25 / rule.bore_m))


def hose_loss(
    *,
    flow_m3_s: Numbers,
    length_m: float,
    bore_m: float,
    gel: FlowCurve | None,
    which: CoefficientSet = "a",
) -> Numbers:
    """Loss in one hose [Pa]: the handbook rule for water (gel None), else the larger of two.

    For gel: the Herschel-Bulkley loss in the rule's effective bore, but never less than water's
    rule (no credit is taken for drag reduction or wall slip). ``which`` picks the coefficient set.
    """
    if gel is None:
        coefficient = hose_rule(bore_m=bore_m).coefficient(which)
        return hose_loss_rule(flow_m3_s=flow_m3_s, length_m=length_m, coefficient=coefficient)
    mix = (gel.yield_pa, gel.consistency_pa_s, gel.index, gel.density_kg_m3)
    return _gel_loss(flow_m3_s, length_m, bore_m, which, *mix)


def _gel_loss(
    flow: Numbers,
    length: float,
    bore: float,
    which: CoefficientSet,
    yield_pa: Numbers,
    consistency: Numbers,
    index: Numbers,
    density: float,
) -> Numbers:
    """The larger of water's rule and the gel's own loss in one hose [Pa], for one mix or many."""
    rule = hose_rule(bore_m=bore)
    coefficient = rule.coefficient(which)
    water = hose_loss_rule(flow_m3_s=flow, length_m=length, coefficient=coefficient)
    thick = pressure_drop_herschel_bulkley(
        flow_m3_s=flow,
        length_m=length,
        yield_pa=yield_pa,
        consistency_pa_s=consistency,
        index=index,
        diameter_m=effective_bore(rule=rule, which=which),
        density_kg_m3=density,
    )
    loss: Numbers = np.maximum(water, thick)
    return loss


def _losses(
    flow: float, lay: HoseLay, gel: FlowCurve | None, which: CoefficientSet
) -> tuple[float, float, float, float]:
    """Hose, fittings, lift and nozzle pressure [Pa] at a flow."""
    hose = sum(
        float(hose_loss(flow_m3_s=flow, length_m=length, bore_m=bore, gel=gel, which=which))
        for bore, length in lay.hoses
    )
    return hose, *_beside_hose(flow, lay, WATER_DENSITY if gel is None else gel.density_kg_m3)


def _beside_hose(flow: float, lay: HoseLay, density: float) -> tuple[float, float, float]:
    """Fittings, lift and nozzle pressure [Pa] at a flow."""
    fittings = fitting_loss(
        flow_m3_s=flow,
        bore_m=lay.hoses[-1][0],
        loss_coefficient=lay.fitting_coefficient,
        density_kg_m3=density,
    )
    lift = lift_pressure(height_m=lay.lift_m, density_kg_m3=density)
    nozzle = nozzle_pressure_freeman(flow_m3_s=flow, diameter_m=lay.tip_m)
    return float(fittings), float(lift), float(nozzle)


def _available(flow: float, pump: PumpCurve, lay: HoseLay) -> tuple[float, float]:
    """Pump pressure and what is left behind the eductor [Pa] at a flow."""
    given = float(pump.pressure_at(flow))
    if lay.eductor_flow_m3_s is None:
        return given, given
    return given, float(eductor_outlet(inlet_pa=given, loss_share=lay.eductor_loss))


def spare_pressure(
    *,
    flow_m3_s: float,
    pump: PumpCurve,
    lay: HoseLay,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
    density_kg_m3: float,
    which: CoefficientSet = "a",
) -> Numbers:
    """Pressure left over at a flow [Pa] for many mixes at once; below 0 the flow does not come.

    Parameters: flow_m3_s [m3/s]; pump, lay and which as in ``operating_point``; yield_pa [Pa],
    consistency_pa_s [Pa s^n] and index [-] of the mixes, any shapes that broadcast;
    density_kg_m3 [kg/m3]. It is 0 at the operating point and falls as the flow rises.
    """
    left = _available(flow_m3_s, pump, lay)[1] - sum(_beside_hose(flow_m3_s, lay, density_kg_m3))
    taken: Numbers = np.zeros(np.broadcast(yield_pa, consistency_pa_s, index).shape)
    mix = (yield_pa, consistency_pa_s, index, density_kg_m3)
    for bore, length in lay.hoses:
        taken = taken + _gel_loss(flow_m3_s, length, bore, which, *mix)
    spare: Numbers = left - taken
    return spare


def operating_point(
    *, pump: PumpCurve, lay: HoseLay, gel: FlowCurve | None = None, which: CoefficientSet = "a"
) -> OperatingPoint:
    """Flow at the nozzle, with every pressure on the way, or the reason why it cannot be.

    Parameters: pump curve; hose lay; gel, None for plain water; which coefficient set ("a" or "b":
    published sets disagree, so run both and show both). Handbook flow caps come back as warnings.
    """
    from scipy.optimize import brentq

    def surplus(flow: float) -> float:
        return _available(flow, pump, lay)[1] - sum(_losses(flow, lay, gel, which))

    if surplus(0.0) <= 0.0:
        return _point(0.0, pump, lay, gel, which, _standing_still(pump, lay, gel, which))
    most = pump.flow_m3_s[-1]
    flow = most if surplus(most) >= 0.0 else float(brentq(surplus, 0.0, most, rtol=1e-10))
    return _point(flow, pump, lay, gel, which, _why_not(flow, lay, gel, which))


def _standing_still(
    pump: PumpCurve, lay: HoseLay, gel: FlowCurve | None, which: CoefficientSet
) -> str:
    """Why nothing moves at all."""
    hose, _, lift, _ = _losses(0.0, lay, gel, which)
    left = _available(0.0, pump, lay)[1]
    if lift >= left:
        return f"the lift alone takes {lift / PSI:.0f} psi and the pump gives {left / PSI:.0f} psi"
    return (
        f"this mix needs {hose / PSI:.0f} psi to start moving in the hose and the pump "
        f"has {(left - lift) / PSI:.0f} psi left for it: thin the mix, shorten or widen the hose"
    )


def _why_not(flow: float, lay: HoseLay, gel: FlowCurve | None, which: CoefficientSet) -> str:
    """Why a flow that does come is no good; empty when it is good."""
    nozzle = _losses(flow, lay, gel, which)[3]
    if nozzle < lay.nozzle_pressure_min_pa:
        return (
            f"{nozzle / PSI:.0f} psi reaches the nozzle, which needs at least "
            f"{lay.nozzle_pressure_min_pa / PSI:.0f} psi: thin the mix, shorten or widen the hose"
        )
    rated = lay.eductor_flow_m3_s
    if rated is not None and abs(flow / rated - 1.0) > EDUCTOR_FLOW_BAND:
        return (
            f"the eductor is built for {rated / GPM:.0f} gal/min and {flow / GPM:.0f} pass: "
            "the ratio will be wrong or nothing is picked up; match the nozzle to the eductor"
        )
    return ""


def _point(
    flow: float,
    pump: PumpCurve,
    lay: HoseLay,
    gel: FlowCurve | None,
    which: CoefficientSet,
    reason: str,
) -> OperatingPoint:
    given, left = _available(flow, pump, lay)
    hose, fittings, lift, nozzle = _losses(flow, lay, gel, which)
    return OperatingPoint(
        flow_m3_s=flow,
        reason=reason,
        pump_pa=given,
        eductor_pa=given - left,
        hose_pa=hose,
        fittings_pa=fittings,
        lift_pa=lift,
        nozzle_pa=nozzle,
        warnings=flow_warnings(flow_m3_s=flow, lay=lay),
    )


def flow_warnings(*, flow_m3_s: float, lay: HoseLay) -> tuple[str, ...]:
    """Field-practice flow caps (30 gal/min on 3/4 and 1 in, 100 on 1.5 in) that a flow exceeds."""
    found: list[str] = []
    for bore, _ in lay.hoses:
        limit = hose_rule(bore_m=bore).flow_limit_m3_s
        if limit is not None and flow_m3_s > limit:
            found.append(
                f"{flow_m3_s / GPM:.0f} gal/min in {bore / INCH:g} in hose: field practice "
                f"stops at {limit / GPM:.0f}"
            )
    return tuple(found)
