"""The members' weather: the stated spread round a forecast, or an ensemble's own members."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from job_fixture import HOUR, START_S, make_job, make_weather
from stillwet.domain.job import Job, Uncertainty
from stillwet.domain.weather import Weather
from stillwet.engine.members import draw_members
from stillwet.engine.sky import Sky, air_at, job_sky, make_sky
from stillwet.errors import StillwetError

Array = NDArray[np.float64]
STILL = Uncertainty((0.0, 0.0), (0.0, 0.0), (0.0, 0.0), (0.0, 0.0))


def with_ensemble(**ensemble: Array) -> Job:
    """The job under an ensemble forecast; the plain columns are its mean."""
    means = {name: values.mean(axis=1) for name, values in ensemble.items()}
    return make_job(members=256, weather=replace(make_weather(**means), ensemble=ensemble))


def steps(weather: Weather, offsets: list[float], name: str) -> Array:
    """One member for each offset from the plain column."""
    column: Array = getattr(weather, name)
    return np.asarray(column[:, None] + np.array(offsets))


def sky_of(job: Job) -> Sky:
    """The job's weather in all its members."""
    return job_sky(job, draw_members(job))


def test_the_spread_of_the_members_is_the_stated_one() -> None:
    """0.8 K at the first hour and 1.8 K at 24 h, as standard deviations over 1024 members."""
    job = make_job(members=1024)
    weather = replace(job.weather, issued_s=START_S)
    sky = sky_of(replace(job, weather=weather))
    lead_h = (sky.time_s - START_S) / HOUR
    spread = sky.air_temperature_k.std(axis=1)
    assert spread[0] == pytest.approx(0.8, rel=0.03)
    late = int(np.argmin(np.abs(lead_h - 20.0)))
    assert spread[late] == pytest.approx(0.8 + 20 / 24, rel=0.03)
    middle = np.median(np.log(sky.wind_speed_m_s / sky.wind_speed_m_s.mean(1, keepdims=True)))
    assert abs(middle) < 0.1


def test_errors_forget_with_the_stated_persistence() -> None:
    """Over 12 h a persistence of 48 h leaves errors far more alike than one of 3 h."""

    def alike(persistence_h: float) -> float:
        job = make_job(members=1024)
        uncertainty = replace(job.uncertainty, persistence_s=persistence_h * HOUR)
        warmth = sky_of(replace(job, uncertainty=uncertainty)).air_temperature_k
        early, late = warmth[4:6].mean(axis=0), warmth[16:18].mean(axis=0)
        return float(np.corrcoef(early, late)[0, 1])

    assert alike(48.0) > 0.6
    assert alike(3.0) < 0.3


def test_members_none_is_the_forecast_as_it_stands() -> None:
    """One column, equal to the file's own."""
    weather = make_weather()
    sky = make_sky(
        weather,
        from_s=START_S,
        to_s=START_S + 6 * HOUR,
        members=None,
        uncertainty=make_job().uncertainty,
    )
    now = weather.time_s == START_S
    assert sky.air_temperature_k[0] == weather.air_temperature_k[now]
    assert sky.wind_speed_m_s[0] == pytest.approx(weather.wind_speed_m_s[now], rel=1e-12)


def test_air_at_a_moment_is_that_of_the_sky() -> None:
    """The nearest hour of the job's sky, member by member."""
    job = make_job()
    members = draw_members(job)
    sky = job_sky(job, members)
    for when_s, hour in ((START_S + 7.25 * HOUR, 7), (START_S + 7.75 * HOUR, 8)):
        air = air_at(job, members, when_s)
        for name in ("air_temperature_k", "relative_humidity", "wind_speed_m_s"):
            np.testing.assert_array_equal(getattr(air, name), getattr(sky, name)[hour])
        assert (air.cloud_cover == 0.0).all()


