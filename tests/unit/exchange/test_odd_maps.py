"""Shapes, places and moments in map files as other programs write them: read rightly or told.

Each was met by trying the readers; the bounds are our own choice (no source).
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from pyogrio import raw

from job_folder import ASSETS, JOB, good, messages
from stillwet.domain.job import Job
from stillwet.exchange.zones import read_zones

AT = (-105.2, 39.75)
ON_MAP = JOB.replace('"assets.csv"', '"a.geojson"')
LINE = '\n[lines]\nfile = "l.csv"\n'
STREAM = '\n[streams]\nfile = "s.csv"\n'
GPX = (
    '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
    '<wpt lat="39.75" lon="-105.2"><name>Caf\u00e9</name></wpt></gpx>'
)


def house(kind: str, coordinates: Any, **fields: Any) -> str:
    """A GeoJSON of one house."""
    shape = {"type": kind, "coordinates": coordinates}
    properties = {"id": "h1", "kind": "house", **fields}
    feature = {"type": "Feature", "geometry": shape, "properties": properties}
    return json.dumps({"type": "FeatureCollection", "features": [feature]})


def layer(path: Path, crs: str, **columns: np.ndarray[Any, Any]) -> bytes:
    """A GeoPackage of one house, as the library GDAL writes it."""
    fields = {"id": np.array(["h1"], object), "kind": np.array(["house"], object), **columns}
    raw.write(
        path,
        shapely.to_wkb(np.array([shapely.Point(AT)], object)),
        list(fields.values()),
        list(fields),
        driver="GPKG",
        geometry_type="Point",
        crs=crs,
        gdal_tz_offsets={name: np.array([100]) for name in columns},  # GDAL: 100 is UTC
    )
    return path.read_bytes()


def test_times_of_a_geopackage_are_utc(tmp_path: Path) -> None:
    """A DATETIME of a GeoPackage is UTC (OGC 12-128r18, table 1), whatever the job's zone."""
    times = {
        name: np.array([f"2026-08-14T{hour}:00"], "datetime64[ms]")
        for name, hour in (("arrival_from", 21), ("arrival_to", 22))
    }
    content = layer(tmp_path / "made.gpkg", "EPSG:4326", **times)
    job = good(tmp_path, job=JOB.replace('"assets.csv"', '"a.gpkg"'), a_gpkg=content)
    fire = job.assets[0].fire
    assert fire.arrival_from_s == datetime(2026, 8, 14, 21, tzinfo=UTC).timestamp()
    assert fire.arrival_to_s == datetime(2026, 8, 14, 22, tzinfo=UTC).timestamp()


@pytest.mark.parametrize("crs", ['LOCAL_CS["bench",UNIT["metre",1]]', "IAU_2015:30100"])
def test_a_system_that_leads_nowhere_on_earth(tmp_path: Path, crs: str) -> None:
    """A drawing's own axes and the Moon's have no way to longitude and latitude."""
    text = ASSETS.replace("latitude,longitude", "y,x")
    job = JOB.replace('"assets.csv"', f"\"assets.csv\"\ncrs = '{crs}'")
    wanted = "crs: wanted a coordinate reference system that leads to longitude and latitude"
    assert messages(tmp_path, job=job, assets=text)[0].startswith(wanted)


def test_a_layer_of_no_place_on_earth(tmp_path: Path) -> None:
    """A GeoPackage on a drawing's own axes is refused by its layer's name."""
    content = layer(tmp_path / "made.gpkg", 'LOCAL_CS["bench",UNIT["metre",1]]')
    job = JOB.replace('"assets.csv"', '"a.gpkg"')
    (message,) = messages(tmp_path, job=job, a_gpkg=content)
    assert "got 'bench' (a.gpkg, layer made)" in message


@pytest.mark.parametrize(
    ("kind", "coordinates"),
    [
        ("LineString", [[*AT]]),
        ("MultiLineString", [[[*AT]]]),
        ("LineString", [[*AT], [float("nan"), 39.75], [-105.1, 39.75]]),
        ("Point", {"a": 1}),
    ],
)
def test_shapes_that_are_none(tmp_path: Path, kind: str, coordinates: Any) -> None:
    """A line of one point and a corner that is not a number are refused in their feature."""
    (message,) = messages(tmp_path, job=ON_MAP, a_geojson=house(kind, coordinates))
    assert message.startswith("geometry: wanted ")
    assert "(a.geojson, feature 1)" in message


