"""The compiled wet face, piece by piece: against ht, CoolProp, `air`, slopes by difference, Brent.

The formulas of `air` are held to published tables by its own tests; ht and CoolProp are
general-purpose libraries.
"""

from __future__ import annotations

from typing import Any

import ht
import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from stillwet.constants import STANDARD_PRESSURE, STEFAN_BOLTZMANN
from stillwet.physics import air, wet_air, wet_face
from stillwet.physics.convection import BUOYANT_BASE, BUOYANT_SLOPE, PRANDTL_AIR, WALL
from stillwet.physics.drying import solve_balance

TEMPERATURES = (240.0, 262.0, 285.0, 301.0, 318.0, 345.0, 371.0)
AIRS = ((278.0, 0.9, 0.7, 101325.0), (303.0, 0.2, 5.0, 84000.0), (314.0, 0.08, 19.0, 101325.0))


def slope_of(function: Any, at: float, step: float = 1e-3) -> float:
    """Central difference."""
    return float((function(at + step) - function(at - step)) / (2 * step))


@pytest.mark.parametrize("t", TEMPERATURES)
def test_saturated_vapour(t: float) -> None:
    """The density over water is that of `air`, CoolProp's within a percent; its slope as well."""
    pressure = air.saturation_pressure_water_hyland_wexler(temperature_k=t)
    wanted = air.vapour_density(temperature_k=t, vapour_pressure_pa=pressure)
    density, slope = wet_air.vapour_density_and_slope(t)
    assert wet_air.vapour_density(t) == density == pytest.approx(wanted, rel=1e-10)
    assert slope == pytest.approx(slope_of(wet_air.vapour_density, t), rel=1e-6)
    if 275.0 < t < 330.0:
        mixed = HAPropsSI("W", "T", t, "P", 101325.0, "R", 1.0)
        volume = HAPropsSI("Vda", "T", t, "P", 101325.0, "R", 1.0)
        assert density == pytest.approx(mixed / volume, rel=0.01)


@pytest.mark.parametrize("z", [0.01, 0.3, 1.0, 14.0, 900.0, 7000.0])
def test_twelfth_root(z: float) -> None:
    """Twelve of them multiplied are the number; of a rise, its square kept off zero."""
    assert wet_face.twelfth_root(z) ** 12 == pytest.approx(z, rel=1e-9)
    rise = z**0.5
    kept = rise**2 + 0.1**2
    for sign in (-1.0, 1.0):
        assert wet_face.twelfth_root_of_rise(sign * rise) ** 12 == pytest.approx(kept, rel=1e-9)


@pytest.mark.parametrize(("forced", "natural"), [(3.0, 4.0), (12.0, 2.0), (1.5, 9.0), (7.0, 7.0)])
def test_blend_is_the_cube_root_of_cubes(forced: float, natural: float) -> None:
    """Either way round, and never under the larger."""
    wanted = np.cbrt(forced**3 + natural**3)
    assert wet_face.blend(forced, natural) == pytest.approx(wanted, rel=1e-12)
    assert wet_face.blend(natural, forced) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("forced", [0.5, 6.0, 40.0])
@pytest.mark.parametrize("rise", [-12.0, -0.4, 0.2, 9.0, 40.0])
def test_coefficient_of_convection_and_its_slope(forced: float, rise: float) -> None:
    """Blended by cubes with the buoyant part, ht's vertical plate; slope by difference."""
    length, ta, p = 1.8, 300.0, STANDARD_PRESSURE
    props = wet_air.air_of(ta, 0.4, 1.0, p)
    conductance, buoyant = props[5] / length, BUOYANT_SLOPE[WALL] * props[7] * length**0.5
    base = BUOYANT_BASE[WALL]

    def found(at: float) -> tuple[float, float]:
        twelfth = wet_face.twelfth_root_of_rise(at)
        h, slope = wet_face.coefficient_and_slope(at, twelfth, forced, conductance, buoyant, base)
        return float(h), float(slope)

    vapour = 0.4 * air.saturation_pressure_ashrae(temperature_k=ta)
    viscosity = air.kinematic_viscosity(temperature_k=ta, vapour_pressure_pa=vapour, pressure_pa=p)
    grashof = 9.80665 / ta * np.hypot(rise, 0.1) * length**3 / viscosity**2
    natural = ht.Nu_vertical_plate_Churchill(PRANDTL_AIR, grashof) * conductance
    h, slope = found(rise)
    assert h == pytest.approx(np.cbrt(forced**3 + natural**3), rel=1e-5)
    assert slope == pytest.approx(slope_of(lambda at: found(at)[0], rise, 1e-4), rel=1e-4, abs=1e-9)


