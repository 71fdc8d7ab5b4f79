"""The film-and-wood model: energy kept, textbook solutions met, and the closed form beside it."""

from __future__ import annotations

import itertools
import re
from pathlib import Path
from typing import Any

import numpy as np
import psychrolib
import pytest
from iapws import IAPWS97
from scipy import special

from stillwet.physics.demand import AIR_SPECIFIC_HEAT, water_time
from stillwet.physics.ignition import protection_time
from stillwet.physics.materials import materials
from stillwet.physics.wood_film import (
    FilmOutcome,
    Wood,
    _flux_at,
    _march,
    _vapour_share,
    _wet_surface,
    film_on_wood,
)

FACE: dict[str, Any] = {
    "air_temperature_k": 305.0,
    "convection_w_m2k": 15.0,
    "start_temperature_k": 300.0,
}
FLUXES_W_M2 = (3e3, 5e3, 10e3, 15e3, 20e3, 30e3, 40e3, 60e3)
COATS_KG_M2 = (1.0, 2.0, 4.0, 8.0)
LONGEST_S = 3600.0


def _steady(
    flux: float, coat: float, *, duration: float = LONGEST_S, **changes: Any
) -> FilmOutcome:
    return film_on_wood(
        time_s=[0.0, duration],
        flux_w_m2=[flux, flux],
        coat_kg_m2=coat,
        **{**FACE, **changes},
    )


def _closed(flux: float, coat: float) -> tuple[float, float]:
    """Closed-form water time and protection time on plywood siding, all the water counted."""
    scalars = {**FACE, "water_efficiency": 1.0}
    water = water_time(flux_w_m2=flux, coat_kg_m2=coat, absorptivity=0.95, **scalars)
    whole = protection_time(
        material=materials()["plywood siding"], flux_w_m2=flux, coat_kg_m2=coat, **scalars
    )
    return float(water), float(whole)


@pytest.mark.parametrize(("flux", "coat"), [(12e3, 0.5), (25e3, 1.0), (50e3, 2.0), (50e3, 0.0)])
def test_energy_is_kept(flux: float, coat: float) -> None:
    """Heat taken up = lost + carried off by vapour + stored, to 0.1 %, wet and dry."""
    seen = _steady(flux, coat, duration=120.0)
    accounted = seen.heat_lost_j_m2 + seen.heat_evaporated_j_m2 + seen.heat_stored_j_m2
    assert accounted == pytest.approx(seen.heat_in_j_m2, rel=1e-3)
    assert seen.heat_in_j_m2 > 0


def test_vapour_carries_the_steam_tables_heat() -> None:
    """1 mm boiled off takes 0 C liquid to 100 C vapour: 2676 kJ/kg of IAPWS-97, within 2 %."""
    seen = _steady(50e3, 1.0, duration=120.0)
    # The last half cell (of ten) dries inside the wood's outer cell and counts as stored.
    assert seen.heat_evaporated_j_m2 == pytest.approx(
        0.95 * IAPWS97(T=373.15, x=1).h * 1e3, rel=0.02
    )


@pytest.mark.parametrize(
    ("coat", "flux", "seconds"), [(0.9982, 12.5e3, 207.0), (2.9946, 40e3, 194.0)]
)
def test_loss_free_film_takes_the_hand_reckoned_time(
    coat: float, flux: float, seconds: float
) -> None:
    """1 mm under 12.5 kW/m2 lasts 207.0 s and 3 mm under 40 kW/m2 194.0 s with nothing lost."""
    insulated = Wood(conductivity_w_mk=1e-4, moisture=0.0)
    seen = _steady(
        flux,
        coat,
        duration=400.0,
        wood=insulated,
        absorptivity=1.0,
        coat_emissivity=0.0,
        convection_w_m2k=0.0,
        start_temperature_k=293.15,
    )
    assert seen.dry_s == pytest.approx(seconds, rel=0.01)


