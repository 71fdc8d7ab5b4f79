"""The account from a job file: which plan, which moment, all files or none."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from after_fixture import PASSED_S, after_job, scene, whole_log
from job_fixture import HOUR, START_S, make_asset
from stillwet.domain.job import Job
from stillwet.domain.trials import YieldEstimate
from stillwet.errors import StillwetError
from stillwet.exchange.trials import read_trials
from stillwet.services.after import account_for
from stillwet.store.job_file import make_job_file, open_job_file
from stillwet.store.job_tables import save_job
from stillwet.store.log_table import add_entries
from stillwet.store.plan_tables import Made, keep_plan
from stillwet.store.trial_tables import add_trials
from store_fixture import NOW_S, all_faces
from trial_fixture import made_series, plain_trial

FILES = {
    "after.pdf", "after.json", "holding.svg", "use.csv", "checks.csv", "residue.csv",
    "outcomes.csv", "to_do.ics",
}  # fmt: skip
LAST_S = PASSED_S + 3 * HOUR  # the log's last entry


def _file(folder: Path, job: Job, *, is_planned: bool = True) -> Path:
    """A job file: the plan of the first job in it, then this job, and the whole log."""
    path = folder / "day.gpkg"
    first = after_job()
    with make_job_file(path, now_s=NOW_S) as made:
        save_job(made, first, all_faces(first), now_s=NOW_S)
        if is_planned:
            keep_plan(made, scene().plan, Made(first.input_hash, "0.1", 1, 32))
        save_job(made, job, all_faces(job), now_s=NOW_S)
        add_entries(made, whole_log())
    return path


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The whole log in a job file with its plan; copy it before changing it."""
    return _file(tmp_path_factory.mktemp("after"), after_job())


def test_it_is_made_at_the_logs_last_entry_or_later(kept: Path) -> None:
    """A clock that stands before the log does not hide it; a later one counts."""
    found = account_for(kept, None, now_s=START_S).after
    assert found.now_s == LAST_S
    assert found.plan_id == scene().plan.id
    assert found.entries == len(whole_log())
    assert account_for(kept, None, now_s=LAST_S + HOUR).after.now_s == LAST_S + HOUR


def test_all_files_or_none(kept: Path, tmp_path: Path) -> None:
    """Every named file and no other, whole; trials only where there are some."""
    made = account_for(kept, tmp_path / "after", now_s=START_S)
    assert {path.name for path in made.files} == FILES
    assert {path.name for path in (tmp_path / "after").iterdir()} == FILES
    assert all(path.stat().st_size for path in made.files)


def test_trials_are_there_for_the_next_job(kept: Path, tmp_path: Path) -> None:
    """What the job file keeps is what the next job reads."""
    path = Path(shutil.copy(kept, tmp_path / "day.gpkg"))
    series = made_series(0.7, seed=1)
    late = tuple(
        replace(one, when_s=one.when_s + START_S, mass_kg_m2=one.mass_kg_m2)
        for one in series.weighings
    )
    trials = (plain_trial("t1", 0.01, YieldEstimate(40.0)), replace(series, weighings=late))
    with open_job_file(path, now_s=NOW_S) as opened:
        add_trials(opened, trials)
    found = account_for(path, tmp_path / "after", now_s=START_S)
    assert found.after.trials == 2
    again, _, problems = read_trials(tmp_path / "after" / "trials.csv")
    assert problems == ()
    assert again is not None
    assert [one.id for one in again] == ["t1", "c1"]


def test_without_a_kept_plan_one_is_reckoned_and_that_is_said(tmp_path: Path) -> None:
    """Held against what the job would be planned now."""
    found = account_for(_file(tmp_path, after_job(), is_planned=False), None, now_s=START_S).after
    assert any("no plan is kept" in note for note in found.notes)
    assert found.planned.mix_m3 > 0.0


def test_a_plan_that_lacks_faces_is_not_taken(tmp_path: Path) -> None:
    """The job got a house since: said, and refused where that very plan was asked for."""
    job = after_job()
    more = replace(job, assets=(*job.assets, make_asset(id="a9", name="New house", y_m=300.0)))
    path = _file(tmp_path, more)
    found = account_for(path, None, now_s=START_S).after
    assert any("lacks faces that the job has now" in note for note in found.notes)
    with pytest.raises(StillwetError, match="a plan of all the job's faces"):
        account_for(path, None, now_s=START_S, plan_id=scene().plan.id)


def test_a_plan_of_an_older_job_is_taken_and_told(tmp_path: Path) -> None:
    """Same faces, another hash."""
    path = _file(tmp_path, after_job(input_hash="cd" * 32))
    found = account_for(path, None, now_s=START_S, plan_id=scene().plan.id).after
    assert any("before the job in the file was changed" in note for note in found.notes)


def test_an_unknown_plan_is_refused_with_those_there_are(kept: Path) -> None:
    """The message names what was asked for and what could be."""
    with pytest.raises(StillwetError, match=f"kept are: {scene().plan.id}"):
        account_for(kept, None, now_s=START_S, plan_id="nope")


def test_a_toml_job_is_refused(tmp_path: Path) -> None:
    """It has no log; the way to a job file is told."""
    with pytest.raises(StillwetError, match="stillwet keep"):
        account_for(tmp_path / "job.toml", None, now_s=START_S)


def test_a_file_in_the_folders_place_is_told_before_any_work(kept: Path, tmp_path: Path) -> None:
    """Nothing is reckoned for a folder that cannot be."""
    (tmp_path / "after").write_text("mine", encoding="utf-8")
    with pytest.raises(StillwetError, match="wanted a folder"):
        account_for(kept, tmp_path / "after", now_s=START_S)