@pytest.mark.parametrize("t", [275.0, 300.0, 360.0])
def test_latent_heat_and_slope(t: float) -> None:
    """That of `air`, which is held to the steam tables; slope by difference."""
    latent, slope = wet_face.latent_heat_and_slope(t)
    assert latent == pytest.approx(air.latent_heat(temperature_k=t), rel=1e-12)
    assert slope == pytest.approx(slope_of(lambda x: air.latent_heat(temperature_k=x), t), rel=1e-6)


@pytest.mark.parametrize(("t", "humidity", "wind", "p"), AIRS)
def test_properties_of_the_air(t: float, humidity: float, wind: float, p: float) -> None:
    """Each of the twelve is what `air` makes of the same air, and CoolProp within 2 %."""
    found = wet_air.air_of(t, humidity, wind, p)
    full = air.saturation_pressure_water_hyland_wexler(temperature_k=t)
    moist = {"temperature_k": t, "vapour_pressure_pa": humidity * full, "pressure_pa": p}
    heat, lewis = air.volumetric_heat_capacity(**moist), air.lewis_number(**moist)
    viscosity = air.kinematic_viscosity(**moist)
    conductivity = air.thermal_conductivity_sutherland(temperature_k=t)
    density = air.vapour_density(temperature_k=t, vapour_pressure_pa=full)
    wanted = (
        t,
        humidity * density,
        density,
        slope_of(wet_air.vapour_density, t),
        1 / (heat * lewis ** (2 / 3)),
        conductivity,
        STEFAN_BOLTZMANN * t**4,
        (9.80665 * PRANDTL_AIR / (t * viscosity**2)) ** (1 / 6),
        viscosity**-0.5,
        wind**0.5,
        viscosity**-0.8,
        wind**0.8,
    )
    assert found == pytest.approx(wanted, rel=1e-6)
    asked = ("T", t, "P", p, "R", humidity)
    assert conductivity == pytest.approx(HAPropsSI("K", *asked), rel=0.02)
    assert viscosity == pytest.approx(HAPropsSI("M", *asked) * HAPropsSI("Vha", *asked), rel=0.02)


@pytest.mark.parametrize(("t", "humidity", "wind", "p"), AIRS)
@pytest.mark.parametrize("length", [0.005, 2.5])
def test_wind_along_a_plate(
    t: float, humidity: float, wind: float, p: float, length: float
) -> None:
    """The larger of ht's laminar and turbulent plate, times the outdoor turbulence; wind cut by
    the face's share of it, and never under half a metre a second (FAO-56).
    """
    props = wet_air.air_of(t, humidity, wind, p)
    for share in (1.0, 0.4):
        powers = wet_air.plate_powers(length, share, 1.4)
        found = wet_air.forced_on_plate(props[5], props[8], props[9], props[10], props[11], powers)
        reynolds = max(wind * share, 0.5) * length * props[8] ** 2
        laminar = ht.Nu_horizontal_plate_laminar_Baehr(reynolds, PRANDTL_AIR)
        turbulent = 0.037 * reynolds**0.8 * PRANDTL_AIR ** (1 / 3)  # Incropera 7.38, A = 0
        wanted = 1.4 * max(laminar, turbulent) * props[5] / length
        assert found == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize(("t", "humidity", "wind", "p"), AIRS)
def test_wind_across_a_pole(t: float, humidity: float, wind: float, p: float) -> None:
    """Ht's Churchill and Bernstein, for a broom stick and for a tank."""
    props = wet_air.air_of(t, humidity, wind, p)
    for length, share in ((0.03, 1.0), (4.0, 0.5)):
        found = wet_air.forced_on_cylinder(
            props[5], props[8], props[9], length, share, 1.4 / length
        )
        reynolds = max(wind * share, 0.5) * length * props[8] ** 2
        nusselt = ht.Nu_cylinder_Churchill_Bernstein(reynolds, PRANDTL_AIR)
        assert found == pytest.approx(1.4 * nusselt * props[5] / length, rel=1e-6)


LENGTH, EMISSIVITY, BACK = 2.5, 0.96, 1.7


