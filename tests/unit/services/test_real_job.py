"""A job of real footprints and a real weather year ends in a plan, with sane areas."""

from __future__ import annotations

import math
import runpy
from pathlib import Path

import pyogrio
import pytest
import shapely
from pyproj import Geod, Transformer

from stillwet.services.planning import Planned, plan_job

pytestmark = pytest.mark.slow  # a page for each of 144 buildings

ROOT = Path(__file__).parents[3]
NOW_S = 1_910_000_000.0
BUILDINGS = 144


@pytest.fixture(scope="module")
def real_plan(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    """The plan of the job that examples/make_real_job.py makes."""
    make = runpy.run_path(str(ROOT / "examples" / "make_real_job.py"))["make_real_job"]
    folder = tmp_path_factory.mktemp("real")
    return plan_job(make(folder / "job"), folder / "plan", now_s=NOW_S)


def test_every_building_is_planned(real_plan: Planned) -> None:
    """All 144 footprints of the district are in the plan (courtyards make no second asset)."""
    ids = {asset.asset_id.rstrip("abcdefghijklmnopqrstuvwxyz") for asset in real_plan.plan.assets}
    assert len(ids) == BUILDINGS
    assert len(real_plan.files) == 4


def test_ground_areas_are_those_on_the_ellipsoid(real_plan: Planned) -> None:
    """Web Mercator blows areas up 1.24 squared there; the plan's footprints match the ellipsoid.

    The outer rings are measured independently, as geodesic polygons on WGS 84 (pyproj.Geod).
    """
    path = real_plan.files[0].parents[1] / "job" / "bubenec.gpkg"
    _, _, shapes, _ = pyogrio.raw.read(path, layer="buildings")
    metres = shapely.from_wkb(shapes)
    to_degrees = Transformer.from_crs("EPSG:3857", "EPSG:4326", always_xy=True).transform
    parts = shapely.get_parts(shapely.transform(metres, to_degrees, interleaved=False))
    geod = Geod(ellps="WGS84")
    outside = sum(
        abs(geod.geometry_area_perimeter(shapely.Polygon(part.exterior))[0]) for part in parts
    )
    ours = sum(
        shapely.Polygon(asset.footprint_m).area
        for asset in real_plan.plan.assets
        if asset.footprint_m is not None
    )
    assert ours == pytest.approx(outside, rel=2e-3)
    assert 1.2 < math.sqrt(shapely.area(metres).sum() / outside) < 1.3


def test_walls_go_round_the_footprint(real_plan: Planned) -> None:
    """Wall area is perimeter times eave height, to the crumbs left out below 5 cm."""
    for asset in real_plan.plan.assets:
        assert asset.footprint_m is not None
        walls = [face for face in asset.surfaces if face.surface.tilt_deg == 90.0]
        heights = {round(2 * face.surface.height_m, 6) for face in walls}
        (eave_m,) = heights
        round_m = shapely.Polygon(asset.footprint_m).length
        area = sum(face.surface.area_m2 for face in walls)
        assert area == pytest.approx(round_m * eave_m, rel=0.01)
