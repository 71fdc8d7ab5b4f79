"""Trials typed at the bench in their tables, and the inputs that count them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from stillwet.domain.job import Job
from stillwet.domain.sharing import FileKind, SourceFile
from stillwet.domain.trials import Trial, YieldEstimate
from stillwet.domain.typed_trials import with_typed_trials
from stillwet.store.doctor import examine
from stillwet.store.file_tables import load_files, save_files
from stillwet.store.job_file import open_job_file
from stillwet.store.trial_tables import (
    add_trials,
    add_typed_trials,
    files_hash_of,
    keep_inputs,
    load_trials,
    load_typed_trials,
    typed_trials_of,
)
from store_fixture import NOW_S, all_faces, kept_job, small_job
from trial_fixture import plain_trial


def board(name: str, ratio: float) -> Trial:
    """A trial of the small job's product."""
    made = plain_trial(name, ratio, YieldEstimate(40.0))
    return replace(made, product_id=small_job().product.id)


def test_every_typing_is_kept_in_order_also_back_again(tmp_path: Path) -> None:
    """One, another under its name, the first again: three typings; the same twice over is one."""
    first, other = board("b", 0.01), board("b", 0.02)
    with open_job_file(kept_job(tmp_path), now_s=NOW_S) as job_file:
        assert add_typed_trials(job_file, [first, first]) == 1
        assert add_typed_trials(job_file, [other]) == 1
        assert add_typed_trials(job_file, [first]) == 1
        assert load_typed_trials(job_file) == (first, other, first)
        assert len(load_trials(job_file)) == 1


def test_a_trial_of_the_files_is_typed_only_when_it_is_typed(tmp_path: Path) -> None:
    """Kept with the job it stands in the table of trials alone; typed word for word, in both."""
    with open_job_file(kept_job(tmp_path), now_s=NOW_S) as job_file:
        add_trials(job_file, [board("t1", 0.01)])
        assert load_typed_trials(job_file) == ()
        assert add_typed_trials(job_file, [board("t1", 0.01)]) == 1
        assert load_typed_trials(job_file) == (board("t1", 0.01),)


@pytest.fixture
def counted() -> Job:
    """The small job with a typed trial."""
    return with_typed_trials(small_job(), [board("b", 0.01)])


def test_inputs_with_trials_have_their_own_files_and_trials(tmp_path: Path, counted: Job) -> None:
    """Kept once: the files of the job, the trials beside, the hash of the files alone."""
    path = kept_job(tmp_path)
    files = (SourceFile("job.toml", FileKind.JOB, b"name"), SourceFile("w", FileKind.INPUT, b"w"))
    with open_job_file(path, now_s=NOW_S) as job_file:
        save_files(job_file, counted.files_hash, files)
        add_typed_trials(job_file, counted.typed_trials)
        for _ in range(2):
            keep_inputs(job_file, counted, now_s=NOW_S)
        assert load_files(job_file, counted.input_hash) == files
        assert typed_trials_of(job_file, counted.input_hash) == counted.typed_trials
        assert typed_trials_of(job_file, counted.files_hash) == ()
        assert files_hash_of(job_file, counted.input_hash) == small_job().input_hash
        assert files_hash_of(job_file, small_job().input_hash) == small_job().input_hash
        rows = job_file.connection.execute("SELECT count(*) FROM inputs").fetchone()
    assert rows == (2,)
    assert examine(path, all_faces, now_s=NOW_S).is_sound


def test_inputs_of_files_alone_are_left(tmp_path: Path) -> None:
    """Nothing is written for a job that counts no typed trial."""
    with open_job_file(kept_job(tmp_path), now_s=NOW_S) as job_file:
        keep_inputs(job_file, small_job(), now_s=NOW_S)
        assert job_file.connection.execute("SELECT count(*) FROM inputs").fetchone() == (1,)
