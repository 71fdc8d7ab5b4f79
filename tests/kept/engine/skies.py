"""Invented jobs under every kind of forecast: late, cool, measured, by many members."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from job_fixture import (
    HOUR,
    START_S,
    make_asset,
    make_job,
    make_practice,
    make_product,
    make_weather,
    with_fire,
)
from stillwet.domain.assets import Shading
from stillwet.domain.job import Job, Uncertainty
from stillwet.domain.weather import Weather


def too_late() -> Job:
    """No time for one house, hardly any for a second, a forecast that is old and ends, and rain."""
    weather = make_weather(issued_s=START_S - 9.3 * HOUR)
    rain = weather.precipitation_kg_m2.copy()
    rain[9] = 1.7
    cut = {name: getattr(weather, name)[:22] for name in _COLUMNS} | {
        "precipitation_kg_m2": rain[:22]
    }
    soon = {"arrival_from_s": START_S + 0.5 * HOUR, "arrival_to_s": START_S + 1.1 * HOUR}
    close = {"arrival_from_s": START_S + 1.3 * HOUR, "arrival_to_s": START_S + 2.2 * HOUR}
    hot = {"flux_peak_w_m2": 83e3, "flux_duration_s": 1900.0}
    assets = (
        with_fire(make_asset(id="t1", name="First house"), **soon),
        with_fire(make_asset(id="t2", name="Second house", x_m=50.0), **close),
        with_fire(make_asset(id="t3", name="Third house", x_m=90.0), **hot),
        with_fire(make_asset(id="t4", name="Fourth house", x_m=130.0), setback_m=7.1),
    )
    return make_job(
        name="Too late", members=15, seed=2, assets=assets, weather=replace(weather, **cut)
    )


_COLUMNS = (
    *("time_s", "air_temperature_k", "relative_humidity", "wind_speed_m_s"),
    *("wind_direction_deg", "pressure_pa", "ghi_w_m2", "dni_w_m2", "dhi_w_m2", "cloud_cover"),
)


def _sunny() -> Weather:
    """The fixtures' weather with irradiance that hours end with, and no cloud cover."""
    weather = make_weather()
    by_day = np.clip(np.sin((weather.time_s / HOUR - 12.0) % 24 / 14 * np.pi), 0.0, None)
    return replace(
        weather,
        ghi_w_m2=880.0 * by_day,
        dni_w_m2=760.0 * by_day,
        dhi_w_m2=130.0 * by_day,
        cloud_cover=np.full(weather.hours, np.nan),
        sun_shift_s=-1800.0,
        wind_height_m=6.1,
        issued_s=None,
    )


def nothing_in_doubt() -> Job:
    """Every number known for sure, no flame, the minute of arrival stated: nothing varies."""
    moment = {"arrival_from_s": START_S + 6 * HOUR, "arrival_to_s": START_S + 6 * HOUR}
    asset = with_fire(make_asset(), flux_peak_w_m2=0.0, flux_duration_s=0.0, **moment)
    zero = (0.0, 0.0)
    return make_job(
        name="Nothing in doubt",
        members=8,
        assets=(asset,),
        practice=make_practice(basis={}),
        product=make_product(basis={}),
        uncertainty=Uncertainty(zero, zero, zero, zero),
    )


def measured_sun() -> Job:
    """Irradiance in the file, cloud to be found from it."""
    return make_job(name="Measured sun", members=12, seed=4, weather=_sunny())


def sun_and_cloud() -> Job:
    """Irradiance and cloud cover, both in the file."""
    weather = replace(_sunny(), cloud_cover=np.full(make_weather().hours, 0.17))
    return make_job(name="Sun and cloud", members=9, weather=weather)


def _ensemble(weather: Weather, columns: tuple[str, ...]) -> Weather:
    lean = np.linspace(0.86, 1.17, 5)[None, :]
    found = {name: getattr(weather, name)[:, None] * lean for name in columns}
    if "air_temperature_k" in found:
        found["air_temperature_k"] = weather.air_temperature_k[:, None] + 9.0 * (lean - 1.0)
    if "cloud_cover" in found:
        found["cloud_cover"] = np.clip(0.1 + weather.cloud_cover[:, None] + lean - 0.9, 0.0, 1.0)
    return replace(weather, ensemble=found)


def cloudy_ensemble() -> Job:
    """Five members of a forecast that differ in warmth, wind and cloud."""
    columns = ("air_temperature_k", "relative_humidity", "wind_speed_m_s", "cloud_cover")
    weather = _ensemble(make_weather(), columns)
    return make_job(name="Cloudy ensemble", members=21, seed=6, weather=weather)


def sunny_ensemble() -> Job:
    """Five members that differ in sun."""
    weather = _ensemble(_sunny(), ("ghi_w_m2", "wind_speed_m_s"))
    return make_job(name="Sunny ensemble", members=21, seed=8, weather=weather)


def cool_morning() -> Job:
    """Hardly any drying: the embers set one coat, the thinnest even coat another."""
    weather = make_weather()
    cool = replace(
        weather,
        air_temperature_k=weather.air_temperature_k - 21.0,
        relative_humidity=np.full(weather.hours, 0.86),
        wind_speed_m_s=0.12 * weather.wind_speed_m_s,
        cloud_cover=np.full(weather.hours, 0.93),
    )
    soon = {"arrival_from_s": START_S + 1.6 * HOUR, "arrival_to_s": START_S + 1.9 * HOUR}
    fires: tuple[dict[str, Any], ...] = (
        {"setback_m": 90.0},
        {"setback_m": 11.0},
        {"setback_m": 6.1, "flame_length_m": 4.4},
    )
    assets = tuple(
        with_fire(make_asset(id=f"m{row}", x_m=22.0 * row, shading=Shading.SHADED), **(soon | fire))
        for row, fire in enumerate(fires)
    )
    practice = make_practice(ember_reserve_kg_m2=0.8, thinnest_coat_kg_m2=2.3)
    return make_job(
        name="Cool morning", members=12, seed=10, assets=assets, weather=cool, practice=practice
    )


def embers_alone() -> Job:
    """The same with a coat that may be as thin as it likes."""
    practice = make_practice(ember_reserve_kg_m2=0.9, thinnest_coat_kg_m2=0.1)
    return replace(cool_morning(), name="Embers alone", practice=practice)
