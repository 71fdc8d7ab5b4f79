"""How rich a mix a crew can pump: the ratio at which its flow no longer leaves the nozzle."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.gear import Gear
from stillwet.domain.mix_window import FlowAtNozzle, Wall, WallKind
from stillwet.domain.products import Crew
from stillwet.engine.mix_draws import BAND, Flow, MixDraws, flow_at, with_middle
from stillwet.engine.mixing import MIX_DENSITY_KG_M3
from stillwet.physics.hose import CoefficientSet, equivalent_tip
from stillwet.physics.pump import HoseLay, PumpCurve, operating_point, spare_pressure
from stillwet.physics.rheology import FlowCurve

Array = NDArray[np.float64]

SETS: tuple[CoefficientSet, CoefficientSet] = ("a", "b")
_RICHEST = 0.3  # a mix that pumps at this ratio has no pumping wall
_POINTS, _ROUNDS = 17, 4  # to a part in 16**4 of that, all members at once


def lay_of(gear: Gear) -> tuple[PumpCurve, HoseLay]:
    """A crew's gear as the hydraulics take it."""
    lay = HoseLay(
        hoses=gear.hoses_m,
        lift_m=gear.lift_m,
        tip_m=equivalent_tip(flow_m3_s=gear.nozzle_flow_m3_s, pressure_pa=gear.nozzle_pressure_pa),
        nozzle_pressure_min_pa=gear.nozzle_least_pa,
        eductor_flow_m3_s=gear.eductor_flow_m3_s,
    )
    return PumpCurve(*gear.pump_curve), lay


def _comes(flow: Flow, crew: Crew, gear: Gear, which: CoefficientSet) -> NDArray[np.bool_]:
    """Whether the crew's spray flow of these mixes comes, by one set of hose coefficients."""
    pump, lay = lay_of(gear)
    spare = spare_pressure(
        flow_m3_s=crew.spray_flow_m3_s,
        pump=pump,
        lay=lay,
        yield_pa=flow.yield_pa,
        consistency_pa_s=flow.consistency_pa_s,
        index=flow.index,
        density_kg_m3=MIX_DENSITY_KG_M3,
        which=which,
    )
    return np.asarray(np.asarray(spare) >= 0.0)


def pump_wall(draws: MixDraws, crew: Crew, gear: Gear, which: CoefficientSet) -> Wall:
    """Richest ratio at which the crew's spray flow still comes, by one set of hose coefficients.

    The middle member is counted on: unlike a coat that slides off later, a flow that fails is seen
    at once when the pattern is tested. 0 where not even water comes, infinite where any mix does.
    """
    every = with_middle(draws)
    count = 1 + draws.adhesion_pa.size

    def comes(ratio: Array) -> NDArray[np.bool_]:
        return _comes(flow_at(every, ratio), crew, gear, which)

    low, high = np.zeros(count), np.full(count, _RICHEST)
    always, never = comes(high), ~comes(low)
    steps = np.linspace(0.0, 1.0, _POINTS)[:, None]
    columns = np.arange(count)
    for _ in range(_ROUNDS):
        tried = low + steps * (high - low)
        good = np.maximum(np.sum(comes(tried), axis=0), 1)  # the poorest of them comes
        low, high = tried[good - 1, columns], tried[np.minimum(good, _POINTS - 1), columns]
    ratio = np.where(always, np.inf, np.where(never, 0.0, low))
    return Wall(
        WallKind.PUMP,
        float(ratio[0]),
        float(np.quantile(ratio[1:], BAND[0], method="lower")),
        float(np.quantile(ratio[1:], BAND[1], method="higher")),
    )


def brings(draws: MixDraws, crew: Crew, gear: Gear, ratio: float) -> bool:
    """Does the crew's spray flow of the middle mix come, by either set of hose coefficients?"""
    middle = flow_at(draws.middle, np.array(ratio))
    return any(bool(_comes(middle, crew, gear, which)) for which in SETS)


def pump_note(draws: MixDraws, crew: Crew, ratio: float) -> str:
    """What to tell a crew that is sent with a mix its pump may not bring; empty when it does."""
    if crew.gear is None or ratio <= 0.0 or brings(draws, crew, crew.gear, ratio):
        return ""
    return (
        f"{crew.name}: reckoned from its pump, hose and nozzle, its full flow of the "
        f"{100 * ratio:.2f} % mix does not come out. Test the pattern with that mix before it is "
        "sent; a shorter or wider hose, more pressure or less flow helps. Gel in hose is likely "
        "reckoned too thick: stillwet mix tells more."
    )


def flows_at(draws: MixDraws, gear: Gear, ratio: float) -> tuple[FlowAtNozzle, ...]:
    """What leaves the nozzle at a ratio, by both sets of hose coefficients, the middle mix."""
    pump, lay = lay_of(gear)
    middle = flow_at(draws.middle, np.array(ratio))
    gel = FlowCurve(
        yield_pa=float(middle.yield_pa),
        consistency_pa_s=float(middle.consistency_pa_s),
        index=float(middle.index),
        density_kg_m3=MIX_DENSITY_KG_M3,
    )
    points = [(which, operating_point(pump=pump, lay=lay, gel=gel, which=which)) for which in SETS]
    return tuple(
        FlowAtNozzle(
            coefficients=which,
            flow_m3_s=point.flow_m3_s,
            pump_pa=point.pump_pa,
            hose_pa=point.hose_pa,
            nozzle_pa=point.nozzle_pa,
            reason=point.reason,
        )
        for which, point in points
    )
