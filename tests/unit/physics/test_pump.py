"""Pump and hose lay: where they meet, and why they may not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stillwet.constants import WATER_DENSITY
from stillwet.errors import StillwetError
from stillwet.physics import hose, pump
from stillwet.physics.hose import FOOT, GPM, INCH, PSI
from stillwet.physics.rheology import FlowCurve

ENGINE = pump.PumpCurve((0.0, 50.0 * GPM, 150.0 * GPM), (280.0 * PSI, 265.0 * PSI, 250.0 * PSI))
LAY = pump.HoseLay(
    hoses=((1.5 * INCH, 200.0 * FOOT),),
    lift_m=20.0 * FOOT,
    tip_m=0.5 * INCH,
    nozzle_pressure_min_pa=50.0 * PSI,
    fitting_coefficient=4.0,
)
THIN = FlowCurve(12.0, 4.0, 0.4, 1000.0)
THICK = FlowCurve(120.0, 40.0, 0.4, 1000.0)


def test_pressures_add_up_at_the_operating_point() -> None:
    """What the pump gives is what hose, fittings, lift and nozzle take, water and gel."""
    for gel in (None, THIN):
        point = pump.operating_point(pump=ENGINE, lay=LAY, gel=gel)
        taken = point.hose_pa + point.fittings_pa + point.lift_pa + point.nozzle_pa
        assert point.works
        assert taken == pytest.approx(point.pump_pa, rel=1e-6)


def test_water_reduces_to_the_handbook() -> None:
    """Flow by the operating point, put into the handbook formulae by hand, closes the balance."""
    point = pump.operating_point(pump=ENGINE, lay=replace(LAY, fitting_coefficient=0.0))
    gpm = point.flow_m3_s / GPM
    friction_psi = 24.0 * (gpm / 100.0) ** 2 * 2.0
    nozzle_psi = (gpm / (29.7 * 0.5**2)) ** 2
    lift_psi = WATER_DENSITY / 1000.0 * 0.43353 * 20.0
    assert point.pump_pa / PSI == pytest.approx(friction_psi + nozzle_psi + lift_psi, rel=1e-4)


def test_gel_delivers_less_than_water_and_thick_gel_less_still() -> None:
    """The thicker the mix, the less flows."""
    flows = [
        pump.operating_point(pump=ENGINE, lay=LAY, gel=gel).flow_m3_s
        for gel in (None, THIN, FlowCurve(40.0, 12.0, 0.4, 1000.0))
    ]
    assert flows[0] > flows[1] > flows[2] > 0.0


def test_a_mix_too_thick_to_start_says_so() -> None:
    """When the yield stress holds more than the pump gives, the answer names both pressures."""
    long = replace(LAY, hoses=((1.0 * INCH, 500.0 * FOOT),))
    point = pump.operating_point(pump=ENGINE, lay=long, gel=THICK)
    assert point.flow_m3_s == 0.0
    assert not point.works
    assert "to start moving in the hose" in point.reason
    assert point.hose_pa > ENGINE.pressure_pa[0]


def test_a_lift_above_the_pump_says_so() -> None:
    """700 ft of lift is beyond 280 psi, with water too."""
    point = pump.operating_point(pump=ENGINE, lay=replace(LAY, lift_m=700.0 * FOOT))
    assert point.reason.startswith("the lift alone takes 303 psi")


def test_too_little_at_the_nozzle_says_so() -> None:
    """Gel that moves but arrives without pressure is no good, and the reason carries the number."""
    long = replace(LAY, hoses=((1.5 * INCH, 400.0 * FOOT),))
    point = pump.operating_point(pump=ENGINE, lay=long, gel=FlowCurve(40.0, 12.0, 0.4, 1000.0))
    assert point.flow_m3_s > 0.0
    assert "reaches the nozzle, which needs at least 50 psi" in point.reason


def test_an_eductor_wants_its_own_flow() -> None:
    """Matched it works and takes 35 %; on another nozzle the reason says the ratio is wrong."""
    matched = pump.operating_point(
        pump=ENGINE, lay=replace(LAY, eductor_flow_m3_s=84.0 * GPM, fitting_coefficient=0.0)
    )
    assert matched.works
    assert matched.eductor_pa == pytest.approx(0.35 * matched.pump_pa)
    wrong = pump.operating_point(pump=ENGINE, lay=replace(LAY, eductor_flow_m3_s=30.0 * GPM))
    passing = f"{wrong.flow_m3_s / GPM:.0f} pass"
    assert f"the eductor is built for 30 gal/min and {passing}" in wrong.reason


def test_flow_caps_are_warnings_only() -> None:
    """100 gpm on 1.5 in and 30 on 1 in are field practice: flow goes on, with a word."""
    big = replace(LAY, tip_m=0.75 * INCH)
    point = pump.operating_point(pump=ENGINE, lay=big)
    assert point.works
    assert point.warnings == (
        f"{point.flow_m3_s / GPM:.0f} gal/min in 1.5 in hose: field practice stops at 100",
    )
    assert pump.flow_warnings(flow_m3_s=29.0 * GPM, lay=replace(LAY, hoses=((INCH, 30.0),))) == ()


def test_both_coefficient_sets_can_be_shown() -> None:
    """On 1.75 in the two published sets give flows 3 to 15 % apart."""
    lay = replace(LAY, hoses=((1.75 * INCH, 600.0 * FOOT),), tip_m=0.6 * INCH)
    low = pump.operating_point(pump=ENGINE, lay=lay, which="a").flow_m3_s
    high = pump.operating_point(pump=ENGINE, lay=lay, which="b").flow_m3_s
    assert 1.03 < high / low < 1.15


def test_a_pump_that_outdoes_the_lay_is_read_at_its_last_point() -> None:
    """Where even the curve's last flow leaves pressure over, that flow is the answer."""
    short = replace(LAY, hoses=((2.5 * INCH, 10.0),), tip_m=2.0 * INCH, nozzle_pressure_min_pa=0.0)
    point = pump.operating_point(pump=ENGINE, lay=short)
    assert point.flow_m3_s == ENGINE.flow_m3_s[-1]


