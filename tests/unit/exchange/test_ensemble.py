"""Ensemble forecasts: long tables and NetCDF files with CF names become one record."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr
from numpy.typing import NDArray
from scipy.io import netcdf_file

from job_folder import JOB, good, messages, weather_lines
from stillwet.domain.weather import Weather

WEATHER = JOB[JOB.index("[weather]") : JOB.index("[fire]")]
NETCDF = WEATHER.replace("weather.csv", "members.nc")
HOURS, MEMBERS = 30, 5
FIRST_S = datetime(2026, 8, 14, 6, tzinfo=UTC).timestamp()  # 00:00 of the job's day
WARMTH = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])


def long_table(shift: tuple[float, ...] = (-3.0, 0.0, 6.0)) -> str:
    """The job's weather once for each member, some degrees warmer, member by member."""
    header, *rows = weather_lines()
    lines = [header + ",member"]
    for number, warmer in enumerate(shift, start=1):
        for row in rows:
            time, temperature, rest = row.split(",", 2)
            lines.append(f"{time},{float(temperature) + warmer},{rest},{number}")
    return "\n".join(lines)


# --- long tables


def test_a_member_column_makes_an_ensemble(tmp_path: Path) -> None:
    """Three members; the plain column is their mean; 6 F is 3.333 K (NIST SP 811)."""
    job = good(tmp_path, weather=long_table())
    weather = job.weather
    members = weather.ensemble["air_temperature_k"]
    assert members.shape == (30, 3)
    np.testing.assert_allclose(members[:, 2] - members[:, 1], 10 / 3, rtol=1e-9)
    np.testing.assert_allclose(weather.air_temperature_k, members.mean(axis=1))
    plain = good(tmp_path).weather
    np.testing.assert_allclose(members[:, 1], plain.air_temperature_k)
    np.testing.assert_allclose(weather.wind_speed_m_s, plain.wind_speed_m_s)
    assert any("an ensemble of 3 members" in remark for remark in job.remarks)


def test_rows_may_come_hour_by_hour(tmp_path: Path) -> None:
    """The order of members within the file does not matter."""
    header, *rows = long_table().splitlines()
    by_hour = sorted(rows, key=lambda row: row.split(",")[0])
    mixed = good(tmp_path, weather="\n".join([header, *by_hour])).weather
    wanted = good(tmp_path, weather=long_table()).weather
    np.testing.assert_array_equal(
        mixed.ensemble["air_temperature_k"], wanted.ensemble["air_temperature_k"]
    )


def test_one_member_is_no_ensemble(tmp_path: Path) -> None:
    """A member column that says the same everywhere."""
    assert good(tmp_path, weather=long_table((0.0,))).weather.ensemble == {}


def test_members_must_have_the_same_hours(tmp_path: Path) -> None:
    """A member that stops early is refused."""
    short = "\n".join(long_table().splitlines()[:-1])
    (message,) = messages(tmp_path, weather=short)
    assert message == (
        "member: wanted the same hours for every member, got 29 rows of member 3 that differ from "
        "the 30 of 1 (weather.csv)"
    )


