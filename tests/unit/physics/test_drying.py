"""The wet-surface balance: wet-bulb limits, siblings, and the kernel beside the plain form."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from stillwet.errors import StillwetError
from stillwet.physics import air, convection, drying, fao56, kernel, wind
from stillwet.physics.drying import WetSurface

# Air [C, fraction] and its thermodynamic wet bulb [C] by psychrolib 2.5.0, computed once.
WET_BULBS = [(30.0, 0.3, 17.972), (35.0, 0.1, 15.926), (40.0, 0.1, 18.566), (45.0, 0.08, 20.289)]


def settled(celsius: float, humidity: float, *, is_ratio_form: bool) -> WetSurface:
    """The balance with radiation off and nothing behind the face."""
    kelvin = celsius + 273.15
    vapour = float(air.vapour_pressure(temperature_k=kelvin, relative_humidity=humidity))

    def evaporation(temperature: float, coefficient: float) -> float:
        if is_ratio_form:
            return drying.evaporation_humidity_ratio_form(
                surface_temperature_k=temperature,
                coefficient_w_m2k=coefficient,
                vapour_pressure_pa=vapour,
                pressure_pa=101325.0,
            )
        return drying.evaporation_density_form(
            surface_temperature_k=temperature,
            coefficient_w_m2k=coefficient,
            air_temperature_k=kelvin,
            vapour_pressure_pa=vapour,
            pressure_pa=101325.0,
        )

    return drying.solve_balance(
        absorbed_w_m2=0.0,
        air_temperature_k=kelvin,
        coefficient_w_m2k=lambda _t: 20.0,
        evaporation_kg_m2_s=evaporation,
        emissivity=0.0,
        back_conductance_w_m2k=0.0,
        back_temperature_k=kelvin,
    )


@pytest.mark.parametrize(("celsius", "humidity", "wet_bulb"), WET_BULBS)
def test_lewis_one_gives_the_thermodynamic_wet_bulb(
    celsius: float, humidity: float, wet_bulb: float
) -> None:
    """With Le = 1 in humidity ratios and no radiation the face sits at psychrolib's wet bulb."""
    found = settled(celsius, humidity, is_ratio_form=True).temperature_k - 273.15
    assert found == pytest.approx(wet_bulb, abs=0.01)


def test_lewis_one_gives_the_wet_bulb_of_a_real_gas() -> None:
    """At 40 C and 10 % CoolProp's real-gas wet bulb is within 0.05 K."""
    found = settled(40.0, 0.10, is_ratio_form=True).temperature_k
    assert found == pytest.approx(HAPropsSI("B", "T", 313.15, "P", 101325.0, "R", 0.10), abs=0.05)


def test_real_lewis_number_sits_below_the_wet_bulb_by_the_known_amount() -> None:
    """With Le^(2/3) and densities the face sits lower: 1.4 K at 40 C and 10 %, always under 2 K."""
    gaps = {}
    for celsius, humidity, _ in WET_BULBS:
        one = settled(celsius, humidity, is_ratio_form=True).temperature_k
        gaps[celsius] = one - settled(celsius, humidity, is_ratio_form=False).temperature_k
    assert all(0 < gap < 2 for gap in gaps.values())
    assert gaps[40.0] == pytest.approx(1.4, abs=0.15)


def test_evaporation_of_a_hot_dry_face_equals_the_oracle() -> None:
    """35 C, 15 %, h = 20, 500 W/m2 net: 23.75 C and 1.067 kg/m2h, computed apart from this code."""
    kelvin, vapour = (
        308.15,
        float(air.vapour_pressure(temperature_k=308.15, relative_humidity=0.15)),
    )
    found = drying.solve_balance(
        absorbed_w_m2=500.0,
        air_temperature_k=kelvin,
        coefficient_w_m2k=lambda _t: 20.0,
        evaporation_kg_m2_s=lambda t, h: drying.evaporation_density_form(
            surface_temperature_k=t,
            coefficient_w_m2k=h,
            air_temperature_k=kelvin,
            vapour_pressure_pa=vapour,
            pressure_pa=101325.0,
        ),
        emissivity=0.0,
        back_conductance_w_m2k=0.0,
        back_temperature_k=kelvin,
    )
    assert found.temperature_k - 273.15 == pytest.approx(23.75, abs=0.35)
    assert found.evaporation_kg_m2_s * 3600 == pytest.approx(1.067, rel=0.015)


