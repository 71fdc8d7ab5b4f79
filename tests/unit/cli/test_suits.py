"""``stillwet suits``: a job, a task, or a plain word about what is missing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from stillwet.cli.group import BAD_INPUT, OK, run
from stillwet.cli.suits import TASKS
from stillwet.domain.suitability import Task
from stillwet.services.starter import write_starter


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The starter job."""
    folder = tmp_path_factory.mktemp("suits") / "job"
    write_starter(folder, now_s=1_786_716_000.0)
    return folder / "job.toml"


def test_the_tasks_are_those_of_the_record() -> None:
    """The command offers every task and no other."""
    assert tuple(Task) == TASKS


def test_a_job(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The starter's pole that is not released stands first."""
    assert run(["suits", str(job), "--members", "16", "--quiet"]) == OK
    shown = capsys.readouterr().out
    assert "DO NOT: Pole at the gate (task: structure)" in shown
    assert "local orders, agency rules" in shown


def test_a_job_as_json(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One document, its own schema named."""
    assert run(["suits", str(job), "--members", "16", "--quiet", "--json"]) == OK
    document = json.loads(capsys.readouterr().out)
    assert document["schema"] == "stillwet.suits/1"
    assert document["places"][0]["verdict"] == "do not"


def test_a_task_needs_no_job(capsys: pytest.CaptureFixture[str]) -> None:
    """The agents for mop-up, gel not among those to use."""
    assert run(["suits", "--task", "mop-up", "--json"]) == OK
    document = json.loads(capsys.readouterr().out)
    verdicts = {row["agent"]: row["verdict"] for row in document["agents"]}
    assert verdicts["gel"] == "do not"
    assert verdicts["wetting agent"] == "use"


def test_a_task_with_a_job(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What the job leaves open stands beside gel, so that it is no longer a plain yes."""
    assert run(["suits", str(job), "--task", "structure", "--json"]) == OK
    document = json.loads(capsys.readouterr().out)
    verdicts = {row["agent"]: row["verdict"] for row in document["agents"]}
    assert verdicts["gel"] == "only if"


@pytest.mark.parametrize("arguments", [[], ["--task", "gardening"], ["nowhere.toml"]])
def test_what_is_missing_is_said(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Neither job nor task, an unknown task, no such file: exit 2 and nothing on stdout."""
    assert run(["suits", *arguments]) == BAD_INPUT
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err
