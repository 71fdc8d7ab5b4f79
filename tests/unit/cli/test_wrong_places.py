"""Where answers may go: wrong places are told by the name of the option that named them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from job_folder import write_job
from stillwet.cli.group import BAD_INPUT, OK, run


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["mix", "JOB", "--card", "c.txt"], "--card: wanted a file ending in .pdf, got 'c.txt'"),
        (["mix", "JOB", "--out", "c.txt"], "--out: wanted a file ending in .svg or .png"),
        (["proportioner", "--form", "f.txt"], "--form: wanted a file ending in .pdf, got 'f.txt'"),
        (["trial", "form", "f.txt"], "FORM.pdf: wanted a file ending in .pdf, got 'f.txt'"),
        (["trial", "add", "t.doc", "ratio=1 %"], "TRIALS.csv: wanted a file ending in .csv"),
        (["export", "JOB", "--to", "taken"], "--to: wanted a folder, got a file"),
        (["export", "JOB", "--to", "taken/deeper"], "--to: wanted a folder, got a file"),
        (["new", "taken"], "DIR: wanted a folder, got a file"),
        (["log", "show", "JOB"], "job: wanted a job file (.gpkg), got 'job.toml'"),
        (["log", "add", "JOB", "check", "by=Ash"], "job: wanted a job file (.gpkg)"),
        (["log", "merge", "JOB", "JOB"], "job: wanted a job file (.gpkg)"),
        (["doctor", "JOB"], "job: wanted a job file (.gpkg)"),
        (["left", "JOB"], "job: wanted a job file (.gpkg)"),
        (["after", "JOB"], "job: wanted a job file (.gpkg)"),
        (["serve", "JOB"], "job: wanted a job file (.gpkg)"),
        (["plan", "JOB", "--now", "9999-12-31T23:59-12:00"], "--now: wanted a moment from 1970"),
        (["doctor", "d.gpkg", "--now", "0001-01-01T00:00+14:00"], "--now: wanted a moment from"),
    ],
)
def test_wrong_places_are_told_by_their_own_name(
    arguments: list[str],
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Exit 2, the option or argument that was meant, and nothing new in the folder."""
    monkeypatch.chdir(tmp_path)
    write_job(tmp_path)
    (tmp_path / "taken").write_text("mine", encoding="utf-8")
    before = sorted(tmp_path.rglob("*"))
    assert run(["job.toml" if one == "JOB" else one for one in arguments]) == BAD_INPUT
    assert told in capsys.readouterr().err
    assert sorted(tmp_path.rglob("*")) == before


def test_faulty_checks_leave_no_form(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Told that nothing is written, so nothing is: the form comes after the checks were read."""
    form, checks = tmp_path / "form.pdf", tmp_path / "checks.csv"
    checks.write_text("when,method\n2030-06-01 09:00,by eye\n", encoding="utf-8")
    assert run(["proportioner", str(checks), "--form", str(form)]) == BAD_INPUT
    assert "nothing written" in capsys.readouterr().err
    assert not form.exists()


def test_trouble_with_the_card_leaves_no_figure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Figure and card of a mix are both made before either is written."""

    def fails(*_: object, **__: object) -> bytes:
        raise MemoryError("no room for a page")

    monkeypatch.setattr("stillwet.reports.mix_card.mix_card_bytes", fails)
    job, out, card = write_job(tmp_path), tmp_path / "w.svg", tmp_path / "c.pdf"
    arguments = ["--members", "16", "--out", str(out), "--card", str(card)]
    assert run(["mix", str(job), *arguments]) != OK
    assert "no room for a page" in capsys.readouterr().err
    assert not out.exists()


def stillwet(*arguments: str | Path, encoding: str = "utf-8") -> subprocess.CompletedProcess[bytes]:
    """The command in a process of its own, on a console of this encoding."""
    return subprocess.run(
        [sys.executable, "-m", "stillwet.cli", *map(str, arguments)],
        env={**os.environ, "PYTHONIOENCODING": encoding},
        capture_output=True,
        check=False,
    )


def test_a_console_without_a_letter_still_gets_the_answer(tmp_path: Path) -> None:
    """A code page that lacks a letter of a name (CP1252 has no c with caron) stops no answer."""
    job = write_job(tmp_path)
    text = job.read_text(encoding="utf-8").replace('name = "', 'name = "\u010cerna ')
    job.write_text(text, encoding="utf-8")
    done = stillwet("suits", job, "--members", "16", encoding="cp1252")
    assert done.returncode == OK, done.stderr
    assert b"\\u010cerna" in done.stdout


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="names there are always Unicode")
def test_a_name_that_is_no_utf8_is_bad_input(tmp_path: Path) -> None:
    """A folder named in another encoding: its job file is opened; a map file cannot be made."""
    folder = Path(os.fsdecode(os.fsencode(tmp_path) + b"/odd\xff"))
    folder.mkdir()
    job, kept = write_job(folder), folder / "day.gpkg"
    assert stillwet("keep", job, kept).returncode == OK
    assert stillwet("doctor", kept).returncode == OK
    done = stillwet("plan", job, "--members", "16", "--out", folder / "plan")
    assert done.returncode == BAD_INPUT
    assert b"path: wanted a name in UTF-8, got" in done.stderr
    assert not (folder / "plan").exists()