def outdoors(**changes: Any) -> WetSurface:
    """A wall on a warm afternoon, with changes."""
    case: dict[str, Any] = {
        "geometry": convection.WALL,
        "length_m": 2.5,
        "tilt_deg": 90.0,
        "wind_m_s": 3.0,
        "air_temperature_k": 303.15,
        "relative_humidity": 0.25,
        "pressure_pa": 95000.0,
        "irradiance_w_m2": 400.0,
        "sky_longwave_w_m2": 350.0,
    }
    return drying.wet_surface(**(case | changes))


def test_saturated_air_without_sun_takes_nothing() -> None:
    """Fog at night with a black sky dries no coat: the demand is floored at 0 and dew shows."""
    found = outdoors(relative_humidity=1.0, irradiance_w_m2=0.0, sky_longwave_w_m2=300.0)
    assert found.evaporation_kg_m2_s < 0
    assert found.demand_kg_m2_s == 0.0


def test_balance_closes() -> None:
    """What the solved face gains, it loses, term by term."""
    found = outdoors()
    t = found.temperature_k
    longwave = 0.5 * 350.0 + 0.5 * 5.670374419e-8 * 303.15**4
    gains = 0.7 * 400.0 + 0.96 * longwave + (found.coefficient_w_m2k + 0.5) * (303.15 - t)
    losses = 0.96 * 5.670374419e-8 * t**4 + 2.4424e6 * found.evaporation_kg_m2_s
    assert gains == pytest.approx(losses, rel=3e-3)


def open_water(*, celsius: float, vapour: float, net: float, wind_2m: float) -> tuple[float, float]:
    """Evaporation [kg/m2s] by the balance and by Penman with the same wind function (1956)."""
    kelvin, pressure = celsius + 273.15, 100000.0
    penman = fao56.open_water_evaporation_penman(
        net_radiation_w_m2=net,
        temperature_k=kelvin,
        wind_2m_m_s=wind_2m,
        saturation_pressure_pa=air.saturation_pressure_tetens_fao56(temperature_k=kelvin),
        vapour_pressure_pa=vapour,
        pressure_pa=pressure,
    )
    wind_function = (2.626 + 1.381 * wind_2m) / 1000 / 86400  # kg/m2s per Pa
    h = wind_function * 2.45e6 * 0.665e-3 * pressure
    found = drying.solve_balance(
        absorbed_w_m2=net,
        air_temperature_k=kelvin,
        coefficient_w_m2k=lambda _t: h,
        evaporation_kg_m2_s=lambda t, c: drying.evaporation_humidity_ratio_form(
            surface_temperature_k=t,
            coefficient_w_m2k=c,
            vapour_pressure_pa=vapour,
            pressure_pa=pressure,
        ),
        emissivity=0.0,
        back_conductance_w_m2k=0.0,
        back_temperature_k=kelvin,
    )
    return found.evaporation_kg_m2_s, float(penman)


@pytest.mark.parametrize(
    ("celsius", "vapour", "net", "wind_2m"),
    [(16.9, 1409.0, 153.7, 2.078), (30.2, 2850.0, 165.9, 2.0), (12.0, 1100.0, 57.9, 1.0)],
    ids=["FAO-56 example 18, Uccle", "FAO-56 example 17, Bangkok", "cool damp day"],
)
def test_open_water_agrees_with_the_penman_combination(
    celsius: float, vapour: float, net: float, wind_2m: float
) -> None:
    """Level open water on FAO-56 inputs evaporates what Penman's equation says, within 4 %."""
    ours, penman = open_water(celsius=celsius, vapour=vapour, net=net, wind_2m=wind_2m)
    assert ours == pytest.approx(penman, rel=0.04)


def test_penman_falls_below_the_balance_in_hot_dry_wind_and_no_further_than_known() -> None:
    """Penman takes the saturation curve's slope at the air's temperature: too steep, 5 to 13 % low.

    32 C, 1.2 kPa and 4 m/s, where the surface sits 9 K under the air.
    """
    ours, penman = open_water(celsius=32.0, vapour=1200.0, net=150.0, wind_2m=4.0)
    assert 1.05 < ours / penman < 1.13


