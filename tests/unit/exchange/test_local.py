"""Local rules, wells and rows' suitability: read as people write them, faults with a place."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from job_folder import ASSETS, JOB, good, messages
from stillwet.domain.suitability import Delivery, LocalRules, Site, Task

LOCAL = """
[local]
ground_buffer = "50 ft"
well_buffer = "30 m"
wind_limit = "20 mph"
approved = ["clear", "Other gel, thick"]
delivery = ["ground", "Helicopter"]
foam_in_equipment = false
"""
WELL = """
[[well]]
latitude = 39.7502
longitude = -105.2
"""


def test_local_rules_in_any_unit(tmp_path: Path) -> None:
    """50 ft is 15.24 m, 20 mph 8.9408 m/s; names may hold commas; words in any case."""
    local = good(tmp_path, job=JOB + LOCAL).local
    assert local.ground_buffer_m == pytest.approx(15.24)
    assert local.well_buffer_m == pytest.approx(30.0)
    assert local.wind_limit_m_s == pytest.approx(8.9408)
    assert local.approved == ("clear", "Other gel, thick")
    assert local.delivery == frozenset({Delivery.GROUND, Delivery.HELICOPTER})
    assert local.foam_in_equipment is False
    assert "job.toml, [local]" in local.basis["ground_buffer"].source


def test_left_out_is_not_known(tmp_path: Path) -> None:
    """Without [local], wells and columns nothing is known, and nothing is taken for leave."""
    job = good(tmp_path)
    assert job.local == LocalRules()
    assert job.wells == ()
    assert {asset.site for asset in job.assets} == {Site()}
    assert job.product.delivery == frozenset()


@pytest.mark.parametrize(
    ("key", "told"),
    [
        ("ground_buffer = 50", "ground_buffer: wanted a unit after the number"),
        ('ground_buffer = "-1 m"', "ground_buffer: wanted 0 to 5000 m, got '-1 m'"),
        ('wind_limit = "20 psi"', "wind_limit: wanted a unit of speed"),
        ('approved = "clear"', "approved: wanted a list of product ids or names"),
        ('approved = ["clear", 7]', "approved: wanted a list of product ids or names"),
        ('approved = [" "]', "approved: wanted a list of product ids or names"),
        ('delivery = ["balloon"]', "delivery: wanted some of ground, helicopter, airplane"),
        ("delivery = [7]", "delivery: wanted words such as"),
        ('foam_in_equipment = "perhaps"', "foam_in_equipment: wanted yes or no"),
        ('ground_bufer = "9 m"', 'did you mean "ground_buffer"?'),
    ],
)
def test_a_faulty_local_rule_is_told(tmp_path: Path, key: str, told: str) -> None:
    """Each fault names its key, what was wanted, what came and the table."""
    (message,) = messages(tmp_path, job=f"{JOB}\n[local]\n{key}\n")
    assert told in message
    assert "job.toml, [local]" in message


def test_faults_come_together(tmp_path: Path) -> None:
    """Two faulty keys and a faulty well are all told at once."""
    text = f"{JOB}\n[local]\nground_buffer = 5\nwind_limit = 5\n[[well]]\nlatitude = 39.7\n"
    found = messages(tmp_path, job=text)
    assert len(found) == 3
    told = (
        "ground_buffer: wanted a unit",
        "wind_limit: wanted a unit",
        "position: wanted latitude",
    )
    for words in told:
        assert sum(words in message for message in found) == 1


def test_wells_in_the_job_file(tmp_path: Path) -> None:
    """A bare position is a well with a name of its own; kind and names are taken where given."""
    cistern = '\n[[well]]\nid = "c"\nname = "Old cistern"\nkind = "Cistern"\n'
    place = "latitude = 39.75\nlongitude = -105.2\n"
    job = good(tmp_path, job=JOB + WELL + cistern + place)
    first, second = job.wells
    assert (first.id, first.kind) == ("well-1", "well")
    assert (second.id, second.name, second.kind) == ("c", "Old cistern", "cistern")
    # 0.0002 degrees of latitude are 22.2 m (111.03 km a degree at 39.75 N on WGS 84)
    assert first.y_m - second.y_m == pytest.approx(22.2, abs=0.1)


def test_wells_from_a_map(tmp_path: Path) -> None:
    """Points of a GeoJSON file are wells where they stand."""
    features = [
        {
            "type": "Feature",
            "properties": {"id": name},
            "geometry": {"type": "Point", "coordinates": [-105.2, latitude]},
        }
        for name, latitude in (("a", 39.75), ("b", 39.76))
    ]
    text = json.dumps({"type": "FeatureCollection", "features": features})
    (tmp_path / "wells.geojson").write_text(text, encoding="utf-8")
    job = good(tmp_path, job=JOB + '\n[wells]\nfile = "wells.geojson"\n')
    assert [well.id for well in job.wells] == ["a", "b"]


def test_two_wells_of_one_id(tmp_path: Path) -> None:
    """Each id once, with both places."""
    (message,) = messages(tmp_path, job=JOB + (WELL + 'id = "w"\n') * 2)
    assert "each well id once" in message


def test_a_well_of_an_unknown_kind(tmp_path: Path) -> None:
    """The kinds are listed."""
    (message,) = messages(tmp_path, job=JOB + WELL + 'kind = "tap"\n')
    assert "kind: wanted one of well, spring, cistern, got 'tap'" in message


def test_columns_of_suitability(tmp_path: Path) -> None:
    """Yes, no and blank are three different things; words in any case and spelling."""
    head = "task,delivery,released,energised,heritage,has_windows,collects_rain"
    rows = [",,,,,,", "Mop up,HELICOPTER,yes,no,yes,no,yes", ",ground,,yes,,,"]
    lines = ASSETS.strip().splitlines()
    text = "\n".join(f"{a},{b}" for a, b in zip(lines, [head, *rows], strict=True))
    house, barn, pole = (asset.site for asset in good(tmp_path, assets=text).assets)
    assert house == Site()
    assert barn == Site(
        task=Task.MOP_UP,
        delivery=Delivery.HELICOPTER,
        release_told=True,
        energised=False,
        heritage=True,
        has_windows=False,
        collects_rain=True,
    )
    assert pole == Site(energised=True)


@pytest.mark.parametrize(
    ("column", "value", "told"),
    [
        ("task", "gardening", "task: wanted one of direct attack, structure"),
        ("delivery", "balloon", "delivery: wanted one of ground, helicopter, airplane"),
        ("heritage", "perhaps", "heritage: wanted yes or no, got 'perhaps'"),
    ],
)
def test_a_faulty_column_is_told(tmp_path: Path, column: str, value: str, told: str) -> None:
    """With the row it stands in."""
    lines = ASSETS.strip().splitlines()
    text = "\n".join([f"{lines[0]},{column}", f"{lines[1]},{value}", *(f"{x}," for x in lines[2:])])
    (message,) = messages(tmp_path, assets=text)
    assert told in message
    assert "assets.csv, row 2" in message


def test_the_label_names_its_deliveries(tmp_path: Path) -> None:
    """A list, or one text with commas; anything else is refused."""
    key = 'type = "superabsorbent_dispersion"'
    for written in ('["ground", "helicopter"]', '"ground, helicopter"'):
        job = good(tmp_path, job=JOB.replace(key, f"{key}\ndelivery = {written}"))
        assert job.product.delivery == {Delivery.GROUND, Delivery.HELICOPTER}
    (message,) = messages(tmp_path, job=JOB.replace(key, f'{key}\ndelivery = "sky"'))
    assert "delivery: wanted some of ground, helicopter, airplane, got 'sky'" in message
