"""Lines out of map files: segments that belong together, stated defaults, and what is refused."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from job_folder import JOB, good, messages
from stillwet.domain.basis import BasisKind
from stillwet.domain.lines import Beginning, Line, LinePurpose, Side, WetSides

WEST, SOUTH, STEP = -105.2, 39.75, 0.001
LINES = JOB + '\n[lines]\nfile = "l.geojson"\n'


def feature(west: int, east: int, /, **known: Any) -> dict[str, Any]:
    """A stretch along a parallel, in steps of about 86 m."""
    line = [[WEST + west * STEP, SOUTH], [WEST + east * STEP, SOUTH]]
    return {
        "type": "Feature",
        "properties": {"width": "12 ft"} | known,
        "geometry": {"type": "LineString", "coordinates": line},
    }


def collection(*features: dict[str, Any]) -> str:
    """The file."""
    return json.dumps({"type": "FeatureCollection", "features": list(features)})


def read(folder: Path, *features: dict[str, Any], job: str = LINES) -> tuple[Line, ...]:
    """The lines of a job that reads without problems."""
    return good(folder, job=job, l_geojson=collection(*features)).lines


def refused(folder: Path, *features: dict[str, Any], job: str = LINES) -> list[str]:
    """The problems of a job that does not."""
    return messages(folder, job=job, l_geojson=collection(*features))


def test_segments_of_one_line(tmp_path: Path) -> None:
    """Two features that name the same line are its segments; the first speaks for the whole."""
    (line,) = read(
        tmp_path,
        feature(
            0,
            1,
            id="a",
            line="l1",
            line_name="North edge",
            purpose="burn line",
            fire_side="right",
            fuel_model="gr2",
            slope="20 deg",
            aspect="SW",
            moisture_herb="90 %",
            coverage="3 gal/100 ft2",
            ignition_pace="60 ft/min",
            wind_from="S",
            wind_to=270,
            wind_limit="12 mph",
            start="2026-08-14T09:00-06:00",
        ),
        feature(1, 2, id="b", line="l1", fuel_model=8, canopy_cover="60 %", bare_width="10 ft"),
    )
    assert (line.id, line.name, line.purpose) == ("l1", "North edge", LinePurpose.BURN)
    assert [segment.id for segment in line.segments] == ["a", "b"]
    first, second = line.segments
    assert first.fuel is not None
    assert second.fuel is not None
    assert (first.fuel.model, second.fuel.model) == ("GR2", "8")
    assert first.fuel.slope_deg == 20.0
    assert first.fuel.moisture_herb == 0.9
    assert first.aspect_deg == 225.0
    assert second.fuel.canopy_cover == 0.6
    assert second.bare_width_m == pytest.approx(3.048)
    work = line.work
    assert (work.fire_side, work.is_lit, work.wet_sides) == (Side.RIGHT, True, WetSides.ONE)
    assert work.coverage_kg_m2 == pytest.approx(3 * 3.785411784 / 9.290304)
    assert work.ignition_pace_m_s == pytest.approx(0.3048)
    assert (work.wind_from_deg, work.wind_to_deg) == (180.0, 270.0)
    assert work.start_s is not None


def test_defaults_are_stated_with_intervals(tmp_path: Path) -> None:
    """What is left out comes from the table of defaults, untested ones with their interval."""
    (line,) = read(tmp_path, feature(0, 1, purpose="slowing strip", fuel_model="GR2"))
    assert line.work.is_lit is False
    assert line.model.extinction_margin == 1.5
    assert line.model.flame_flux_w_m2 == 60e3
    assert line.model.blade_width_m == pytest.approx(0.003)
    assert line.basis["bed_wind"].kind is BasisKind.UNTESTED
    assert (line.basis["bed_wind"].low, line.basis["bed_wind"].high) == (0.2, 1.0)
    (segment,) = line.segments
    assert segment.black_depth_m == pytest.approx(15 * 0.3048)
    assert segment.fuel is not None
    assert segment.fuel.basis["moisture_herb"].kind is BasisKind.UNTESTED


def test_job_defaults_speak_for_every_line(tmp_path: Path) -> None:
    """[lines] defaults stand for what a feature leaves out."""
    job = LINES + 'defaults = { purpose = "burn line", fuel_model = "GR4", ignite = "no" }\n'
    first, second = read(tmp_path, feature(0, 1, id="a"), feature(3, 4, id="b"), job=job)
    assert first.segments[0].fuel is not None
    assert first.segments[0].fuel.model == "GR4"
    assert not second.work.is_lit


def test_a_segment_drawn_the_other_way_is_turned(tmp_path: Path) -> None:
    """The second is drawn from its far end: it is turned, and the job says so."""
    job = good(
        tmp_path,
        job=LINES,
        l_geojson=collection(
            feature(0, 1, id="a", line="l", purpose="burn line"), feature(2, 1, id="b", line="l")
        ),
    )
    (line,) = job.lines
    assert line.length_m == pytest.approx(2 * 85.6, rel=0.01)
    assert any("b: drawn the other way from a, turned" in told for told in job.remarks)


@pytest.mark.parametrize(
    ("known", "words"),
    [
        ({"fuel_model": "GR99"}, "fuel_model: wanted one of 1, 2"),
        ({"fire_side": "north"}, "fire_side: wanted one of left, right, got 'north'"),
        ({"coverage": "60 gal/100ft2"}, "coverage: wanted"),
        ({"ignition_pace": 0.5}, "ignition_pace: wanted a unit after the number"),
        ({"slope": "70 deg"}, "slope: wanted 0 to 45 deg"),
        ({"wind_from": "S"}, "wind_from: wanted both wind_from and wind_to, or neither"),
        ({"ignite": "perhaps"}, "ignite: wanted yes or no, got 'perhaps'"),
        (
            {"start": "2026-08-14T12:00-06:00", "finish": "2026-08-14T11:00-06:00"},
            "finish: wanted a time not before start",
        ),
        ({"bed_wind": "50"}, "bed_wind: wanted"),
    ],
)  # fmt: skip
def test_bad_values_name_field_wanted_and_got(
    tmp_path: Path, known: dict[str, Any], words: str
) -> None:
    """Each usual mistake in a line's attributes is told in the feature it stands in."""
    found = refused(tmp_path, feature(0, 1, **({"purpose": "burn line"} | known)))
    assert any(message.startswith(words) for message in found), found
    assert all("l.geojson" in message for message in found)