def test_a_property_that_is_not_a_number(tmp_path: Path) -> None:
    """Programs write NaN into GeoJSON for what is missing; it is no id."""
    text = house("Point", AT, id=float("nan"))
    (message,) = messages(tmp_path, job=ON_MAP, a_geojson=text)
    assert message == "id: wanted some text, got nan (a.geojson, feature 1)"


@pytest.mark.parametrize(
    "text",
    [
        "CIRCULARSTRING (-105.2 39.75, -105.19 39.76, -105.18 39.75)",
        "CURVEPOLYGON ((-105.2 39.75, -105.19 39.76, -105.18 39.75, -105.2 39.75))",
        "GEOMETRYCOLLECTION (" * 5_000 + "POINT (-105.2 39.75)" + ")" * 5_000,
    ],
)
def test_text_of_shapes_that_are_not_taken(tmp_path: Path, text: str) -> None:
    """Curves and collections, which the library reads in part or very slowly, are refused."""
    assets = f'id,kind,footprint\nh1,house,"{text}"\n'
    (message,) = messages(tmp_path, assets=assets)
    assert message.startswith("footprint: wanted well-known text such as")


@pytest.mark.parametrize("encoding", ["ISO-8859-1", "UTF-8", "UTF-16", "windows-1252"])
def test_gpx_in_the_encoding_that_it_declares(tmp_path: Path, encoding: str) -> None:
    """An accent is itself in every encoding that a GPX file may name (XML 1.0, 4.3.3)."""
    head = f'<?xml version="1.0" encoding="{encoding}"?>'
    job = JOB.replace('"assets.csv"', '"a.gpx"\ndefaults = { kind = "house" }')
    assert (
        good(tmp_path, job=job, a_gpx=(head + GPX).encode(encoding)).assets[0].name == "Caf\u00e9"
    )


def _line(text: str) -> str:
    return f'id,purpose,width,track\nl1,burn line,3 m,"{text}"\n'


def test_an_empty_part_of_a_line(tmp_path: Path) -> None:
    """What holds no point is no segment and no stream."""
    text = "MULTILINESTRING ((-105.2 39.75, -105.19 39.75), EMPTY)"
    job: Job = good(
        tmp_path, job=JOB + LINE + STREAM, l_csv=_line(text), s_csv=f'name,track\na,"{text}"\n'
    )
    assert len(job.lines[0].segments) == 1
    assert len(job.streams_m) == 1


@pytest.mark.parametrize("track", ["105.2 39.75, 105.19 39.75", "-105.2 -39.75, -105.19 -39.75"])
def test_a_line_or_stream_on_the_other_side(tmp_path: Path, track: str) -> None:
    """A missing minus puts a line or every stream thousands of kilometres off."""
    text = f"LINESTRING ({track})"
    found = messages(
        tmp_path, job=JOB + LINE + STREAM, l_csv=_line(text), s_csv=f'name,track\na,"{text}"\n'
    )
    assert [message.partition(" km away (")[2].partition(")")[0] for message in found] == [
        "line l1",
        "streams",
    ]
    assert all(message.startswith("track: wanted a line within 150 km") for message in found)


def test_streams_of_a_whole_region(tmp_path: Path) -> None:
    """A layer of streams may reach as far as it likes when some of it is here."""
    text = (
        'name,track\nfar,"LINESTRING (-95 39, -94 39)"\nhere,"LINESTRING (-105.2 39.75, -105 39)"'
    )
    assert len(good(tmp_path, job=JOB + STREAM, s_csv=text).streams_m) == 2


def test_zones_called_by_long_numbers(tmp_path: Path) -> None:
    """Numbers keep all their figures as names; not a number is none."""
    path = tmp_path / "zones.geojson"
    square = [[[0, 0], [1, 0], [1, 1], [0, 0]]]
    path.write_text(house("Polygon", square, name=1234567), "utf-8")
    assert [zone.name for zone in read_zones(path)] == ["1234567"]
