"""The ground under the maps: who gets its pictures, which, and what cannot be had through it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pyproj
import pytest
from starlette.testclient import TestClient

from stillwet.services.ground import open_ground
from stillwet.web.app import make_app
from tiles_fixture import GREEN, RED, make_png, write_mbtiles, write_pmtiles
from web_fixture import HOST, ORIGIN, kept_yard, make_house, make_test_client

SPOT = (2, 1, 1)
BASE, SLOPES = make_png(GREEN, 8), make_png(RED, 8)
MARKUP = '<img src=x onerror="alert(1)">Invented <b>survey</b>'


@pytest.fixture
def ground(tmp_path: Path) -> Iterator[TestClient]:
    """The app with a base map and a hillshade; one tile of it is no picture."""
    tiles = {SPOT: BASE, (2, 2, 1): b"<svg xmlns='http://www.w3.org/2000/svg'/>"}
    base = write_mbtiles(
        tmp_path / "base.mbtiles", tiles, bounds="-90,0,80,60", attribution=MARKUP, name=MARKUP
    )
    slopes = write_pmtiles(tmp_path / "slopes.pmtiles", {SPOT: SLOPES})
    house = make_house(kept_yard(tmp_path), ground=open_ground(base, slopes))
    with TestClient(make_app(house), ORIGIN, client=("127.0.0.1", 50000)) as made:
        yield made


def test_layers_are_told_from_below_in_plain_words(ground: TestClient) -> None:
    """Names and credits as the files have them, without their markup."""
    base, slopes = ground.get("/api/ground").json()["layers"]
    assert (base["id"], slopes["id"]) == ("base-map", "hillshade")
    assert base["credit"] == base["name"] == "Invented survey"
    assert base["bounds_deg"] == [-90, 0, 80, 60]
    assert (slopes["min_zoom"], slopes["max_zoom"]) == (2, 2)
    assert base["version"] != slopes["version"]


def test_without_files_there_is_no_ground(client: TestClient) -> None:
    """No layer, and no picture of any."""
    assert client.get("/api/ground").json() == {"layers": []}
    assert client.get("/tiles/base-map/2/1/1").status_code == 404


def test_pictures_come_with_their_own_type(ground: TestClient) -> None:
    """The bytes that were put into the file, typed by what they are, never guessed at again."""
    for layer, raw in (("base-map", BASE), ("hillshade", SLOPES)):
        answer = ground.get(f"/tiles/{layer}/2/1/1")
        assert (answer.status_code, answer.content) == (200, raw)
        assert answer.headers["content-type"] == "image/png"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cache-control"] == "no-cache"
        assert "img-src 'self' data: blob:" in answer.headers["content-security-policy"]


def test_pictures_may_be_kept_by_their_version_only(ground: TestClient) -> None:
    """An address with the file's version may be kept by its reader alone; another may not."""
    version = ground.get("/api/ground").json()["layers"][0]["version"]
    kept = ground.get(f"/tiles/base-map/2/1/1?v={version}").headers["cache-control"]
    assert kept == "private, max-age=604800, immutable"
    assert ground.get("/tiles/base-map/2/1/1?v=old").headers["cache-control"] == "no-cache"


def test_nothing_comes_from_where_there_is_nothing(ground: TestClient) -> None:
    """Outside the bounds, in a hole, at another zoom, off the world: 204 and no byte."""
    for spot in ("2/0/1", "2/1/0", "2/1/2", "3/2/2", "0/0/0", "2/4/1", "31/0/0", "2/1/99999"):
        answer = ground.get(f"/tiles/base-map/{spot}")
        assert (answer.status_code, answer.content) == (204, b""), spot


def test_what_is_no_picture_is_never_handed_out(ground: TestClient) -> None:
    """A tile of markup is refused in words."""
    answer = ground.get("/tiles/base-map/2/2/1")
    assert answer.status_code == 400
    assert answer.headers["content-type"] == "application/json"
    assert answer.json()["problems"][0]["wanted"] == "a picture (PNG, JPEG or WebP)"


@pytest.mark.parametrize(
    "path",
    [
        "/tiles/day.gpkg/2/1/1",
        "/tiles/../day.gpkg",
        "/tiles/base-map/..%2f..%2fday.gpkg",
        "/tiles/base-map/2/1/../../../../etc/passwd",
        "/tiles/base-map/2/1/%2e%2e",
        "/tiles/base-map/2/1/-1",
        "/tiles/base-map/2/1/1.5",
        "/tiles/base-map/2/1/01",
        "/tiles/base-map/2/1/1%20OR%201=1",
        "/tiles/base-map/2/1/\u0661",
        "/tiles/base-map/2/1/99999999999999999999",
        "/tiles/base-map/2/1",
    ],
)
def test_no_address_of_a_tile_leads_elsewhere(ground: TestClient, path: str) -> None:
    """Names of files, steps up, signs, other digits, SQL: nothing of it is a tile."""
    answer = ground.get(path)
    assert answer.status_code in (400, 404)
    assert b"PNG" not in answer.content[:8]


def test_a_stranger_gets_no_tile(tmp_path: Path) -> None:
    """From the network, before joining: refused, and not told whether there is such a layer."""
    with make_test_client(kept_yard(tmp_path), client="192.0.2.7") as stranger:
        told = [stranger.get(f"/tiles/{one}/0/0/0") for one in ("base-map", "other")]
    assert {one.status_code for one in told} == {401}
    assert told[0].json() == told[1].json()


def test_pages_of_other_sites_get_no_tile(ground: TestClient) -> None:
    """Not as a picture of another site, and not under another name of this machine."""
    other = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors", "host": HOST}
    assert ground.get("/tiles/base-map/2/1/1", headers=other).status_code == 403
    assert ground.get("/tiles/base-map/2/1/1", headers={"host": "x.invalid"}).status_code == 421


def test_a_file_that_goes_away_is_told(ground: TestClient) -> None:
    """The stick is pulled out: words, no traceback, and the rest of the app goes on."""
    house = ground.app.state.house  # type: ignore[attr-defined]
    house.ground.close()
    for layer in ("base-map", "hillshade"):
        answer = ground.get(f"/tiles/{layer}/2/1/1")
        assert answer.status_code == 400
        assert "can be read" in answer.json()["problems"][0]["wanted"]
    assert ground.get("/api/job").status_code == 200


def test_places_of_the_job_in_degrees(client: TestClient) -> None:
    """Outside check: the geodesic length of each side of the outline by PROJ is that in metres.

    UTM's scale is 0.9996 on the middle of a zone and grows off it; the yard's corner lies at
    easting 0, where it is 1.0027 (Snyder, USGS Professional Paper 1395, eq. 8-11).
    """
    asset = client.get("/api/job").json()["assets"][0]
    ring_m, ring_deg = asset["outline_m"], asset["outline_deg"]
    assert len(ring_m) == len(ring_deg) == 4
    geod = pyproj.Geod(ellps="WGS84")
    for n in range(4):
        (x0, y0), (x1, y1) = ring_m[n - 1], ring_m[n]
        _, _, apart_m = geod.inv(*ring_deg[n - 1], *ring_deg[n])
        assert apart_m * 1.0027 == pytest.approx(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, rel=5e-4)
    assert asset["at_deg"][0] == pytest.approx(-115.5, abs=0.1)  # west of the zone's edge, -114
