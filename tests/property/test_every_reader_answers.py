"""Whatever stands in a list, table, map or log entry, its reader ends in records or faults."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from job_folder import ASSETS, JOB, good, write_job
from stillwet.domain.job import Job
from stillwet.errors import Problem, StillwetError
from stillwet.exchange.clock import fixed_clock
from stillwet.exchange.crew_status import read_crew_status
from stillwet.exchange.job_file import read_job
from stillwet.exchange.job_writer import make_job_files
from stillwet.exchange.log_entry import Here, read_entry
from stillwet.exchange.proportioner import read_checks
from stillwet.exchange.sheets import Form
from stillwet.exchange.trials import read_trials

RELAXED = settings(
    max_examples=10,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
GPX = '<gpx><wpt lat="39.75" lon="-105.2"><name>a</name><desc>b</desc></wpt></gpx>'
LINES = (
    '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"id": "l", '
    '"purpose": "burn line", "width": "3 m", "fuel_model": "GR4", "wind_from": 200}, "geometry": '
    '{"type": "LineString", "coordinates": [[-105.2, 39.75], [-105.19, 39.76]]}}]}'
)
CREWS = (
    "id,tank,spray_flow,pump,hose,nozzle,shift_from,capabilities\n"
    "e1,500 gal,30 gpm,0 gpm at 175 psi; 50 gpm at 100 psi,"
    '100 ft of 1.5 in,30 gpm at 50 psi,,"a,b"\n'
)
TRIALS = "id,ratio,hardness,age,funnel,coat,tilt,when\nt1,1 %,100 ppm,4 h,40 s,2 mm,90,\n"
CHECKS = (
    "id,when,proportioner,method,dial,drawn,seconds,mix_flow,ratio_basis\n"
    "c1,2026-08-01T10:00,p1,timed draw,1 %,30 mL,60 s,30 gpm,volume\n"
)
STATUS = 'now = "2026-08-14T10:00-06:00"\n[[done]]\nasset = "h1"\ntime = "2026-08-14T09:00-06:00"\n'
PIECES = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ['"', "[", "<", ",", ";", "\n", "\r", "\t", "\x00", "'=", "nan", "1e999", "-", "9" * 5000]
    ),
)
JOBS = {
    "assets.csv": (JOB, ASSETS),
    "a.gpx": (JOB.replace('"assets.csv"', '"a.gpx"\ndefaults = { kind = "house" }'), GPX),
    "l.geojson": (JOB + '\n[lines]\nfile = "l.geojson"\n', LINES),
    "r.geojson": (JOB + '\n[roads]\nfile = "r.geojson"\n', LINES),
    "s.geojson": (JOB + '\n[streams]\nfile = "s.geojson"\n', LINES),
    "c.csv": (JOB.replace("[[crew]]", '[crews]\nfile = "c.csv"\n[[crew]]'), CREWS),
    "t.csv": (JOB + '\n[trials]\nfile = "t.csv"\n', TRIALS),
}


def is_told(problems: tuple[Problem, ...]) -> bool:
    """True when every fault says where, what was wanted and what came."""
    return all(problem.field and problem.wanted and problem.got for problem in problems)


def answers(path: Path) -> None:
    """The job, or faults; nothing else gets out."""
    job, problems = read_job(path)
    assert (job is None) == bool(problems)
    assert is_told(problems)


def faults_of(read: Callable[[], object]) -> tuple[Problem, ...]:
    """The faults that a reader raises, if any."""
    try:
        read()
    except StillwetError as error:
        return error.problems
    return ()


def garbled(text: str, cut: int, piece: str) -> bytes:
    """The text with a piece of it overwritten."""
    at = cut % (len(text) + 1)
    return (text[:at] + piece + text[at + len(piece) :]).encode("utf-8", "replace")


@RELAXED
@given(cut=st.integers(0, 3000), piece=PIECES)
@pytest.mark.parametrize("name", JOBS)
def test_garbled_lists(tmp_path: Path, name: str, cut: int, piece: str) -> None:
    """A good list with a piece overwritten is read or refused."""
    job, text = JOBS[name]
    path = write_job(tmp_path, job=job)
    (tmp_path / name).write_bytes(garbled(text, cut, piece))
    answers(path)


@RELAXED
@given(noise=st.binary(max_size=300))
@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize("mark", [b"", b"\xff\xfe", b"\xef\xbb\xbf"])
def test_noise_in_lists(tmp_path: Path, name: str, mark: bytes, noise: bytes) -> None:
    """Any bytes at all, with or without the mark of an encoding, are refused or read."""
    path = write_job(tmp_path, job=JOBS[name][0])
    (tmp_path / name).write_bytes(mark + noise)
    answers(path)


def _workbook(folder: Path) -> bytes:
    return make_job_files(good(folder), Form.XLSX).files["tables.xlsx"]


@RELAXED
@given(part=st.integers(0, 20), cut=st.integers(0, 20_000), piece=PIECES)
def test_a_garbled_workbook(tmp_path: Path, part: int, cut: int, piece: str) -> None:
    """A workbook with one of its inner files garbled is read or refused."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(_workbook(tmp_path))) as book:
        names = book.namelist()
        chosen = names[part % len(names)]
        with zipfile.ZipFile(out, "w") as made:
            for name in names:
                content = book.read(name)
                if name == chosen:
                    content = garbled(content.decode(), cut, piece)
                made.writestr(name, content)
    job = JOB.replace('"assets.csv"', '"b.xlsx"\nsheet = "assets"')
    answers(write_job(tmp_path, job=job, b_xlsx=out.getvalue()))