@pytest.mark.parametrize("convection", [25.0, 50.0, 100.0])
def test_dry_wood_in_hot_gas_heats_as_the_textbook_has_it(convection: float) -> None:
    """Surface of a half-space in 1000 K gas, 1 - exp(z^2) erfc(z), z = h sqrt(alpha t)/k: 1 %.

    Incropera eq. 5.60 (Carslaw and Jaeger).
    """
    wood = Wood(moisture=0.0, emissivity=0.0, ignition_temperature_k=500.0, thickness_m=0.06)
    seen = film_on_wood(
        time_s=[0.0, 900.0],
        flux_w_m2=[0.0, 0.0],
        coat_kg_m2=0.0,
        air_temperature_k=1000.0,
        convection_w_m2k=convection,
        start_temperature_k=300.0,
        wood=wood,
    )
    diffusivity = wood.conductivity_w_mk / (wood.density_kg_m3 * wood.heat_j_kgk)
    root = convection * np.sqrt(diffusivity * seen.ignition_s) / wood.conductivity_w_mk
    assert special.erfcx(root) == pytest.approx(500.0 / 700.0, rel=0.01)


@pytest.mark.parametrize(
    ("stefan", "published"), [(0.1, 0.220016), (0.5, 0.464786), (1.0, 0.620063)]
)
def test_drying_front_is_stefans(stefan: float, published: float) -> None:
    """Wood at 100 C, surface held hot: dry depth 2 lambda sqrt(alpha t), published lambda, 2 %."""
    hot, seconds = 100.0, 200.0
    wood = Wood(
        moisture=1700.0 * hot / (2256.47e3 * stefan),
        emissivity=0.0,
        ignition_temperature_k=2000.0,
        thickness_m=0.05,
    )
    seen = film_on_wood(
        time_s=[0.0, seconds],
        flux_w_m2=[0.0, 0.0],
        coat_kg_m2=0.0,
        air_temperature_k=373.15 + hot,
        convection_w_m2k=1e7,
        start_temperature_k=373.15,
        wood=wood,
    )
    diffusivity = wood.conductivity_w_mk / (wood.density_kg_m3 * wood.heat_j_kgk)
    depth = 2 * published * np.sqrt(diffusivity * seconds)
    assert seen.dry_depth_m == pytest.approx(depth, rel=0.02)


def test_more_water_holds_longer_and_more_flux_shorter() -> None:
    """Dry time and ignition time grow with the coat and shrink with the flux."""
    thin, thick, hotter = _steady(40e3, 0.5), _steady(40e3, 1.0), _steady(60e3, 1.0)
    assert thin.dry_s < thick.dry_s
    assert thin.ignition_s < thick.ignition_s
    assert hotter.ignition_s < thick.ignition_s
    assert thick.dry_s < thick.ignition_s


def test_gentle_heat_dries_but_does_not_ignite() -> None:
    """Under 4 kW/m2 a thin film evaporates below 100 C and the wood never ignites."""
    seen = _steady(4e3, 0.2, duration=300.0)
    assert 0 < seen.dry_s < 300.0
    assert seen.ignition_s == np.inf
    assert seen.surface_temperature_k < 473.0


@pytest.mark.parametrize(("flux", "coat"), [(20e3, 1.0), (30e3, 2.0), (60e3, 1.0), (60e3, 4.0)])
def test_closed_form_is_within_ten_percent(flux: float, coat: float) -> None:
    """Water time and protection time in closed form against the model, a few cells of the table."""
    seen = _steady(flux, coat)
    water, whole = _closed(flux, coat)
    assert water == pytest.approx(seen.dry_s, rel=0.10)
    assert whole == pytest.approx(seen.ignition_s, rel=0.10)


def _printed_table() -> dict[tuple[float, float], tuple[float, float, float, float]]:
    """The rows of the table in docs/explanation/fire_check.md: flux, coat -> the four times."""
    page = Path(__file__).parents[3] / "docs" / "explanation" / "fire_check.md"
    rows = re.findall(
        r"^\| (\d+) \| (\d+) \| (\d+) \| (\d+) \| [^|]+ \| (\d+|never) \| (\d+|never) \|",
        page.read_text(encoding="utf-8"),
        re.MULTILINE,
    )
    return {
        (float(flux) * 1e3, float(coat)): (
            float(dry),
            float(water),
            float(ignition.replace("never", "inf")),
            float(whole.replace("never", "inf")),
        )
        for flux, coat, dry, water, ignition, whole in rows
    }


