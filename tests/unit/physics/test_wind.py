"""Wind profiles."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics import wind


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
