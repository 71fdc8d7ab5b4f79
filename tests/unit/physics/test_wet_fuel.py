"""Wet fuel: surface by geometry, extinction as Rothermel has it, light shared by Beer's law."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from stillwet.errors import StillwetError
from stillwet.physics.fuel_models import FuelModel, fuel_model, fuel_models
from stillwet.physics.spread import FuelMoisture, surface_spread
from stillwet.physics.view_factor import view_factor_flame_panel
from stillwet.physics.wet_fuel import (
    PARTICLE_DENSITY,
    dead_moisture_wetted,
    film_per_surface,
    fuel_surface_area,
    ground_view_past_flames,
    mean_share_on_surface,
    moisture_with_film,
    share_caught,
    tilt_for_sky_view,
    water_boiled_by_flames,
    water_for_extinction,
    wet_bed,
)

ANGLES = np.linspace(0.0, 0.5 * math.pi, 20_001)


def test_area_of_straws() -> None:
    """Straws of 1 mm diameter, 40 m of them on a square metre: area pi d l, load rho pi d^2/4 l."""
    diameter, length = 1e-3, 40.0
    load = PARTICLE_DENSITY * math.pi * diameter**2 / 4 * length
    area = fuel_surface_area(load_kg_m2=load, surface_to_volume_1_m=4 / diameter)
    assert area == pytest.approx(math.pi * diameter * length, rel=1e-12)


def test_particle_density_is_the_handbook_value() -> None:
    """32 lb/ft3 is 513 kg/m3 (Rothermel 1972; 0.45359237 kg over 0.3048^3 m3)."""
    assert pytest.approx(32 * 0.45359237 / 0.3048**3, rel=1e-12) == PARTICLE_DENSITY


@pytest.mark.parametrize("model", fuel_models(), ids=lambda model: str(model.code))
def test_wet_to_the_margin_is_wet_to_extinction(model: FuelModel) -> None:
    """Water for extinction at margin 1 ends the published spread to the drop, in all 53 models.

    A hundredth less water and Rothermel's bed still burns.
    """
    bed = wet_bed(fuel=model, cured_fraction=0.5)
    water = float(water_for_extinction(bed=bed, fuel_moisture=0.05, margin=1.0))

    def rate(share: float) -> float:
        dead = dead_moisture_wetted(bed=bed, water_kg_m2=share * water, fuel_moisture=0.05)
        moisture = FuelMoisture(
            one_hour=dead, ten_hour=dead, hundred_hour=dead, herb=1.5, woody=2.0
        )
        spread = surface_spread(fuel=model, moisture=moisture, midflame_wind_m_s=2.0)
        return float(spread.spread_rate_m_s)

    assert rate(1.000001) == 0.0
    assert rate(0.99) > 0.0


def test_all_dead_grass_is_water_over_load() -> None:
    """In short grass (model 1, 0.74 ton/ac, all dead) 0.1 mm of water is 60 points of moisture."""
    bed = wet_bed(fuel=fuel_model("1"), cured_fraction=0.0)
    load = 0.74 * 907.18474 / 4046.8564224
    wetted = float(dead_moisture_wetted(bed=bed, water_kg_m2=0.1, fuel_moisture=0.03))
    assert wetted == pytest.approx(0.03 + 0.1 / load, rel=1e-9)
    assert wetted == pytest.approx(0.633, abs=0.001)


def test_film_and_bed_agree() -> None:
    """Moisture by film on a straw is moisture by water on the bed, where green takes its share."""
    model = fuel_model("GR4")
    bed = wet_bed(fuel=model, cured_fraction=0.4)
    film = film_per_surface(water_kg_m2=0.5, surface=bed.surface)
    sigma = bed.dead_surface / bed.dead_load_kg_m2 * PARTICLE_DENSITY  # of the dead mix
    by_film = moisture_with_film(film_kg_m2=film, surface_to_volume_1_m=sigma, fuel_moisture=0.06)
    by_bed = dead_moisture_wetted(bed=bed, water_kg_m2=0.5, fuel_moisture=0.06)
    assert by_film == pytest.approx(by_bed, rel=1e-12)


def test_curing_moves_surface_from_green_to_dead() -> None:
    """Curing keeps a dynamic model's fine surface and adds to the dead; a static one ignores it."""
    green, cured = (wet_bed(fuel=fuel_model("GR6"), cured_fraction=c) for c in (0.0, 1.0))
    assert green.surface == cured.surface
    assert cured.dead_surface == pytest.approx(cured.surface)
    assert green.dead_load_kg_m2 < cured.dead_load_kg_m2
    timber_grass = wet_bed(fuel=fuel_model("2"), cured_fraction=0.7)
    assert timber_grass.dead_surface < timber_grass.surface  # its herbs stay green
    assert wet_bed(fuel=fuel_model("3"), cured_fraction=0.7) == wet_bed(
        fuel=fuel_model("3"), cured_fraction=0.0
    )


