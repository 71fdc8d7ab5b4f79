"""Bare faces: the two ignition models, limits, the table's bounds, and the coat's time added."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwet.physics.flux import flux_from_peak
from stillwet.physics.ignition import (
    bare_limit,
    bare_time,
    cambium_kill_time_peterson_ryan,
    ignition_share_flux_time_product_tran,
    ignition_time_flux_time_product_tran,
    ignition_time_thick_solid,
    protection_time,
    surface_heating_time,
)
from stillwet.physics.materials import Harm, materials

FACE: dict[str, Any] = {
    "start_temperature_k": 300.0,
    "air_temperature_k": 305.0,
    "convection_w_m2k": 10.0,
    "water_efficiency": 0.7,
}


@pytest.mark.parametrize("flux", [20e3, 30e3, 50e3, 75e3])
def test_siblings_agree_on_wood(flux: float) -> None:
    """Plywood siding by the thick solid and wood by the flux-time product: within 30 %."""
    thick = bare_time(
        material=materials()["plywood siding"], flux_w_m2=flux, start_temperature_k=298.0
    )
    assert thick == pytest.approx(ignition_time_flux_time_product_tran(flux_w_m2=flux), rel=0.3)


@pytest.mark.parametrize("times_critical", [4.0, 6.0, 10.0])
def test_thick_solid_meets_the_high_flux_asymptote(times_critical: float) -> None:
    """Janssens against (pi/4) k rho c (dT / (q - 0.64 q_cr))^2, Delichatsios et al. 1991: 15 %.

    (Asymptote from memory.)
    """
    inertia, rise, critical, emissivity = 1.6e5, 330.0, 13e3, 0.9
    correlated = ignition_time_thick_solid(
        flux_w_m2=times_critical * critical,
        critical_flux_w_m2=critical,
        thermal_inertia_j2_m4k2s=inertia,
        limit_temperature_k=293.0 + rise,
        start_temperature_k=293.0,
        bare_emissivity=emissivity,
    )
    asymptote = surface_heating_time(
        net_flux_w_m2=emissivity * critical * (times_critical - 0.64),
        thermal_inertia_j2_m4k2s=inertia,
        temperature_rise_k=rise,
    )
    assert correlated == pytest.approx(asymptote, rel=0.15)


def test_history_of_a_steady_flux_ignites_when_the_steady_time_is_up() -> None:
    """The summed flux-time product reaches 1 exactly at the steady time."""
    due = ignition_time_flux_time_product_tran(flux_w_m2=30e3)
    time, flux = flux_from_peak(flux_peak_w_m2=30e3, flux_duration_s=due)
    share = ignition_share_flux_time_product_tran(time_s=time, flux_w_m2=flux)
    assert share[0] == pytest.approx(1.0)


def test_never_below_the_limit() -> None:
    """At and below the critical flux: inf, for both models and all materials."""
    assert ignition_time_flux_time_product_tran(flux_w_m2=13.1e3) == np.inf
    for material in materials().values():
        limit = bare_limit(material=material)
        below, above = bare_time(
            material=material,
            flux_w_m2=np.array([limit, 1.5 * limit]),
            start_temperature_k=300.0,
        )
        assert below == np.inf, material.name
        assert 0.0 < above < 1e5, material.name


def test_radiant_ignition_unlikely_beyond_forty_metres() -> None:
    """Cohen and Butler 1998: a crown fire at 40 m (18.2 kW/m2) needs ten minutes, at 50 m never."""
    times = ignition_time_flux_time_product_tran(flux_w_m2=np.array([27.8e3, 18.2e3, 12.6e3]))
    assert times[0] < 100.0
    assert 480.0 < times[1] < 720.0
    assert times[2] == np.inf


def test_weak_materials_go_before_wood() -> None:
    """At 15 kW/m2 vinyl sags and glass cracks before wood ignites; brick does nothing."""
    order = [
        bare_time(material=materials()[name], flux_w_m2=15e3, start_temperature_k=300.0)
        for name in ("vinyl siding", "glass", "plywood siding", "brick or stucco")
    ]
    assert order == sorted(order)
    assert order[-1] == np.inf
    assert {materials()[name].harm for name in ("vinyl siding", "glass")} == {
        Harm.SAGS,
        Harm.CRACKS,
    }


@given(
    flux=st.floats(13e3, 120e3),
    more_flux=st.floats(1.0, 2.0),
    coat=st.floats(0.0, 10.0),
    more=st.floats(0.0, 5.0),
    name=st.sampled_from(sorted(materials())),
)
def test_more_water_never_protects_shorter_nor_more_flux_longer(
    flux: float, more_flux: float, coat: float, more: float, name: str
) -> None:
    """Protection time grows with the coat and shrinks with the flux, for every material."""
    material = materials()[name]
    base = protection_time(material=material, flux_w_m2=flux, coat_kg_m2=coat, **FACE)
    wetter = protection_time(material=material, flux_w_m2=flux, coat_kg_m2=coat + more, **FACE)
    hotter = protection_time(material=material, flux_w_m2=flux * more_flux, coat_kg_m2=coat, **FACE)
    assert wetter >= base
    assert hotter <= base


def test_dry_coat_protects_no_better_than_bare() -> None:
    """Kadel et al. 2020: a dried gel did no better than bare wood; no water, no time."""
    material = materials()["plywood siding"]
    dry = protection_time(material=material, flux_w_m2=50e3, coat_kg_m2=0.0, **FACE)
    assert dry == bare_time(material=material, flux_w_m2=50e3, start_temperature_k=300.0)


def test_living_bark_goes_by_its_thickness() -> None:
    """The table's bark dies after 2.9 min per cm2, whatever the flux above its limit."""
    bark = materials()["bark"]
    assert bark.bark_thickness_m is not None
    due = cambium_kill_time_peterson_ryan(bark_thickness_m=bark.bark_thickness_m.value)
    times = bare_time(material=bark, flux_w_m2=np.array([20e3, 80e3]), start_temperature_k=300.0)
    np.testing.assert_allclose(times, due)


def test_material_columns_are_bounded_and_sourced() -> None:
    """Every number in its own interval, in a range that is physically possible, with a source."""
    bounds = {
        "solar_absorptivity": ("fraction", 0.05, 0.98),
        "emissivity": ("fraction", 0.5, 1.0),
        "bare_emissivity": ("fraction", 0.1, 1.0),
        "thermal_inertia_j2_m4k2s": ("J2/m4K2s", 5e3, 5e6),
        "limit_temperature_k": ("K", 320.0, 1100.0),
        "critical_flux_w_m2": ("W/m2", 500.0, 200e3),
        "bark_thickness_m": ("m", 0.001, 0.2),
    }
    for material in materials().values():
        for column, (unit, low, high) in bounds.items():
            entry = getattr(material, column)
            if entry is None:
                assert material.harm is not Harm.DIES
                continue
            assert entry.unit == unit
            assert low <= entry.low < entry.value < entry.high <= high, (material.name, column)
            assert entry.source.strip()
            assert entry.kind in {"published", "untested default"}
