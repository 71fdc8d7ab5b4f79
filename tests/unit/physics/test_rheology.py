"""Rheology: what the water, the clock and the ratio do to a mix."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.physics import rheology

LAW = {"coefficient_pa": 25e3, "threshold": 0.0025, "exponent": 1.2}
WATER = {"hardness_kg_m3": 0.1, "hardness_half_kg_m3": 0.1}


def test_no_yield_stress_at_the_threshold() -> None:
    """Below the ratio at which swollen particles touch there is no yield stress at all."""
    stress = rheology.yield_stress(ratio=np.array([0.0, 0.004, 0.005, 0.0051]), **LAW, **WATER)
    np.testing.assert_array_equal(np.asarray(stress) > 0.0, [False, False, False, True])


def test_half_hardness_makes_a_ratio_do_what_half_of_it_would() -> None:
    """The meaning of hardness_half: 2 % in that water stands like 1 % in soft water."""
    hard = rheology.yield_stress(ratio=0.02, **LAW, **WATER)
    soft = rheology.yield_stress(ratio=0.01, **LAW, hardness_kg_m3=0.0, hardness_half_kg_m3=0.1)
    assert hard == pytest.approx(soft, rel=1e-12)


def test_an_indifferent_product_has_an_infinite_half_hardness() -> None:
    """Infinite hardness_half or a zero exponent leaves the yield stress of soft water."""
    soft = rheology.yield_stress(ratio=0.01, **LAW, hardness_kg_m3=0.0, hardness_half_kg_m3=0.1)
    for half, exponent in ((np.inf, 1.0), (0.1, 0.0)):
        same = rheology.yield_stress(
            ratio=0.01,
            **LAW,
            hardness_kg_m3=0.4,
            hardness_half_kg_m3=half,
            hardness_exponent=exponent,
        )
        assert same == pytest.approx(soft, rel=1e-12)


def test_flocculating_clay_thickens_in_hard_water() -> None:
    """A negative hardness exponent, as a clay may have, raises the yield stress."""
    clay = {"coefficient_pa": 20e3, "threshold": 0.025, "exponent": 2.0}
    stress = rheology.yield_stress(
        ratio=0.06,
        **clay,
        hardness_kg_m3=np.array([0.0, 0.1, 0.3]),
        hardness_half_kg_m3=0.3,
        hardness_exponent=-0.3,
    )
    assert (np.diff(stress) > 0.0).all()


def test_a_fresh_mix_grows_to_its_final_yield_stress() -> None:
    """Nothing at the moment of mixing, within 1 % of the end after ten swelling times."""
    ages = np.array([0.0, 60.0, 180.0, 600.0, np.inf])
    stress = np.asarray(
        rheology.yield_stress(ratio=0.02, **LAW, **WATER, age_s=ages, hydration_time_s=60.0)
    )
    assert stress[0] == 0.0
    assert (np.diff(stress) > 0.0).all()
    assert stress[3] == pytest.approx(stress[4], rel=0.01)


def test_cold_water_hydrates_slower() -> None:
    """At 4 C swelling takes 1.7 times as long as at 21 C, as the viscosity of water rises 1.6."""
    slower = rheology.hydration_time_tanaka(hydration_time_s=60.0, temperature_k=277.15)
    assert float(slower) / 60.0 == pytest.approx(1.7, abs=0.05)


@pytest.mark.parametrize("yield_pa", [0.0, 0.5, 20.0, 31.0, 140.0])
def test_ratio_for_yield_gives_that_yield(yield_pa: float) -> None:
    """The inverse is the inverse, in hard cold water and half hydrated too."""
    setting = {**LAW, "hardness_kg_m3": 0.2, "hardness_half_kg_m3": 0.15, "temperature_k": 280.0}
    ratio = rheology.ratio_for_yield(yield_pa=yield_pa, **setting, age_s=90.0)
    back = rheology.yield_stress(ratio=ratio, **setting, age_s=90.0)
    assert back == pytest.approx(yield_pa, rel=1e-9, abs=1e-9)


def test_no_ratio_does_it_without_hydration_or_strength() -> None:
    """Impossible comes back as an infinite ratio, not as an error."""
    dry = rheology.ratio_for_yield(yield_pa=30.0, **LAW, **WATER, age_s=0.0)
    weak = rheology.ratio_for_yield(
        yield_pa=30.0, coefficient_pa=0.0, threshold=0.0025, exponent=1.2, **WATER
    )
    assert np.isposinf(dry)
    assert np.isposinf(weak)


def test_thin_mix_is_water_and_thick_mix_is_gel() -> None:
    """The blend ends at the viscosity of water with n = 1, and at the gel's K and n."""
    thin, thick = 1e-5, 0.05
    law = {"threshold": 0.0025}
    k = rheology.consistency(
        ratio=np.array([thin, thick]), coefficient_pa_s=3.2, exponent=1.3, **law
    )
    n = rheology.flow_index(ratio=np.array([thin, thick]), index_gel=0.4, **law)
    water = rheology.water_viscosity_patek(temperature_k=rheology.REFERENCE_TEMPERATURE_K)
    np.testing.assert_allclose(k, [float(water), 3.2 * 20.0**1.3], rtol=1e-3)
    np.testing.assert_allclose(n, [1.0, 0.4], atol=1e-4)


def test_consistency_follows_the_water_as_it_warms() -> None:
    """From 4 to 38 C K falls by the same factor as the viscosity of water."""
    temperatures = np.array([277.15, 311.15])
    k = np.asarray(
        rheology.consistency(
            ratio=0.01,
            coefficient_pa_s=3.2,
            exponent=1.3,
            threshold=0.0025,
            temperature_k=temperatures,
        )
    )
    mu = np.asarray(rheology.water_viscosity_patek(temperature_k=temperatures))
    assert k[0] / k[1] == pytest.approx(mu[0] / mu[1], rel=1e-9)


def test_apparent_viscosity_is_stress_over_rate() -> None:
    """Herschel-Bulkley by hand: 10 + 2*4^0.5 = 14 Pa at 4 1/s, so 3.5 Pa s."""
    curve = {"yield_pa": 10.0, "consistency_pa_s": 2.0, "index": 0.5}
    assert rheology.shear_stress_herschel_bulkley(shear_rate_1_s=4.0, **curve) == 14.0
    assert rheology.apparent_viscosity(shear_rate_1_s=4.0, **curve) == 3.5


def test_a_60_rpm_viscosity_does_not_fix_the_yield_stress() -> None:
    """Two curves with the same spindle reading hold coats that differ more than four times."""
    from stillwet.physics.funnel import spindle_viscosity

    short = spindle_viscosity(yield_pa=5.0, consistency_pa_s=8.75, index=0.4)
    long = spindle_viscosity(yield_pa=25.0, consistency_pa_s=3.72, index=0.4)
    assert short == pytest.approx(long, rel=0.01)


def test_hydration_wait_is_when_the_share_is_reached() -> None:
    """After the wait the mix has swollen to the share asked for; cold water takes longer."""
    warm, cold = (
        float(np.asarray(rheology.hydration_wait(share=0.95, temperature_k=t, hydration_time_s=60)))
        for t in (294.15, 277.15)
    )
    assert warm == pytest.approx(60.0 * 2.9957, rel=1e-4)  # ln 20
    reached = rheology.hydration(age_s=cold, temperature_k=277.15, hydration_time_s=60.0)
    assert reached == pytest.approx(0.95)
    assert cold / warm == pytest.approx(1.7, abs=0.1)
