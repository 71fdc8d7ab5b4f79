"""Cell by cell the outlook gives what a plan reckons at that place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from pvlib.irradiance import erbs

from stillwet.domain.job import Uncertainty
from stillwet.domain.weather import Weather
from stillwet.engine.drying import TYPICAL_FACES, Drying, face_demand, running_sum
from stillwet.engine.sky import Sky, make_sky
from stillwet.outlook.ask import HOUR_S, Ask, faces_named
from stillwet.outlook.holding import hold_answers
from stillwet.outlook.loading import load_region, open_forecast
from stillwet.outlook.region import region_answers, region_demand
from stillwet.physics.coat import coat_left, thinnest_tenth_factor
from stillwet.physics.sun import sun_position
from unit.outlook.made_grid import made_forecast

FACES = "N,E,S,W,roof,pole,grass"
NO_ERRORS = Uncertainty((0.0, 0.0), (0.0, 0.0), (0.0, 0.0), (0.0, 0.0))


def ask(**changes: Any) -> Ask:
    given: dict[str, Any] = {
        "faces": faces_named(FACES),
        "coat_kg_m2": 3.0,
        "keep_kg_m2": 0.5,
        "thinnest": float(thinnest_tenth_factor(coat_variation=0.35)),
        "exponent": 0.75,
        "albedo": 0.2,
    }
    return Ask(**{**given, **changes})


def weather_at(data: xr.Dataset, row: int, column: int, member: int | None = None) -> Weather:
    """The record that one place's plan would start from, for one cell and member."""
    cell = data.isel(latitude=row, longitude=column)
    cell = cell if member is None else cell.isel(member=member)
    time_s = cell.time.to_numpy().astype("datetime64[s]").astype(float)
    place: dict[str, Any] = {
        "latitude_deg": float(cell.latitude),
        "longitude_deg": float(cell.longitude) - 360.0,
        "elevation_m": float(cell.orog),
    }
    hours = time_s.size
    ghi = dni = dhi = cloud = np.full(hours, np.nan)
    shift = 0.0
    if "ssrd" in cell:
        ghi, shift = cell.ssrd.to_numpy(), -HOUR_S / 2
        zenith = sun_position(time_s=time_s + shift, **place).zenith_deg
        days = pd.to_datetime(time_s + shift, unit="s", utc=True).day_of_year.to_numpy()
        split = erbs(ghi, zenith, days)
        dni, dhi = np.asarray(split["dni"]), np.asarray(split["dhi"])
    else:
        cloud = cell.tcc.to_numpy() / 100
    return Weather(
        time_s=time_s,
        air_temperature_k=cell.t2m.to_numpy() + 273.15,
        relative_humidity=cell.r2.to_numpy() / 100,
        wind_speed_m_s=np.hypot(cell.u10.to_numpy(), cell.v10.to_numpy()),
        wind_direction_deg=np.full(hours, np.nan),
        pressure_pa=cell.sp.to_numpy(),
        ghi_w_m2=ghi,
        dni_w_m2=dni,
        dhi_w_m2=dhi,
        cloud_cover=cloud,
        precipitation_kg_m2=np.zeros(hours),
        wind_height_m=10.0,
        time_zone="UTC",
        source="invented",
        sun_shift_s=shift,
        **place,
    )


def sky_at(weather: Weather) -> Sky:
    return make_sky(
        weather,
        from_s=float(weather.time_s[0]),
        to_s=float(weather.time_s[-1]),
        members=None,
        uncertainty=NO_ERRORS,
    )


def plan_drying(weather: Weather) -> tuple[np.ndarray[Any, Any], Drying]:
    """The demand (S, H) and its running sum, as a plan reckons them."""
    chosen = TYPICAL_FACES
    sky = sky_at(weather)
    demand = face_demand(
        sky,
        weather,
        chosen,
        shaded=np.zeros(len(chosen), dtype=bool),
        sheltering=np.ones(len(chosen)),
        albedo=0.2,
    )
    return demand[:, :, 0], running_sum(sky.time_s, demand)


def left_of(**arguments: Any) -> np.ndarray[Any, Any]:
    return np.asarray(coat_left(**arguments))


def write(data: xr.Dataset, path: Path) -> Path:
    data.to_netcdf(path, engine="h5netcdf")
    return path