def test_two_answers_for_one_line_are_refused(tmp_path: Path) -> None:
    """Segments of one line that name two crews: which one is meant cannot be guessed."""
    (told,) = refused(
        tmp_path,
        feature(0, 1, id="a", line="l", purpose="burn line", crew="e1"),
        feature(1, 2, id="b", line="l", crew="e2"),
    )
    assert told == (
        "crew: wanted one crew for the whole line l, got 'e1' and 'e2' "
        "(l.geojson, feature 1 and l.geojson, feature 2)"
    )


def test_segments_that_do_not_join_are_refused(tmp_path: Path) -> None:
    """A line with a gap of 170 m is two lines."""
    (told,) = refused(
        tmp_path,
        feature(0, 1, id="a", line="l", purpose="burn line"),
        feature(3, 4, id="b", line="l"),
    )
    assert told.startswith("segment: wanted a segment that begins within 15 m of the end of a")


def test_the_same_line_twice_is_refused(tmp_path: Path) -> None:
    """Two lines cannot have one id; segments of one line can share nothing but the line."""
    told = refused(
        tmp_path,
        feature(0, 1, id="a", purpose="burn line"),
        feature(3, 4, id="b", line="a", purpose="burn line"),
    )
    assert any("segment: wanted a segment that begins within" in message for message in told)


def test_a_misspelt_attribute_is_a_problem(tmp_path: Path) -> None:
    """Nothing is passed over: a near miss of a field's name is told."""
    (told,) = refused(tmp_path, feature(0, 1, purpose="burn line", fuel_modle="GR2"))
    assert 'did you mean "fuel_model"?' in told


def test_words(tmp_path: Path) -> None:
    """An existing line wetted on both sides, worked from its last end and lit behind."""
    (line,) = read(
        tmp_path,
        feature(
            0,
            1,
            purpose="Beside an existing line",
            wet_sides="both sides",
            beginning="last end",
            ignite="yes",
        ),
    )
    assert line.work.wet_sides is WetSides.BOTH
    assert line.work.beginning is Beginning.LAST
    assert line.work.is_lit