def test_direction_and_rain_of_the_members(tmp_path: Path) -> None:
    """350 and 10 degrees average to north; of rain the wettest member counts."""
    lines = long_table((0.0, 0.0)).splitlines()
    told = [",350,0", ",10,4"]
    rows = [row + told[index // 30] for index, row in enumerate(lines[1:])]
    text = "\n".join([lines[0] + ",wind_direction,precipitation_mm", *rows])
    weather = good(tmp_path, weather=text).weather
    assert np.allclose(np.cos(np.radians(weather.wind_direction_deg)), 1.0)
    assert (weather.precipitation_kg_m2 == 4.0).all()


# --- NetCDF


def columns() -> dict[str, tuple[NDArray[np.float64], str]]:
    """Hours by members: values and CF units of the three needed and of cloud."""
    shape = np.ones((HOURS, MEMBERS))
    return {
        "air_temperature": (300.0 + WARMTH * shape, "K"),
        "relative_humidity": (25.0 * shape, "%"),
        "wind_speed": ((4.0 + 0.5 * WARMTH) * shape, "m s-1"),
        "cloud_area_fraction": (0.1 * shape, "1"),
    }


def classic(path: Path, step_h: int = 1, **attributes: str) -> bytes:
    """A classic NetCDF file of one point, written by scipy."""
    with netcdf_file(path, "w") as file:
        file.createDimension("time", HOURS)
        file.createDimension("realization", MEMBERS)
        time: Any = file.createVariable("time", "f8", ("time",))
        time[:] = np.arange(HOURS) * step_h
        time.units = "hours since 2026-08-14 06:00:00"
        time.standard_name = "time"
        for name, (values, units) in columns().items():
            variable: Any = file.createVariable(f"v_{name}", "f4", ("time", "realization"))
            variable[:] = values
            variable.standard_name = name
            variable.units = attributes.get(name, units)
    return path.read_bytes()


def gridded(**changes: Any) -> xr.Dataset:
    """A grid of 3 by 4 points round the job; the temperature tells the point."""
    latitude, longitude = np.array([39.0, 39.75, 40.5]), np.array([254.0, 254.8, 255.5, 256.0])
    time = np.datetime64("2026-08-14T06:00", "ns") + np.arange(HOURS) * np.timedelta64(1, "h")
    dims = ("time", "member", "latitude", "longitude")
    at = 10.0 * np.arange(3)[:, None] + np.arange(4)
    shape = (HOURS, MEMBERS, 3, 4)
    data = {
        "t2m": (dims, 280.0 + np.broadcast_to(at, shape), {"standard_name": "air_temperature"}),
        "r2": (dims, np.full(shape, 0.2), {"standard_name": "relative_humidity"}),
        "u10": (dims, np.full(shape, -3.0), {"standard_name": "eastward_wind"}),
        "v10": (dims, np.full(shape, 4.0), {"standard_name": "northward_wind"}),
        "tcc": (dims, np.full(shape, 30.0), {"standard_name": "cloud_area_fraction"}),
    }
    units = {"t2m": "K", "r2": "1", "u10": "m/s", "v10": "m s**-1", "tcc": "%"} | changes
    for name, (_, _, attributes) in data.items():
        attributes["units"] = units[name].replace("**", "")
    made = xr.Dataset(data, {"time": time, "latitude": latitude, "longitude": longitude})
    return made.assign_coords(
        reference=((), np.datetime64("2026-08-14T00:00", "ns"), {"standard_name": _REFERENCE})
    )


_REFERENCE = "forecast_reference_time"


def as_bytes(data: xr.Dataset, path: Path) -> bytes:
    """The data as a NetCDF-4 file."""
    data.to_netcdf(path, engine="h5netcdf")
    return path.read_bytes()


def weather_of(tmp_path: Path, content: bytes) -> Weather:
    """The job's weather from a NetCDF file."""
    return good(tmp_path, job=JOB.replace(WEATHER, NETCDF), members_nc=content).weather


def faults_of(tmp_path: Path, content: bytes) -> list[str]:
    """What is said of a NetCDF file that must be refused."""
    return messages(tmp_path, job=JOB.replace(WEATHER, NETCDF), members_nc=content)


def test_a_classic_file_of_one_place(tmp_path: Path) -> None:
    """Members, units and hours as written by another library (scipy)."""
    weather = weather_of(tmp_path, classic(tmp_path / "made.nc"))
    assert weather.time_s[0] == FIRST_S
    assert weather.hours == HOURS
    np.testing.assert_allclose(weather.ensemble["air_temperature_k"][7], 300.0 + WARMTH)
    np.testing.assert_allclose(weather.air_temperature_k, 300.0)
    np.testing.assert_allclose(weather.relative_humidity, 0.25, rtol=1e-6)
    np.testing.assert_allclose(weather.ensemble["wind_speed_m_s"][3], 4.0 + 0.5 * WARMTH)
    np.testing.assert_allclose(weather.cloud_cover, 0.1, rtol=1e-6)


def test_the_nearest_point_of_a_grid(tmp_path: Path) -> None:
    """The job lies at 39.75 N, 105.2 W (254.8 E): row 1, column 1, that is 291 K."""
    job = good(
        tmp_path,
        job=JOB.replace(WEATHER, NETCDF),
        members_nc=as_bytes(gridded(), tmp_path / "made.nc"),
    )
    weather = job.weather
    np.testing.assert_allclose(weather.air_temperature_k, 291.0)
    np.testing.assert_allclose(weather.wind_speed_m_s, 5.0)
    # blowing to the north-west by 3 and 4 is from 143.13 degrees
    np.testing.assert_allclose(weather.wind_direction_deg, 143.1301, atol=1e-3)
    assert weather.ensemble["relative_humidity"].shape == (HOURS, MEMBERS)
    assert weather.issued_s == FIRST_S - 6 * 3600.0
    assert any("grid point 0 km from the place" in remark for remark in job.remarks)


def test_steps_of_three_hours_are_bridged(tmp_path: Path) -> None:
    """Straight lines between, and it is said."""
    time = np.datetime64("2026-08-14T06:00", "ns") + np.arange(HOURS) * np.timedelta64(3, "h")
    rising = gridded().assign_coords(time=time)
    rising["t2m"] = rising["t2m"] + xr.DataArray(3.0 * np.arange(HOURS), dims="time") % 21.0
    rising["t2m"].attrs = {"standard_name": "air_temperature", "units": "K"}
    job = good(
        tmp_path,
        job=JOB.replace(WEATHER, NETCDF),
        members_nc=as_bytes(rising, tmp_path / "made.nc"),
    )
    np.testing.assert_allclose(np.diff(job.weather.air_temperature_k[:10]), 1.0)
    np.testing.assert_allclose(np.diff(job.weather.time_s), 3600.0)
    assert any("steps of 3 h" in remark for remark in job.remarks)


def test_packed_numbers_are_unpacked(tmp_path: Path) -> None:
    """scale_factor and add_offset of CF, in 16-bit whole numbers."""
    packed = gridded()
    coding = {"t2m": {"dtype": "i2", "scale_factor": 0.01, "add_offset": 290.0, "_FillValue": -1}}
    buffer = tmp_path / "made.nc"
    packed.to_netcdf(buffer, engine="h5netcdf", encoding=coding)
    weather = weather_of(tmp_path, buffer.read_bytes())
    np.testing.assert_allclose(weather.air_temperature_k, 291.0, atol=0.006)


def test_faults_of_a_file(tmp_path: Path) -> None:
    """No CF names, a unit of another kind, none, a gap in the values, damage: all told."""
    made = tmp_path / "made.nc"
    unnamed = gridded().drop_vars(["r2"])
    assert faults_of(tmp_path, as_bytes(unnamed, made)) == [
        "variables: wanted variables with the standard names relative_humidity, got 't2m, u10, "
        "v10, tcc' (members.nc)"
    ]
    (message,) = faults_of(tmp_path, as_bytes(gridded(t2m="m s-1"), made))
    assert "air_temperature: wanted a unit of temperature" in message
    assert message.endswith("got 'm s-1' (members.nc, variable t2m)")
    (message,) = faults_of(tmp_path, as_bytes(gridded(tcc=""), made))
    assert "cloud_cover: wanted a unit of fraction" in message
    holes = gridded()
    holes["t2m"][3, 2] = np.nan
    (message,) = faults_of(tmp_path, as_bytes(holes, made))
    assert message.startswith("air_temperature: wanted a number for every hour and member, got 1")
    (message,) = faults_of(tmp_path, as_bytes(gridded(), made)[:3000])
    assert message.startswith("[weather] file: wanted a NetCDF file, got")
    (message,) = faults_of(tmp_path, b"time,air_temperature\n")
    assert message == "[weather] file: wanted a NetCDF file, got something else (members.nc)"


def test_levels_that_are_not_chosen_are_refused(tmp_path: Path) -> None:
    """A height axis of two steps leaves two answers."""
    levels = gridded().expand_dims(height=[2.0, 10.0])
    for name in levels.data_vars:
        levels[name].attrs = gridded()[name].attrs
    found = faults_of(tmp_path, as_bytes(levels, tmp_path / "made.nc"))
    assert "dimensions: wanted time, place and members only, got dimension height of 2" in found[0]


def test_values_out_of_bounds_are_found_in_the_members(tmp_path: Path) -> None:
    """One member at 400 K, though the mean is fine."""
    hot = gridded()
    hot["t2m"][5, 4] = 400.0
    (message,) = faults_of(tmp_path, as_bytes(hot, tmp_path / "made.nc"))
    assert message.startswith("air_temperature: wanted 213.15 to 333.15 K, got 400 at 2026-08-14")


def test_a_missing_library_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the extra, the message names it and the way round."""
    monkeypatch.setitem(__import__("sys").modules, "xarray", None)
    buffer = io.BytesIO(b"CDF\x01")
    (message,) = faults_of(tmp_path, buffer.getvalue())
    assert "the extra that reads NetCDF" in message
    assert "export the members as CSV" in message


def test_a_plan_from_an_ensemble(tmp_path: Path) -> None:
    """Members that disagree on the wind by a factor of 6 spread the drying twice as wide."""
    from stillwet.engine.drying import job_drying
    from stillwet.engine.faces import faces_of
    from stillwet.engine.make_plan import make_plan
    from stillwet.engine.members import draw_members

    header, *rows = weather_lines()

    def spread(winds_mph: tuple[float, ...]) -> float:
        lines = [
            row.replace(",8.5,", f",{wind},") + f",{number}"
            for number, wind in enumerate(winds_mph)
            for row in rows
        ]
        job = good(tmp_path, weather="\n".join([header + ",member", *lines]))
        assert len(make_plan(job, now_s=0.0).assets) == 3
        total = job_drying(job, faces_of(job.assets[0]), draw_members(job)).total_kg_m2
        return float((total[:, 8].std(axis=1) / total[:, 8].mean(axis=1)).mean())

    assert spread((2.5, 8.5, 14.5)) > 2.0 * spread((8.5, 8.5, 8.5))


def _masked(data: xr.Dataset, mask: Any) -> xr.Dataset:
    """The grid with its places on two dimensions, some of them missing."""
    north, east = np.meshgrid(data.latitude.to_numpy(), data.longitude.to_numpy(), indexing="ij")
    north[mask], east[mask] = np.nan, np.nan
    bare = data.drop_vars(["latitude", "longitude"]).rename(latitude="y", longitude="x")
    return bare.assign_coords(lat=(("y", "x"), north), lon=(("y", "x"), east))


def test_masked_points_of_a_grid_are_passed_over(tmp_path: Path) -> None:
    """Curvilinear grids leave places out; the nearest that has one is row 1, column 1: 291 K."""
    content = as_bytes(_masked(gridded(), (0, 0)), tmp_path / "made.nc")
    np.testing.assert_allclose(weather_of(tmp_path, content).air_temperature_k, 291.0)


def _without_time(data: xr.Dataset) -> xr.Dataset:
    time = data.time.to_numpy().copy()
    time[3] = np.datetime64("NaT")
    return data.assign_coords(time=time)


ODD: dict[str, tuple[Callable[[xr.Dataset], xr.Dataset], str]] = {
    "no places": (lambda data: _masked(data, slice(None)), "coordinates: wanted a grid point"),
    "another region": (
        lambda data: data.assign_coords(latitude=[-41.0, -40.0, -39.0]),
        "coordinates: wanted a grid point within 500 km of the place, got the nearest",
    ),
    "places in words": (
        lambda data: data.assign_coords(latitude=["a", "b", "c"]),
        "variables: wanted numbers, got values of type <U1 (members.nc, variable latitude)",
    ),
    "no time": (_without_time, "time: wanted times in the years 1971 to 2199"),
    "1700": (
        lambda data: data.assign_coords(time=data.time - np.timedelta64(119_000, "D")),
        "time: wanted times in the years 1971 to 2199",
    ),
    "no hours": (lambda data: data.isel(time=slice(0)), "time: wanted at least 2 hourly rows"),
    "no members": (lambda data: data.isel(member=slice(0)), "member: wanted one number of members"),
    "words": (
        lambda data: data.assign(tcc=(data.tcc.astype(str) + "x").assign_attrs(data.tcc.attrs)),
        "variables: wanted numbers",
    ),
    "sizes": (
        lambda data: data.assign(
            r2=data.r2.isel(member=slice(3)).rename(member="number").assign_attrs(data.r2.attrs)
        ),
        "member: wanted one number of members, got 3 and",
    ),
}


@pytest.mark.parametrize("name", ODD)
def test_odd_grids_are_told_of(tmp_path: Path, name: str) -> None:
    """Whatever a NetCDF file may hold by its own rules (CF 1.11) and no weather can be made of."""
    change, wanted = ODD[name]
    found = faults_of(tmp_path, as_bytes(change(gridded()), tmp_path / "made.nc"))
    assert found[0].startswith(wanted), found


def test_a_standard_name_that_is_none(tmp_path: Path) -> None:
    """An attribute may hold numbers, also that one; the variable is passed over."""
    data = gridded()
    data["q"] = ("time", np.zeros(HOURS), {"standard_name": np.array([1, 2])})
    assert weather_of(tmp_path, as_bytes(data, tmp_path / "made.nc")).hours == HOURS


def test_a_packed_file_that_would_fill_the_memory(tmp_path: Path) -> None:
    """Ten gigabytes of nothing are a few kilobytes of HDF5; they are never unpacked."""
    import h5py

    path = tmp_path / "made.nc"
    as_bytes(gridded(), path)
    with h5py.File(path, "a") as file:
        file.create_dataset(
            "big", shape=(60_000_000, 20), dtype="f8", chunks=(10_000, 20), compression="gzip"
        )
    (message,) = faults_of(tmp_path, path.read_bytes())
    assert "wanted at most 300 MB unpacked, got 9600 MB (members.nc)" in message