@pytest.mark.parametrize("sun", ["ghi", "cloud"])
def test_demand_equals_the_plans_cell_by_cell(tmp_path: Path, sun: str) -> None:
    """Within 1e-8 of the largest demand, every face, hour and cell."""
    data = made_forecast(sun=sun, rows=3, columns=4)
    forecast = open_forecast(write(data, tmp_path / "forecast.nc"))
    found = region_demand(load_region(forecast, slice(0, 3), slice(0, 4)), ask())
    for row in range(3):
        for column in range(4):
            wanted, _ = plan_drying(weather_at(data, row, column))
            got = found[:, :, row * 4 + column, 0]
            np.testing.assert_allclose(got, wanted, rtol=1e-8, atol=1e-8 * wanted.max())


def test_hold_and_coat_equal_the_plans_cell_by_cell(tmp_path: Path) -> None:
    """Hold time against the engine's own running sum and the coat's own law."""
    data = made_forecast(rows=2, columns=3)
    forecast = open_forecast(write(data, tmp_path / "forecast.nc"))
    until = float(forecast.grid.hours_s[33]) + 900.0
    question = ask(until_s=until, from_s=until - 4 * HOUR_S)
    found = region_answers(load_region(forecast, slice(0, 2), slice(0, 3)), question)
    thin, n = 3.0 * question.thinnest, question.exponent
    for cell in range(6):
        _, drying = plan_drying(weather_at(data, cell // 3, cell % 3))
        total, time_s = drying.total_kg_m2[:, :, 0], drying.time_s
        at_until = drying.at(np.full(len(TYPICAL_FACES), until))[:, 0]
        for hour in range(0, 33, 4):
            hold = found["hold_time_even"][:, hour, cell].astype(float)
            end = drying.at(time_s[hour] + hold * HOUR_S)[:, 0]
            left = left_of(coat_kg_m2=thin, drying_kg_m2=end - total[:, hour], exponent=n)
            ended = time_s[hour] + hold * HOUR_S >= time_s[-1] - 1
            np.testing.assert_allclose(left[~ended], 0.5, atol=2e-6)
            assert (left[ended] >= 0.5 - 2e-6).all()
            coat = found["coat_needed"][:, hour, cell].astype(float) * question.thinnest
            left = left_of(coat_kg_m2=coat, drying_kg_m2=at_until - total[:, hour], exponent=n)
            np.testing.assert_allclose(left, 0.5, atol=3e-6)
        start = found["earliest_start"][:, cell].astype(float)
        since = at_until - drying.at(time_s[0] + start * HOUR_S)[:, 0]
        left = left_of(coat_kg_m2=thin, drying_kg_m2=since, exponent=n)
        np.testing.assert_allclose(left[start > 0], 0.5, atol=2e-6)
        assert (left[start == 0] >= 0.5 - 2e-6).all()
        can = start <= (until - 4 * HOUR_S - time_s[0]) / HOUR_S
        assert (np.isfinite(found["latest_start"][:, cell]) == can).all()


def test_members_give_quantiles_and_chances_of_the_plans(tmp_path: Path) -> None:
    """Quantiles as a plan takes them (numpy's "lower"), of each member reckoned alone."""
    data = made_forecast(rows=1, columns=2, members=7, hours=40)
    forecast = open_forecast(write(data, tmp_path / "forecast.nc"))
    question = ask(until_s=float(forecast.grid.hours_s[-1]), faces=faces_named("S,roof"))
    weather = load_region(forecast, slice(0, 1), slice(0, 2))
    demand = region_demand(weather, question)
    common: dict[str, Any] = {"valid": weather.valid, "time_s": weather.time_s, "ask": question}
    found = hold_answers(demand_kg_m2_s=demand, **common)
    alone = [hold_answers(demand_kg_m2_s=demand[..., m : m + 1], **common) for m in range(7)]

    def every(name: str) -> np.ndarray[Any, Any]:
        return np.stack([one[name] for one in alone])

    hold, coat = every("hold_time_even"), every("coat_needed")
    np.testing.assert_array_equal(
        found["hold_time_even"], np.quantile(hold, 0.5, axis=0, method="lower")
    )
    np.testing.assert_array_equal(
        found["hold_time_sure"], np.quantile(hold, 0.1, axis=0, method="lower")
    )
    np.testing.assert_array_equal(
        found["coat_needed"], np.quantile(coat, 0.9, axis=0, method="higher")
    )
    np.testing.assert_allclose(found["hold_chance"], every("hold_chance").mean(axis=0), atol=1e-6)
    np.testing.assert_allclose(
        found["drying_demand"], every("drying_demand").mean(axis=0), rtol=1e-6
    )
    chances = found["hold_chance"]
    assert chances.max() == 1
    assert ((chances > 0) & (chances < 1)).any()
