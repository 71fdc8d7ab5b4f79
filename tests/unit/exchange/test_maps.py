"""Map files: real footprints in web metres, GeoJSON, parts, holes, lines and streams."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
import shapely

from job_folder import JOB, faults, good, messages, packaged
from stillwet.domain.basis import BasisKind
from stillwet.domain.lines import LinePurpose
from stillwet.exchange.findings import Findings
from stillwet.exchange.footprints import southerly_normal
from stillwet.exchange.ground import choose_ground
from stillwet.exchange.vector import read_gpkg

GEOD = pyproj.Geod(ellps="WGS84")
WEST, SOUTH = -105.2, 39.75


def collection(*features: tuple[dict[str, Any], str, Any], **extra: Any) -> str:
    """GeoJSON of (properties, geometry type, coordinates)."""
    rows = [
        {
            "type": "Feature",
            "properties": known,
            "geometry": {"type": shape, "coordinates": coordinates},
        }
        for known, shape, coordinates in features
    ]
    return json.dumps({"type": "FeatureCollection", "features": rows, **extra})


def ring(west: float, south: float, east_m: float, north_m: float) -> list[list[float]]:
    """A closed rectangle of these metres, by geodesic steps along its two sides."""
    east, _, _ = GEOD.fwd(west, south, 90, east_m)
    _, north, _ = GEOD.fwd(west, south, 0, north_m)
    return [[west, south], [east, south], [east, north], [west, north], [west, south]]


def _job(assets: str = "assets.geojson", more: str = "") -> str:
    return JOB.replace('file = "assets.csv"', f'file = "{assets}"\n{more}')


def _filled(geometry: Any) -> shapely.Polygon:
    """The outer ring of a single polygon or the only part."""
    part = geometry.geoms[0] if geometry.geom_type == "MultiPolygon" else geometry
    return shapely.Polygon(part.exterior)


@pytest.fixture(scope="module")
def bubenec() -> bytes:
    """144 real buildings of a quarter of Prague in EPSG:3857 (open data shipped with momepy)."""
    return packaged("momepy", "datasets", "bubenec.gpkg")


def test_web_metres_become_true_metres(bubenec: bytes, tmp_path: Path) -> None:
    """Footprints kept in EPSG:3857, where lengths at 50 deg N are 1.559 times too long, come out

    with their geodesic areas (pyproj.Geod on the WGS 84 ellipsoid) to the UTM scale of the place.
    """
    job = good(
        tmp_path,
        job=_job(
            "b.gpkg", 'layer = "buildings"\ndefaults = { kind = "house" }\ncolumns = { id = "uID" }'
        )
        .replace("latitude = 39.751", "latitude = 50.1")
        .replace("longitude = -105.199", "longitude = 14.4")
        .replace("latitude = 39.75\n", "latitude = 50.1\n")
        .replace("longitude = -105.2\n", "longitude = 14.4\n")
        .replace("America/Denver", "Europe/Prague"),
        b_gpkg=bubenec,
    )
    assert job.crs == "EPSG:32633"
    table = read_gpkg(bubenec, name="b", key="k", findings=Findings(), layer="buildings")
    true = {
        str(row.values["uID"]): abs(GEOD.geometry_area_perimeter(_filled(row.geometry))[0])
        for row in table.rows
    }
    ours = {a.id: shapely.Polygon(a.footprint_m).area for a in job.assets if a.footprint_m}
    common = sorted(set(true) & set(ours))
    assert len(common) == 144
    ratio = np.array([ours[name] / true[name] for name in common])
    np.testing.assert_allclose(ratio, 1.0, atol=1e-3)  # UTM scale squared, 0.9992 to 1.0008


def test_web_metres_would_be_too_long_if_taken_as_they_are(bubenec: bytes, tmp_path: Path) -> None:
    """The trap itself: raw areas of the file are 1/cos(lat)^2 = 2.43 times the geodesic ones."""
    import pyogrio

    (tmp_path / "b.gpkg").write_bytes(bubenec)
    _, _, shapes, _ = pyogrio.raw.read(tmp_path / "b.gpkg", layer="buildings")
    raw = shapely.area(shapely.from_wkb(shapes)).sum()
    table = read_gpkg(bubenec, name="b", key="k", findings=Findings(), layer="buildings")
    # Signed by winding, so courtyards must run the other way before they are taken off.
    wound = [shapely.orient_polygons(row.geometry) for row in table.rows]
    true = sum(GEOD.geometry_area_perimeter(shape)[0] for shape in wound)
    assert raw / true == pytest.approx(2.43, abs=0.01)


def test_a_geopackage_with_several_layers_asks_which(bubenec: bytes, tmp_path: Path) -> None:
    """Four layers and no choice: the layers are named."""
    found = messages(tmp_path, job=_job("b.gpkg", 'defaults = { kind = "house" }'), b_gpkg=bubenec)
    assert found == [
        "layer: wanted one of tessellation, buildings, streets, plots, got nothing (b.gpkg)"
    ]


def test_a_geojson_rectangle_keeps_its_size_and_faces_along_its_long_side(tmp_path: Path) -> None:
    """A rectangle of 20 x 10 m east-west: length 20, width 10, front to the south, all as drawn."""
    known = {"id": "h1", "kind": "house", "eave_height": "9 ft"}
    asset = good(
        tmp_path,
        job=_job(),
        assets_geojson=collection((known, "Polygon", [ring(WEST, SOUTH, 20, 10)])),
    ).assets[0]
    assert asset.length_m == pytest.approx(20.0, rel=2e-3)
    assert asset.width_m == pytest.approx(10.0, rel=2e-3)
    assert asset.facing_deg == pytest.approx(180.0, abs=1.0)
    assert asset.footprint_m is not None
    assert shapely.LinearRing(asset.footprint_m).is_ccw
    assert len(asset.footprint_m) == 4
    assert asset.basis["length"].source == "assets.geojson, feature 1, drawn"
    assert asset.basis["roof_pitch"].kind is BasisKind.UNTESTED


def test_a_facing_that_is_given_stays(tmp_path: Path) -> None:
    """The drawn long side gives way to a facing in the list."""
    known = {"id": "h1", "kind": "house", "facing": "NE"}
    asset = good(
        tmp_path,
        job=_job(),
        assets_geojson=collection((known, "Polygon", [ring(WEST, SOUTH, 20, 10)])),
    ).assets[0]
    assert asset.facing_deg == 45.0


def test_parts_become_assets_that_share_the_value(tmp_path: Path) -> None:
    """A building of 300 and 100 m2 becomes two assets, a and b, with 3/4 and 1/4 of it."""
    parts = [[ring(WEST, SOUTH, 10, 10)], [ring(WEST + 0.001, SOUTH, 20, 15)]]
    job = good(
        tmp_path,
        job=_job(),
        assets_geojson=collection(
            ({"id": "12", "kind": "barn", "value": 80}, "MultiPolygon", parts)
        ),
    )
    assert [asset.id for asset in job.assets] == ["12a", "12b"]
    assert job.assets[0].value == pytest.approx(60.0, rel=1e-3)
    assert sum(asset.value for asset in job.assets) == pytest.approx(80.0)
    assert "assets.geojson, feature 1: 2 parts, planned as one asset each" in job.remarks


def test_a_hole_is_ignored_and_said(tmp_path: Path) -> None:
    """A courtyard does not change the outer walls."""
    rings = [ring(WEST, SOUTH, 20, 20), ring(WEST + 5e-5, SOUTH + 5e-5, 5, 5)]
    job = good(
        tmp_path,
        job=_job(),
        assets_geojson=collection(({"id": "1", "kind": "house"}, "Polygon", rings)),
    )
    assert shapely.Polygon(job.assets[0].footprint_m).area == pytest.approx(400, rel=2e-3)
    assert "assets.geojson, feature 1: 1 hole(s) in the footprint ignored" in job.remarks


def test_a_drawn_fence_has_the_length_of_its_line(tmp_path: Path) -> None:
    """A fence of 40 m drawn to the east looks south and is as long as it was drawn."""
    east, _, _ = GEOD.fwd(WEST, SOUTH, 90, 40)
    line = [[WEST, SOUTH], [east, SOUTH]]
    known = {"id": "f1", "kind": "fence", "eave_height": "5 ft"}
    asset = good(
        tmp_path, job=_job(), assets_geojson=collection((known, "LineString", line))
    ).assets[0]
    assert asset.length_m == pytest.approx(40.0, rel=2e-3)
    assert asset.facing_deg == pytest.approx(180.0, abs=1.0)
    assert asset.footprint_m is None


def test_a_house_drawn_as_a_line_is_refused(tmp_path: Path) -> None:
    """A line has no walls."""
    line = [[WEST, SOUTH], [WEST + 0.001, SOUTH]]
    found = messages(
        tmp_path,
        job=_job(),
        assets_geojson=collection(({"id": "h", "kind": "house"}, "LineString", line)),
    )
    assert found == [
        "geometry: wanted a point or polygon for a house, got LineString "
        "(assets.geojson, feature 1)"
    ]


def test_geojson_in_metres_is_refused(tmp_path: Path) -> None:
    """GeoJSON is longitude and latitude by RFC 7946; projected metres are named as such."""
    rows = collection(({"id": "h", "kind": "house"}, "Point", [483000.0, 4400000.0]))
    (message,) = messages(tmp_path, job=_job(), assets_geojson=rows)
    assert "are these metres of a projection?" in message
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::3857"}}
    rows = collection(({"id": "h", "kind": "house"}, "Point", [WEST, SOUTH]), crs=crs)
    (problem,) = faults(tmp_path, job=_job(), assets_geojson=rows)
    assert problem.field == "crs"
    assert problem.wanted == "longitude and latitude in WGS 84 (RFC 7946)"


def test_broken_json_names_its_line(tmp_path: Path) -> None:
    """A GeoJSON file cut short is found by line."""
    (message,) = messages(tmp_path, job=_job(), assets_geojson='{"type":\n "FeatureCollection",\n')
    assert message.startswith("[assets] file: wanted JSON text, got ")
    assert message.endswith("(assets.geojson, line 3)")


def test_x_and_y_of_a_stated_crs_agree_with_degrees(tmp_path: Path) -> None:
    """The same pole given in UTM 13N metres and in degrees stands on the same spot."""
    x, y = pyproj.Transformer.from_crs(4326, 32613, always_xy=True).transform(WEST, SOUTH)
    csv_text = f"id,kind,x,y\np1,pole,{x:.3f},{y:.3f}\n"
    placed = good(tmp_path, job=_job("assets.csv", 'crs = "EPSG:32613"'), assets=csv_text).assets[0]
    assert (placed.x_m, placed.y_m) == pytest.approx((x, y), abs=0.01)
    (problem,) = faults(tmp_path, assets=csv_text)
    assert (problem.wanted, problem.got) == ("the crs of x and y", "no crs")


def test_utm_zone_and_metres_of_a_known_tower() -> None:
    """43 38 33.24 N, 79 23 13.7 W is UTM 17N 630 084 m E, 4 833 438 m N (textbook example of the

    UTM article in general encyclopaedias, from memory).
    """
    longitude, latitude = -(79 + 23 / 60 + 13.7 / 3600), 43 + 38 / 60 + 33.24 / 3600
    ground = choose_ground([("a", longitude, latitude)])
    assert ground.crs == "EPSG:32617"
    assert ground.point(longitude, latitude) == pytest.approx((630_084, 4_833_438), abs=1.0)


def test_southern_zone() -> None:
    """A job in the southern half of the earth gets a southern zone."""
    assert choose_ground([("a", 149.1, -35.3)]).crs == "EPSG:32755"


def test_of_two_sides_the_front_is_the_more_southerly() -> None:
    """A long side that runs north-east looks south-east, one that runs north looks east."""
    assert southerly_normal(1, 1) == pytest.approx(135.0)
    assert southerly_normal(-1, -1) == pytest.approx(135.0)
    assert southerly_normal(0, 1) == pytest.approx(90.0)
    assert southerly_normal(math.sqrt(3), -1) == pytest.approx(210.0)


def test_lines_and_streams(tmp_path: Path) -> None:
    """A control line and a stream are read in the job's metres; a pond counts by its edge."""
    line = [[WEST, SOUTH], [WEST + 0.002, SOUTH]]
    known = {"id": "l1", "name": "North edge", "purpose": "Burn line", "width": "12 ft"}
    job = good(
        tmp_path,
        job=JOB + '\n[lines]\nfile = "l.geojson"\n[streams]\nfile = "s.geojson"\n',
        l_geojson=collection((known, "LineString", line)),
        s_geojson=collection(
            ({}, "LineString", line), ({}, "Polygon", [ring(WEST, SOUTH, 10, 10)])
        ),
    )
    (wet,) = job.lines
    assert wet.purpose is LinePurpose.BURN
    assert wet.segments[0].width_m == pytest.approx(12 * 0.3048)
    _, _, length = GEOD.inv(*line[0], *line[1])
    assert math.dist(*wet.track_m) == pytest.approx(length, rel=1e-3)
    assert [len(stream) for stream in job.streams_m] == [2, 5]


def test_a_line_without_width_or_purpose_is_refused(tmp_path: Path) -> None:
    """Width and purpose have no defaults: both are asked for, in their feature."""
    line = [[WEST, SOUTH], [WEST + 0.002, SOUTH]]
    found = faults(
        tmp_path,
        job=JOB + '\n[lines]\nfile = "l.geojson"\n',
        l_geojson=collection(({"id": "l1"}, "LineString", line)),
    )
    assert [(p.field, p.place) for p in found] == [
        ("width", "l.geojson, feature 1"),
        ("purpose", "l.geojson, feature 1"),
    ]


def test_footprint_as_text_in_a_table(tmp_path: Path) -> None:
    """Well-known text (OGC simple features) in a CSV column is a footprint too."""
    corners = ", ".join(f"{x} {y}" for x, y in ring(WEST, SOUTH, 20, 10))
    with (tmp_path / "w.csv").open("w", newline="") as handle:
        writer = csv.writer(handle)
        writer.writerows([["id", "kind", "footprint"], ["h1", "house", f"POLYGON(({corners}))"]])
    job = good(tmp_path, job=_job("w.csv"))
    assert job.assets[0].length_m == pytest.approx(20, rel=2e-3)
