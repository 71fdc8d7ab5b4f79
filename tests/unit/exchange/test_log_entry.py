"""Entries of the field log from words and JSON: any unit, clear problems, nothing lost."""

from __future__ import annotations

import json
from dataclasses import fields
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings

from log_strategies import ENTRIES
from stillwet.domain.log import KINDS, CoatChecked, CoatLaid, Entry, Feel, WeatherSeen
from stillwet.errors import StillwetError
from stillwet.exchange.clock import Clock
from stillwet.exchange.log_entry import Here, entry_to_json, read_entry
from stillwet.exchange.log_fields import TELLS, Places

NOW_S = 1_786_716_000.0  # 2026-08-14 08:00 in Denver
ZONE = Clock(ZoneInfo("America/Denver"), "America/Denver")
ANYWHERE = Here(NOW_S, ZONE)
PLACES = Places(
    {"a1": ("a1/north-wall", "a1/roof"), "a2": ("a2/east-side",)},
    {"a1": "Farmhouse", "a2": "Shed"},
    ("c1",),
    ("l1/s1", "l1/s2", "l2/s1"),
)
HERE = Here(NOW_S, ZONE, PLACES)
HEAD: dict[str, object] = {"id": "00000000-0000-4000-8000-000000000001", "by": "Ash"}


def told(kind: str, **words: object) -> Entry:
    """The entry that words tell."""
    return read_entry({**HEAD, "kind": kind, **words}, HERE)


def problems(kind: str, **words: object) -> str:
    """What is wrong with words."""
    with pytest.raises(StillwetError) as caught:
        told(kind, **words)
    return str(caught.value)


@settings(max_examples=300, deadline=None)
@given(ENTRIES)
def test_json_and_back(entry: Entry) -> None:
    """Any entry written as JSON text and read back is equal, to the last digit."""
    text = json.dumps(entry_to_json(entry, ZONE), allow_nan=False)
    assert read_entry(json.loads(text), ANYWHERE) == entry


def test_every_field_of_every_kind_can_be_told() -> None:
    """The table of words leaves out no field of a record, but a coat's weather, told beside it."""
    for kind, record in KINDS.items():
        attributes = {one.attribute for one in TELLS[kind]}
        assert attributes == {item.name for item in fields(record)} - {"seen"}, kind


@pytest.mark.parametrize(
    "kind", [kind for kind in KINDS if kind not in ("withdrawn", "coat", "check")]
)
def test_the_examples_of_the_table_are_read(kind: str) -> None:
    """Each kind's own examples make an entry."""
    entry = told(kind, **{one.word: one.example for one in TELLS[kind]})
    assert entry.kind == kind


def test_segment_by_its_whole_id_or_its_own_part() -> None:
    """A part alone will do where only one line has it; one that two have is asked for whole."""
    assert told("lit", segment="s2").body == told("lit", segment="l1/s2").body
    assert "wanted a segment of the job's lines: l1/s1, l1/s2" in problems("lit", segment="s1")
    assert "up_to: wanted" in problems("wetted", segment="l1/s1", up_to="a bit")


def test_units_in_any_form() -> None:
    """One coat and one weather told in US, metric and SI words are the same."""
    us = told(
        "coat", faces="a1/roof", coat="1/8 in", ratio="1.5 %", temperature="86 F", wind="5 mph"
    )
    metric = told(
        "coat",
        faces="a1/roof",
        coat="3.175 mm",
        ratio="0.015",
        temperature="30 C",
        wind="8.04672 km/h",
    )
    plain = told(
        "coat",
        surface_ids=["a1/roof"],
        coat_kg_m2=3.175,
        ratio=0.015,
        seen={"air_temperature_k": 303.15, "wind_speed_m_s": 2.2352},
    )
    for entry in (us, metric, plain):
        assert isinstance(entry.body, CoatLaid)
        assert entry.body.coat_kg_m2 == pytest.approx(3.175)
        assert entry.body.ratio == pytest.approx(0.015)
        assert entry.body.seen is not None
        assert entry.body.seen.air_temperature_k == pytest.approx(303.15)
        assert entry.body.seen.wind_speed_m_s == pytest.approx(2.2352)


