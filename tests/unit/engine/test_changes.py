"""What-if changes: what is typed is what changes, and bad text is refused by name."""

from __future__ import annotations

import numpy as np
import pytest

from job_fixture import HOUR, make_job
from stillwet.engine.changes import change_job, read_change
from stillwet.errors import StillwetError


def test_wind_scales_and_arrival_shifts() -> None:
    """+30 % on every hour's wind, two hours earlier on every fire, and nothing else."""
    job = make_job()
    other = change_job(job, (read_change("wind=+30%"), read_change("arrival=-2 h")))
    np.testing.assert_allclose(other.weather.wind_speed_m_s, job.weather.wind_speed_m_s * 1.3)
    np.testing.assert_array_equal(other.weather.air_temperature_k, job.weather.air_temperature_k)
    fire, before = other.assets[0].fire, job.assets[0].fire
    assert fire.arrival_from_s == before.arrival_from_s - 2 * HOUR
    assert fire.arrival_to_s == before.arrival_to_s - 2 * HOUR


@pytest.mark.parametrize(
    ("text", "kelvin"), [("temperature=+3 C", 3.0), ("temperature=-9 F", -5.0)]
)
def test_temperature_difference_has_no_offset(text: str, kelvin: float) -> None:
    """3 C warmer is 3 K; 9 F cooler is 5 K."""
    job = make_job()
    other = change_job(job, (read_change(text),))
    np.testing.assert_allclose(
        other.weather.air_temperature_k - job.weather.air_temperature_k, kelvin
    )


def test_humidity_percent_are_points_and_setting_sets() -> None:
    """humidity=-5 % takes five points; setback=20 ft sets 6.096 m."""
    job = make_job()
    other = change_job(job, (read_change("humidity=-5 %"), read_change("setback=20 ft")))
    np.testing.assert_allclose(
        other.weather.relative_humidity, job.weather.relative_humidity - 0.05
    )
    assert other.assets[0].fire.setback_m == pytest.approx(6.096)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("gust=+3", "set: wanted one of arrival"),
        ("wind", "set: wanted one of arrival"),
        ("wind=strong", "wind: wanted a change such as +30%"),
        ("wind=+3 kg", "wind: wanted a unit of speed"),
        ("arrival=14", "arrival: wanted a unit after the number"),
    ],
)
def test_bad_changes_are_named(text: str, words: str) -> None:
    """The message names the key, what was wanted and what came."""
    with pytest.raises(StillwetError, match=words.replace("+", r"\+")):
        read_change(text)
