"""What a person reads when a forecast, an option or a place to write is not right."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from unit.outlook.made_grid import made_forecast
from unit.outlook.outlook_run import Run
from unit.outlook.test_point import write
from unit.outlook.test_zones import ISLE, WEST, WINDOW, pdf_text, zones_file

Change = Callable[[xr.Dataset], xr.Dataset]


def _units(name: str, units: str) -> Change:
    def change(data: xr.Dataset) -> xr.Dataset:
        data[name].attrs["units"] = units
        return data

    return change


BAD: dict[str, tuple[Change, str]] = {
    "no wind": (
        lambda data: data.drop_vars(["u10", "v10"]),
        "wind: wanted a variable of wind_speed or eastward_wind with northward_wind, got only ",
    ),
    "a unit": (_units("sp", "furlong"), "pressure: wanted a units attribute of pressure"),
    "time falls": (
        lambda data: data.isel(time=slice(None, None, -1)),
        "time: wanted even steps of 1 to 6 whole hours, forward in time, got steps from -1 to -1 h",
    ),
    "no latitude": (
        lambda data: data.drop_vars("latitude"),
        "grid: wanted latitude and longitude, or projection coordinates, by CF names, got neither",
    ),
    "no time": (
        lambda data: data.isel(time=slice(0, 0)),
        "time: wanted one CF time dimension, got none of more than one step",
    ),
    "no rows": (
        lambda data: data.isel(latitude=slice(0, 0)),
        "grid: wanted at least one row, column and hour, got an empty dimension latitude",
    ),
    "latitudes in metres": (
        lambda data: data.assign_coords(latitude=data.latitude * 1e5),
        "latitude: wanted -90 to 90 degrees, got 4.6e+06",
    ),
    "text": (
        lambda data: data.assign(t2m=data.t2m.astype(str).assign_attrs(data.t2m.attrs)),
        "air_temperature: wanted numbers, got text",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_grid_is_one_plain_message(tmp_path: Path, run: Run, name: str) -> None:
    """Exit 2; the file, the field, wanted and got; no traceback; nothing written beside it."""
    change, message = BAD[name]
    source = write(change(made_forecast(rows=3, columns=3, hours=12)), tmp_path / "bad.nc")
    done = run(source, "--out", tmp_path / "o.zarr")
    assert done.exit_code == 2
    assert message in done.output
    assert "bad.nc" in done.output
    assert "Traceback" not in done.output
    assert [path.name for path in tmp_path.iterdir()] == ["bad.nc"]


def test_bad_options_are_named(tmp_path: Path, run: Run) -> None:
    """A zone that is not there, a folder that is not there, one that nobody may write to."""
    source = write(made_forecast(rows=3, columns=3, hours=12), tmp_path / "f.nc")
    out = tmp_path / "o.zarr"
    done = run(source, "--out", out, "--until", "2026-07-10T12:00", "--time-zone", "Mars/Base")
    assert done.exit_code == 2
    assert "--time-zone: wanted" in done.output
    for option, zone in (("--until", []), ("--from", ["--until", "2026-07-10T12:00Z"])):
        done = run(source, "--out", out, *zone, option, "2026-07-10T11:00")
        assert f"{option}: wanted a time with its zone" in done.output
        assert 'write "-06:00" after it, or give --time-zone' in done.output
    done = run(source, "--out", out, "--product-type", "jam")
    assert "--product-type: wanted one of" in done.output
    done = run(source, "--out", tmp_path / "no" / "o.zarr")
    assert done.exit_code == 2
    assert "--out: wanted a folder that is there, got none" in done.output
    assert not out.exists()


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_folder_nobody_may_write_to_is_named(tmp_path: Path, run: Run) -> None:
    """Said in one line, before hours of reckoning."""
    source = write(made_forecast(rows=3, columns=3, hours=12), tmp_path / "f.nc")
    shut = tmp_path / "shut"
    shut.mkdir(mode=0o500)
    done = run(source, "--out", shut / "o.zarr")
    assert done.exit_code == 2
    assert (
        "--out: wanted a folder that can be written to, got one that you may not write to"
        in done.output
    )
    assert "shut" in done.output


def test_cells_with_gaps_are_counted(tmp_path: Path, run: Run) -> None:
    """Two cells of nine with a hole in one hour; then a field with a hole in every cell."""
    data = made_forecast(rows=3, columns=3, hours=12)
    data["t2m"][3, 1, 2] = np.nan
    data["u10"][5, 0, 0] = np.nan
    done = run(write(data, tmp_path / "f.nc"), "--out", tmp_path / "o.zarr", "--faces", "W")
    assert done.exit_code == 0
    assert "note: 2 of 9 cells have no answer: a field has a gap there in some hour" in done.output
    data["r2"][2] = np.nan
    done = run(write(data, tmp_path / "g.nc"), "--out", tmp_path / "p.zarr", "--faces", "W")
    assert "note: no cell has an answer: a field has a gap there in some hour" in done.output


def test_the_chance_over_members_stands_in_the_brief(tmp_path: Path, run: Run) -> None:
    """Mean and least of the zone's cells, from the stored grid; no such column with one member."""
    zones, brief = zones_file(tmp_path / "z.geojson", WEST, ISLE), tmp_path / "b.pdf"
    common = ("--faces", "W", "--coat", "4mm", *WINDOW, "--zones", zones, "--brief", brief)
    for members in (5, 1):
        data = made_forecast(rows=9, columns=12, members=members)
        source, out = write(data, tmp_path / f"{members}.nc"), tmp_path / f"{members}.zarr"
        done = run(source, "--out", out, *common)
        assert done.exit_code == 0, done.output
        text = " ".join(pdf_text(brief)[0].split())
        assert "Isle lies outside the forecast's grid." in text
        assert ("mean / least" in text) == (members == 5)
        if members == 5:
            with xr.open_dataset(out, engine="zarr", decode_timedelta=False) as stored:
                east = (stored.longitude.to_numpy() + 180) % 360 - 180
                chance = stored.hold_chance.to_numpy()[0, 38][:, east < -120.5]
            # Hold times of a warm afternoon end the same day: its name is not said twice.
            assert re.search(r"(Sat|Sun) \d\d:\d\d to \d\d:\d\d", text)
            assert f"{int(100 * chance.mean())} / {int(100 * chance.min())} %" in text


def test_coordinates_have_no_fill_value(tmp_path: Path, run: Run) -> None:
    """CF conventions 1.11, sections 2.5.1, 2.6.2 and 4.4, read with h5py as the bytes stand.

    The whole file passed compliance-checker 6.1.0 (test cf:1.11) by hand: no error.
    """
    import h5py

    source = write(made_forecast(rows=3, columns=4, hours=12), tmp_path / "f.nc")
    assert run(source, "--out", tmp_path / "o.nc", "--faces", "W").exit_code == 0
    with h5py.File(tmp_path / "o.nc") as file:
        for name in ("latitude", "longitude", "time", "face", "crs"):
            assert "_FillValue" not in file[name].attrs
        assert "_FillValue" in file["coat_needed"].attrs
        assert file.attrs["history"]
        time = file["time"].attrs
        assert time["units"] == "seconds since 1970-01-01"
        assert time["units_metadata"] == "leap_seconds: none"
