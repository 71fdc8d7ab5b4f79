"""A job file is a GeoPackage: by the standard's own tests, and by reading it with a GIS library."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from gpkg_conformance import faults
from job_strategies import START_S
from stillwet.domain.job import Job
from stillwet.domain.products import Depot
from stillwet.domain.roads import Road
from stillwet.domain.suitability import Well
from stillwet.store.job_file import open_job_file
from stillwet.store.log_table import add_entries
from store_fixture import NOW_S, all_faces, kept_job, small_job, some_entries


def full_job() -> Job:
    """A job with something in every layer but the lines."""
    assert START_S == NOW_S
    return replace(
        small_job(),
        streams_m=(((0.0, -50.0), (40.0, -60.0), (90.0, -55.0)),),
        roads=(Road(((0.0, 0.0), (60.0, 20.0)), 10.0, True),),
        depots=(Depot("d1", "Store", 5.0, 5.0, 1.0, 60.0),),
        wells=(Well("s1", "Spring", "spring", 30.0, 40.0),),
    )


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of a file with a full job and a log in it: GDAL must never open a live one."""
    folder = tmp_path_factory.mktemp("kept")
    path = kept_job(folder, full_job())
    with open_job_file(path, now_s=NOW_S) as job_file:
        add_entries(job_file, some_entries(4))
    return Path(shutil.copy(path, folder / "copy.gpkg"))


def test_the_file_passes_the_standards_tests(kept: Path) -> None:
    """No departure from OGC 12-128r18's abstract test suite for container, features, attributes."""
    assert faults(kept) == []


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("PRAGMA application_id = 1", "R2:"),
        ("ALTER TABLE gpkg_contents ADD COLUMN mine TEXT", "R4,"),
        ("CREATE TABLE mine (x TEXT)", "mine is in no table of contents"),
        ("UPDATE gpkg_contents SET last_change = '2026-08-14'", "R15:"),
        ("UPDATE gpkg_geometry_columns SET geometry_type_name = 'POLYGON'", "listed POLYGON"),
        ("UPDATE depots SET geom = CAST(x'4750000164000000' || substr(geom, 9) AS BLOB)", "R19,"),
        ("DELETE FROM gpkg_spatial_ref_sys WHERE srs_id = 32612", "R12:"),
    ],
)
def test_the_conformance_check_sees_faults(
    kept: Path, tmp_path: Path, statement: str, told: str
) -> None:
    """The check itself is no rubber stamp: each spoilt file is told."""
    path = Path(shutil.copy(kept, tmp_path / "spoilt.gpkg"))
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute(statement)
    assert any(told in fault for fault in faults(path)), faults(path)


def test_a_gis_library_reads_every_layer(kept: Path) -> None:
    """GDAL, through pyogrio, reads the copy: layers, CRS, places and words are the job's."""
    from pyogrio import list_layers, raw, read_info
    from pyproj import CRS
    from shapely import from_wkb

    job = full_job()
    layers = {str(name): kind for name, kind in list_layers(kept)}
    assert layers["assets"] == "Point"
    assert layers["routes"] == "LineString"
    assert layers["log"] is None
    assert CRS(read_info(kept, layer="assets")["crs"]) == CRS(job.crs)
    expected = {
        "assets": len(job.assets),
        "footprints": 1,
        "surfaces": len(tuple(all_faces(job))),
        "lines": 0,
        "streams": 1,
        "roads": 1,
        "water_points": 1,
        "depots": 1,
        "wells": 1,
        "routes": 0,
        "weather": job.weather.hours,
        "log": 4,
    }
    assert {name: read_info(kept, layer=name)["features"] for name in expected} == expected
    meta, _, shapes, columns = raw.read(kept, layer="assets")
    fields = dict(zip(meta["fields"], columns, strict=True))
    assert fields["name"].tolist() == [asset.name for asset in job.assets]
    assert [from_wkb(shape).coords[0] for shape in shapes] == [(a.x_m, a.y_m) for a in job.assets]
    _, _, outlines, _ = raw.read(kept, layer="footprints")
    assert from_wkb(outlines[0]).area == pytest.approx(12.0 * 9.0)
    _, _, tracks, _ = raw.read(kept, layer="streams")
    assert tuple(from_wkb(tracks[0]).coords) == job.streams_m[0]
