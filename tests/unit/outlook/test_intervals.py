"""What stretch of time a mean or a sum stands for: CF bounds, GRIB step ranges.

Truth: hourly fluxes chosen here; their means and sums by numpy, encoded by ecCodes or written as
CF conventions 1.11, section 7.1 (bounds) and 7.3 (cell methods) say.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from stillwet.errors import StillwetError
from stillwet.outlook.fields import flux_between
from stillwet.outlook.loading import load_region, open_forecast
from stillwet.outlook.region import RegionWeather
from unit.outlook.made_grid import made_forecast
from unit.outlook.test_grib import FIELDS, message
from unit.outlook.test_point import write

HOURLY = np.array([80.0, 240.0, 420.0, 600.0, 730.0, 820.0, 860.0, 840.0, 760.0])


def whole(path: Path) -> RegionWeather:
    forecast = open_forecast(path)
    return load_region(forecast, slice(0, forecast.grid.height), slice(0, forecast.grid.width))


def spread_file(path: Path, short: str, starts: list[int], values: Any) -> Path:
    """Fields of the moment every hour, and one that covers from each start to its stamp."""
    with path.open("wb") as file:
        for step in range(1, len(starts) + 1):
            for name, (value, _) in FIELDS.items():
                if name != "sdswrf":
                    file.write(message(name, step, value)[0])
            keys = {"startStep": starts[step - 1], "endStep": step}
            file.write(message(short, step, values[step - 1], **keys)[0])
    return path


@pytest.mark.parametrize("again", [0, 6, 1])
@pytest.mark.parametrize("short", ["avg_sdswrf", "ssrd"])
def test_grib_means_and_sums_since_a_start(tmp_path: Path, short: str, again: int) -> None:
    """Since the start, anew every six hours, or hour by hour: the same hourly fluxes come back."""
    starts = [0 if not again else (n // again) * again for n in range(HOURLY.size)]
    parts = [HOURLY[begin : n + 1] for n, begin in enumerate(starts)]
    values = [p.mean() if short == "avg_sdswrf" else p.sum() * 3600 for p in parts]
    weather = whole(spread_file(tmp_path / "spread.grib2", short, starts, values))
    assert weather.sun_shift_s == -1800.0
    np.testing.assert_allclose(weather.sun[:, 3, 0], HOURLY, rtol=1e-4, atol=1e-2)


def test_a_mean_over_part_of_its_step_is_its_own() -> None:
    """Means of the last hour every three hours stand for that hour's middle, by hand."""
    ends = np.array([3.0, 6.0, 9.0]) * 3600
    bounds = np.stack([ends - 3600, ends], axis=1)
    flux, middle = flux_between(np.array([10.0, 20.0, 30.0]), is_sum=False, bounds_s=bounds)
    np.testing.assert_array_equal(flux, [10.0, 20.0, 30.0])
    np.testing.assert_array_equal(middle / 3600, [2.5, 5.5, 8.5])


def with_bounds(data: xr.Dataset, begin_h: float, end_h: float) -> xr.Dataset:
    """CF bounds from ``begin_h`` to ``end_h`` after each stamp."""
    hour = np.timedelta64(3600, "s")
    edges = [data.time.to_numpy() + hour * begin_h, data.time.to_numpy() + hour * end_h]
    data["time_bnds"] = (("time", "bnds"), np.stack(edges, axis=1))
    data.time.attrs |= {"bounds": "time_bnds", "standard_name": "time"}
    data.time.encoding = {"units": "minutes since 2026-07-10", "dtype": "int64"}
    return data


def test_cf_bounds_say_which_hour_a_mean_covers(tmp_path: Path) -> None:
    """Stamps at the begin of each hour with bounds, against stamps at its end without."""
    plain = whole(write(made_forecast(rows=2, columns=2), tmp_path / "plain.nc"))
    data = made_forecast(rows=2, columns=2)
    early = data.ssrd.shift(time=-1)
    data["ssrd"] = early.fillna(0.0).assign_attrs(data.ssrd.attrs)
    found = whole(write(with_bounds(data, 0.0, 1.0), tmp_path / "early.nc"))
    np.testing.assert_allclose(found.sun[1:], plain.sun[1:], rtol=1e-9, atol=1e-9)


def test_a_mean_temperature_stands_for_its_middle(tmp_path: Path) -> None:
    """A temperature that rises 1 K an hour, as means of the hour before: half a kelvin late."""
    data = made_forecast(rows=2, columns=2, hours=20)
    rising = 285.0 + np.arange(20.0)
    data["t2m"] = (
        data.t2m.dims,
        np.broadcast_to((rising - 0.5)[:, None, None], data.t2m.shape).copy(),
        {"standard_name": "air_temperature", "units": "K", "cell_methods": "time: mean"},
    )
    found = whole(write(with_bounds(data, -1.0, 0.0), tmp_path / "mean.nc"))
    np.testing.assert_allclose(found.air_temperature_k[:-1, 0, 0], rising[:-1], atol=1e-9)


def test_a_days_highest_is_not_the_hours_temperature(tmp_path: Path) -> None:
    """Cell method "maximum" beside the plain field is passed over; alone, it does not do."""
    data = made_forecast(rows=2, columns=2)
    highest = (data.t2m + 9).assign_attrs(data.t2m.attrs, cell_methods="time: maximum")
    plain = whole(write(data, tmp_path / "plain.nc"))
    both = whole(write(data.assign(tasmax=highest), tmp_path / "both.nc"))
    np.testing.assert_array_equal(both.air_temperature_k, plain.air_temperature_k)
    alone = write(data.drop_vars("t2m").assign(tasmax=highest), tmp_path / "alone.nc")
    with pytest.raises(StillwetError, match="temperature: wanted a variable of air_temperature"):
        open_forecast(alone)


def test_intervals_of_no_length_are_refused(tmp_path: Path) -> None:
    """Bounds that begin and end at once, but for the first stamp of a forecast."""
    data = with_bounds(made_forecast(rows=2, columns=2), 0.0, 0.0)
    with pytest.raises(StillwetError, match="time bounds: wanted intervals that have a length"):
        whole(write(data, tmp_path / "none.nc"))
