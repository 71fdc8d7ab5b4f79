"""Zones: which cells speak for them, what they say, and the brief and maps of the command."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stillwet.domain.outlook_brief import Holding
from stillwet.errors import StillwetError
from stillwet.exchange.zones import read_zones
from stillwet.outlook.ask import HOUR_S, answers_named, faces_named
from stillwet.outlook.loading import open_forecast
from stillwet.outlook.store import open_store
from stillwet.outlook.work import Means, reckon_outlook
from stillwet.outlook.zones import MAP_COLUMNS, MAP_ROWS, zone_groups
from unit.outlook.made_grid import made_forecast
from unit.outlook.outlook_run import Run
from unit.outlook.test_point import ask, write

WINDOW = ("--from", "2026-07-11T20:00Z", "--until", "2026-07-12T01:00Z")


def feature(name: Any, corners: list[list[float]], group: str | None = None) -> dict[str, Any]:
    properties = {"name": name} if group is None else {"name": name, "group": group}
    ring = [*corners, corners[0]]
    return {
        "type": "Feature",
        "properties": properties,
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }


def rectangle(west: float, south: float, east: float, north: float) -> list[list[float]]:
    return [[west, south], [east, south], [east, north], [west, north]]


def zones_file(path: Path, *features: dict[str, Any]) -> Path:
    path.write_text(json.dumps({"type": "FeatureCollection", "features": list(features)}))
    return path


WEST = feature("West Half", rectangle(-122.1, 43.9, -120.5, 46.1))
POCKET = feature("Pocket", rectangle(-119.95, 44.49, -119.94, 44.51))
ISLE = feature("Isle", rectangle(-110.0, 44.0, -109.0, 45.0))


def test_zone_answers_are_those_of_their_cells(tmp_path: Path) -> None:
    """Mean, least, shares and starts by plain NumPy over the stored grid; hills give a spread."""
    source = write(made_forecast(rows=9, columns=12, members=5), tmp_path / "f.nc")
    forecast = open_forecast(source)
    first = float(forecast.grid.hours_s[0])
    on_by, until = first + 38 * HOUR_S, first + 43 * HOUR_S
    question = ask(faces=faces_named("S,W"), from_s=on_by, until_s=until)
    out = tmp_path / "o.zarr"
    reckon_outlook(source, out, question, answers_named("all"), Means())
    zones = read_zones(zones_file(tmp_path / "z.geojson", WEST, POCKET, ISLE))
    (group,) = zone_groups(out, forecast.data, forecast.grid, question, zones)
    west, pocket, isle = group.zones
    stored = open_store(out)
    east = (stored.longitude.to_numpy() + 180) % 360 - 180
    inside = east < -120.5
    assert west.cells == 9 * int(inside.sum())
    for s, face in enumerate(west.faces):
        sure = stored.hold_time_sure.to_numpy()[s, 38][:, inside]
        assert face.mean_hold_s == pytest.approx(sure.mean() * HOUR_S, rel=1e-6)
        assert face.least_hold_s == pytest.approx(sure.min() * HOUR_S, rel=1e-6)
        assert face.share_sure == pytest.approx((sure >= 5 - 1e-3).mean())
        even = stored.hold_time_even.to_numpy()[s, 38][:, inside]
        assert face.share_even == pytest.approx((even >= 5 - 1e-3).mean())
        start = stored.earliest_start.to_numpy()[s][:, inside]
        assert face.coat_most_kg_m2 == pytest.approx(
            stored.coat_needed.to_numpy()[s, 38][:, inside].max(), rel=1e-6
        )
        if face.from_start_s is not None:
            latest = start[sure >= 5 - 1e-3].max()
            assert face.from_start_s == pytest.approx(first + latest * HOUR_S, abs=1)
            assert face.latest_start_s == on_by
    assert pocket.is_small
    assert pocket.cells == 1
    assert isle.cells == 0
    assert isle.faces[0].mean_hold_s is None


def test_maps_show_the_cells_below_them(tmp_path: Path) -> None:
    """A spot over a cell's middle has the class of that cell's own hold times."""
    source = write(made_forecast(rows=9, columns=12, members=5), tmp_path / "f.nc")
    forecast = open_forecast(source)
    first = float(forecast.grid.hours_s[0])
    on_by, until = first + 38 * HOUR_S, first + 42 * HOUR_S
    question = ask(faces=faces_named("S"), from_s=on_by, until_s=until)
    out = tmp_path / "o.zarr"
    reckon_outlook(source, out, question, answers_named("all"), Means())
    zones = read_zones(zones_file(tmp_path / "z.geojson", WEST))
    (group,) = zone_groups(out, forecast.data, forecast.grid, question, zones)
    west, south, east, north = group.bounds_deg
    stored = open_store(out)
    longitude = (stored.longitude.to_numpy() + 180) % 360 - 180
    seen = set()
    for row, latitude in enumerate(stored.latitude.to_numpy()):
        for column, place in enumerate(longitude):
            x = int((place - west) / (east - west) * MAP_COLUMNS)
            y = int((north - latitude) / (north - south) * MAP_ROWS)
            if not (0 <= x < MAP_COLUMNS and 0 <= y < MAP_ROWS):
                continue
            sure = stored.hold_time_sure.to_numpy()[0, 38, row, column] >= 4 - 1e-3
            even = stored.hold_time_even.to_numpy()[0, 38, row, column] >= 4 - 1e-3
            wanted = Holding.SURE if sure else Holding.EVEN if even else Holding.NOT
            assert group.maps[0].spots[y][x] is wanted
            seen.add(wanted)
    assert seen


BAD = {
    "no name": ([feature(None, rectangle(0, 0, 1, 1))], "name: wanted a text property, got none"),
    "a line": (
        [
            {
                "type": "Feature",
                "properties": {"name": "x"},
                "geometry": {"type": "LineString", "coordinates": [[0, 0], [1, 1]]},
            }
        ],
        "geometry: wanted a polygon, got LineString",
    ),
    "twice": ([WEST, WEST], "name: wanted a name of its own for every zone, got 'West Half' twice"),
    "metres": ([feature("x", rectangle(5e5, 4e6, 5.1e5, 4.1e6))], "wanted"),
    "none": ([], "--zones: wanted at least one feature"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_zones_are_refused_with_the_reason(tmp_path: Path, name: str) -> None:
    """Field, wanted, got and the feature."""
    features, message = BAD[name]
    with pytest.raises(StillwetError, match=message):
        read_zones(zones_file(tmp_path / "bad.geojson", *features))


def pdf_text(path: Path) -> list[str]:
    import pypdf

    return [page.extract_text() for page in pypdf.PdfReader(path).pages]


def test_the_command_prints_a_page_a_group(tmp_path: Path, run: Run) -> None:
    """Groups, zones, question, untested defaults and cautions stand in the PDF's own text."""
    source = write(made_forecast(rows=9, columns=12, members=3, sun="cloud"), tmp_path / "f.nc")
    other = feature("Ridge", rectangle(-120.4, 44.5, -119.4, 45.5), "North side")
    zones = zones_file(tmp_path / "z.geojson", WEST, POCKET, other)
    brief = tmp_path / "brief.pdf"
    done = run(
        *(source, "--out", tmp_path / "o.zarr", "--faces", "W,roof", *WINDOW, "--card"),
        *("--zones", zones, "--brief", brief, "--units", "metric", "--now", "2026-07-11T06:00Z"),
    )
    assert done.exit_code == 0, done.output
    assert f"brief: {brief}" in done.output
    pages = pdf_text(brief)
    assert len(pages) == 3
    first, second, last = (" ".join(page.split()) for page in pages)
    assert "All zones" in first
    assert "West Half" in first
    assert "Pocket is smaller than a cell" in first
    assert "on by Sat 11 Jul 2026 20:00 UTC" in first
    assert "until Sun 12 Jul 2026 01:00 UTC" in first
    assert "North side" in second
    assert "Ridge" in second
    for page in (first, second, last):
        assert "untested defaults: water kept 0.50 mm" in page
        assert "Nobody stays because a coat should hold" in page
    assert "Escape route and safety zone first" in last
    assert "clear sky less cloud" in last


