"""Flames: limits, directions, agreement of siblings, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics.flame import (
    FireKind,
    action_class,
    fireline_intensity_byram,
    flame_depth,
    flame_length,
    flame_length_byram,
    flame_tilt_albini,
    flame_tilt_from_length,
    intensity_from_flame_length_byram,
    is_deep_front,
    measured_flux,
    measured_residence,
    residence_time_anderson,
)
from stillwet.tables import load_table


def test_no_fire_has_no_flame() -> None:
    """At zero intensity every kind of fire has a flame of zero length and nothing to flag."""
    for kind in FireKind:
        flame = flame_length(intensity_w_m=0.0, kind=kind)
        assert (flame.length_m, flame.low_m, flame.high_m) == (0.0, 0.0, 0.0)
        assert flame.flags == ()


def test_more_intensity_never_shortens_the_flame() -> None:
    """Length and its interval grow with intensity for every kind of fire."""
    intensity = np.geomspace(1e3, 1e8, 60)
    for kind in FireKind:
        flame = flame_length(intensity_w_m=intensity, kind=kind)
        for lengths in (flame.length_m, flame.low_m, flame.high_m):
            assert np.all(np.diff(np.asarray(lengths)) > 0)
        assert np.all(np.asarray(flame.low_m) <= np.asarray(flame.length_m))
        assert np.all(np.asarray(flame.length_m) <= np.asarray(flame.high_m))


def test_siblings_agree_within_two_thirds_in_the_range_they_share() -> None:
    """From 0.1 to 3 MW/m the surface relations stay within 0.6 to 1.9 of Byram's."""
    flame = flame_length(intensity_w_m=np.geomspace(1e5, 3e6, 20))
    ratio_low = np.asarray(flame.low_m) / np.asarray(flame.length_m)
    ratio_high = np.asarray(flame.high_m) / np.asarray(flame.length_m)
    assert ratio_low.min() > 0.6
    assert ratio_high.max() < 1.9


def test_a_crown_fire_flame_is_flagged_outside_its_fit_and_longer_than_byram_above_it() -> None:
    """Butler's relation passes Byram's between 1 and 4 MW/m and is flagged below its fit."""
    weak = flame_length(intensity_w_m=1e5, kind=FireKind.CROWN)
    assert weak.flags == ("intensity outside the fit of flame_length_butler",)
    strong = flame_length(intensity_w_m=3e7, kind=FireKind.CROWN)
    assert strong.flags == ()
    assert float(strong.length_m) > float(flame_length_byram(intensity_w_m=3e7))


def test_intensity_and_length_undo_each_other() -> None:
    """Byram's relation and its inverse are one relation over 1 W/m to 100 MW/m."""
    intensity = np.geomspace(1.0, 1e8, 30)
    back = intensity_from_flame_length_byram(
        flame_length_m=flame_length_byram(intensity_w_m=intensity)
    )
    np.testing.assert_allclose(back, intensity, rtol=1e-12)


def test_intensity_scales_with_mass_length_and_time() -> None:
    """Rescaling kg, m and s rescales W/m as kg m s^-3 must."""
    kilogram, metre, second = 3.0, 0.4, 7.0
    plain = fireline_intensity_byram(
        heat_yield_j_kg=18.6e6, fuel_consumed_kg_m2=0.7, spread_rate_m_s=0.3
    )
    scaled = fireline_intensity_byram(
        heat_yield_j_kg=18.6e6 * metre**2 / second**2,
        fuel_consumed_kg_m2=0.7 * kilogram / metre**2,
        spread_rate_m_s=0.3 * metre / second,
    )
    assert scaled == pytest.approx(float(plain) * kilogram * metre / second**3)


def test_tilt_is_dimensionless_and_leans_more_with_wind() -> None:
    """No wind stands upright; four times the height and twice the wind lean the same."""
    assert flame_tilt_albini(wind_speed_m_s=0.0, flame_height_m=2.0) == 0.0
    low = flame_tilt_albini(wind_speed_m_s=3.0, flame_height_m=2.0)
    high = flame_tilt_albini(wind_speed_m_s=6.0, flame_height_m=8.0)
    assert float(low) == pytest.approx(float(high))
    leans = np.asarray(flame_tilt_albini(wind_speed_m_s=np.arange(0.0, 20.0), flame_height_m=2.0))
    assert np.all(np.diff(leans) > 0)
    assert leans.max() < 90


