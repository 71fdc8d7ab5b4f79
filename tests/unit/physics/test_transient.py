"""The film that stores heat: limits, conservation, an independent integrator."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from stillwet.physics import air, convection, drying, transient

HOURS = 4


def weather(**changes: Any) -> dict[str, Any]:
    """One wall, a few equal hours, one member."""
    case: dict[str, Any] = {
        "geometry": np.array([convection.WALL], dtype=np.int8),
        "length_m": np.array([2.5]),
        "tilt_deg": np.array([90.0]),
        "wind_m_s": np.full((1, HOURS, 1), 3.0),
        "air_temperature_k": np.full((HOURS, 1), 303.15),
        "relative_humidity": np.full((HOURS, 1), 0.25),
        "pressure_pa": np.full(HOURS, 95000.0),
        "irradiance_w_m2": np.full((1, HOURS), 400.0),
        "sky_longwave_w_m2": np.full((HOURS, 1), 350.0),
        "coat_kg_m2": 3.0,
    }
    return case | changes


def steady() -> drying.WetSurface:
    """The balance of the same weather."""
    return drying.wet_surface(
        geometry=convection.WALL,
        length_m=2.5,
        tilt_deg=90.0,
        wind_m_s=3.0,
        air_temperature_k=303.15,
        relative_humidity=0.25,
        pressure_pa=95000.0,
        irradiance_w_m2=400.0,
        sky_longwave_w_m2=350.0,
    )


def test_kept_wet_in_steady_weather_it_comes_to_the_balance() -> None:
    """After hours of the same weather the film is at the balance's temperature and demand."""
    found = transient.film_history(**weather(kept_wet=True))
    balance = steady()
    assert found.temperature_k[0, -1, 0] == pytest.approx(balance.temperature_k, abs=0.02)
    assert found.evaporation_kg_m2[0, -1, 0] == pytest.approx(
        3600 * balance.demand_kg_m2_s, rel=2e-3
    )


@pytest.mark.parametrize("exponent", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("skin", [False, True])
def test_water_is_conserved(exponent: float, *, skin: bool) -> None:
    """What is left and what has gone add up to the coat; nothing falls below 0."""
    found = transient.film_history(**weather(coat_kg_m2=1.0, exponent=exponent, skin=skin))
    gone = np.cumsum(found.evaporation_kg_m2, axis=1)
    np.testing.assert_allclose(found.left_kg_m2 + gone, 1.0, atol=1e-9)
    assert (found.left_kg_m2 >= 0).all()


def test_halving_the_step_changes_nothing_that_counts() -> None:
    """Ten-second steps are within 1 g/m2 of two-second steps."""
    coarse = transient.film_history(**weather(exponent=0.75))
    fine = transient.film_history(**weather(exponent=0.75, step_s=2.0))
    np.testing.assert_allclose(coarse.left_kg_m2, fine.left_kg_m2, atol=1e-3)


def test_skin_dries_faster_than_patches_because_the_face_warms() -> None:
    """With a skin the film heats up as it dries, which drives vapour: less is left each hour."""
    patches = transient.film_history(**weather(exponent=0.75))
    skin = transient.film_history(**weather(exponent=0.75, skin=True))
    assert (skin.left_kg_m2 < patches.left_kg_m2).all()
    assert skin.temperature_k[0, -1, 0] > patches.temperature_k[0, -1, 0] + 1


def test_dew_never_adds_water() -> None:
    """Saturated air on a film cooled by a clear sky leaves the coat as it was."""
    found = transient.film_history(
        **weather(
            relative_humidity=np.ones((HOURS, 1)),
            irradiance_w_m2=np.zeros((1, HOURS)),
            sky_longwave_w_m2=np.full((HOURS, 1), 250.0),
        )
    )
    # the first minutes, before the film has cooled, take a trace
    assert found.left_kg_m2[0, -1, 0] == pytest.approx(3.0, abs=2e-3)
    assert (np.diff(found.left_kg_m2[0, :, 0]) <= 0).all()


def test_columns_do_not_touch_each_other() -> None:
    """A hundred members give, each, what one gives alone."""
    many = transient.film_history(
        **weather(
            air_temperature_k=np.full((HOURS, 100), 303.15),
            relative_humidity=np.linspace(0.1, 0.9, 100) * np.ones((HOURS, 1)),
            sky_longwave_w_m2=np.full((HOURS, 100), 350.0),
            wind_m_s=np.full((1, HOURS, 100), 3.0),
            exponent=0.5,
        )
    )
    one = transient.film_history(
        **weather(
            relative_humidity=np.full((HOURS, 1), np.linspace(0.1, 0.9, 100)[70]), exponent=0.5
        )
    )
    np.testing.assert_allclose(many.left_kg_m2[:, :, 70:71], one.left_kg_m2, rtol=1e-12)


def test_agrees_with_an_independent_integrator_on_the_plain_functions() -> None:
    """The same film and board handed to scipy's BDF with the uncompiled physics: within 2 g/m2."""
    kelvin, pressure = 303.15, 95000.0
    vapour = float(air.vapour_pressure(temperature_k=kelvin, relative_humidity=0.25))
    longwave = drying.face_longwave(sky_w_m2=350.0, air_temperature_k=kelvin, tilt_deg=90.0)
    layer = transient.WOOD_THICKNESS_M / transient.NODES
    between = transient.WOOD_CONDUCTIVITY_W_MK / layer
    wood = transient.WOOD_CONDUCTIVITY_W_MK / transient.WOOD_THICKNESS_M
    behind = 1 / (1 / drying.BACK_CONDUCTANCE_W_M2K - 1 / wood + 1 / (2 * between))

    def rates(_time: float, state: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        film, boards, water = state[0], state[1:-1], state[-1]
        h = convection.outdoor_coefficient(
            geometry=convection.WALL,
            length_m=2.5,
            wind_m_s=3.0,
            surface_temperature_k=film,
            air_temperature_k=kelvin,
            vapour_pressure_pa=vapour,
            pressure_pa=pressure,
        )
        e = drying.evaporation_density_form(
            surface_temperature_k=film,
            coefficient_w_m2k=float(h),
            air_temperature_k=kelvin,
            vapour_pressure_pa=vapour,
            pressure_pa=pressure,
        )
        into_wood = 2 * between * (film - boards[0])
        gain = 0.7 * 400.0 + 0.96 * (longwave - 5.670374419e-8 * film**4) + h * (kelvin - film)
        latent = air.latent_heat(temperature_k=film)
        wet = (water / 3.0) ** 0.5
        flows = np.concatenate(
            ([into_wood], between * -np.diff(boards), [behind * (boards[-1] - kelvin)])
        )
        film_heat = transient.WATER_SPECIFIC_HEAT * water / wet
        return np.concatenate(
            (
                [(gain - latent * e - into_wood) / film_heat],
                -np.diff(flows) / (transient.WOOD_HEAT_J_M3K * layer),
                [-wet * e],
            )
        )

    start = np.concatenate((np.full(transient.NODES + 1, kelvin), [3.0]))
    by_scipy = solve_ivp(
        rates,
        (0.0, 3600.0 * HOURS),
        start,
        method="BDF",
        t_eval=3600.0 * np.arange(1, HOURS + 1),
        rtol=1e-7,
        atol=1e-9,
    )
    ours = transient.film_history(**weather(exponent=0.5))
    np.testing.assert_allclose(ours.left_kg_m2[0, :, 0], by_scipy.y[-1], atol=2e-3)
    np.testing.assert_allclose(ours.temperature_k[0, :, 0], by_scipy.y[0], atol=0.02)