@pytest.mark.parametrize(
    ("nominal", "smooth"), [(1.0, 1.09), (1.5, 1.54), (1.75, 1.66), (2.5, 2.48)]
)
def test_handbook_coefficients_imply_another_bore(nominal: float, smooth: float) -> None:
    """A smooth pipe that loses as the rule says is wider than nominal at 1 in, narrower at 1.75."""
    rule = hose.hose_rule(bore_m=nominal * INCH)
    assert pump.effective_bore(rule=rule, which="a") / INCH == pytest.approx(smooth, abs=0.01)


def test_gel_never_loses_less_than_water() -> None:
    """No credit for drag reduction: a slippery thin gel gets water's rule."""
    slippery = FlowCurve(0.0, 2e-4, 1.0, 1000.0)
    thin, water = (
        pump.hose_loss(flow_m3_s=0.004, length_m=30.0, bore_m=1.5 * INCH, gel=gel)
        for gel in (slippery, None)
    )
    assert thin == water


def test_bad_pump_curves_are_refused() -> None:
    """A curve that does not start at 0, or rises, or has one point, is named and refused."""
    with pytest.raises(StillwetError, match="flow rising from 0 and pressure never rising"):
        pump.PumpCurve((10.0, 20.0), (5.0, 4.0))
    with pytest.raises(StillwetError, match="flow rising from 0 and pressure never rising"):
        pump.PumpCurve((0.0, 20.0), (4.0, 5.0))
    with pytest.raises(StillwetError, match="two or more pairs"):
        pump.PumpCurve((0.0,), (4.0,))


@pytest.mark.parametrize("which", ["a", "b"])
@pytest.mark.parametrize("gel", [THIN, FlowCurve(1e-6, 1.0e-3, 1.0, 1000.0)])
def test_no_pressure_is_left_over_where_pump_and_lay_meet(
    gel: FlowCurve, which: hose.CoefficientSet
) -> None:
    """Spare pressure is 0 at the operating point, above it at less flow, below it at more."""
    flow = pump.operating_point(pump=ENGINE, lay=LAY, gel=gel, which=which).flow_m3_s
    less, at, more = (
        float(
            np.asarray(
                pump.spare_pressure(
                    flow_m3_s=share * flow,
                    pump=ENGINE,
                    lay=LAY,
                    yield_pa=gel.yield_pa,
                    consistency_pa_s=gel.consistency_pa_s,
                    index=gel.index,
                    density_kg_m3=gel.density_kg_m3,
                    which=which,
                )
            )
        )
        for share in (0.9, 1.0, 1.1)
    )
    assert less > 1e3
    assert at == pytest.approx(0.0, abs=1.0)
    assert more < -1e3


def test_spare_pressure_takes_many_mixes_at_once() -> None:
    """Each mix by itself and all together give the same; the stiffer mix leaves less."""
    mixes = np.array([5.0, 40.0]), np.array([2.0, 15.0]), np.array([0.5, 0.4])
    both = pump.spare_pressure(
        flow_m3_s=20.0 * GPM,
        pump=ENGINE,
        lay=LAY,
        yield_pa=mixes[0],
        consistency_pa_s=mixes[1],
        index=mixes[2],
        density_kg_m3=1000.0,
    )
    each = [
        pump.spare_pressure(
            flow_m3_s=20.0 * GPM,
            pump=ENGINE,
            lay=LAY,
            yield_pa=mixes[0][i],
            consistency_pa_s=mixes[1][i],
            index=mixes[2][i],
            density_kg_m3=1000.0,
        )
        for i in range(2)
    ]
    assert np.asarray(both) == pytest.approx(np.array(each))
    assert np.asarray(both)[1] < np.asarray(both)[0]