@pytest.mark.parametrize("wind", [0.0, 0.5, 4.0, 25.0])
def test_tilt_from_length_agrees_with_tilt_from_height(wind: float) -> None:
    """The height of a leaning flame, put into the height relation, gives the same lean."""
    tilt = float(flame_tilt_from_length(wind_speed_m_s=wind, flame_length_m=3.0))
    height = 3.0 * np.cos(np.radians(tilt))
    again = flame_tilt_albini(wind_speed_m_s=wind, flame_height_m=height)
    assert float(again) == pytest.approx(tilt, abs=1e-6)


def test_fine_fuel_burns_out_sooner() -> None:
    """Residence falls in inverse proportion to the surface to volume ratio."""
    fine, coarse = (
        float(residence_time_anderson(surface_to_volume_1_m=ratio)) for ratio in (8000.0, 2000.0)
    )
    assert coarse == pytest.approx(4 * fine)


def test_deep_fronts_are_told() -> None:
    """A flame shorter than twice its front's depth is deep; a flame of no length is not."""
    depth = flame_depth(spread_rate_m_s=0.5, residence_s=20.0)
    assert depth == 10.0
    assert is_deep_front(flame_length_m=19.0, flame_depth_m=depth)
    assert not is_deep_front(flame_length_m=21.0, flame_depth_m=depth)
    assert not is_deep_front(flame_length_m=0.0, flame_depth_m=depth)


def test_action_classes_change_at_the_printed_limits() -> None:
    """4, 8 and 11 ft begin a new class each; longer flames never fall to a weaker class."""
    feet = [0.0, 3.99, 4.0, 7.99, 8.0, 10.99, 11.0, 200.0]
    numbers = [action_class(flame_length_m=length * 0.3048)[0] for length in feet]
    assert numbers == [0, 0, 1, 1, 2, 2, 3, 3]
    words = [action_class(flame_length_m=length * 0.3048)[1] for length in feet]
    assert len(set(words)) == 4


def test_measured_bands_are_ordered_and_sourced() -> None:
    """Every band runs from low to high, is in SI, and names its paper."""
    for row in load_table("flame")["residence"]:
        band = measured_residence(row["kind"])
        assert 5 < band.low < band.high < 300
        assert "20" in band.source
    for row in load_table("flame")["flux"]:
        flux = measured_flux(row["kind"])
        assert 1e4 < flux.low < flux.high <= 3.1e5
        assert "20" in flux.source
    assert measured_flux("surface").high < measured_flux("crown").low


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: flame_length(intensity_w_m=-1.0), "intensity: wanted 0 to 2e+08 W/m, got -1.0"),
        (
            lambda: intensity_from_flame_length_byram(flame_length_m=-2.0),
            "flame_length: wanted 0 to 100 m, got -2.0",
        ),
        (
            lambda: flame_tilt_albini(wind_speed_m_s=90.0, flame_height_m=1.0),
            "wind_speed: wanted 0 to 60 m/s, got 90.0",
        ),
        (
            lambda: flame_tilt_albini(wind_speed_m_s=np.array([1.0, np.nan]), flame_height_m=1.0),
            "wind_speed: wanted 0 to 60 m/s, got nan (item 1)",
        ),
        (
            lambda: residence_time_anderson(surface_to_volume_1_m=0.0),
            "surface_to_volume: wanted 1 to 50000 1/m, got 0.0",
        ),
        (
            lambda: action_class(flame_length_m=-0.1),
            "flame_length: wanted 0 to 100 m, got -0.1",
        ),
    ],
)
def test_impossible_inputs_are_refused_in_words(call: object, words: str) -> None:
    """Negative flames, storms beyond any record and gaps in a series name field, wanted and got."""
    assert callable(call)
    with pytest.raises(StillwetError) as caught:
        call()
    assert str(caught.value) == words
