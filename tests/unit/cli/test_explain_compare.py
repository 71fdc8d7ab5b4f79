"""The two verbs as a person types them."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stillwet.cli.group import BAD_INPUT, OK, run
from stillwet.services.starter import write_starter

NOW_S = datetime(2030, 6, 30, 18, 0, tzinfo=UTC).timestamp()


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The path of a sound job."""
    return str(write_starter(tmp_path_factory.mktemp("cli") / "job", now_s=NOW_S))


def test_explain_prints_and_draws(
    job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The result on stdout, the note about the file on stderr."""
    figure = tmp_path / "why.svg"
    assert run(["explain", job, "a1", "--out", str(figure), "--units", "metric"]) == OK
    captured = capsys.readouterr()
    assert captured.out.startswith("WHY: ")
    assert captured.err == f"wrote {figure}\n"
    assert figure.read_text(encoding="utf-8").startswith("<svg")
    assert run(["explain", job, "--json"]) == OK
    assert json.loads(capsys.readouterr().out)["about"] == "job"


def test_compare_prints_and_writes(
    job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Changes given again are made together, unless --each."""
    table = tmp_path / "if.csv"
    changes = ["--set", "wind=+30%", "--set", "arrival=-1 h"]
    assert run(["compare", job, *changes, "--out", str(table)]) == OK
    captured = capsys.readouterr()
    assert "What if: wind times 1.3, arrival earlier by 1 h" in captured.out
    assert captured.err == f"wrote {table}\n"
    assert run(["compare", job, *changes, "--each", "--json"]) == OK
    assert len(json.loads(capsys.readouterr().out)["comparisons"]) == 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["explain", "JOB", "a77"], "ASSET: wanted an id or a name"),
        (["explain", "JOB", "a1", "--out", "why.pdf"], "--out: wanted a file ending in .svg or"),
        (["compare", "JOB", "--set", "gust=3"], "--set: wanted one of arrival"),
        (["compare", "JOB", "--set", "wind=+3%", "--out", "x.txt"], "ending in .csv"),
        (["explain", "nowhere.toml"], "nowhere.toml"),
    ],
)
def test_bad_input(
    arguments: list[str], words: str, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Told plainly, exit status 2, nothing on stdout."""
    assert run([job if part == "JOB" else part for part in arguments]) == BAD_INPUT
    captured = capsys.readouterr()
    assert captured.out == ""
    assert words in captured.err