@pytest.mark.slow
def test_printed_table_is_what_the_models_say() -> None:
    """Every cell of the documented comparison is recomputed; water times agree to 10 %."""
    printed = _printed_table()
    assert set(printed) == set(itertools.product(FLUXES_W_M2, COATS_KG_M2))
    for (flux, coat), (dry, water, ignition, whole) in printed.items():
        seen = _steady(flux, coat, duration=3 * LONGEST_S)
        now_water, now_whole = _closed(flux, coat)
        found = [seen.dry_s, now_water, seen.ignition_s, now_whole]
        assert found == pytest.approx([dry, water, ignition, whole], abs=1.0, rel=2e-3)
        assert now_water == pytest.approx(seen.dry_s, rel=0.10)
        if flux >= 20e3:
            assert now_whole == pytest.approx(seen.ignition_s, rel=0.10)


@pytest.mark.parametrize("humidity", [0.1, 0.3, 0.6])
def test_a_film_with_no_fire_on_it_is_a_wet_bulb(humidity: float) -> None:
    """With no radiation it stands within half a degree of psychrolib's wet bulb, and each kg that
    leaves has taken the heat of evaporation of IAPWS-97 from the air. As much leaves as the
    logarithmic law of mass transfer carries off (Spalding 1963, from memory): heat and mass agree.
    """
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio = psychrolib.GetHumRatioFromRelHum(32.0, humidity, 101325.0)
    surface, rate, lost = _wet_surface(0.0, 305.15, 0.0, 305.15, 0.0, 15.0, ratio / (1.0 + ratio))
    wet_bulb_c = psychrolib.GetTWetBulbFromRelHum(32.0, humidity, 101325.0)
    assert surface - 273.15 == pytest.approx(wet_bulb_c, abs=0.5)
    table_j_kg = 1e3 * (IAPWS97(T=surface, x=1).h - IAPWS97(T=surface, x=0).h)
    assert -lost / rate == pytest.approx(table_j_kg, rel=0.01)
    air_share = ratio / (1.0 + ratio)
    carried = np.log((1.0 - air_share) / (1.0 - _vapour_share(surface)))
    assert rate == pytest.approx(15.0 / AIR_SPECIFIC_HEAT * carried, rel=1e-4)


def test_the_flux_now_is_read_off_the_history() -> None:
    """Searched forward only, it is numpy's interpolation at every moment, jumps included."""
    time_s = np.array([0.0, 10.0, 10.0, 25.0, 40.0, 41.0, 90.0])
    flux = np.array([0.0, 5e3, 20e3, 8e3, 8e3, 60e3, 0.0])
    index = 0
    for now in (0.0, 2.5, 9.0, 11.0, 24.0, 31.0, 40.5, 60.0, 89.0):
        found, index = _flux_at(now, index, time_s, flux)
        assert found == pytest.approx(np.interp(now, time_s, flux))


def test_no_water_is_lost_when_the_last_of_the_film_sinks_in() -> None:
    """Conservation of mass: what did not leave as vapour (steam tables) is in the wood after."""
    width = np.array([2e-4, 6e-4, 6e-4])  # unequal, so that a wrong cell does not add up
    film, moist = np.full(4, 0.05), np.full(3, 60.0)
    warm = 300.0 - 273.15
    film_heat, dry_heat = film * 4190.0 * warm, 8.5e5
    wood_heat, before = (dry_heat + moist * 4190.0) * warm, moist @ width
    settings = np.array([0.95, 0.95, 305.0, 15.0, 0.006, 0.9, 0.14, dry_heat, 623.0])
    time, flux = np.array([0.0, 30.0]), np.array([4e4, 4e4])
    dry, _, _, ledger = _march(
        time, flux, film, film_heat, width, wood_heat, moist, 0.004, settings
    )
    assert 0.0 < dry < 30.0
    vapour = ledger[2] / (IAPWS97(T=370.0, x=1).h * 1e3)  # from 0 C liquid
    assert moist @ width - before == pytest.approx(0.2 - vapour, abs=0.002)