def test_flames_boil_by_hand() -> None:
    """50 kW/m2 for 20 s, 95 % taken up: 950 kJ/m2, over 0.7 x 2591.5 kJ/kg from 20 C is 0.5237."""
    boiled = water_boiled_by_flames(
        flux_w_m2=50e3, exposure_s=20.0, start_temperature_k=293.15, water_efficiency=0.7
    )
    assert float(boiled) == pytest.approx(950.0 / (0.7 * 2591.5), rel=1e-3)


def test_random_leaves_shade_half_their_area() -> None:
    """A flat leaf pointing any way shades half its area on the mean: K = 0.5 under a high sun.

    By quadrature over the sphere, pdf sin(angle), |cos(angle)| in the beam (Monsi & Saeki 1953).
    """
    shaded, _ = quad(lambda angle: math.cos(angle) * math.sin(angle), 0.0, 0.5 * math.pi)
    assert shaded == pytest.approx(0.5, rel=1e-9)


@pytest.mark.parametrize("surface", [0.01, 2.0, 6.0, 40.0])
def test_light_is_shared_not_copied(surface: float) -> None:
    """The mean over leaf layers of K exp(-K l), by quadrature, halved for two sides; sum <= 1."""
    extinction = 0.5
    layers, _ = quad(lambda depth: extinction * math.exp(-extinction * depth), 0.0, surface / 2)
    share = float(mean_share_on_surface(surface=surface, extinction=extinction))
    assert share == pytest.approx(layers / surface, rel=1e-9)
    assert share * surface <= 1.0
    caught = float(share_caught(leaf_area_index=surface / 2, extinction=extinction))
    assert share * surface == pytest.approx(caught)


def test_sparse_and_dense_limits() -> None:
    """A lone leaf gets K/2 on each side; in a bed that catches all, one over the surface."""
    assert float(mean_share_on_surface(surface=1e-6, extinction=0.5)) == pytest.approx(0.25, 1e-5)
    assert float(mean_share_on_surface(surface=200.0, extinction=0.5)) == pytest.approx(1 / 200)


def test_tilt_gives_the_sky_view_asked_for() -> None:
    """An infinitely wide wall sees half the sky, a floor all, a soffit none."""
    np.testing.assert_allclose(
        tilt_for_sky_view(sky_view=np.array([1.0, 0.5, 0.0])), [0.0, 90.0, 180.0], atol=1e-6
    )


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: water_boiled_by_flames(
            flux_w_m2=50.0e6, exposure_s=10.0, start_temperature_k=293.0, water_efficiency=0.7
        ), "flux: wanted 0 to 400000 W/m2, got 50000000.0"),
        (lambda: water_for_extinction(
            bed=wet_bed(fuel=fuel_model("1"), cured_fraction=0.0), fuel_moisture=0.04, margin=0.5
        ), "margin: wanted 1 to 10, got 0.5"),
        (lambda: wet_bed(fuel=fuel_model("GR1"), cured_fraction=40.0), "is it in percent?"),
    ],
    ids=["flux", "margin", "cured"],
)  # fmt: skip
def test_impossible_inputs_are_refused(call: object, words: str) -> None:
    """Field, wanted and got."""
    assert callable(call)
    with pytest.raises(StillwetError) as caught:
        call()
    assert words in str(caught.value)


@pytest.mark.parametrize("tilt", [0.0, 20.0, 45.0, 60.0])
def test_ground_past_the_flames_sees_what_the_panel_integral_says(tilt: float) -> None:
    """Closed form against Lambert's contour integral of a panel 2 km wide, one flame length off."""
    flame = 1.5
    exact = view_factor_flame_panel(
        distance_m=flame,
        flame_length_m=flame,
        flame_width_m=2000.0,
        flame_tilt_deg=tilt,
        face_height_m=0.0,
        normal=(0.0, 0.0, 1.0),
    )
    assert float(ground_view_past_flames(tilt_deg=tilt)) == pytest.approx(float(exact), rel=1e-3)


def test_fine_fuel_of_timber_and_grass_is_the_handbooks() -> None:
    """Anderson 1982, INT-122, model 2: 2.00 tons an acre of 1-h and 0.50 of live fuel."""
    ton_acre = 907.18474 / 4046.8564224
    found = wet_bed(fuel=fuel_model("2"), cured_fraction=0.0)
    assert found.fine_load_kg_m2 == pytest.approx(2.5 * ton_acre, rel=0.01)
    assert found.dead_load_kg_m2 == pytest.approx(2.0 * ton_acre, rel=0.01)