def test_a_brief_asks_for_its_window_before_the_work(tmp_path: Path, run: Run) -> None:
    """No --from, a needed answer left out, a wrong ending: said at once, nothing written."""
    source = write(made_forecast(rows=3, columns=3), tmp_path / "f.nc")
    zones, out = zones_file(tmp_path / "z.geojson", WEST), tmp_path / "o.zarr"
    common = (source, "--out", out, "--zones", zones)
    for more, message in (
        (("--brief", tmp_path / "b.pdf"), "--brief: wanted --from and --until"),
        (("--brief", tmp_path / "b.txt", *WINDOW), "--brief: wanted a file ending in .pdf"),
        (
            ("--brief", tmp_path / "b.pdf", *WINDOW, "--write", "coat_needed"),
            "--brief: wanted --write all",
        ),
        ((), "--zones and --brief go together"),
    ):
        done = run(*common, *more)
        assert done.exit_code != 0
        assert message in done.output
        assert not out.exists()


@pytest.mark.parametrize(("down", "along"), [("latitude", "longitude"), ("lat", "lon")])
def test_maps_are_read_back_as_they_were_stored(
    tmp_path: Path, run: Run, down: str, along: str
) -> None:
    """GeoTIFF by rasterio: values, missing, place of a cell, reference system, unit, hours.

    Longitudes from 0 to 360 are put west of Greenwich, whatever the file calls its axes.
    """
    import rasterio

    data = made_forecast(rows=5, columns=6, hours=30).rename(latitude=down, longitude=along)
    data["t2m"][3, 1, 2] = np.nan
    source = write(data, tmp_path / "f.nc")
    out, maps = tmp_path / "o.zarr", tmp_path / "maps"
    done = run(source, "--out", out, "--faces", "W", "--maps", maps)
    assert done.exit_code == 0, done.output
    stored = open_store(out)
    with rasterio.open(maps / "coat_needed_W.tif") as file:
        assert file.crs.to_epsg() == 4326
        assert file.count == 30
        assert file.tags()["units"] == "mm"
        assert file.descriptions[2] == "2026-07-10T08:00"
        band = file.read(3)
        np.testing.assert_array_equal(band, stored.coat_needed.to_numpy()[0, 2])
        assert np.isnan(band[1, 2])
        place = file.transform
        assert place.c + 4.5 * place.a == pytest.approx(float(stored[along][4]) - 360.0)
        assert place.f + 1.5 * place.e == pytest.approx(float(stored[down][1]))
    with rasterio.open(maps / "earliest_start_W.tif") as file:
        assert file.count == 1


