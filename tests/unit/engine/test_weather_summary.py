"""The weather an answer stood on: only the hours used, first to last."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from job_fixture import HOUR, make_weather
from stillwet.engine.weather_summary import weather_summary


def test_only_the_hours_used_count() -> None:
    """Of a file whose hours differ: the worst of hours 3 to 5, and what rained in them."""
    weather = make_weather()
    number = np.arange(weather.time_s.size, dtype=float)
    weather = replace(
        weather,
        air_temperature_k=290.0 + number,
        relative_humidity=0.9 - 0.01 * number,
        wind_speed_m_s=1.0 + 0.1 * number,
        precipitation_kg_m2=np.where(number == 4, np.nan, number),
    )
    used = (number >= 3) & (number <= 5)
    found = weather_summary(weather, used)
    first = float(weather.time_s[0])
    assert (found.from_s, found.to_s) == (first + 3 * HOUR, first + 5 * HOUR)
    assert found.air_temperature_max_k == 295.0
    assert found.relative_humidity_min == pytest.approx(0.85)
    assert found.wind_speed_max_m_s == pytest.approx(1.5)
    assert found.rain_kg_m2 == 8.0  # an hour without a reading adds none
