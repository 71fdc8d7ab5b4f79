"""Moist air against independent libraries, over the range crews work in."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from iapws import IAPWS97

from stillwet.physics import air

CELSIUS = np.array([-15.0, -5.0, 2.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0])


@pytest.fixture(autouse=True)
def si_units() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)


def test_saturation_pressure_equals_psychrolib_from_minus_20_to_60() -> None:
    """The ASHRAE equations, coded twice by different people, agree within 0.02 %."""
    ours = air.saturation_pressure_ashrae(temperature_k=CELSIUS + 273.15)
    theirs = [psychrolib.GetSatVapPres(t) for t in CELSIUS]
    np.testing.assert_allclose(ours, theirs, rtol=2e-4)


def test_saturation_pressure_over_water_lies_within_a_tenth_of_a_percent_of_iapws() -> None:
    """Water's saturation line from 0 to 100 C is that of IAPWS-IF97 within 0.1 %."""
    temperatures = np.linspace(273.16, 373.15, 30)
    ours = air.saturation_pressure_water_hyland_wexler(temperature_k=temperatures)
    theirs = [IAPWS97(T=t, x=0).P * 1e6 for t in temperatures]
    np.testing.assert_allclose(ours, theirs, rtol=1e-3)


def test_siblings_of_saturation_agree_where_both_hold() -> None:
    """Three published forms over water agree within 0.4 % from 0 to 50 C."""
    t = np.linspace(273.15, 323.15, 26)
    main = air.saturation_pressure_water_hyland_wexler(temperature_k=t)
    for sibling in (air.saturation_pressure_tetens_fao56, air.saturation_pressure_magnus_wmo):
        np.testing.assert_allclose(sibling(temperature_k=t), main, rtol=4e-3)


@pytest.mark.parametrize("pressure", [101325.0, 80000.0])
def test_wet_bulb_is_the_one_psychrolib_puts_the_air_at(pressure: float) -> None:
    """Air that psychrolib computes from a wet bulb has that wet bulb, over water and over ice."""
    for celsius in CELSIUS:
        for gap in (1.0, 4.0, 12.0, 25.0):
            wet = celsius - gap
            ratio = psychrolib.GetHumRatioFromTWetBulb(celsius, wet, pressure)
            # psychrolib holds the ratio at 1e-7; within 0.2 K of freezing two roots exist
            if ratio <= 1e-6 or abs(wet) < 0.2:
                continue
            vapour = air.vapour_pressure_from_humidity_ratio(
                humidity_ratio=ratio, pressure_pa=pressure
            )
            ours = air.wet_bulb_ashrae(
                temperature_k=celsius + 273.15, vapour_pressure_pa=vapour, pressure_pa=pressure
            )
            assert ours - 273.15 == pytest.approx(wet, abs=0.005)


def test_a_frost_point_near_minus_100_is_psychrolibs() -> None:
    """The ASHRAE equation over ice begins at -100 C: psychrolib's pressures lead back to there."""
    celsius = np.array([-99.5, -92.0, -80.0, -60.0])
    pressure = np.array([psychrolib.GetSatVapPres(t) for t in celsius])
    found = air.dew_point_ashrae(vapour_pressure_pa=pressure)
    np.testing.assert_allclose(found, celsius + 273.15, atol=0.05)


def test_dew_point_is_the_inverse_of_saturation() -> None:
    """Air saturated at a temperature has that dew point, from -30 to 60 C."""
    t = np.linspace(243.15, 333.15, 19)
    vapour = air.saturation_pressure_ashrae(temperature_k=t)
    np.testing.assert_allclose(air.dew_point_ashrae(vapour_pressure_pa=vapour), t, atol=1e-6)


def test_density_lies_within_a_fifth_of_a_percent_of_coolprop() -> None:
    """Moist-air density is CoolProp's real-gas value within 0.2 %."""
    for t in (273.15, 298.15, 323.15):
        for humidity in (0.1, 0.5, 0.9):
            vapour = air.vapour_pressure(temperature_k=t, relative_humidity=humidity)
            ours = air.air_density(temperature_k=t, vapour_pressure_pa=vapour, pressure_pa=101325.0)
            volume = HAPropsSI("Vha", "T", t, "P", 101325.0, "R", humidity)
            assert ours == pytest.approx(1 / volume, rel=2e-3)


def test_transport_properties_lie_within_two_percent_of_coolprop() -> None:
    """Viscosity and conductivity of air from -20 to 60 C are CoolProp's within 2 %."""
    for t in (253.15, 273.15, 293.15, 313.15, 333.15):
        conductivity = HAPropsSI("K", "T", t, "P", 101325.0, "R", 0.1)
        viscosity = HAPropsSI("M", "T", t, "P", 101325.0, "R", 0.1)
        assert air.thermal_conductivity_sutherland(temperature_k=t) == pytest.approx(
            conductivity, rel=0.02
        )
        assert air.dynamic_viscosity_sutherland(temperature_k=t) == pytest.approx(
            viscosity, rel=0.02
        )


def test_latent_heat_is_that_of_iapws_to_boiling() -> None:
    """The heat of evaporation is within 2e-5 of IAPWS-IF97 between the points it was fitted to."""
    for t in np.linspace(274.4, 372.9, 17):
        line = IAPWS97(T=t, x=1).h - IAPWS97(T=t, x=0).h
        assert air.latent_heat(temperature_k=t) == pytest.approx(1e3 * line, rel=2e-5)


def test_lewis_number_lies_in_the_published_band() -> None:
    """Incropera and others put the Lewis number of vapour in air at 0.81 to 0.90."""
    vapour = air.vapour_pressure(temperature_k=300.0, relative_humidity=0.3)
    lewis = air.lewis_number(temperature_k=300.0, vapour_pressure_pa=vapour, pressure_pa=101325.0)
    assert 0.81 < lewis < 0.90


def test_scalars_stay_scalars_and_arrays_keep_their_shape() -> None:
    """Scalar or array in, same out."""
    assert isinstance(air.saturation_pressure_ashrae(temperature_k=290.0), float)
    grid = np.full((3, 2), 290.0)
    found = air.wet_bulb_ashrae(temperature_k=grid, vapour_pressure_pa=800.0, pressure_pa=9e4)
    assert np.shape(found) == (3, 2)