def random_grid(faces: int, hours: int, members: int) -> dict[str, Any]:
    """Weather and faces far wider than a plan meets, calm hours and dark faces among them."""
    rng = np.random.default_rng(20261125)
    size = (hours, members)
    return {
        "air_temperature_k": rng.uniform(253.0, 328.0, size),
        "relative_humidity": rng.uniform(0.02, 1.0, size),
        "wind_speed_m_s": rng.uniform(0, 25, size) * rng.choice([0.05, 1.0], size),
        "pressure_pa": rng.uniform(7e4, 1.03e5, hours),
        "irradiance_w_m2": rng.uniform(0, 1100, (faces, hours))
        * rng.choice([0, 1], (faces, hours)),
        "irradiance_factor": rng.uniform(0.5, 1.5, size),
        "sky_longwave_w_m2": rng.uniform(150, 450, size),
        "tilt_deg": rng.uniform(0, 90, faces),
        "length_m": 10 ** rng.uniform(-2.7, 1, faces),
        "height_m": rng.uniform(0.1, 10, faces),
        "geometry": (np.arange(faces) % 4).astype(np.int8),
        "sheltering": rng.uniform(0.2, 1, faces),
    }


def test_kernel_equals_the_plain_balance() -> None:
    """1 600 random cells: the kernel's demand is the Brent solution's within 1e-6."""
    grid = random_grid(8, 20, 10)
    demand = kernel.drying_demand_grid(**grid)
    profile = np.asarray(wind.log_profile_factor(from_height_m=10.0, to_height_m=grid["height_m"]))
    for s, h, m in np.ndindex(demand.shape):
        plain = drying.wet_surface(
            geometry=int(grid["geometry"][s]),
            length_m=grid["length_m"][s],
            tilt_deg=grid["tilt_deg"][s],
            wind_m_s=grid["wind_speed_m_s"][h, m] * profile[s] * grid["sheltering"][s],
            air_temperature_k=grid["air_temperature_k"][h, m],
            relative_humidity=grid["relative_humidity"][h, m],
            pressure_pa=grid["pressure_pa"][h],
            irradiance_w_m2=grid["irradiance_w_m2"][s, h] * grid["irradiance_factor"][h, m],
            sky_longwave_w_m2=grid["sky_longwave_w_m2"][h, m],
        ).demand_kg_m2_s
        assert demand[s, h, m] == pytest.approx(plain, rel=1e-6, abs=1e-12)


def test_kernel_gives_the_same_bits_on_any_number_of_threads_and_in_any_company() -> None:
    """Threads, and the cells that share a block, never change a result."""
    grid = random_grid(5, 30, 33)
    whole = kernel.drying_demand_grid(**grid)
    for threads in (2, 3, 7):
        assert np.array_equal(whole, kernel.drying_demand_grid(**grid, threads=threads))
    names = ("air_temperature_k", "relative_humidity", "wind_speed_m_s")
    alone = grid | {
        name: grid[name][:, 7:8] for name in (*names, "irradiance_factor", "sky_longwave_w_m2")
    }
    assert np.array_equal(whole[:, :, 7:8], kernel.drying_demand_grid(**alone))


def test_kernel_refuses_bad_shapes_and_numbers_by_name() -> None:
    """A wrong shape, a NaN, an unknown shape code and a length of 0 are each named."""
    grid = random_grid(2, 3, 4)
    for name, value, text in (
        ("pressure_pa", np.ones(4), r"pressure_pa: wanted shape \(3,\), got \(4,\)"),
        ("relative_humidity", np.full((3, 4), np.nan), "relative_humidity: wanted finite numbers"),
        ("geometry", np.array([0, 9], dtype=np.int8), "geometry: wanted codes 0 to 3"),
        ("length_m", np.array([1.0, 0.0]), "length_m: wanted more than 0 m, got 0.0"),
        ("air_temperature_k", np.ones(3), "air_temperature_k: wanted hours by members"),
    ):
        with pytest.raises(StillwetError, match=text):
            kernel.drying_demand_grid(**(grid | {name: value}))
