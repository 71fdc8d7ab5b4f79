"""Flux histories: approach, contact, faces turned away, sums, directions."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwet.physics.exposures import exposures
from stillwet.physics.flux import (
    FluxHistory,
    dose,
    emissive_power,
    flame_flux,
    flux_from_peak,
    front_flux_history,
    peak_flux,
    sum_fluxes,
    transmissivity_any_path,
)
from stillwet.physics.transmissivity import transmissivity_fuss_hamins

FRONT: dict[str, Any] = {
    "flame_length_m": 6.0,
    "flame_width_m": 60.0,
    "flame_tilt_deg": 25.0,
    "spread_rate_m_s": 0.5,
    "residence_s": 30.0,
    "setback_m": 12.0,
    "face_tilt_deg": [90.0],
    "face_azimuth_deg": [200.0],
    "face_height_m": [1.5],
    "fire_bearing_deg": None,
    "air_temperature_k": 308.0,
    "relative_humidity": 0.2,
}


def _front(**changes: Any) -> tuple[np.ndarray, np.ndarray]:
    return front_flux_history(**{**FRONT, **changes})


def test_front_comes_stands_and_dies() -> None:
    """Flux never falls on the approach, stands for the residence time, ends at nothing."""
    time, flux = _front()
    assert np.all(np.diff(time) >= 0)
    coming = flux[0, time <= 0]
    assert np.all(np.diff(coming) >= -1e-9)
    assert coming[0] < 0.02 * coming[-1]
    standing = flux[0, (time >= 0) & (time <= 30.0)]
    assert standing == pytest.approx(np.full(standing.size, coming[-1]))
    assert flux[0, -1] == pytest.approx(0.0, abs=1e-9)


def test_approach_is_fine_enough() -> None:
    """The dose of the approach is that of a ten times finer time grid, to half a percent."""
    time, flux = _front()
    before = time <= 0
    fine = np.linspace(time[0], 0.0, 1501)
    finer = [float(_front(setback_m=12.0 - 0.5 * t, residence_s=0.0)[1].max()) for t in fine[::10]]
    steady = dose(time_s=fine[::10], flux_w_m2=finer)
    assert dose(time_s=time[before], flux_w_m2=flux[0, before]) == pytest.approx(steady, rel=5e-3)


def test_faces_turn_from_the_fire() -> None:
    """With the fire in the south: south wall most, its mirror images alike, north wall nothing."""
    _, flux = _front(
        face_tilt_deg=[90.0] * 4,
        face_azimuth_deg=[180.0, 90.0, 270.0, 0.0],
        face_height_m=[1.5] * 4,
        fire_bearing_deg=180.0,
    )
    south, east, west, north = peak_flux(flux_w_m2=flux)
    assert south > east > 0
    assert east == pytest.approx(west, rel=1e-9)
    assert north == pytest.approx(0.0, abs=1e-6)
    _, unknown = _front(face_azimuth_deg=[0.0])
    assert unknown.max() == pytest.approx(south, rel=1e-9)


def test_contact_at_no_setback_and_under_a_leaning_flame() -> None:
    """Flames on the face give the contact flux; a lean that reaches the wall counts as contact."""
    assert _front(setback_m=0.0)[1].max() == pytest.approx(100e3)
    assert _front(setback_m=0.0, contact_flux_w_m2=200e3)[1].max() == pytest.approx(200e3)
    assert _front(setback_m=1.0, flame_tilt_deg=45.0)[1].max() == pytest.approx(100e3)
    assert _front(setback_m=8.0, flame_tilt_deg=45.0)[1].max() < 80e3
    high_roof = _front(setback_m=0.0, face_tilt_deg=[20.0], face_height_m=[30.0])[1]
    assert high_roof.max() < 100.0


@given(
    length=st.floats(0.3, 30.0),
    longer=st.floats(1.0, 2.0),
    lean=st.floats(0.0, 60.0),
    setback=st.floats(0.5, 60.0),
    closer=st.floats(0.1, 1.0),
    tilt=st.sampled_from([90.0, 60.0, 25.0]),
    height=st.floats(0.5, 6.0),
)
def test_closer_or_longer_flame_never_gives_less(
    length: float,
    longer: float,
    lean: float,
    setback: float,
    closer: float,
    tilt: float,
    height: float,
) -> None:
    """A face turned to the fire gets no less from a longer flame; a wall none from a nearer one."""
    base = {
        "flame_length_m": length,
        "flame_tilt_deg": lean,
        "setback_m": setback,
        "face_tilt_deg": [tilt],
        "face_height_m": [height],
    }
    peak = _front(**base)[1].max()
    taller = _front(**{**base, "flame_length_m": length * longer})[1].max()
    assert taller >= peak * (1 - 1e-3)
    if tilt == 90.0:
        nearer = _front(**{**base, "setback_m": setback * closer})[1].max()
        assert nearer >= peak * (1 - 1e-3)


def test_uphill_slope_changes_the_view_and_flat_is_the_default() -> None:
    """Slope zero is no slope; a flame far down a steep slope is seen less by a wall above it."""
    flat = _front()[1].max()
    assert _front(ground_slope_deg=0.0)[1].max() == flat
    assert _front(ground_slope_deg=35.0, flame_tilt_deg=0.0)[1].max() < flat


def test_transmissivity_is_the_fit_from_ten_metres_and_one_at_the_flame() -> None:
    """Published inside its range, 1 at no distance, never rising with distance."""
    air = {"air_temperature_k": 308.0, "flame_temperature_k": 1090.0, "relative_humidity": 0.25}
    path = np.linspace(0.0, 200.0, 401)
    ours = transmissivity_any_path(path_m=path, **air)
    inside = path >= 10.0
    np.testing.assert_allclose(
        ours[inside], transmissivity_fuss_hamins(path_m=path[inside], **air), rtol=1e-12
    )
    assert ours[0] == 1.0
    assert np.all(np.diff(ours) <= 1e-9)


def test_peak_and_dose_of_a_typed_in_pulse() -> None:
    """A rectangular pulse: peak as typed, dose peak times duration, on every face."""
    time, flux = flux_from_peak(flux_peak_w_m2=25e3, flux_duration_s=90.0, faces=3)
    assert flux.shape == (3, time.size)
    np.testing.assert_allclose(peak_flux(flux_w_m2=flux), 25e3)
    np.testing.assert_allclose(dose(time_s=time, flux_w_m2=flux), 25e3 * 90.0)


def test_sum_of_sources_keeps_every_dose() -> None:
    """Fires on one clock: the summed dose is the sum of doses, the overlap is the sum of fluxes."""
    front_time, front = _front(residence_s=20.0)
    pile_time, pile = flux_from_peak(flux_peak_w_m2=12e3, flux_duration_s=600.0)
    time, total = sum_fluxes(
        sources=[
            FluxHistory("front", front_time, front),
            FluxHistory("wood pile", pile_time, pile, start_s=5.0),
        ]
    )
    apart = dose(time_s=front_time, flux_w_m2=front) + dose(time_s=pile_time, flux_w_m2=pile)
    assert dose(time_s=time, flux_w_m2=total) == pytest.approx(apart, rel=1e-6)
    both = np.interp(10.0, time, total[0])
    assert both == pytest.approx(12e3 + np.interp(10.0, front_time, front[0]), rel=1e-6)
    assert np.interp(500.0, time, total[0]) == pytest.approx(12e3)


def test_emission_scales_with_the_fourth_power() -> None:
    """Twice the temperature radiates sixteen times as much."""
    one = emissive_power(flame_temperature_k=700.0, emissivity=0.9)
    assert emissive_power(flame_temperature_k=1400.0, emissivity=0.9) == pytest.approx(16 * one)


def test_named_exposures_are_whole_and_bounded() -> None:
    """Each number lies in its interval and a possible range, has a source, and embers are named."""
    bounds = {
        "flame_length_m": (0.1, 100.0),
        "flame_width_m": (0.5, 1000.0),
        "flame_tilt_deg": (0.0, 80.0),
        "spread_rate_m_s": (0.0, 10.0),
        "residence_s": (1.0, 7200.0),
        "setback_m": (0.0, 100.0),
        "contact_flux_w_m2": (10e3, 300e3),
        "ember_window_s": (1800.0, 86400.0),
    }
    assert {"grass fire", "burning neighbour", "timber crown fire"} <= set(exposures())
    for exposure in exposures().values():
        assert "does not make the face safe" in exposure.ember_window
        for column, (low, high) in bounds.items():
            entry = getattr(exposure, column)
            assert low <= entry.low <= entry.value <= entry.high <= high, (exposure.name, column)
            assert entry.source.strip()
            assert entry.kind in {"published", "untested default"}
            if entry.kind == "untested default" and entry.value > 0:
                assert entry.low < entry.high


def test_a_flame_at_the_foot_of_a_wall_touches_it() -> None:
    """Standing at the wall, and beyond it, it gives the contact flux, though it is lower than the
    face's centre; a step away, or at the foot of a roof as high, it does not.
    """
    rise, flame = 4.0, 1.0

    def given(distance: float, normal: list[float]) -> float:
        return float(
            flame_flux(
                distance_m=distance,
                flame_length_m=flame,
                flame_width_m=20.0,
                flame_tilt_deg=0.0,
                face_height_m=rise,
                normal=np.array(normal),
                air_temperature_k=308.0,
                relative_humidity=0.2,
                contact_flux_w_m2=50e3,
            )
        )

    wall, roof = [1.0, 0.0, 0.0], [0.5, 0.0, 3.0**0.5 / 2.0]
    assert given(0.0, wall) == pytest.approx(50e3)
    assert given(-1.0, wall) == pytest.approx(50e3)
    assert given(1.0, wall) < 25e3
    assert given(0.0, roof) < 25e3


def test_no_flame_gives_nothing_even_where_it_would_stand() -> None:
    """A flame of no length touches no wall, at any height, and none lies on the ground."""
    for height in (0.0, 1.5):
        found = flame_flux(
            distance_m=np.array([0.0, -1.0]),
            flame_length_m=0.0,
            flame_width_m=20.0,
            flame_tilt_deg=0.0,
            face_height_m=height,
            normal=np.array([1.0, 0.0, 0.0]),
            air_temperature_k=308.0,
            relative_humidity=0.2,
        )
        np.testing.assert_allclose(found, 0.0)
