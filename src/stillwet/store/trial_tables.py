"""Trials: kept, never changed, each content once; and which of them a plan's inputs counted."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, cast

from stillwet.domain.codec import CodecError, from_text, text_hash
from stillwet.domain.job import Job
from stillwet.domain.trials import Trial, TrialRecord
from stillwet.domain.typed_trials import trial_text
from stillwet.errors import Problem, StillwetError
from stillwet.store.job_file import JobFile
from stillwet.store.job_tables import sound, sources_text

Records = tuple[TrialRecord, ...]
_OF_TRIAL = "SELECT id FROM trials WHERE trial_id = ? AND content_hash = ?"


def add_trials(job_file: JobFile, trials: Iterable[TrialRecord]) -> int:
    """Add trials; those already there, word for word, are left. Returns how many were new."""
    with job_file.writing():
        return sum(_add(job_file, trial) for trial in trials)


def add_typed_trials(job_file: JobFile, trials: Iterable[TrialRecord]) -> int:
    """Add trials typed at the bench; one that stands there word for word is left.

    Returns how many were not.
    """
    added = 0
    with job_file.writing() as connection:
        for trial in trials:
            _add(job_file, trial)
            (row,) = connection.execute(_OF_TRIAL, _key(trial)).fetchone()
            last = connection.execute(
                "SELECT trial_row FROM typed_trials JOIN trials ON trials.id = trial_row "
                "WHERE trial_id = ? AND product_id = ? ORDER BY typed_trials.id DESC LIMIT 1",
                (sound(trial.id), sound(trial.product_id)),
            ).fetchone()
            if last != (row,):
                connection.execute("INSERT INTO typed_trials (trial_row) VALUES (?)", (row,))
                added += 1
    return added


def _add(job_file: JobFile, trial: TrialRecord) -> int:
    text = trial_text(trial)
    return job_file.connection.execute(
        "INSERT OR IGNORE INTO trials (trial_id, product_id, content_hash, record) "
        "VALUES (?, ?, ?, ?)",
        (sound(trial.id), sound(trial.product_id), text_hash(text), text),
    ).rowcount


def _key(trial: TrialRecord) -> tuple[str, str]:
    return sound(trial.id), text_hash(trial_text(trial))


def load_trials(job_file: JobFile) -> Records:
    """The trials in the order they were added; of one written twice, the later."""
    found = _records(job_file, "SELECT record FROM trials ORDER BY id")
    return tuple({(isinstance(one, Trial), one.id): one for one in found}.values())


def load_typed_trials(job_file: JobFile) -> Records:
    """Every typing at the bench, in order; one corrected stands there again."""
    return _records(
        job_file,
        "SELECT record FROM typed_trials JOIN trials ON trials.id = trial_row "
        "ORDER BY typed_trials.id",
    )


def keep_inputs(job_file: JobFile, job: Job, *, now_s: float) -> None:
    """Keep what a job is made of that counts typed trials: its files' and those trials.

    A job of files alone has its inputs from when it was kept.
    """
    if not job.files_hash:
        return
    with job_file.writing() as connection:
        new = connection.execute(
            "INSERT OR IGNORE INTO inputs (input_hash, kept_s, job_name, sources, files_hash) "
            "VALUES (?, ?, ?, ?, ?)",
            (job.input_hash, now_s, sound(job.name), sources_text(job), job.files_hash),
        )
        if new.rowcount != 1:
            return
        connection.execute(
            "INSERT INTO input_files (input_hash, position, file_id) "
            "SELECT ?, position, file_id FROM input_files WHERE input_hash = ?",
            (job.input_hash, job.files_hash),
        )
        connection.executemany(
            f"INSERT INTO input_trials (input_hash, trial_row) VALUES (?, ({_OF_TRIAL}))",
            ((job.input_hash, *_key(one)) for one in job.typed_trials),
        )


def files_hash_of(job_file: JobFile, input_hash: str) -> str:
    """The hash of the files alone that inputs are made of."""
    with job_file.reading() as connection:
        row = connection.execute(
            "SELECT ifnull(files_hash, input_hash) FROM inputs WHERE input_hash = ?", (input_hash,)
        ).fetchone()
    return str(row[0]) if row else input_hash


def typed_trials_of(job_file: JobFile, input_hash: str) -> Records:
    """The trials that inputs count beside those of their files."""
    return _records(
        job_file,
        "SELECT record FROM input_trials JOIN trials ON trials.id = trial_row "
        "WHERE input_hash = ? ORDER BY input_trials.id",
        input_hash,
    )


def _records(job_file: JobFile, query: str, *values: str) -> Records:
    with job_file.reading() as connection:
        rows = connection.execute(query, values).fetchall()
    try:
        return tuple(cast(TrialRecord, from_text(text, cast(Any, TrialRecord))) for (text,) in rows)
    except CodecError as error:
        raise StillwetError(
            Problem("trials", "sound records", str(error), str(job_file.path))
        ) from error
