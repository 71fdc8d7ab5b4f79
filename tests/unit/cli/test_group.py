"""How the command starts, and how trouble is told."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

import click
import pytest

from stillwet import __version__
from stillwet.cli.group import BAD_INPUT, OK, STOPPED, TROUBLE, VERBS, run
from stillwet.errors import Problem, StillwetError

HEAVY = ("numpy", "scipy", "numba", "pandas", "pvlib", "shapely", "pyproj", "pyogrio", "rich")


def _make_plan_raise(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    """Let ``stillwet plan`` end in this error, whatever the job."""

    def raises(*_: object, **__: object) -> NoReturn:
        raise error

    monkeypatch.setattr("stillwet.services.planning.plan_job", raises)


def test_help_lists_every_verb_with_examples(capsys: pytest.CaptureFixture[str]) -> None:
    """The help names each verb and shows commands that can be typed."""
    assert run(["--help"]) == OK
    shown = capsys.readouterr().out
    for verb in VERBS:
        assert re.search(rf"^  {verb} +\S", shown, re.MULTILINE)
        assert f"stillwet {verb}" in shown


@pytest.mark.parametrize("verb", VERBS)
def test_each_verb_has_help_with_examples(verb: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The help of each verb shows at least one way to call it, on lines of their own."""
    assert run([verb, "--help"]) == OK
    shown = capsys.readouterr().out
    assert re.search(rf"^    stillwet {verb}", shown, re.MULTILINE)


def test_help_loads_no_heavy_library() -> None:
    """`stillwet --help` stays quick because it imports none of the numeric libraries."""
    code = "import sys; from stillwet.cli.group import run; run(['--help']); print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.splitlines()[-1].split())
    assert loaded.isdisjoint(HEAVY)


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    """The version is the package's own."""
    assert run(["--version"]) == OK
    assert __version__ in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments",
    [["water"], ["plan"], ["plan", "x.toml", "--units", "chains"], ["plan", "x", "--members", "7"]],
)
def test_misuse_is_bad_input(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown verb, a missing job, an unknown unit system and too few members: exit 2."""
    assert run(arguments) == BAD_INPUT
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "Error:" in captured.err


def test_every_problem_is_listed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """All problems are told together on stderr, with field, wanted, got, place and hint."""
    problems = (
        Problem("rh", "0 to 100 %", "140", "weather.csv, row 17"),
        Problem("kind", "one of house, pole", "'hose'", "assets.csv, row 4", "misspelt?"),
    )
    _make_plan_raise(monkeypatch, StillwetError(problems))
    assert run(["plan", "job.toml"]) == BAD_INPUT
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.splitlines() == [
        "2 problems in the input; nothing written:",
        "  rh: wanted 0 to 100 %, got 140 (weather.csv, row 17)",
        "  kind: wanted one of house, pole, got 'hose' (assets.csv, row 4); misspelt?",
    ]


def test_unexpected_trouble_is_one_line_with_its_trace_kept(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A fault of ours is told in one line that names the file holding the trace: exit 1."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    _make_plan_raise(monkeypatch, ZeroDivisionError("float division\nby zero"))
    assert run(["plan", "job.toml"]) == TROUBLE
    captured = capsys.readouterr()
    (line,) = captured.err.splitlines()
    assert "ZeroDivisionError: float division by zero" in line
    assert "Traceback" not in line
    (log,) = tmp_path.glob("stillwet-trace-*.log")
    assert str(log) in line
    assert "Traceback (most recent call last)" in log.read_text(encoding="utf-8")


def test_debug_shows_the_trace(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With --debug the trace comes at once."""
    _make_plan_raise(monkeypatch, ZeroDivisionError("by zero"))
    assert run(["plan", "job.toml", "--debug"]) == TROUBLE
    assert "Traceback (most recent call last)" in capsys.readouterr().err


def test_full_disk_is_told_plainly(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Trouble of the machine names what happened and the file, without a class name."""
    _make_plan_raise(monkeypatch, OSError(28, "No space left on device", "plan.pdf"))
    assert run(["plan", "job.toml"]) == TROUBLE
    assert "No space left on device: plan.pdf" in capsys.readouterr().err


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort()])
def test_ctrl_c_ends_quietly(
    error: BaseException, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Ctrl-C ends with the shell's usual status and one line."""
    _make_plan_raise(monkeypatch, error)
    assert run(["plan", "job.toml"]) == STOPPED
    assert capsys.readouterr().err.split() == ["stopped;", "nothing", "half-written", "is", "left"]


def test_module_and_script_are_one_command() -> None:
    """`python -m stillwet.cli` answers like `stillwet`, with the process's own exit status."""
    done = subprocess.run(
        [sys.executable, "-m", "stillwet.cli", "rinse"], capture_output=True, text=True, check=False
    )
    assert done.returncode == BAD_INPUT
    assert "No such command 'rinse'" in done.stderr
