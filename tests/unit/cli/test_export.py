"""``stillwet export``: whole or not at all, nothing run, and the files plan as the job did."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from job_folder import ASSETS, good, write_job
from readable_jobs import differences
from stillwet.cli.group import BAD_INPUT, OK, run
from stillwet.domain.job import Job
from stillwet.exchange.job_file import read_job

FORMS = ["csv", "xlsx", "geojson", "gpkg", "gpx"]


def exported(folder: Path, form: str) -> Job:
    """The job that comes back from what the command wrote."""
    assert (
        run(["export", str(folder / "job.toml"), "--to", str(folder / "out"), "--as", form]) == OK
    )
    job, problems = read_job(folder / "out" / "job.toml")
    assert problems == ()
    assert job is not None
    return job


@pytest.mark.parametrize("form", FORMS)
def test_a_job_goes_out_and_comes_back(tmp_path: Path, form: str) -> None:
    """Every value is the same, and what was a stated default still is one."""
    before = good(tmp_path)
    after = exported(tmp_path, form)
    assert differences(before, after) == []
    for one, other in zip(before.assets, after.assets, strict=True):
        assert {name: own.kind for name, own in one.basis.items()} == {
            name: own.kind for name, own in other.basis.items()
        }
        assert {name: own.kind for name, own in one.fire.basis.items()} == {
            name: own.kind for name, own in other.fire.basis.items()
        }
    assert {name: own.kind for name, own in before.practice.basis.items()} == {
        name: own.kind for name, own in after.practice.basis.items()
    }


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_no_cell_is_a_formula(tmp_path: Path, form: str) -> None:
    """A name that begins as a formula is text in the file, guarded, and comes back as typed."""
    formula = '=HYPERLINK("http://x.invalid","here")'
    quoted = formula.replace('"', '""')
    good(tmp_path, assets=ASSETS.replace("First house", f'"{quoted}"'))
    assert exported(tmp_path, form).assets[0].name == formula
    if form == "csv":
        assert f'"\'{quoted}"' in (tmp_path / "out" / "assets.csv").read_text("utf-8-sig")
        return
    book = openpyxl.load_workbook(tmp_path / "out" / "tables.xlsx")
    cells = [cell for page in book for line in page.iter_rows() for cell in line]
    assert f"'{formula}" in [cell.value for cell in cells]
    assert {cell.data_type for cell in cells} <= {"s", "n"}


def test_a_dry_run_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The files that would be written are named, and the folder is not made."""
    source = write_job(tmp_path)
    assert run(["export", str(source), "--to", str(tmp_path / "out"), "--dry-run"]) == OK
    told = capsys.readouterr()
    assert str(tmp_path / "out" / "assets.geojson") in told.out
    assert "dry run: nothing written" in told.err
    assert not (tmp_path / "out").exists()


def test_a_folder_with_files_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody's job is written over."""
    source = write_job(tmp_path)
    before = source.read_bytes()
    assert run(["export", str(source), "--to", str(tmp_path)]) == BAD_INPUT
    told = capsys.readouterr().err
    assert "--to: wanted a new or empty folder, got a folder with files in it" in told
    assert source.read_bytes() == before


def test_all_or_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the last file cannot be written, none of the others is left behind."""
    from stillwet.services import outputs

    source, count = write_job(tmp_path), []

    def full_disk(path: Path) -> None:
        count.append(path)
        if len(count) == 4:
            raise OSError(28, "No space left on device", str(path))

    monkeypatch.setattr(outputs, "_flush_to_disk", full_disk)
    assert run(["export", str(source), "--to", str(tmp_path / "out")]) == 1
    assert not (tmp_path / "out").exists()
    assert [path for path in tmp_path.iterdir() if path.name.startswith(".stillwet")] == []


def test_a_bad_job_is_told_and_nothing_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The job's own faults come first."""
    source = write_job(tmp_path, assets=ASSETS.replace("house", "hose"))
    assert run(["export", str(source), "--to", str(tmp_path / "out")]) == BAD_INPUT
    assert 'did you mean "house"?' in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
