"""GRIB messages encoded by ecCodes itself: projections, mixtures and damage."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
from numpy.typing import NDArray

from stillwet.errors import StillwetError
from stillwet.outlook.grid import PROJECTED, cell_positions
from stillwet.outlook.loading import Forecast, load_region, open_forecast

ROWS, COLUMNS = 4, 5
FIELDS = {"2t": (300.0, 2), "2r": (25.0, 2), "10u": (3.0, 10), "10v": (4.0, 10), "sdswrf": (500, 0)}
POLAR: dict[str, Any] = {
    "Nx": COLUMNS,
    "Ny": ROWS,
    "DxInMetres": 5000,
    "DyInMetres": 5000,
    "LaDInDegrees": 60,
    "orientationOfTheGridInDegrees": 249,
    "latitudeOfFirstGridPointInDegrees": 52.0,
    "longitudeOfFirstGridPointInDegrees": 242.0,
    "shapeOfTheEarth": 6,
    "resolutionAndComponentFlags": 8,  # bit 5 of flag table 3.3: along the grid's axes
    "iScansNegatively": 0,
    "jScansPositively": 1,
}
PLAIN: dict[str, Any] = {
    "Ni": COLUMNS,
    "Nj": ROWS,
    "latitudeOfFirstGridPointInDegrees": 46.0,
    "latitudeOfLastGridPointInDegrees": 44.5,
    "longitudeOfFirstGridPointInDegrees": 238.0,
    "longitudeOfLastGridPointInDegrees": 240.0,
    "iDirectionIncrementInDegrees": 0.5,
    "jDirectionIncrementInDegrees": 0.5,
}


def message(short: str, step: int, value: Any, **keys: Any) -> tuple[bytes, NDArray[np.float64]]:
    """One message, and latitude, longitude and value of its cells as ecCodes reads them back."""
    import eccodes

    grid = keys.pop("grid", PLAIN)
    sample = "polar_stereographic_sfc_grib2" if grid is POLAR else "regular_ll_sfc_grib2"
    found = eccodes.codes_grib_new_from_samples(sample)
    given = {**grid, "dataDate": 20260710, "dataTime": 1200}
    given |= {"shortName": short, "bitsPerValue": 24}
    height = FIELDS.get(short, (0, 0))[1]
    given |= {"level": height} if height else {}
    given |= {"endStep": step, **keys}
    for key, wanted in given.items():
        eccodes.codes_set(found, key, wanted)
    values = np.broadcast_to(np.asarray(value, dtype=float), (ROWS * COLUMNS,))
    eccodes.codes_set_values(found, np.ascontiguousarray(values))
    content = bytes(eccodes.codes_get_message(found))
    back = np.array([(p.lat, p.lon, p.value) for p in eccodes.codes_grib_get_data(found)])
    eccodes.codes_release(found)
    return content, back


def write_fields(path: Path, *, steps: int = 4, **keys: Any) -> NDArray[np.float64]:
    """Every field over some hours; returns the cells of the last message as ecCodes has them."""
    with path.open("wb") as file:
        for step in range(steps):
            for short, (value, _) in FIELDS.items():
                content, back = message(short, step, value, **keys)
                file.write(content)
    return back


def whole(forecast: Forecast) -> Any:
    return load_region(forecast, slice(0, forecast.grid.height), slice(0, forecast.grid.width))


def test_a_polar_stereographic_grid_becomes_its_projection(tmp_path: Path) -> None:
    """Even metres of the stated spacing; cells where ecCodes' own iterator puts them; norm of wind.

    The winds lie along the grid's axes: turning them to north would leave 3, 4 -> 5 as it is.
    """
    back = write_fields(tmp_path / "polar.grib2", grid=POLAR)
    forecast = open_forecast(tmp_path / "polar.grib2")
    assert forecast.grid.kind == PROJECTED
    for axis in ("x", "y"):
        np.testing.assert_allclose(np.diff(forecast.data[axis]), 5000.0, atol=0.05)
    place = slice(0, ROWS), slice(0, COLUMNS)
    latitude, longitude = cell_positions(forecast.data, forecast.grid, *place)
    np.testing.assert_allclose(latitude, back[:, 0], atol=1e-6)
    np.testing.assert_allclose(longitude % 360, back[:, 1], atol=1e-6)
    assert forecast.grid.crs_wkt is not None
    said = pyproj.CRS.from_wkt(forecast.grid.crs_wkt).to_cf()
    assert said["grid_mapping_name"] == "polar_stereographic"
    assert (said["standard_parallel"], said["semi_major_axis"]) == (60, 6371229)
    assert said["straight_vertical_longitude_from_pole"] % 360 == 249
    np.testing.assert_allclose(whole(forecast).wind_speed_m_s, 5.0, atol=1e-5)


def test_rows_from_the_north_and_east_longitudes(tmp_path: Path) -> None:
    """As most centres write: latitudes falling, longitudes 0 to 360; ours -180 to 180."""
    back = write_fields(tmp_path / "plain.grib2")
    weather = whole(open_forecast(tmp_path / "plain.grib2"))
    np.testing.assert_allclose(weather.latitude_deg, back[:, 0])
    np.testing.assert_allclose(weather.longitude_deg, back[:, 1] - 360.0)
    assert weather.latitude_deg[0] == 46.0


def test_missing_cells_of_a_bitmap_have_no_answer(tmp_path: Path) -> None:
    """A bitmap's hole in one field and hour spoils that cell and no other."""
    import eccodes

    path = tmp_path / "holes.grib2"
    write_fields(path)
    found = eccodes.codes_new_from_message(message("2t", 4, 300.0)[0])
    values = np.full(ROWS * COLUMNS, 300.0)
    values[7] = 9999.0
    eccodes.codes_set(found, "missingValue", 9999.0)
    eccodes.codes_set(found, "bitmapPresent", 1)
    eccodes.codes_set_values(found, values)
    with path.open("ab") as file:
        file.write(eccodes.codes_get_message(found))
        for short in list(FIELDS)[1:]:
            file.write(message(short, 4, FIELDS[short][0])[0])
    eccodes.codes_release(found)
    valid = whole(open_forecast(path)).valid
    assert not valid[7]
    assert valid.sum() == ROWS * COLUMNS - 1


