"""Forecasts of many makes are read alike, and bad ones are refused in plain words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
import xarray as xr

from stillwet.errors import StillwetError
from stillwet.outlook.ask import faces_named
from stillwet.outlook.fields import per_second
from stillwet.outlook.loading import load_region, open_forecast, turbidity_at
from stillwet.outlook.region import region_demand
from stillwet.physics.air import saturation_pressure_water_hyland_wexler
from unit.outlook.made_grid import made_forecast
from unit.outlook.test_point import ask, write

QUESTION = ask(faces=faces_named("S,roof"))


def demand(path: Path) -> np.ndarray[Any, Any]:
    forecast = open_forecast(path)
    grid = forecast.grid
    cells = load_region(forecast, slice(0, grid.height), slice(0, grid.width))
    return region_demand(cells, QUESTION)


def base() -> xr.Dataset:
    return made_forecast(rows=4, columns=3, hours=26)


@pytest.fixture(scope="module")
def wanted(tmp_path_factory: pytest.TempPathFactory) -> np.ndarray[Any, Any]:
    return demand(write(base(), tmp_path_factory.mktemp("wanted") / "base.nc"))


def test_units_come_from_attributes(tmp_path: Path, wanted: np.ndarray[Any, Any]) -> None:
    """Kelvin, fractions, hectopascal and km/h give what Celsius, percent, pascal and m/s gave."""
    data = base()
    data["t2m"] = (data.t2m + 273.15).assign_attrs(standard_name="air_temperature", units="K")
    data["r2"] = (data.r2 / 100).assign_attrs(standard_name="relative_humidity", units="1")
    data["sp"] = (data.sp / 100).assign_attrs(standard_name="surface_air_pressure", units="hPa")
    data["u10"] = (data.u10 * 3.6).assign_attrs(standard_name="eastward_wind", units="km h-1")
    np.testing.assert_allclose(demand(write(data, tmp_path / "u.nc")), wanted, rtol=1e-9)


def test_dew_point_stands_in_for_humidity(tmp_path: Path, wanted: np.ndarray[Any, Any]) -> None:
    """The dew point at which the vapour is full, found here by halving."""
    data = base()
    kelvin = data.t2m.to_numpy() + 273.15
    vapour = saturation_pressure_water_hyland_wexler(temperature_k=kelvin) * data.r2 / 100
    low, high = np.full(kelvin.shape, 200.0), kelvin.copy()
    for _ in range(60):
        middle = 0.5 * (low + high)
        is_dry = saturation_pressure_water_hyland_wexler(temperature_k=middle) < vapour.to_numpy()
        low, high = np.where(is_dry, middle, low), np.where(is_dry, high, middle)
    data = data.drop_vars("r2")
    attributes = {"standard_name": "dew_point_temperature", "units": "K"}
    data["d2m"] = (data.t2m.dims, low, attributes)
    np.testing.assert_allclose(
        demand(write(data, tmp_path / "d.nc")), wanted, rtol=1e-7, atol=1e-13
    )


def test_sums_from_the_start_are_differenced(tmp_path: Path, wanted: np.ndarray[Any, Any]) -> None:
    """Joules since the start of the forecast, and joules of each hour, against hourly means."""
    for name, summed in (("grow", base().ssrd.cumsum("time") * 3600), ("each", base().ssrd * 3600)):
        data = base()
        data["ssrd"] = summed.assign_attrs(
            standard_name="integral_of_surface_downwelling_shortwave_flux_in_air_wrt_time",
            units="J m-2",
        )
        found = demand(write(data, tmp_path / f"{name}.nc"))
        np.testing.assert_allclose(found, wanted, rtol=1e-6, atol=1e-12)


def test_a_sum_that_starts_anew() -> None:
    """Summed 1, 3, then anew 2, 5 by hand: 1, 2, 2, 3 an hour."""
    summed = np.array([1.0, 3.0, 2.0, 5.0])[:, None] * 3600
    found = per_second(summed, "since start", np.full(4, 3600.0))
    np.testing.assert_allclose(found[:, 0], [1.0, 2.0, 2.0, 3.0])


def test_local_time_units_are_turned_to_utc(tmp_path: Path, wanted: np.ndarray[Any, Any]) -> None:
    """Hours since a moment at -07:00 in the file are those 7 hours later in UTC."""
    data = base()
    hours = np.arange(data.sizes["time"])
    data = data.assign_coords(
        time=("time", hours, {"units": "hours since 2026-07-09 23:00:00 -07:00"})
    )
    path = tmp_path / "zone.nc"
    data.to_netcdf(path, engine="h5netcdf")
    np.testing.assert_allclose(demand(path), wanted, rtol=1e-12)


def test_a_projected_grid_lies_where_its_mapping_says(tmp_path: Path) -> None:
    """Positions out of CF mapping attributes, against two-dimensional latitudes made by pyproj."""
    crs = pyproj.CRS.from_proj4("+proj=lcc +lat_1=40 +lat_2=50 +lat_0=45 +lon_0=-120 +R=6371229")
    x, y = np.linspace(-9e4, 9e4, 3), np.linspace(-1.2e5, 1.2e5, 4)
    east, north = np.meshgrid(x, y)
    turn = pyproj.Transformer.from_crs(crs, crs.geodetic_crs, always_xy=True)
    longitude, latitude = turn.transform(east, north)
    data = base().rename(latitude="y", longitude="x").drop_vars(["x", "y"])
    axes = {
        "x": ("x", x, {"standard_name": "projection_x_coordinate", "units": "m"}),
        "y": ("y", y, {"standard_name": "projection_y_coordinate", "units": "m"}),
    }
    mapped = data.assign_coords(axes)
    mapped["lambert"] = ((), 0, {k: v for k, v in crs.to_cf().items() if v is not None})
    for name in mapped.data_vars:
        if name != "lambert":
            mapped[name].attrs["grid_mapping"] = "lambert"
    curved = data.assign_coords(latitude=(("y", "x"), latitude), longitude=(("y", "x"), longitude))
    first = demand(write(mapped, tmp_path / "mapped.nc"))
    second = demand(write(curved, tmp_path / "curved.nc"))
    np.testing.assert_allclose(first, second, rtol=1e-9)


def test_zarr_is_read_like_netcdf(tmp_path: Path, wanted: np.ndarray[Any, Any]) -> None:
    """The same forecast as a Zarr folder."""
    base().to_zarr(tmp_path / "base.zarr", consolidated=False)
    np.testing.assert_array_equal(demand(tmp_path / "base.zarr"), wanted)


def write_grib(data: xr.Dataset, path: Path) -> Path:
    """The fields as GRIB2 messages by ecCodes; sun as a sum from the start, as centres give it."""
    import eccodes

    codes = {"t2m": (2, 273.15, "2t"), "r2": (2, 0.0, "2r"), "u10": (10, 0.0, "10u")}
    codes |= {"v10": (10, 0.0, "10v"), "sp": (0, 0.0, "sp"), "ssrd": (0, 0.0, "ssrd")}
    with path.open("wb") as file:
        for name, (height, offset, short) in codes.items():
            values = data[name].to_numpy() + offset
            if name == "ssrd":
                values = np.cumsum(values, axis=0) * 3600
            for step in range(data.sizes["time"]):
                message = eccodes.codes_grib_new_from_samples("regular_ll_sfc_grib2")
                keys: dict[str, Any] = {
                    "Ni": data.sizes["longitude"],
                    "Nj": data.sizes["latitude"],
                    "latitudeOfFirstGridPointInDegrees": float(data.latitude[0]),
                    "latitudeOfLastGridPointInDegrees": float(data.latitude[-1]),
                    "longitudeOfFirstGridPointInDegrees": float(data.longitude[0]),
                    "longitudeOfLastGridPointInDegrees": float(data.longitude[-1]),
                    "iDirectionIncrementInDegrees": float(np.diff(data.longitude)[0]),
                    "jDirectionIncrementInDegrees": float(-np.diff(data.latitude)[0]),
                    "dataDate": 20260710,
                    "dataTime": 500,
                    "shortName": short,
                    "bitsPerValue": 24,
                    "endStep": step + 1,
                }
                if name == "ssrd":
                    keys |= {"startStep": 0, "endStep": step + 1}
                elif height:
                    keys |= {"level": height}
                for key, value in keys.items():
                    eccodes.codes_set(message, key, value)
                eccodes.codes_set_values(message, values[step].ravel())
                eccodes.codes_write(message, file)
                eccodes.codes_release(message)
    return path


def test_grib2_is_read_like_netcdf(tmp_path: Path, wanted: np.ndarray[Any, Any]) -> None:
    """GRIB2 written by ecCodes itself, 24 bits a value: near the NetCDF without its elevations."""
    path = write_grib(base(), tmp_path / "base.grib2")
    plain = demand(write(base().drop_vars("orog"), tmp_path / "plain.nc"))
    found = demand(path)
    # Cloud read back from a nearly clear sky: a millionth of its sun is a hundredth of cloud.
    np.testing.assert_allclose(found, plain, rtol=2e-2, atol=2e-9)
    assert np.quantile(np.abs(found - plain) / plain.max(), 0.9) < 1e-5
    assert "from the pressure" in "; ".join(open_forecast(path).remarks())


def test_missing_cells_stay_missing_and_spoil_no_other(tmp_path: Path) -> None:
    """One hour missing in one cell: that cell has no answer, its neighbours theirs."""
    from stillwet.outlook.region import region_answers

    data = base()
    data["t2m"][3, 1, 2] = np.nan
    forecast = open_forecast(write(data, tmp_path / "holes.nc"))
    cells = load_region(forecast, slice(0, 4), slice(0, 3))
    found = region_answers(cells, QUESTION)
    for values in found.values():
        missing = np.isnan(values)
        assert missing[..., 5].all()
    assert not np.isnan(np.delete(found["hold_time_sure"], 5, axis=-1)).any()


def test_turbidity_is_pvlibs_own() -> None:
    """The map's cell against pvlib's look-up at odd places."""
    import pandas as pd
    from pvlib.clearsky import lookup_linke_turbidity

    north, east = np.array([89.99, 45.02, -0.04, -89.99]), np.array([-179.99, -120.3, 10.1, 179.99])
    months = pd.DatetimeIndex([f"2026-{month:02d}-15" for month in range(1, 13)], tz="UTC")
    for cell in range(4):
        wanted = lookup_linke_turbidity(months, north[cell], east[cell], interp_turbidity=False)
        np.testing.assert_array_equal(turbidity_at(north, east)[:, cell], wanted.to_numpy())


def _drop(*names: str) -> Callable[[xr.Dataset], xr.Dataset]:
    return lambda data: data.drop_vars(names)


def _units(name: str, units: str | None) -> Callable[[xr.Dataset], xr.Dataset]:
    def change(data: xr.Dataset) -> xr.Dataset:
        kept = {k: v for k, v in data[name].attrs.items() if k != "units"}
        data[name].attrs = kept if units is None else {**kept, "units": units}
        return data

    return change


def _uneven(data: xr.Dataset) -> xr.Dataset:
    return data.isel(time=[0, 1, 2, 5, 6, 7])


BAD = {
    "no humidity": (_drop("r2"), "humidity: wanted a variable of relative_humidity or dew_point"),
    "no sun": (_drop("ssrd"), "sun: wanted a variable of ghi or cloud_cover"),
    "no wind": (_drop("u10"), "wind: wanted a variable of wind_speed or eastward_wind with"),
    "no units": (_units("t2m", None), "air_temperature: wanted a units attribute .*, got none"),
    "odd units": (_units("u10", "parsec"), "eastward_wind: .* got 'parsec'"),
    "wrong units": (_units("t2m", "K"), r"air_temperature: wanted 213.15 to 333.15 K, got .* hour"),
    "a gap": (_uneven, "time: wanted even steps of 1 to 6 whole hours"),
    "no position": (_drop("latitude"), "grid: wanted latitude and longitude"),
    "one row": (lambda data: data.isel(latitude=0, drop=True), "grid: wanted"),
    "doubled": (
        lambda data: data.assign(temperature_again=data.t2m),
        "air_temperature: wanted one variable, got t2m and temperature_again",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_grids_are_refused_with_the_reason(tmp_path: Path, name: str) -> None:
    """Field, wanted and got, in one line a person can act on."""
    change, message = BAD[name]
    path = write(change(base()), tmp_path / "bad.nc")
    with pytest.raises(StillwetError, match=message):
        demand(path)


def test_damaged_files_are_refused(tmp_path: Path) -> None:
    """Half a file, a text, an empty file, an odd folder and nothing at all."""
    whole = write(base(), tmp_path / "whole.nc").read_bytes()
    for name, content in (("half", whole[: len(whole) // 2]), ("text", b"hello"), ("empty", b"")):
        path = tmp_path / f"{name}.nc"
        path.write_bytes(content)
        with pytest.raises(StillwetError, match="FORECAST: wanted"):
            open_forecast(path)
    grib = tmp_path / "cut.grib2"
    grib.write_bytes(b"GRIB" + bytes(60))
    for path in (grib, tmp_path, tmp_path / "nowhere.nc"):
        with pytest.raises(StillwetError, match="FORECAST: wanted"):
            open_forecast(path)
