"""Wind to midflame: limits, directions, siblings, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics.wind_reduction import (
    ROTHERMEL_1983,
    Shelter,
    crown_fill,
    midflame_wind,
    wind_adjustment,
    wind_adjustment_sheltered,
    wind_adjustment_unsheltered,
    wind_at_10m_turner,
    wind_at_20ft_turner,
)


def test_the_two_heights_undo_each_other() -> None:
    """10 m to 20 ft and back is the same wind."""
    wind = np.linspace(0.0, 40.0, 9)
    back = wind_at_10m_turner(wind_20ft_m_s=wind_at_20ft_turner(wind_10m_m_s=wind))
    np.testing.assert_allclose(back, wind)


def test_turner_agrees_with_a_log_profile_within_ten_percent() -> None:
    """A log profile over ground of 0.03 to 0.3 m roughness gives 0.86 to 0.92; 1/1.15 is 0.87."""
    factor = float(wind_at_20ft_turner(wind_10m_m_s=1.0))
    for roughness in (0.03, 0.1, 0.3):
        profile = np.log(6.096 / roughness) / np.log(10.0 / roughness)
        assert factor == pytest.approx(profile, rel=0.06)


def test_deeper_fuel_feels_more_of_the_wind() -> None:
    """The open adjustment rises with fuel depth and stays below the 20-ft wind."""
    factors = np.asarray(wind_adjustment_unsheltered(fuel_depth_m=np.linspace(0.02, 3.0, 50)))
    assert np.all(np.diff(factors) > 0)
    assert 0.1 < factors[0] < factors[-1] < 0.7


def test_fuller_and_taller_crowns_take_more_wind() -> None:
    """Under a canopy the adjustment falls with crown fill; it falls with stand height too."""
    by_fill = np.asarray(
        wind_adjustment_sheltered(crown_fill=np.linspace(0.05, 0.33, 20), canopy_height_m=20.0)
    )
    assert np.all(np.diff(by_fill) < 0)
    by_height = np.asarray(
        wind_adjustment_sheltered(crown_fill=0.1, canopy_height_m=np.linspace(5.0, 40.0, 20))
    )
    assert np.all(np.diff(by_height) < 0)


def test_crowns_fill_a_third_of_their_layer_at_most() -> None:
    """Full cover of crowns to the ground fills one third: crowns are taken as cones."""
    assert float(crown_fill(canopy_cover=1.0, crown_ratio=1.0)) == pytest.approx(1 / 3)
    assert float(crown_fill(canopy_cover=0.0, crown_ratio=1.0)) == 0.0


def test_the_chooser_takes_the_canopy_only_when_it_shelters() -> None:
    """Under 5 % of crown fill the fuel stands in the open; above it, under the canopy."""
    open_ = wind_adjustment(fuel_depth_m=0.3048)
    thin = wind_adjustment(
        fuel_depth_m=0.3048, canopy_cover=0.2, crown_ratio=0.5, canopy_height_m=15.0
    )
    closed = wind_adjustment(
        fuel_depth_m=0.3048, canopy_cover=0.8, crown_ratio=0.9, canopy_height_m=15.0
    )
    assert thin.factor == open_.factor
    assert thin.model == "wind_adjustment_unsheltered"
    assert closed.model == "wind_adjustment_sheltered"
    assert float(closed.factor) < 0.3 * float(open_.factor)


def test_formula_and_table_agree_and_both_are_shown() -> None:
    """The interval always holds both; they are within a tenth of the 20-ft wind of each other."""
    cases = (
        (wind_adjustment(fuel_depth_m=0.3048), Shelter.EXPOSED),
        (
            wind_adjustment(
                fuel_depth_m=0.3, canopy_cover=0.2, crown_ratio=0.5, canopy_height_m=15.0
            ),
            Shelter.PARTLY,
        ),
        (
            wind_adjustment(
                fuel_depth_m=0.1, canopy_cover=0.4, crown_ratio=0.6, canopy_height_m=15.0
            ),
            Shelter.OPEN_STAND,
        ),
        (
            wind_adjustment(
                fuel_depth_m=0.1, canopy_cover=0.8, crown_ratio=0.7, canopy_height_m=20.0
            ),
            Shelter.DENSE_STAND,
        ),
    )
    for found, shelter in cases:
        assert {float(found.low), float(found.high)} == {
            float(found.factor),
            ROTHERMEL_1983[shelter],
        }
        assert float(found.high) - float(found.low) < 0.1
        assert found.flags == ()


def test_depths_and_canopies_outside_the_fits_are_flagged() -> None:
    """Fuel under 0.2 ft and a canopy under 10 ft are told."""
    assert wind_adjustment(fuel_depth_m=0.03).flags == ("fuel depth outside 0.2 to 6 ft",)
    low = wind_adjustment(fuel_depth_m=0.3, canopy_cover=0.9, crown_ratio=1.0, canopy_height_m=2.0)
    assert low.flags == ("canopy lower than 10 ft",)


def test_midflame_wind_is_both_steps() -> None:
    """23 km/h at 10 m is 20 km/h at 20 ft and, at 0.4, 8 km/h at midflame."""
    found = midflame_wind(wind_10m_m_s=np.array([0.0, 23 / 3.6]), adjustment=0.4)
    np.testing.assert_allclose(found, [0.0, 8 / 3.6])


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: wind_at_20ft_turner(wind_10m_m_s=80.0),
            "wind_10m: wanted 0 to 60 m/s, got 80.0; is it in km/h or mi/h?",
        ),
        (
            lambda: wind_adjustment_unsheltered(fuel_depth_m=0.0),
            "fuel_depth: wanted 0.01 to 5 m, got 0.0",
        ),
        (
            lambda: crown_fill(canopy_cover=60.0, crown_ratio=0.5),
            "canopy_cover: wanted 0 to 1 fraction, got 60.0; is it in percent?",
        ),
        (
            lambda: wind_adjustment(fuel_depth_m=0.3, canopy_cover=0.8, crown_ratio=0.8),
            "canopy_height: wanted 1 to 120 m, got 0.0",
        ),
        (
            lambda: midflame_wind(wind_10m_m_s=5.0, adjustment=0.0),
            "adjustment: wanted 0.01 to 1 fraction, got 0.0",
        ),
    ],
)
def test_impossible_inputs_are_refused_in_words(call: object, words: str) -> None:
    """Each refusal names the field, what was wanted and what came."""
    assert callable(call)
    with pytest.raises(StillwetError) as caught:
        call()
    assert str(caught.value) == words