@RELAXED
@given(where=st.integers(0, 100_000), noise=st.binary(min_size=1, max_size=40))
def test_a_damaged_workbook(tmp_path: Path, where: int, noise: bytes) -> None:
    """A workbook with some of its packed bytes overwritten is read or refused."""
    content = bytearray(_workbook(tmp_path))
    at = where % len(content)
    content[at : at + len(noise)] = noise
    job = JOB.replace('"assets.csv"', '"b.xlsx"\nsheet = "assets"')
    answers(write_job(tmp_path, job=job, b_xlsx=bytes(content)))


@RELAXED
@given(cut=st.integers(0, 600), piece=PIECES, ending=st.sampled_from(["csv", "toml", "xlsx"]))
def test_trials_checks_and_status(tmp_path: Path, cut: int, piece: str, ending: str) -> None:
    """Trials, proportioner checks and the day so far: records or faults."""
    for text, read in ((TRIALS, read_trials), (CHECKS, read_checks)):
        path = tmp_path / f"file.{ending}"
        path.write_bytes(garbled(text, cut, piece))
        found, _, problems = read(path)
        assert (found is None) == bool(problems)
        assert is_told(problems)
    job = _job(tmp_path)
    path.write_bytes(garbled(STATUS, cut, piece))
    assert is_told(faults_of(lambda: read_crew_status(path, job)))


_KEPT: dict[str, Job] = {}


def _job(folder: Path) -> Job:
    if "job" not in _KEPT:
        _KEPT["job"] = good(folder)
    return _KEPT["job"]


PLAIN: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=8,
)


@RELAXED
@given(also=PLAIN, name=st.sampled_from(["also", "fuel_model", "kind", "arrival_to", "needs"]))
def test_any_value_in_a_map_file(tmp_path: Path, also: Any, name: str) -> None:
    """A map file may hold any JSON value in any attribute."""
    point = {"type": "Point", "coordinates": [-105.2, 39.75]}
    told = {"id": "a", "kind": "house", name: also}
    feature = {"type": "Feature", "geometry": point, "properties": told}
    text = json.dumps({"type": "FeatureCollection", "features": [feature]})
    job = JOB.replace("assets.csv", "a.geojson")
    answers(write_job(tmp_path, job=job, a_geojson=text))


LOG_WORDS = st.sampled_from(
    [
        *("id", "kind", "when", "when_s", "written_s", "by", "writer", "replaces", "face", "feel"),
        *("coat", "check", "weather seen", "ignition", "spill", "taken", "14:30", "20 min ago"),
        *("1 mm", "tacky", "-1 min ago", "9" * 400, "99:99", "nan mm"),
    ]
)


@RELAXED
@given(plain=PLAIN | st.dictionaries(LOG_WORDS, LOG_WORDS | PLAIN, max_size=8))
def test_log_entries(plain: Any) -> None:
    """An entry from another device may be anything at all."""
    here = Here(1_786_716_000.0, fixed_clock(-360))
    assert is_told(faults_of(lambda: read_entry(plain, here)))
