"""Readers of the crews' day: places, shifts, needs, depots, roads, and how the day stands."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from job_folder import ASSETS, JOB, good, messages
from stillwet.errors import StillwetError
from stillwet.exchange.crew_status import read_crew_status
from stillwet.exchange.job_file import read_job
from stillwet.units import to_si

CREW = """[[crew]]
id = "e1"
tank = "750 gal"
spray_flow = "30 gal/min"
"""
DAY = (
    CREW
    + """latitude = 39.7505
longitude = -105.2005
shift_from = "2026-08-14T09:00"
shift_to = "2026-08-14T21:00"
capabilities = ["Ladder", "long hose"]
water = "700 gal"
concentrate = "20 gal"
concentrate_room = "30 gal"

[[depot]]
id = "d1"
name = "Trailer"
latitude = 39.752
longitude = -105.2
stock = "40 gal"
"""
)
NEEDY = ASSETS.replace("value\n", "value,must,needs\n").replace(
    ",100\n", ",100,yes,ladder; long-hose\n"
)


def _roads(*properties: dict[str, object]) -> str:
    line = [[-105.2, 39.75], [-105.201, 39.751]]
    features = [
        {
            "type": "Feature",
            "properties": known,
            "geometry": {"type": "LineString", "coordinates": line},
        }
        for known in properties
    ]
    return json.dumps({"type": "FeatureCollection", "features": features})


def test_a_crews_day_is_read_whole(tmp_path: Path) -> None:
    """Place in the job's CRS near the assets, shift in the job's zone, words in lower case."""
    job = good(tmp_path, job=JOB.replace(CREW, DAY))
    (crew,) = job.crews
    assert crew.start_m == pytest.approx((job.assets[0].x_m, job.assets[0].y_m), abs=100.0)
    assert crew.shift_from_s == job.start_s + 3600.0
    assert crew.shift_to_s == job.start_s + 13 * 3600.0
    assert crew.capabilities == {"ladder", "long hose"}
    assert crew.water_m3 == pytest.approx(to_si(700.0, "gal", dimension="volume"))
    assert crew.concentrate_room_m3 == pytest.approx(to_si(30.0, "gal", dimension="volume"))
    (depot,) = job.depots
    assert depot.stock_m3 == pytest.approx(to_si(40.0, "gal", dimension="volume"))
    assert depot.load_s == 600.0
    assert depot.basis["load_time"].kind.value == "untested default"


def test_what_is_left_out_stays_open(tmp_path: Path) -> None:
    """A crew that says nothing of its day has no place, shift or load; a fill has its defaults."""
    job = good(tmp_path)
    crew, point = job.crews[0], job.water_points[0]
    assert (crew.start_m, crew.shift_from_s, crew.water_m3, crew.concentrate_m3) == (None,) * 4
    assert crew.capabilities == frozenset()
    assert (point.hookup_s, point.places) == (240.0, 1)
    assert not any(asset.must or asset.needs for asset in job.assets)


def test_musts_and_needs_of_assets(tmp_path: Path) -> None:
    """A table's cell holds several words; hyphens and case do not matter."""
    job = good(tmp_path, assets=NEEDY)
    assert job.assets[0].must
    assert job.assets[0].needs == {"ladder", "long hose"}
    assert not job.assets[1].must


def test_roads_with_speeds_directions_and_closures(tmp_path: Path) -> None:
    """Closed roads are left out and told; speed and one-way are kept."""
    job = JOB + '\n[roads]\nfile = "roads.geojson"\n'
    roads = _roads({"road_speed": "25 mph", "one_way": "yes"}, {"closed": "yes"}, {})
    read = good(tmp_path, job=job, roads_geojson=roads)
    first, second = read.roads
    assert first.speed_m_s == pytest.approx(to_si(25.0, "mph", dimension="speed"))
    assert first.one_way
    assert second.speed_m_s is None
    assert any("1 closed road" in remark for remark in read.remarks)


@pytest.mark.parametrize(
    ("changed", "wanted"),
    [
        (DAY.replace("21:00", "08:00"), "shift"),
        (DAY.replace('"700 gal"', '"800 gal"'), "water"),
        (DAY.replace("39.7505", "139.7505"), "latitude"),
        (DAY.replace('["Ladder", "long hose"]', "[1]"), "capabilities"),
        (DAY.replace('stock = "40 gal"\n', ""), "stock"),
    ],
)
def test_faults_of_the_day_are_named(tmp_path: Path, changed: str, wanted: str) -> None:
    """A shift that ends before it starts, more water than the tank holds, and their like."""
    assert any(wanted in told for told in messages(tmp_path, job=JOB.replace(CREW, changed)))


# --- how the day stands ---------------------------------------------------------------------------

STEP = {
    "kind": "coat",
    "visit_id": "h1",
    "place_id": "h1",
    "part": 1,
    "parts": 1,
    "x_m": 1.0,
    "y_m": 2.0,
    "finish": "2026-08-14T10:00:00-06:00",
    "tank_after_m3": 0.5,
    "concentrate_m3": 0.01,
    "faces": [{"surface_id": "f", "share_fraction": 1.0, "starts": "2026-08-14T09:40:00-06:00"}],
}
LOAD = {
    "kind": "load concentrate",
    "visit_id": "d1",
    "place_id": "d1",
    "finish": "2026-08-14T09:30:00-06:00",
    "amount_m3": 0.04,
}
OLD = {"schema": "stillwet.crews/1", "crews": [{"crew_id": "e1", "steps": [LOAD, STEP]}]}
STATUS = """now = "2026-08-14T10:30"
[[done]]
asset = "First house"
crew = "e1"
time = "2026-08-14T10:05"
[[crew]]
id = "e1"
at = "w1"
water = "100 gal"
free = "2026-08-14T10:40"
"""


