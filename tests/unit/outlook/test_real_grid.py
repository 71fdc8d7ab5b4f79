"""A real forecast of a public weather service, read, reckoned and written, end to end.

Source and licence of the file stand in tests/data/grids/README.md.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from stillwet.errors import StillwetError
from stillwet.outlook.loading import load_region, open_forecast
from unit.outlook.outlook_run import Run

REAL = Path(__file__).parents[2] / "data" / "grids" / "lambert_hourly.grib2"

# Row and column, latitude, longitude and elevation as the source package's own reader gives them.
CELLS = {
    (38, 15): (42.9657928257896, -116.683437768975, 1954.12023925781),
    (39, 11): (42.9697540185546, -116.834885357592, 1814.83898925781),
    (39, 12): (42.9753572542779, -116.798934443628, 1875.27648925781),
}
# Hour UTC: temperature [degC], humidity [%], sun [W/m2], wind along both axes [m/s], by cell.
GOLD: dict[int, list[tuple[float, ...]]] = {
    1: [
        (24.355187988281273, 16.3, 375.7, -3.856473922729492, -3.8856163024902344),
        (27.042687988281273, 14.2, 374.7, -3.356473922729492, -4.510616302490234),
        (26.105187988281273, 15.3, 375.0, -4.231473922729492, -4.010616302490234),
    ],
    6: [
        (17.614312744140648, 19.6, 0.0, -3.3369483947753906, -6.105712890625),
        (19.426812744140648, 17.8, 0.0, -3.3994483947753906, -4.605712890625),
        (18.739312744140648, 18.4, 0.0, -5.399448394775391, -5.355712890625),
    ],
}


def cell_of(row: int, column: int) -> int:
    """The flat place, in our file, of the source's cell."""
    latitude = CELLS[row, column][0]
    forecast = open_forecast(REAL)
    north = forecast.data.latitude.to_numpy()
    east = (forecast.data.longitude.to_numpy() + 180) % 360 - 180
    away = np.hypot(north - latitude, east - CELLS[row, column][1])
    assert away.min() < 1e-4
    return int(np.argmin(away))


def test_cells_and_fields_are_those_of_the_source() -> None:
    """Place within 10 m, elevation, and five fields at two hours, against the source's own CSV."""
    forecast = open_forecast(REAL)
    grid = forecast.grid
    assert (grid.height, grid.width, grid.hours_s.size) == (78, 41, 20)
    cells = load_region(forecast, slice(0, 78), slice(0, 41))
    first = np.datetime64("2018-07-22T01:00", "s").astype(float)
    assert cells.time_s[0] == first
    for place, (row, column) in enumerate(CELLS):
        latitude, longitude, elevation = CELLS[row, column]
        cell = cell_of(row, column)
        assert cells.latitude_deg[cell] == pytest.approx(latitude, abs=1e-4)
        assert cells.longitude_deg[cell] == pytest.approx(longitude, abs=1e-4)
        assert cells.elevation_m[cell] == pytest.approx(elevation, abs=0.1)
        for hour, gold in GOLD.items():
            celsius, humidity, sun, east, north = gold[place]
            at: Any = (hour - 1, cell, 0)
            assert cells.air_temperature_k[at] == pytest.approx(celsius + 273.15, abs=1e-3)
            assert cells.relative_humidity[at] == pytest.approx(humidity / 100, abs=1e-6)
            assert cells.sun[at] == pytest.approx(sun, abs=1e-3)
            # Along the grid's axes or along north and east: the speed is the same.
            assert cells.wind_speed_m_s[at] == pytest.approx(np.hypot(east, north), abs=1e-5)
    assert cells.sun_shift_s == 0.0  # the file says "instant"


def test_the_command_writes_every_form(tmp_path: Path, run: Run) -> None:
    """Zarr, NetCDF and GeoTIFF hold the same; the picture lies where the source's cells lie."""
    import pyproj
    import rasterio

    common = (REAL, "--faces", "W,roof", "--until", "2018-07-22T20:00Z")
    done = run(*common, "--out", tmp_path / "o.zarr", "--maps", tmp_path / "maps")
    assert done.exit_code == 0, done.output
    assert "3,198 cells, 20 hours, 1 member(s)" in done.output
    assert "index" not in done.output
    assert run(*common, "--out", tmp_path / "o.nc").exit_code == 0
    with (
        xr.open_dataset(tmp_path / "o.nc", decode_timedelta=False) as file,
        xr.open_dataset(tmp_path / "o.zarr", engine="zarr", decode_timedelta=False) as folder,
    ):
        assert file.crs.attrs["grid_mapping_name"] == "lambert_conformal_conic"
        for name in folder.data_vars:
            np.testing.assert_array_equal(file[name].to_numpy(), folder[name].to_numpy())
        demand = folder.drying_demand.to_numpy()
    assert np.isfinite(demand).all()
    # Noon (19:00 UTC) against the cool end of the night (12:00 UTC): the sky pulls far harder.
    assert (demand[1, 18] > 2 * demand[1, 11]).mean() > 0.99
    with rasterio.open(tmp_path / "maps" / "drying_demand_roof.tif") as picture:
        band = picture.read(19)
        crs = pyproj.CRS.from_wkt(picture.crs.to_wkt())
        turn = pyproj.Transformer.from_crs(crs.geodetic_crs, crs, always_xy=True)
        for (row, column), (latitude, longitude, _) in CELLS.items():
            seen = band[picture.index(*turn.transform(longitude, latitude))]
            assert seen == demand[1, 18].ravel()[cell_of(row, column)]


def test_a_real_file_of_one_hour_is_refused_plainly(tmp_path: Path, run: Run) -> None:
    """Messages of one time alone: no hours to go through, said as such."""
    import eccodes

    one = tmp_path / "one.grib2"
    with REAL.open("rb") as file, one.open("wb") as out:
        for _ in range(7):
            message = eccodes.codes_grib_new_from_file(file)
            out.write(eccodes.codes_get_message(message))
            eccodes.codes_release(message)
    done = run(one, "--out", tmp_path / "o.zarr")
    assert done.exit_code == 2
    assert "time: wanted one CF time dimension, got none of more than one step" in done.output


def test_a_cut_real_file_is_refused_and_nothing_is_left(tmp_path: Path, run: Run) -> None:
    """Half the bytes, as a broken-off download leaves: the message that is cut is named."""
    cut = tmp_path / "cut.grib2"
    content = REAL.read_bytes()
    cut.write_bytes(content[: len(content) // 2])
    with pytest.raises(StillwetError, match=r"message .* cut off"):
        open_forecast(cut)
    done = run(cut, "--out", tmp_path / "o.zarr")
    assert done.exit_code == 2
    assert "FORECAST: wanted whole GRIB messages, got message " in done.output
    assert sorted(path.name for path in tmp_path.iterdir()) == ["cut.grib2"]