def test_an_asset_stands_for_its_faces() -> None:
    """By id or by name; a face named twice counts once."""
    entry = told("coat", faces="farmhouse, a1/roof, a2")
    assert isinstance(entry.body, CoatLaid)
    assert entry.body.surface_ids == ("a1/north-wall", "a1/roof", "a2/east-side")
    check = told("check", face="a2", feel="Tacky")
    assert check.body == CoatChecked("a2/east-side", Feel.TACKY)
    assert told("weather", humidity="22 %").body == WeatherSeen(relative_humidity=0.22)


@pytest.mark.parametrize(
    ("when", "back_s"),
    [
        ("now", 0.0),
        ("20 min ago", 1200.0),
        ("1.5 h ago", 5400.0),
        ("07:45", 900.0),
        ("08:30", 84600.0),  # not yet today, so yesterday
        ("2026-08-14T07:00", 3600.0),
        ("2026-08-14T14:00Z", 0.0),
    ],
)
def test_when(when: str, back_s: float) -> None:
    """Moments in words, in the job's zone."""
    assert told("fire", asset="a1", when=when).when_s == NOW_S - back_s


@pytest.mark.parametrize(
    ("kind", "words", "message"),
    [
        ("coat", {}, 'faces: wanted it, such as faces="a1/north-wall, a2", got none'),
        ("coat", {"faces": "a9"}, "faces: wanted an asset of the job: a1, a2, got 'a9'"),
        ("coat", {"faces": "a1/rof"}, 'did you mean "a1/roof"?'),
        ("coat", {"faces": "a1", "coat": "3"}, "coat: wanted a unit after the number"),
        ("coat", {"faces": "a1", "coat": "3 gal"}, "coat: wanted a unit of water_depth"),
        ("coat", {"faces": "a1", "coat": "90 mm"}, "coat: wanted 0.05 to 50 mm"),
        ("coat", {"faces": "a1", "coat": "3 mm", "mix": "9 gal"}, "got both"),
        ("coat", {"faces": "a1", "coat": "3 mm", "coat_kg_m2": 3.0}, "coat: wanted it once"),
        ("coat", {"faces": "a1", "crew": "c2"}, "crew: wanted a crew of the job: c1"),
        ("check", {"face": "a1", "feel": "wet"}, "face: wanted one face"),
        ("check", {"face": "a2", "feel": "damp"}, "feel: wanted wet, tacky, dry, got 'damp'"),
        ("check", {"face": "a2"}, "check: wanted a feel, a weight or a photo"),
        ("check", {"face": "a2", "feal": "wet"}, 'did you mean "feel"?'),
        ("weather", {"rain": "maybe"}, "rain: wanted yes or no"),
        ("fire", {"asset": "a1", "when": "noon"}, "when: wanted a time such as 14:30"),
        ("fire", {"asset": "a1", "when": "25:00"}, "when: wanted a time such as 14:30"),
        ("fire", {"asset": "a1", "id": "7"}, "id: wanted a UUID in lower case, got '7'"),
        ("fire", {"asset": "a1", "when_s": True}, "when_s: wanted epoch seconds"),
        ("fire", {"asset": ["a1"]}, "asset: wanted a text"),
        ("withdrawn", {}, "replaces: wanted the entry to withdraw"),
        ("coatt", {}, 'did you mean "coat"?'),
    ],
)
def test_problems_are_told(kind: str, words: dict[str, object], message: str) -> None:
    """Field, wanted, got, and the word that was meant."""
    assert message in problems(kind, **words)


def test_all_problems_are_told_together() -> None:
    """Three faults in one entry are three problems."""
    with pytest.raises(StillwetError) as caught:
        read_entry({"kind": "coat", "faces": "a9", "coat": "3", "by": "Ash"}, HERE)
    assert [problem.field for problem in caught.value.problems] == ["faces", "coat", "id"]


@pytest.mark.parametrize("raw", [None, 3, "text", [], {"kind": None}, {"kind": {}}])
def test_what_is_no_entry_is_told(raw: object) -> None:
    """Plain data of any other shape is a problem, not a crash."""
    with pytest.raises(StillwetError, match="wanted"):
        read_entry(raw, HERE)
