"""What is shaky in a job is said, and only then."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from after_fixture import scene
from job_fixture import HOUR
from stillwet.domain.plan import Verdict
from stillwet.domain.weather import Weather
from stillwet.engine.cautions import job_warnings


def said(weather: Weather) -> str:
    """The warnings of the invented job under this forecast."""
    here = scene()
    return " ".join(job_warnings(replace(here.job, weather=weather), here.plan.assets))


def test_an_old_forecast_is_told_with_its_age() -> None:
    """Hours from its issue to the start of work; a fresh one is not named."""
    here = scene()
    start_s = here.job.start_s
    old = replace(here.job.weather, issued_s=start_s - 30 * HOUR)
    assert "The forecast is 30 h older than the start of work." in said(old)
    assert "older" not in said(replace(old, issued_s=start_s - HOUR))
    assert "older" not in said(replace(old, issued_s=None))


def test_rain_before_the_last_fire_washes() -> None:
    """The wettest hour is told in both units (1 in = 25.4 mm); rain after the fire is not."""
    here = scene()
    weather = here.job.weather
    rain = np.zeros(weather.time_s.size)
    wet, late = rain.copy(), rain.copy()
    wet[np.searchsorted(weather.time_s, here.job.start_s) + 2] = 5.08
    late[weather.time_s > max(plan.fire_window_to_s for plan in here.plan.assets)] = 5.08
    assert "5.1 mm (0.20 in)" in said(replace(weather, precipitation_kg_m2=wet))
    assert "Rain of" not in said(replace(weather, precipitation_kg_m2=late))
    assert "Rain of" not in said(replace(weather, precipitation_kg_m2=rain))


def test_assets_that_no_coat_saves_are_counted() -> None:
    """One of three is one of three; none is not spoken of."""
    here = scene()
    first, *others = here.plan.assets
    lost = replace(first, verdict=Verdict.WILL_NOT_HOLD)
    saved = [replace(plan, verdict=Verdict.HOLDS) for plan in others]
    told = " ".join(job_warnings(here.job, (lost, *saved)))
    assert f"1 of {1 + len(saved)} assets: no coat will hold." in told
    held = replace(first, verdict=Verdict.HOLDS)
    assert "no coat will hold" not in " ".join(job_warnings(here.job, (held, *saved)))