def _write(folder: Path, name: str, text: str, old: object = OLD) -> Path:
    (folder / "crews.json").write_text(json.dumps(old))
    (folder / name).write_text(text)
    return folder / name


def test_the_day_so_far_from_toml(tmp_path: Path) -> None:
    """Assets by name or id, a crew at a water point, times in the job's zone, the old orders."""
    job = good(tmp_path)
    status = read_crew_status(_write(tmp_path, "status.toml", STATUS), job)
    assert status.now_s == job.start_s + 2.5 * 3600.0
    assert [(d.asset_id, d.crew_id, d.part) for d in status.done] == [("h1", "e1", None)]
    (state,) = status.crews
    point = job.water_points[0]
    assert state.at_m == (point.x_m, point.y_m)
    assert state.free_s == status.now_s + 600.0
    (visit,) = status.orders["e1"]
    assert visit.finish_s - visit.faces[0].starts_s == 1200.0
    (load,) = status.loads["e1"]
    assert (load.depot_id, load.amount_m3) == ("d1", 0.04)
    assert visit.finish_s - load.finish_s == 1800.0


def test_the_day_so_far_from_csv(tmp_path: Path) -> None:
    """A plain list of asset, time and crew is enough; now is then for the caller to say."""
    job = good(tmp_path)
    path = _write(tmp_path, "done.csv", "asset,time,crew\nh1,2026-08-14 10:05,e1\n")
    status = read_crew_status(path, job)
    assert status.now_s is None
    assert status.crews == ()
    assert status.done[0].time_s == job.start_s + 125 * 60.0


def test_a_place_by_longitude_and_latitude(tmp_path: Path) -> None:
    """A crew's place in degrees comes out where the readers put an asset of the same degrees."""
    job = good(tmp_path)
    text = STATUS.replace('at = "w1"', "latitude = 39.75\nlongitude = -105.2")
    (state,) = read_crew_status(_write(tmp_path, "status.toml", text), job).crews
    assert state.at_m == pytest.approx((job.assets[0].x_m, job.assets[0].y_m), abs=1e-3)


def test_faults_of_the_status_come_together(tmp_path: Path) -> None:
    """An unknown asset, crew, place and key are told in one list, with the nearest name."""
    job = good(tmp_path)
    text = STATUS.replace("First house", "First hose").replace('"w1"', '"w9"')
    text = text.replace('id = "e1"', 'id = "e7"').replace("free =", "fre =")
    with pytest.raises(StillwetError) as caught:
        read_crew_status(_write(tmp_path, "status.toml", text), job)
    told = [str(problem) for problem in caught.value.problems]
    for words in ("First hose", "e7", "w9", "fre"):
        assert any(words in line for line in told), words
    assert any('did you mean "First house"?' in line for line in told)


@pytest.mark.parametrize("old", [{}, [], {"schema": "stillwet.crews/1", "crews": [{}]}])
def test_something_else_than_a_crew_plan_is_refused(tmp_path: Path, old: object) -> None:
    """The plan before has to be the crews.json of this program."""
    job = good(tmp_path)
    with pytest.raises(StillwetError, match=r"crews\.json of an earlier crew plan"):
        read_crew_status(_write(tmp_path, "status.toml", STATUS, old), job)


def test_the_examples_of_the_page_read(tmp_path: Path) -> None:
    """Both status files of docs/how-to/crew_day.md read with the demo job, and say the same."""
    root = Path(__file__).parents[3]
    page = (root / "docs" / "how-to" / "crew_day.md").read_text(encoding="utf-8")
    job, problems = read_job(root / "src" / "stillwet" / "data" / "demo" / "job.toml")
    assert problems == ()
    assert job is not None
    found = []
    for name, text in re.findall(r'```\w+ title="([^"]+)"\n(.*?)```', page, re.DOTALL):
        found.append(read_crew_status(_write(tmp_path, name, text), job))
    table, toml = found
    assert table.done == toml.done
    assert [state.out for state in toml.crews] == [False, True]


STANDS = '[[crew]]\nid = "e1"\nlatitude = 39.75\nlongitude = {east}\n'


def _status_fault(folder: Path, text: str, old: object = OLD) -> str:
    """What is said of a status that must be refused."""
    job = good(folder)
    with pytest.raises(StillwetError) as caught:
        read_crew_status(_write(folder, "now.toml", text, old), job)
    return str(caught.value)


def test_a_crew_that_stands_on_the_other_side(tmp_path: Path) -> None:
    """A missing minus in the status is told as it is in the job."""
    found = _status_fault(tmp_path, STANDS.format(east="105.2"))
    assert found.startswith("position: wanted a place within 150 km of the assets")
    assert "(crew e1); is a minus missing" in found


def test_a_crew_told_of_twice(tmp_path: Path) -> None:
    """Two accounts of one crew are told; which one counted was chance."""
    found = _status_fault(tmp_path, 2 * STANDS.format(east="-105.2"))
    assert found.startswith("id: wanted each crew id once, got 'e1' 2 times")


@pytest.mark.parametrize("odd", [{"part": float("inf")}, {"finish": "2026-08-14T12:00"}])
def test_an_old_plan_with_odd_values(tmp_path: Path, odd: dict[str, object]) -> None:
    """Infinity is no number of a part, and a moment without a zone would be this machine's."""
    old = {**OLD, "crews": [{"crew_id": "e1", "steps": [{**STEP, **odd}]}]}
    found = _status_fault(tmp_path, STATUS, old)
    assert found.startswith("plan: wanted the crews.json of an earlier crew plan")
