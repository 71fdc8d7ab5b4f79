"""The starter job: dated for tomorrow, planning as it is, and never written over something."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stillwet.errors import StillwetError
from stillwet.services.planning import read_whole_job
from stillwet.services.starter import write_starter

NOW_S = datetime(2029, 12, 31, 18, 0, tzinfo=UTC).timestamp()


def test_starter_reads_without_a_problem_and_is_for_tomorrow(tmp_path: Path) -> None:
    """The job reads as it is; its start is the next local day, at nine in UTC-7."""
    job = read_whole_job(write_starter(tmp_path / "job", now_s=NOW_S))
    assert datetime.fromtimestamp(job.start_s, UTC) == datetime(2030, 1, 1, 16, 0, tzinfo=UTC)
    assert {asset.kind for asset in job.assets} == {"house", "shed", "pole"}


@pytest.mark.parametrize("units", ["us", "metric"])
def test_starter_is_written_in_the_units_asked_for(tmp_path: Path, units: str) -> None:
    """Its job is shown in them, a metric one holds no US unit, and both are the same job."""
    job = read_whole_job(write_starter(tmp_path / "job", now_s=NOW_S, units=units))
    usual = read_whole_job(write_starter(tmp_path / "usual", now_s=NOW_S))
    assert (job.units, usual.units) == (units, "us")
    texts = [path.read_text(encoding="utf-8") for path in (tmp_path / "job").iterdir()]
    values = [value for text in texts for value in re.findall(r'= "([^"]+)"', text)]
    us = [value for value in values if re.search(r"\d (?:gal|ft|in|F|lb|ch)\b|mph", value)]
    assert bool(us) == (units == "us")
    warm = [each.weather.air_temperature_k.mean() for each in (job, usual)]
    assert warm[0] == pytest.approx(warm[1], abs=0.3)  # whole degrees in either file
    assert job.crews[0].tank_m3 == pytest.approx(usual.crews[0].tank_m3, rel=0.06)  # round tanks


_EXAMPLE = re.compile(r"^# (?=\[|\w+ = )", re.MULTILINE)
# What names a file or a column that the user has yet to bring.
_TO_BRING = re.compile(r"^# (?:columns = |\[trials\]|file = \"trials).*$", re.MULTILINE)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_example_in_a_comment_reads_once_it_is_taken_out(tmp_path: Path, units: str) -> None:
    """With the comment signs gone there are streams, a well, local rules, a shift, a flame."""
    path = write_starter(tmp_path / "job", now_s=NOW_S, units=units)
    for file in path.parent.glob("*.toml"):
        text = _TO_BRING.sub("#", file.read_text(encoding="utf-8"))
        file.write_text(_EXAMPLE.sub("", text), encoding="utf-8")
    job = read_whole_job(path)
    assert len(job.streams_m) == 1
    assert [(well.name, well.kind) for well in job.wells] == [("Well by the road", "well")]
    assert job.local.ground_buffer_m == pytest.approx(30.0, abs=0.5)
    assert job.local.wind_limit_m_s == pytest.approx(11.2, abs=0.1)
    assert job.local.approved == ("my-gel",)
    assert job.local.foam_in_equipment is False
    assert job.crews[0].shift_from_s is not None
    assert job.assets[0].fire.flame_length_m == pytest.approx(1.9, abs=0.2)


def test_tomorrow_is_local(tmp_path: Path) -> None:
    """At 02:00 UTC it is still the evening before in the starter's zone."""
    late_s = datetime(2030, 1, 1, 2, 0, tzinfo=UTC).timestamp()
    job = read_whole_job(write_starter(tmp_path / "job", now_s=late_s))
    assert datetime.fromtimestamp(job.start_s, UTC).date() == datetime(2030, 1, 1).date()


def test_a_clock_that_was_never_set_is_followed_as_well(tmp_path: Path) -> None:
    """On 1 January 2001 the template's second day is tomorrow: still two days, one after the other.

    A board computer without a battery starts at such a day.
    """
    first_s = datetime(2001, 1, 1, 18, 0, tzinfo=UTC).timestamp()
    path = write_starter(tmp_path / "job", now_s=first_s)
    text = path.read_text(encoding="utf-8")
    assert "2001-01-02" in text
    job = read_whole_job(path)
    assert datetime.fromtimestamp(job.start_s, UTC).date() == datetime(2001, 1, 2).date()


def test_every_line_of_the_starter_job_is_explained(tmp_path: Path) -> None:
    """Each key of job.toml has a comment on its line or in the lines above it up to a blank."""
    text = write_starter(tmp_path / "job", now_s=NOW_S).read_text(encoding="utf-8")
    paragraphs = [part for part in text.split("\n\n") if "=" in part]
    assert len(paragraphs) >= 8
    for paragraph in paragraphs:
        assert "#" in paragraph, paragraph


def test_folder_in_use_is_refused_and_kept(tmp_path: Path) -> None:
    """A folder with anything in it is bad input, and stays as it was."""
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(StillwetError, match="DIR: wanted a new or empty folder"):
        write_starter(tmp_path, now_s=NOW_S)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_empty_folder_is_taken(tmp_path: Path) -> None:
    """A folder made beforehand is used."""
    assert write_starter(tmp_path, now_s=NOW_S) == tmp_path / "job.toml"