def test_a_projected_grid_keeps_its_metres(tmp_path: Path, run: Run) -> None:
    """Rows from the south and axes in km: the picture is north-up, in metres, and says its CRS."""
    import pyproj
    import rasterio

    crs = pyproj.CRS.from_epsg(32611)
    data = made_forecast(rows=4, columns=3, hours=12).rename(latitude="y", longitude="x")
    y, x = 4900.0 + 5 * np.arange(4), 400.0 + 5 * np.arange(3)
    said = {"units": "km"}
    data = data.assign_coords(
        y=("y", y, {"standard_name": "projection_y_coordinate", **said}),
        x=("x", x, {"standard_name": "projection_x_coordinate", **said}),
    )
    data["utm"] = ((), 0, {k: v for k, v in crs.to_cf().items() if v is not None})
    for name in data.data_vars:
        if name != "utm":
            data[name].attrs["grid_mapping"] = "utm"
    source, maps = write(data, tmp_path / "f.nc"), tmp_path / "maps"
    done = run(source, "--out", tmp_path / "o.zarr", "--faces", "roof", "--maps", maps)
    assert done.exit_code == 0, done.output
    with rasterio.open(maps / "drying_demand_roof.tif") as file:
        assert file.crs.to_epsg() == 32611
        assert tuple(file.transform)[:6] == (5000.0, 0.0, 397500.0, 0.0, -5000.0, 4917500.0)
        stored = open_store(tmp_path / "o.zarr").drying_demand.to_numpy()
        np.testing.assert_array_equal(file.read(6), stored[0, 5, ::-1])


PRODUCT = """
[[product]]
id = "g1"
name = "Invented gel"
type = "superabsorbent_dispersion"
ratio_basis = "volume"
ratio = ["1 %", "3 %"]
drying_exponent = 0.5
pack = "20 L"
"""


def test_a_products_own_file_sets_how_it_dries(tmp_path: Path, run: Run) -> None:
    """Its exponent is taken as if typed; a file without a product is refused by name."""
    source = write(made_forecast(rows=3, columns=3, hours=24), tmp_path / "f.nc")
    file = tmp_path / "product.toml"
    file.write_text(PRODUCT)
    done = run(source, "--out", tmp_path / "a.zarr", "--faces", "W", "--product", file)
    assert done.exit_code == 0, done.output
    typed = run(source, "--out", tmp_path / "b.zarr", "--faces", "W", "--exponent", "0.5")
    assert typed.exit_code == 0, typed.output
    plain = run(source, "--out", tmp_path / "c.zarr", "--faces", "W")
    assert plain.exit_code == 0, plain.output
    first, second, third = (
        open_store(tmp_path / f"{name}.zarr").hold_time_sure.to_numpy() for name in "abc"
    )
    np.testing.assert_array_equal(first, second)
    assert (first != third).any()
    file.write_text("[other]\n")
    done = run(source, "--out", tmp_path / "d.zarr", "--product", file)
    assert done.exit_code != 0
    assert "product: wanted a table headed [[product]], got none" in done.output


def test_the_command_says_what_it_did_and_refuses_what_it_cannot(tmp_path: Path, run: Run) -> None:
    """One NetCDF file; a card that is not there is one sentence; bad options name themselves."""
    source = write(made_forecast(rows=3, columns=3, hours=24, sun="cloud"), tmp_path / "f.nc")
    out = tmp_path / "one.nc"
    done = run(source, "--out", out, "--faces", "W,roof", "--card", "--write", "hold_time_sure")
    assert done.exit_code == 0, done.output
    assert out.exists()
    assert "9 cells, 24 hours, 1 member(s)" in done.output
    assert "card" in done.output
    for arguments, message in (
        ((source, "--out", tmp_path / "x.csv"), "--out: wanted a name ending in .zarr or .nc"),
        ((source, "--out", out), "--out: wanted a name that is not taken"),
        ((source, "--out", tmp_path / "x.nc", "--faces", "up"), "--faces: wanted each once"),
        ((source, "--out", tmp_path / "x.nc", "--coat", "0.6mm"), "--coat: wanted a coat whose"),
        ((source, "--out", tmp_path / "x.nc", "--until", "2030-01-01T00:00Z"), "--until: wanted"),
        ((tmp_path / "no.nc", "--out", tmp_path / "x.nc"), "FORECAST: wanted a file"),
    ):
        done = run(*arguments)
        assert done.exit_code != 0
        assert message in done.output
