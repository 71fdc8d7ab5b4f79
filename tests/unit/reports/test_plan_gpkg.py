"""The plan as a GeoPackage, read back with GDAL through pyogrio."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pyogrio import list_layers, raw, read_info

from stillwet.reports.plan_gpkg import plan_gpkg_write

from .plan_fixture import make_plan, rename


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("gpkg") / "plan.gpkg"
    plan_gpkg_write(rename(make_plan(), {1: 'O\'Neil "& sons" 🔥'}), path)
    return path


def _read(path: Path, layer: str) -> tuple[Any, dict[str, Any]]:
    meta, _, shapes, columns = raw.read(path, layer=layer)
    return shapes, dict(zip(meta["fields"], columns, strict=True))


def test_layers_and_their_shapes(written: Path) -> None:
    """Six layers, each with one kind of shape, all in the plan's CRS."""
    layers = dict(list_layers(written))
    assert layers == {
        "assets": "Point",
        "footprints": "Polygon",
        "surfaces": "Point",
        "lines": "LineString",
        "streams": "LineString",
        "water_points": "Point",
    }
    assert {read_info(written, layer=name)["crs"] for name in layers} == {"EPSG:32612"}


def test_assets_come_back_in_place_and_whole(written: Path) -> None:
    """Positions, verdicts, names and times are those of the plan."""
    import shapely

    plan = make_plan()
    shapes, columns = _read(written, "assets")
    points = shapely.from_wkb(shapes)
    assert [(point.x, point.y) for point in points] == [(a.x_m, a.y_m) for a in plan.assets]
    assert list(columns["verdict"]) == [str(asset.verdict) for asset in plan.assets]
    assert columns["name"][1] == 'O\'Neil "& sons" 🔥'
    assert columns["apply_until"][6] == "2030-08-14T15:30:00-06:00"
    np.testing.assert_array_equal(columns["water_m3"], [a.water_m3 for a in plan.assets])


def test_missing_values_are_null(written: Path) -> None:
    """No time and no direction are NULL in the file, not an empty word or a number."""
    _, columns = _read(written, "assets")
    assert columns["apply_until"][0] is None
    assert np.isnan(columns["fire_from_deg"][5])
    assert columns["fire_from_deg"][0] == 235.0


def test_faces_and_footprints_are_all_there(written: Path) -> None:
    """One row a face; a polygon for each asset with a footprint, with its area."""
    import shapely

    plan = make_plan()
    _, faces = _read(written, "surfaces")
    assert list(faces["surface_id"]) == [f.surface.id for a in plan.assets for f in a.surfaces]
    shapes, columns = _read(written, "footprints")
    assert list(columns["asset_id"]) == [a.asset_id for a in plan.assets if a.footprint_m]
    barn = shapely.from_wkb(shapes)[0]
    assert barn.area == pytest.approx(24.0 * 12.0)


def test_a_layer_with_nothing_in_it_is_left_out(tmp_path: Path) -> None:
    """A job without lines, streams or water still makes a file."""
    from dataclasses import replace

    path = tmp_path / "bare.gpkg"
    plan_gpkg_write(replace(make_plan(), lines_m=(), streams_m=(), water_points_m=()), path)
    assert [name for name, _ in list_layers(path)] == ["assets", "footprints", "surfaces"]
