"""``stillwet after``: an account on the screen, as JSON, in a folder; plain words when it fails."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from after_fixture import LAID_S, after_job, said, scene, whole_log
from line_fixture import make_line, make_work
from stillwet.cli.group import BAD_INPUT, OK, run
from stillwet.domain.lines import Beginning
from stillwet.domain.log import SegmentWetted
from stillwet.engine.lines import make_lines
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


def test_the_kept_plan_of_the_lines_is_held_against_the_log(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """1.5 mm on 80 m by 4 m at 2 % is 0.4898 m3 planned; 0.6 m3 were sprayed."""
    line = make_line(work=make_work(beginning=Beginning.FIRST, mix_ratio=0.02, coverage_kg_m2=1.5))
    job, path = after_job(lines=(line,)), tmp_path / "line.gpkg"
    plan = make_lines(replace(job, members=16), now_s=NOW_S)
    with make_job_file(path, now_s=NOW_S) as made:
        save_job(made, replace(job, input_hash="cd" * 32), all_faces(job), now_s=NOW_S)
        save_job(made, job, all_faces(job), now_s=NOW_S + 1.0)  # changed since
        add_entries(made, [said(LAID_S, SegmentWetted("l1/s0", crew_id="c1", mix_m3=0.6))])
        keep_plan(made, scene().plan, Made("ab" * 32, "0.1", 1, 32))
        keep_plan(made, plan, Made("cd" * 32, "0.1", 1, 16))
    assert run(["after", str(path), "--json", "--quiet"]) == OK
    found = json.loads(capsys.readouterr().out)
    row = next(one for one in found["lines"] if one["segment_id"] == "l1/s0")
    assert row["planned"]["mix_m3"] == pytest.approx(0.48 / 0.98)
    assert row["used"]["mix_m3"] == pytest.approx(0.6)
    assert (
        f"plan {plan.id} of the lines was made before the job in the file was changed"
        in (found["notes"])
    )


@pytest.mark.parametrize("more", [["--plan", "nope"], ["--now", "yesterday"]])
def test_what_is_wrong_is_said(
    job: str, more: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2, nothing on stdout, the fault named."""
    assert run(["after", job, *more]) == BAD_INPUT
    captured = capsys.readouterr()
    assert captured.out == ""
    assert more[0] in captured.err
