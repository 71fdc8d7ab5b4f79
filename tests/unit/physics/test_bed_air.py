"""Air in a wet bed: FAO-56's resistance, a box balance, and the whole solved the long way."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import fsolve

from stillwet.physics import air
from stillwet.physics.bed_air import (
    bed_drying_penman,
    renewal_share,
    through_flow,
    top_exchange_fao56,
)
from stillwet.physics.convection import BLADE, outdoor_coefficient
from stillwet.physics.drying import wet_surface
from stillwet.physics.wet_fuel import mean_share_on_surface

PRESSURE = 90e3
BLADE_M = 0.003
SIGMA = 5.670374419e-8


def test_aerodynamic_resistance_of_fao56() -> None:
    """Clipped grass of 0.12 m, wind at 2 m: r_a = 208/u s/m (FAO-56 box 4)."""
    for wind in (1.0, 3.0):
        found = top_exchange_fao56(wind_m_s=wind, height_m=0.12, reference_m=2.0)
        assert 1.0 / float(found) == pytest.approx(208.0 / wind, rel=2e-3)


def test_through_flow_by_hand() -> None:
    """1 m/s through grass 0.3 m deep brings 0.3 m3/s per metre of line, over 3 m: 0.1 m/s."""
    assert float(through_flow(bed_wind_m_s=1.0, depth_m=0.3, width_m=3.0)) == pytest.approx(0.1)


@pytest.mark.parametrize("supply", [1e-4, 0.02, 0.5, 1e3])
def test_share_is_that_of_a_stirred_box(supply: float) -> None:
    """Vapour balance of a box with wet blades inside, solved as an equation, gives the share."""
    surface, blade, at_blade, outside = 4.0, 0.1, 0.020, 0.008
    # supply (inside - outside) = surface blade (at_blade - inside)
    inside = np.linalg.solve(
        np.array([[supply + surface * blade]]),
        np.array([supply * outside + surface * blade * at_blade]),
    )[0]
    flux_in_box, flux_alone = blade * (at_blade - inside), blade * (at_blade - outside)
    share = renewal_share(surface=surface, blade_m_s=blade, supply_m_s=supply)
    assert float(share) == pytest.approx(flux_in_box / flux_alone, rel=1e-9)


def _blade(temperature_k: float, humidity: float, wind: float, sun: float, sky: float) -> float:
    found = wet_surface(
        geometry=BLADE,
        length_m=BLADE_M,
        tilt_deg=0.0,
        wind_m_s=wind,
        air_temperature_k=temperature_k,
        relative_humidity=humidity,
        pressure_pa=PRESSURE,
        irradiance_w_m2=sun,
        sky_longwave_w_m2=sky,
        back_conductance_w_m2k=0.0,
    )
    return found.evaporation_kg_m2_s


def _coefficient(temperature_k: float, humidity: float, wind: float) -> float:
    vapour = float(air.vapour_pressure(temperature_k=temperature_k, relative_humidity=humidity))
    return float(
        outdoor_coefficient(
            geometry=BLADE,
            length_m=BLADE_M,
            wind_m_s=wind,
            surface_temperature_k=temperature_k - 10,
            air_temperature_k=temperature_k,
            vapour_pressure_pa=vapour,
            pressure_pa=PRESSURE,
        )
    )


def _capacity(temperature_k: float, humidity: float) -> float:
    vapour = float(air.vapour_pressure(temperature_k=temperature_k, relative_humidity=humidity))
    return float(
        air.volumetric_heat_capacity(
            temperature_k=temperature_k, vapour_pressure_pa=vapour, pressure_pa=PRESSURE
        )
    )


def _the_long_way(
    temperature_k: float, humidity: float, wind: float, sun: float, surface: float, supply: float
) -> float:
    """Bed drying with the bed's own air: its heat and vapour balance solved with the blade's.

    A blade sees the sky, here black at the outside air's temperature, and for the rest other blades
    near the inside air's.
    """
    view = float(mean_share_on_surface(surface=surface, extinction=0.8))
    outside = float(
        air.vapour_density(
            temperature_k=temperature_k,
            vapour_pressure_pa=air.vapour_pressure(
                temperature_k=temperature_k, relative_humidity=humidity
            ),
        )
    )

    def balance(unknown: np.ndarray) -> list[float]:
        inside_k, inside_rh = float(unknown[0]), float(np.clip(unknown[1], 1e-3, 1.0))
        blade = wet_surface(
            geometry=BLADE,
            length_m=BLADE_M,
            tilt_deg=0.0,
            wind_m_s=wind,
            air_temperature_k=inside_k,
            relative_humidity=inside_rh,
            pressure_pa=PRESSURE,
            irradiance_w_m2=sun,
            sky_longwave_w_m2=SIGMA * (view * temperature_k**4 + (1 - view) * inside_k**4),
            back_conductance_w_m2k=0.0,
        )
        heat = blade.coefficient_w_m2k * (inside_k - blade.temperature_k)
        vapour = float(
            air.vapour_density(
                temperature_k=inside_k,
                vapour_pressure_pa=air.vapour_pressure(
                    temperature_k=inside_k, relative_humidity=inside_rh
                ),
            )
        )
        capacity = _capacity(temperature_k, humidity)
        return [
            (supply * capacity * (temperature_k - inside_k) - surface * heat) / 100.0,
            (supply * (vapour - outside) - surface * blade.evaporation_kg_m2_s) * 1e4,
        ]

    inside_k, inside_rh = fsolve(balance, [temperature_k - 5.0, min(0.95, humidity + 0.2)])
    sky = SIGMA * (view * temperature_k**4 + (1 - view) * float(inside_k) ** 4)
    return surface * _blade(float(inside_k), float(inside_rh), wind, sun, sky)


@pytest.mark.parametrize("humidity", [0.10, 0.35, 0.7])
@pytest.mark.parametrize("surface", [2.0, 6.0])
@pytest.mark.parametrize("supply", [0.03, 0.15, 1.0])
def test_short_way_agrees_with_the_long_way(humidity: float, surface: float, supply: float) -> None:
    """Splitting a blade's drying into sun and air, and damping the air's part, is good to 5 %.

    The long way solves the bed air's heat and vapour balance together with the blade's.
    """
    temperature_k, wind, sun = 305.15, 1.2, 100.0
    sky = SIGMA * temperature_k**4
    blade_m_s = _coefficient(temperature_k, humidity, wind) / _capacity(temperature_k, humidity)
    short = bed_drying_penman(
        whole_kg_m2_s=_blade(temperature_k, humidity, wind, sun, sky),
        ventilated_kg_m2_s=_blade(temperature_k, humidity, wind, 0.0, sky),
        share=renewal_share(surface=surface, blade_m_s=blade_m_s, supply_m_s=supply),
        surface=surface,
    )
    long = _the_long_way(temperature_k, humidity, wind, sun, surface, supply)
    assert float(short) == pytest.approx(long, rel=0.05)


def test_alone_is_the_limit_of_endless_air() -> None:
    """With all the dry air in the world a bed dries as the sum of its blades."""
    assert float(renewal_share(surface=5.0, blade_m_s=0.1, supply_m_s=1e9)) == pytest.approx(1.0)
    found = bed_drying_penman(whole_kg_m2_s=3e-4, ventilated_kg_m2_s=2e-4, share=1.0, surface=5.0)
    assert float(found) == pytest.approx(15e-4)
