"""Trials named by a job: a fit takes a default's place by the stated rule, and the plan says so."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from job_folder import JOB, messages, write_job
from stillwet.cli.group import BAD_INPUT, OK, run
from stillwet.services.keeping import keep_job
from stillwet.services.mixing import mix_of_job
from stillwet.services.planning import read_whole_job

HEAD = "ratio [%],hardness [ppm],age [h],coat [mm]\n"
# Boards in two waters, as stiff as a default gel give or take a tenth.
ENOUGH = HEAD + "0.6,50,2,1\n0.8,50,2,2\n1,50,2,3.2\n1.2,50,2,4.3\n1.4,150,2,2.6\n1.7,150,2,4\n"
FEW = HEAD + "1,50,2,3.2\n1.2,50,2,4.3\n"
SMALL = JOB.replace("[job]", "[job]\nmembers = 16") + 'hardness = "90 mg/L"\n'


def folder(path: Path, table: str, *, product: str = "") -> Path:
    """A job that names this table of trials, with more said of its product."""
    text = SMALL.replace("[product]\n", f"[product]\n{product}\n")
    return write_job(path, job=text + '\n[trials]\nfile = "t.csv"\n', t_csv=table)


def planned(job: Path, capsys: pytest.CaptureFixture[str]) -> tuple[str, dict[str, str]]:
    """What ``stillwet plan`` prints, as one line, and where each number of its JSON comes from."""
    out = job.parent / "out"
    assert run(["plan", str(job), "--out", str(out)]) == OK
    document = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    kinds = {item["name"]: item["basis"]["kind"] for item in document["inputs"]}
    return " ".join(capsys.readouterr().out.split()), kinds


def test_enough_trials_replace_the_default_and_the_plan_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Six boards at six ratios: taken, told, and every number of the curve is marked a trial's."""
    told, kinds = planned(folder(tmp_path, ENOUGH), capsys)
    assert "clear: Yield stress from trials (6 readings at 6 ratios, 0 odd ones), in place" in told
    assert "clear is known by trials only in part" in told
    for name in ("yield coefficient", "yield threshold", "yield exponent", "hardness half"):
        assert kinds[name] == "trial"
    assert kinds["drying exponent"] == "untested default"


def test_too_few_trials_change_nothing_and_the_plan_says_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two boards: the default stays, the reasons are told, and the plan is the one without them."""
    told, kinds = planned(folder(tmp_path, FEW), capsys)
    assert "Yield stress stays as it was in spite of trials (2 readings at 2 ratios" in told
    assert "2 readings, and at least 5 are wanted" in told
    assert "clear has no trial behind it" in told
    assert kinds["yield coefficient"] == "untested default"
    bare = tmp_path / "bare"
    bare.mkdir()
    plain = read_whole_job(write_job(bare, job=SMALL))
    assert read_whole_job(tmp_path / "job.toml").product == plain.product


def test_what_the_job_gives_stands_above_a_fit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A coefficient typed into the job is kept, and the plan says that it was."""
    job = folder(tmp_path, ENOUGH, product='yield_coefficient = "30000 Pa"')
    told, kinds = planned(job, capsys)
    assert "the job gives yield coefficient itself" in told
    assert kinds["yield coefficient"] == "given"


def test_a_kept_job_takes_its_trials_as_well(tmp_path: Path) -> None:
    """The job file holds the trials, not the fit: read from it, the same product comes out."""
    job = folder(tmp_path, ENOUGH)
    keep_job(job, tmp_path / "kept.gpkg", now_s=0.0)
    from_files, kept = read_whole_job(job), read_whole_job(tmp_path / "kept.gpkg")
    assert kept.product == from_files.product
    assert kept.product.curves
    assert kept.remarks == from_files.remarks


def test_the_mix_window_is_surer_with_trials(tmp_path: Path) -> None:
    """Same job with and without trials: the least ratio's band narrows, and the basis is told."""
    (tmp_path / "bare").mkdir()
    bare = mix_of_job(write_job(tmp_path / "bare", job=SMALL), "First house").window
    tried = mix_of_job(folder(tmp_path, ENOUGH), "First house").window
    widths = [
        one.signs[0].high / one.signs[0].low for one in (bare, tried)
    ]  # thickest coat that stands on an upright board
    assert widths[1] < 0.5 * widths[0]
    assert bare.curve_basis.startswith("untested default")
    assert tried.curve_basis == "trial (t.csv: 6 readings at 6 ratios, 0 odd ones)"


@pytest.mark.parametrize(
    ("table", "section", "answer"),
    [
        (ENOUGH, 'file = "none.csv"', "none.csv"),
        (ENOUGH, 'file = "t.csv"\nfiles = "t.csv"', 'did you mean "file"?'),
        (ENOUGH, "", "file: wanted the name of a file, got nothing"),
        (
            ENOUGH.replace("ratio [%]", "ratio [%],product").replace("\n0.6", "\n0.6,x"),
            None,
            "t.csv",
        ),
        (
            "product," + FEW.replace("\n1", "\nother,1"),
            'file = "t.csv"',
            "product: wanted trials of clear, got other",
        ),
        (
            FEW.replace("coat [mm]", "coat [mm],ratio_basis")
            .replace("2,3.2", "2,3.2,mass")
            .replace("2,4.3", "2,4.3,mass"),
            'file = "t.csv"',
            "ratio_basis: wanted volume percent of the finished mix, got mass percent",
        ),
    ],
)
def test_trials_that_cannot_be_the_jobs_are_refused(
    tmp_path: Path, table: str, section: str | None, answer: str
) -> None:
    """No such file, a misspelt key, nothing, a crooked table, another product, another basis."""
    section = 'file = "t.csv"' if section is None else section
    told = messages(tmp_path, job=f"{SMALL}\n[trials]\n{section}\n", t_csv=table)
    assert any(answer in one for one in told), told


def test_refused_trials_stop_the_plan(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A ratio over 100 % in the table: exit 2, with its row, and nothing is written."""
    job = folder(tmp_path, ENOUGH.replace("1.7,", "170,"))
    assert run(["plan", str(job), "--out", str(tmp_path / "out")]) == BAD_INPUT
    assert "ratio: wanted 0.001 to 50 %, got 170 % (t.csv, row 7)" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