def test_two_grids_in_one_file_are_refused(tmp_path: Path) -> None:
    """Same number of cells, half a degree apart: nothing is laid over another unseen."""
    path = tmp_path / "two.grib2"
    write_fields(path)
    shifted = {**PLAIN, "longitudeOfFirstGridPointInDegrees": 238.5}
    shifted["longitudeOfLastGridPointInDegrees"] = 240.5
    with path.open("ab") as file:
        for step in range(4):
            file.write(message("sp", step, 9e4, grid=shifted)[0])
    with pytest.raises(StillwetError, match=r"grid: wanted every field on one grid, got .* sp"):
        open_forecast(path)


def test_stamps_that_not_all_have_are_left_out_and_said(tmp_path: Path) -> None:
    """A pressure that begins an hour later: its first hour is dropped, in words."""
    path = tmp_path / "late.grib2"
    write_fields(path, steps=5)
    with path.open("ab") as file:
        for step in range(1, 5):
            file.write(message("sp", step, 9e4)[0])
    forecast = open_forecast(path)
    assert forecast.grid.time_s.size == 4
    assert "1 of 5 stamps left out, which not every field has" in forecast.remarks()


def test_members_in_one_field_and_others_in_another_are_refused(tmp_path: Path) -> None:
    """Three members of temperature and two of humidity; fields without members are shared."""
    ensemble = {"productDefinitionTemplateNumber": 1, "numberOfForecastsInEnsemble": 3}
    for few, name in ((3, "same.grib2"), (2, "fewer.grib2")):
        path = tmp_path / name
        with path.open("wb") as file:
            for step in range(4):
                for short, (value, _) in FIELDS.items():
                    count = {"2t": 3, "2r": few}.get(short, 1)
                    for member in range(count):
                        more = {**ensemble, "perturbationNumber": member} if count > 1 else {}
                        file.write(message(short, step, value + member, **more)[0])
    weather = whole(open_forecast(tmp_path / "same.grib2"))
    assert weather.air_temperature_k.shape == (4, ROWS * COLUMNS, 3)
    np.testing.assert_allclose(np.diff(weather.air_temperature_k, axis=2), 1.0, atol=1e-4)
    with pytest.raises(
        StillwetError, match=r"member: wanted the same members .* 3 of t2m, 2 of r2"
    ):
        open_forecast(tmp_path / "fewer.grib2")


def test_a_damaged_message_is_named(tmp_path: Path) -> None:
    """The end of the third message overwritten; then padding between messages, which is allowed."""
    one = message("2t", 0, 300.0)[0]
    path = tmp_path / "bad.grib2"
    path.write_bytes(one * 2 + one[:-4] + b"7778" + one)
    with pytest.raises(StillwetError, match=r"got message 3 of .* bytes without its end"):
        open_forecast(path)
    write_fields(path)
    content = path.read_bytes()
    end = len(message("2t", 0, 300.0)[0])
    path.write_bytes(content[:end] + b"\0" * 70000 + content[end:])
    assert open_forecast(path).grid.cells == ROWS * COLUMNS
