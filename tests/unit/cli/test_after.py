"""``stillwet after``: an account on the screen, as JSON, in a folder; plain words when it fails."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from after_fixture import after_job, scene, whole_log
from stillwet.cli.group import BAD_INPUT, OK, run
from stillwet.store.job_file import make_job_file
from stillwet.store.job_tables import save_job
from stillwet.store.log_table import add_entries
from stillwet.store.plan_tables import Made, keep_plan
from store_fixture import NOW_S, all_faces


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A job file with a plan and a log."""
    path = tmp_path_factory.mktemp("after") / "day.gpkg"
    with make_job_file(path, now_s=NOW_S) as made:
        save_job(made, after_job(), all_faces(after_job()), now_s=NOW_S)
        add_entries(made, whole_log())
        keep_plan(made, scene().plan, Made("ab" * 32, "0.1", 1, 32))
    return str(path)


def test_text_on_stdout_talk_on_stderr(
    job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The account, and where its files went."""
    out = tmp_path / "after"
    assert run(["after", job, "--out", str(out), "--units", "metric"]) == OK
    captured = capsys.readouterr()
    assert captured.out.startswith("AFTER Invented job: plan ")
    assert "wrote" in captured.err
    assert (out / "after.pdf").is_file()


def test_json_is_one_document(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Its own schema named."""
    assert run(["after", job, "--json", "--quiet"]) == OK
    assert json.loads(capsys.readouterr().out)["schema"] == "stillwet.after/1"


@pytest.mark.parametrize("more", [["--plan", "nope"], ["--now", "yesterday"]])
def test_what_is_wrong_is_said(
    job: str, more: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2, nothing on stdout, the fault named."""
    assert run(["after", job, *more]) == BAD_INPUT
    captured = capsys.readouterr()
    assert captured.out == ""
    assert more[0] in captured.err
