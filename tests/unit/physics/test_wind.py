"""Wind profiles."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics import wind
from stillwet.physics.kernel import drying_demand_grid


def test_log_profile_lies_near_the_published_grass_factor() -> None:
    """Ten metres to two over open grass: FAO-56 says 0.748, the log law within 5 %."""
    log = wind.wind_at_height_log(speed_m_s=1.0, from_height_m=10.0, to_height_m=2.0)
    fao = wind.wind_at_2m_fao56(speed_m_s=1.0, from_height_m=10.0)
    assert log == pytest.approx(fao, rel=0.05)


def test_there_and_back_is_the_same_wind() -> None:
    """Moving a wind up and down again gives it back."""
    down = wind.wind_at_height_log(speed_m_s=7.0, from_height_m=10.0, to_height_m=1.5)
    up = wind.wind_at_height_log(speed_m_s=down, from_height_m=1.5, to_height_m=10.0)
    assert up == pytest.approx(7.0, rel=1e-12)


def test_wind_never_falls_with_height() -> None:
    """The profile rises with height and is positive down to the ground."""
    heights = np.array([0.0, 0.05, 0.1, 0.5, 1.0, 3.0, 10.0])
    speeds = np.asarray(
        wind.wind_at_height_log(speed_m_s=5.0, from_height_m=10.0, to_height_m=heights)
    )
    assert (np.diff(speeds) >= 0).all()
    assert (speeds > 0).all()
    assert speeds[-1] == pytest.approx(5.0)


def test_roughness_of_zero_is_refused_with_its_name() -> None:
    """A bad roughness is named in the message."""
    with pytest.raises(StillwetError, match="roughness: wanted more than 0 m, got 0"):
        wind.wind_at_height_log(speed_m_s=5.0, from_height_m=10.0, to_height_m=2.0, roughness_m=0.0)


def test_calm_is_half_a_metre_a_second() -> None:
    """FAO-56 chapter 4 lets the speed fall no lower: in 0.2 m/s a wall dries as in 0.5 m/s, and in
    a little more it dries faster.
    """
    demand = [
        float(
            drying_demand_grid(
                air_temperature_k=np.array([[305.0]]),
                relative_humidity=np.array([[0.2]]),
                wind_speed_m_s=np.array([[speed]]),
                pressure_pa=np.array([101325.0]),
                length_m=np.array([0.3]),
                height_m=np.array([10.0]),
                geometry=np.zeros(1, dtype=np.int8),
                sheltering=np.ones(1),
                back_conductance_w_m2k=0.0,
                irradiance_w_m2=np.array([[300.0]]),
                irradiance_factor=np.array([[1.0]]),
                sky_longwave_w_m2=np.array([[350.0]]),
                tilt_deg=np.array([90.0]),
            )[0, 0, 0]
        )
        for speed in (0.2, 0.499, 0.53)
    ]
    assert demand[0] == pytest.approx(demand[1], rel=1e-12)
    assert demand[2] > demand[1]


def test_many_winds_are_moved_as_each_alone() -> None:
    """FAO-56 example 14: 3.2 m/s at 10 m is 2.4 m/s at 2 m; arrays give what their members give."""
    heights = np.array([2.0, 10.0])
    found: Any = wind.wind_at_2m_fao56(speed_m_s=3.2, from_height_m=heights)
    assert found[1] == pytest.approx(2.4, abs=0.05)
    for index, height in enumerate(heights):
        alone = wind.wind_at_2m_fao56(speed_m_s=3.2, from_height_m=float(height))
        assert found[index] == pytest.approx(alone)
