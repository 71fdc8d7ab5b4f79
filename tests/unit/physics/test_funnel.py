"""Field readings: funnel, spindle, slump, coupon, tilt."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.constants import GRAVITY
from stillwet.physics import funnel


@pytest.mark.parametrize(("seconds", "is_true"), [(26.0, True), (25.5, True), (27.0, False)])
def test_water_check_of_the_funnel(seconds: float, is_true: bool) -> None:
    """26 +- 0.5 s for a quart, no more and no less."""
    assert funnel.funnel_is_true(water_seconds=seconds) is is_true


def test_funnel_siblings_bracket_each_other() -> None:
    """Pitt and Almahdawi differ by 3 s, 3.3 cP at 1.1 g/cm3: within the error at 40 s."""
    pitt = funnel.viscosity_pitt(funnel_seconds=40.0, density_kg_m3=1100.0)
    other = funnel.viscosity_pitt(funnel_seconds=40.0, density_kg_m3=1100.0, water_seconds=28.0)
    assert float(pitt) - float(other) == pytest.approx(3.3e-3)
    assert float(other) > (1.0 - funnel.FUNNEL_ERROR) * float(pitt)


def test_funnel_faster_than_water_is_no_negative_viscosity() -> None:
    """Below the constant the relation ends at zero."""
    assert funnel.viscosity_pitt(funnel_seconds=20.0, density_kg_m3=1000.0) == 0.0


def test_spindle_shows_a_newtonian_liquid_as_it_is() -> None:
    """With n = 1 and no yield stress the reading is the viscosity, at any speed."""
    for speed in (6.0, 60.0):
        reading = funnel.spindle_viscosity(
            yield_pa=0.0, consistency_pa_s=0.35, index=1.0, revolutions_per_min=speed
        )
        assert float(reading) == pytest.approx(0.35, rel=1e-12)


def test_slump_runs_from_all_to_nothing() -> None:
    """No yield stress slumps flat; half of rho g H and more does not slump."""
    half = 0.5 * 1000.0 * GRAVITY * 0.1
    slump = funnel.slump_pashias(
        yield_pa=np.array([1e-9, half, 2.0 * half]), density_kg_m3=1000.0, height_m=0.1
    )
    np.testing.assert_allclose(slump, [0.1, 0.0, 0.0], atol=1e-6)


@pytest.mark.parametrize("yield_pa", [5.0, 31.0, 62.0, 200.0])
def test_yield_from_slump_inverts(yield_pa: float) -> None:
    """The yield stress that made the slump is read back from it."""
    slump = funnel.slump_pashias(yield_pa=yield_pa, density_kg_m3=1010.0, height_m=0.1)
    back = funnel.yield_from_slump_pashias(slump_m=slump, density_kg_m3=1010.0, height_m=0.1)
    assert float(back) == pytest.approx(yield_pa, rel=1e-9)


def test_spread_loses_volume_nowhere() -> None:
    """The volume under the puddle's own profile, sqrt(2 tau (R-r)/(rho g)), gives tau back."""
    yield_pa, radius, weight = 20.0, 0.2, 1000.0 * GRAVITY
    r = (np.arange(200_000) + 0.5) / 200_000 * radius
    height = np.sqrt(2.0 * yield_pa * (radius - r) / weight)
    volume = float(np.sum(2.0 * np.pi * r * height) * radius / 200_000)
    found = funnel.yield_from_spread_roussel(
        volume_m3=volume, diameter_m=2.0 * radius, density_kg_m3=1000.0
    )
    assert float(found) == pytest.approx(yield_pa, rel=1e-4)


def test_coupon_and_tilt_give_the_wall_rule() -> None:
    """64 g on 20 by 100 mm is 32 kg/m2; 3.175 kg/m2 that slides upright has 31 Pa."""
    coat = funnel.coat_from_coupon(wet_kg=0.164, bare_kg=0.1, area_m2=0.002)
    assert float(coat) == pytest.approx(32.0)
    stress = funnel.yield_from_tilt(coat_kg_m2=3.175, tilt_deg=np.array([90.0, 30.0]))
    np.testing.assert_allclose(stress, [31.1, 15.6], atol=0.1)


def test_a_coat_below_its_limit_never_sloughs() -> None:
    """Time is infinite below the yield stress, finite above it and shorter if thicker."""
    coats = np.array([0.003, 0.005, 0.008])
    speed = funnel.film_surface_speed(
        thickness_m=coats,
        tilt_deg=90.0,
        density_kg_m3=1000.0,
        yield_pa=31.0,
        consistency_pa_s=9.0,
        index=0.4,
    )
    seconds = np.asarray(funnel.slough_time(surface_speed_m_s=speed))
    assert np.isposinf(seconds[0])
    assert np.isfinite(seconds[1:]).all()
    assert seconds[2] < seconds[1]


def test_film_speed_is_the_integral_of_its_shear() -> None:
    """The shear rate ((rho g sin y - tau_y)/K)^(1/n) summed through the layer gives the speed."""
    pull = 1000.0 * GRAVITY * np.sin(np.radians(60.0))
    y = (np.arange(100_000) + 0.5) / 100_000 * 0.008
    rate = (np.maximum(pull * y - 31.0, 0.0) / 9.0) ** (1.0 / 0.4)
    speed = funnel.film_surface_speed(
        thickness_m=0.008,
        tilt_deg=60.0,
        density_kg_m3=1000.0,
        yield_pa=31.0,
        consistency_pa_s=9.0,
        index=0.4,
    )
    assert float(speed) == pytest.approx(float(rate.sum()) * 0.008 / 100_000, rel=1e-6)