def around(t: float, humidity: float, wind: float, p: float) -> tuple[dict[str, float], Any]:
    """The arguments of `exchange` for a wall in this air."""
    props = wet_air.air_of(t, humidity, wind, p)
    powers = wet_air.plate_powers(LENGTH, 1.0, 1.4)
    forced = wet_air.forced_on_plate(props[5], props[8], props[9], props[10], props[11], powers)
    return {
        "rho_va": props[1],
        "transfer": props[4],
        "forced": forced,
        "conductance": props[5] / LENGTH,
        "buoyant": props[7] * LENGTH**0.5,
        "base": BUOYANT_BASE[WALL],
        "slope": BUOYANT_SLOPE[WALL],
    }, props


@pytest.mark.parametrize(("t", "humidity", "wind", "p"), AIRS)
@pytest.mark.parametrize("sun", [0.0, 500.0])
def test_exchange_and_its_steps(
    t: float, humidity: float, wind: float, p: float, sun: float
) -> None:
    """Slopes by difference; a drier, hotter face loses; the steps come to Brent's root."""
    given, props = around(t, humidity, wind, p)
    incoming = sun + 0.9 * props[6]

    def at(x: float) -> tuple[float, ...]:
        found: tuple[float, ...] = wet_face.exchange(x, t, incoming, *given.values(), EMISSIVITY)
        return found

    gain, gain_slope, evaporation, held, whole = at(t + 4.0)
    assert gain_slope == pytest.approx(slope_of(lambda x: at(x)[0], t + 4.0), rel=1e-5)
    assert whole == pytest.approx(slope_of(lambda x: at(x)[2], t + 4.0), rel=1e-5)
    assert 0.0 < held < whole
    assert evaporation > 0.0
    assert gain < at(t)[0]

    def convection(x: float) -> float:
        twelfth = wet_face.twelfth_root_of_rise(x - t)
        return float(
            wet_face.coefficient_and_slope(
                x - t,
                twelfth,
                given["forced"],
                given["conductance"],
                given["slope"] * given["buoyant"],
                given["base"],
            )[0]
        )

    wanted = solve_balance(
        absorbed_w_m2=incoming,
        air_temperature_k=t,
        coefficient_w_m2k=convection,
        evaporation_kg_m2_s=lambda x, h: (
            h * given["transfer"] * (wet_air.vapour_density(x) - given["rho_va"])
        ),
        emissivity=EMISSIVITY,
        back_conductance_w_m2k=BACK,
        back_temperature_k=t,
    )
    twelfth = wet_face.twelfth_root_of_rise(wanted.temperature_k - t)
    buoyant = given["slope"] * given["buoyant"]
    rise = wet_face.first_rise(
        twelfth,
        t,
        incoming,
        given["rho_va"],
        props[2],
        props[3],
        given["transfer"],
        given["forced"],
        given["conductance"],
        buoyant,
        given["base"],
        EMISSIVITY,
        BACK,
    )
    far = wanted.temperature_k - t
    assert rise == pytest.approx(far, abs=0.1 * abs(far) + 0.1)  # the most of the way at once
    now, before = t + rise, np.inf
    for _ in range(2):
        before = abs(now - wanted.temperature_k)
        full, rising = wet_air.vapour_density_and_slope(now)
        h, h_slope = wet_face.coefficient_and_slope(
            now - t,
            wet_face.twelfth_root_of_rise(now - t),
            given["forced"],
            given["conductance"],
            buoyant,
            given["base"],
        )
        now, water = wet_face.halley_step(
            now,
            t,
            incoming,
            given["rho_va"],
            given["transfer"],
            full,
            rising,
            h,
            h_slope,
            EMISSIVITY,
            BACK,
        )
        assert abs(now - wanted.temperature_k) < 0.1 * before + 1e-9
    assert water == pytest.approx(wanted.evaporation_kg_m2_s, rel=1e-6)


def test_a_step_is_kept_short() -> None:
    """Never more than 30 K; against the slope; Newton's where the balance is straight."""
    assert wet_face.guarded(20.0, -10.0, 0.0) == pytest.approx(2.0)
    assert wet_face.guarded(-20.0, -10.0, 0.0) == pytest.approx(-2.0)
    assert wet_face.guarded(1e6, -10.0, 0.0) == 30.0
    assert wet_face.guarded(-1e6, -10.0, 0.0) == -30.0
    assert wet_face.guarded(-1e3, -10.0, 1.0) == pytest.approx(-30.0)
    # Halley (1694) on 2 - x^2 from 1: 2 f f' / (2 f'^2 - f f'') takes it to 1.4.
    assert 1.0 + wet_face.guarded(1.0, -2.0, 1.0) == pytest.approx(1.4)