def test_each_member_follows_a_member_of_the_ensemble() -> None:
    """Without local spread every member is one of the ensemble's, each taken equally often."""
    weather = make_weather()
    offsets = [-4.0, -1.0, 0.0, 5.0]
    job = with_ensemble(air_temperature_k=steps(weather, offsets, "air_temperature_k"))
    sky = sky_of(replace(job, uncertainty=STILL))
    mean = np.interp(sky.time_s, weather.time_s, job.weather.air_temperature_k)
    away = np.round(sky.air_temperature_k - mean[:, None], 9)
    assert (away == away[0]).all()
    values, counts = np.unique(away[0], return_counts=True)
    np.testing.assert_allclose(values, np.array(offsets), atol=1e-6)
    assert set(counts) == {64}


def test_of_an_ensemble_only_the_local_spread_is_added() -> None:
    """Members that agree are spread by the first hour's 0.8 K, at 20 h as at once."""
    weather = make_weather()
    job = with_ensemble(air_temperature_k=steps(weather, [0.0, 0.0], "air_temperature_k"))
    spread = sky_of(replace(job, members=1024)).air_temperature_k.std(axis=1)
    assert spread[0] == pytest.approx(0.8, rel=0.03)
    assert spread[18] == pytest.approx(0.8, rel=0.03)


def test_a_cloudier_member_has_less_sun_and_more_sky_radiation() -> None:
    """At noon, a member under full cloud against a clear one of the same forecast."""
    weather = make_weather()
    clear_and_dull = np.tile([0.0, 1.0], (weather.hours, 1))
    job = replace(with_ensemble(cloud_cover=clear_and_dull), uncertainty=STILL)
    members = draw_members(job)
    sky = job_sky(job, members)
    is_dull = members.forecast_member(2) == 1
    noon = int(np.argmax(sky.ghi_w_m2))
    assert sky.irradiance_factor[noon, is_dull].max() < 0.7
    assert sky.irradiance_factor[noon, ~is_dull].min() > 1.0
    longwave = sky.sky_longwave_w_m2[noon]
    assert longwave[is_dull].min() > longwave[~is_dull].max()


def test_irradiance_members_scale_the_sun() -> None:
    """A member with half the mean's global irradiance has a factor of a half by day, 1 by night."""
    weather = make_weather()
    by_day = np.clip(np.sin((weather.time_s / HOUR - 12.0) % 24 / 14 * np.pi), 0.0, None)
    sun = {"ghi_w_m2": 800 * by_day, "dni_w_m2": 700 * by_day, "dhi_w_m2": 100 * by_day}
    ensemble = {"ghi_w_m2": sun["ghi_w_m2"][:, None] * np.array([0.5, 1.5])}
    sunny = replace(make_weather(**sun), ensemble=ensemble)
    sky = sky_of(make_job(weather=sunny, uncertainty=STILL))
    noon = int(np.argmax(sky.ghi_w_m2))
    assert set(np.round(sky.irradiance_factor[noon], 9)) == {0.5, 1.5}
    assert (sky.irradiance_factor[sky.ghi_w_m2 == 0.0] == 1.0).all()


def test_an_ensemble_of_the_wrong_shape_is_refused() -> None:
    """Every column has the hours of the series and as many members as the first."""
    weather = make_weather()
    with pytest.raises(StillwetError, match="ensemble: wanted columns of shape"):
        replace(weather, ensemble={"air_temperature_k": np.zeros((3, 5))})
    with pytest.raises(StillwetError, match="pressure_pa of shape"):
        replace(weather, ensemble={"pressure_pa": np.zeros((weather.hours, 5))})


def test_a_member_with_the_forecasts_own_cloud_has_its_own_sun() -> None:
    """Where all members agree on the cloud nobody's sun is moved."""
    weather = make_weather()
    alike = np.tile([0.4, 0.4], (weather.hours, 1))
    job = replace(with_ensemble(cloud_cover=alike), uncertainty=STILL)
    np.testing.assert_allclose(sky_of(job).irradiance_factor, 1.0)
