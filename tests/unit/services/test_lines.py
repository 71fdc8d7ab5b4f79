"""The lines' use case: the demo's burn line, files whole or none, and the command itself."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from stillwet.cli.group import BAD_INPUT, OK, run
from stillwet.domain.plan import Verdict
from stillwet.services.clock import moment_s
from stillwet.services.demo import DEMO_NOW, copy_data
from stillwet.services.lines import LinesAnswer, lines_of_job

DIVIDED = "Published guidance is divided on gel for burn lines"


@pytest.fixture(scope="module")
def demo_job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's files."""
    folder = tmp_path_factory.mktemp("lines") / "job"
    copy_data("demo", folder)
    return folder / "job.toml"


@pytest.fixture(scope="module")
def demo_lines(demo_job: Path) -> LinesAnswer:
    """The demo's lines, written beside its job."""
    return lines_of_job(demo_job, demo_job.parent / "out", now_s=moment_s(DEMO_NOW))


def test_the_demo_line_works_in_the_morning_only(demo_lines: LinesAnswer) -> None:
    """Four segments, held at nine; by noon at least one allows no lag, and the wind forbids it."""
    (line,) = demo_lines.plan.lines
    assert line.verdict is Verdict.HOLDS
    assert len(line.segments) == 4
    assert line.refills
    noon = [part.hours[3] for part in line.segments]
    assert min(hour.lag_90_s for hour in noon) <= 0.0
    assert not any(hour.may_light for hour in noon)


def test_files(demo_lines: LinesAnswer) -> None:
    """JSON, PDF and a figure a line; the text and the JSON carry the caution."""
    names = sorted(path.name for path in demo_lines.files)
    assert names == ["line-1.svg", "lines.json", "lines.pdf"]
    assert DIVIDED in demo_lines.text()
    assert DIVIDED in demo_lines.json_text()
    written = json.loads((demo_lines.files[0].parent / "lines.json").read_text("utf-8"))
    assert written == json.loads(demo_lines.json_text())


def test_seed_and_members_override_the_job(demo_job: Path) -> None:
    """Another seed is another draw, and another id."""
    one = lines_of_job(demo_job, None, now_s=0.0, seed=1, members=16)
    two = lines_of_job(demo_job, None, now_s=0.0, seed=2, members=16)
    assert one.plan.id != two.plan.id
    assert (one.plan.seed, one.plan.members, one.files) == (1, 16, ())


def test_command(demo_job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``stillwet line`` prints the text on stdout and what it wrote on stderr."""
    arguments = ["line", str(demo_job), "--out", str(tmp_path / "out"), "--members", "16"]
    assert run([*arguments, "--units", "metric", "--now", DEMO_NOW]) == OK
    shown = capsys.readouterr()
    assert shown.out.startswith("LINES ")
    assert DIVIDED in shown.out
    assert "L/m2" in shown.out
    assert "lines.pdf" in shown.err


def test_command_prints_json(demo_job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With ``--json`` stdout is one document."""
    assert run(["line", str(demo_job), "--json", "--members", "16", "--quiet"]) == OK
    assert json.loads(capsys.readouterr().out)["schema"] == "stillwet.lines/1"


def test_a_job_without_lines_is_told_so(
    starter_job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Bad input: what is missing and what to do, exit status 2."""
    assert run(["line", str(starter_job), "--quiet"]) == BAD_INPUT
    told = capsys.readouterr().err
    assert "lines: wanted at least one line, got none" in told
    assert "add [lines]" in told


def test_lines_without_fuel_are_refused_before_anything_is_written(
    demo_job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A segment without a fuel model: every one is named, and no folder appears."""
    folder = tmp_path / "job"
    copy_data("demo", folder)
    drawn = folder / "lines.geojson"
    drawn.write_text(drawn.read_text("utf-8").replace('"fuel_model"', '"fuel"'), "utf-8")
    out = tmp_path / "out"
    assert run(["line", str(folder / "job.toml"), "--out", str(out)]) == BAD_INPUT
    told = capsys.readouterr().err
    assert told.count("fuel_model: wanted a fuel model such as GR2") == 4
    assert "line l1, segment l1a" in told
    assert not out.exists()
