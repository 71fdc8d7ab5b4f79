"""Use case: a job file's job with the trials typed at its bench, and plans made before them."""

from __future__ import annotations

from pathlib import Path

from stillwet.domain.job import Job
from stillwet.domain.trials import TrialRecord
from stillwet.domain.typed_trials import Standing, with_typed_trials
from stillwet.store.job_file import JobFile, open_job_file
from stillwet.store.job_tables import load_job
from stillwet.store.trial_tables import files_hash_of, load_typed_trials, typed_trials_of

_MOST_NAMED = 12


def load_counted_job(job_file: JobFile) -> Job:
    """The job that the file holds, with every trial that counts for it."""
    return with_typed_trials(load_job(job_file), load_typed_trials(job_file))


def with_bench(path: Path, job: Job, *, now_s: float) -> Job:
    """A job read from files elsewhere, with the trials typed at the bench of this job file."""
    with open_job_file(path, now_s=now_s) as job_file:
        return with_typed_trials(job, load_typed_trials(job_file))


def standing_of(job_file: JobFile, input_hash: str, job: Job) -> Standing:
    """How a plan made of these inputs stands to the file's job as it counts now."""
    if input_hash == job.input_hash:
        return Standing(is_of_files=True)
    if files_hash_of(job_file, input_hash) != (job.files_hash or job.input_hash):
        return Standing(is_of_files=False)
    known = set(typed_trials_of(job_file, input_hash))
    since = tuple(one.id for one in job.typed_trials if one not in known)
    return Standing(is_of_files=True, since=since)


def since_words(plan_id: str, since: tuple[str, ...]) -> str:
    """What to say of trials that a plan does not know yet."""
    count = len(since)
    were = "trial was" if count == 1 else "trials were"
    return (
        f"{count} {were} typed at the bench after plan {plan_id} was made and not counted in it: "
        f"{names_of(since)}. Plan again to count all."
    )


def counted_words(job: Job) -> str:
    """Which trials a job counts, and where they stand."""
    typed = tuple(one.id for one in job.typed_trials)
    filed = tuple(one.id for one in _filed(job))
    parts = []
    if filed:
        parts.append(f"of {job.trials_source.removesuffix(' and the bench')}: {names_of(filed)}")
    if typed:
        parts.append(f"typed at the bench: {names_of(typed)}")
    return f"{job.product.name}: trials counted, {'; '.join(parts)}"


def _filed(job: Job) -> tuple[TrialRecord, ...]:
    typed = set(job.typed_trials)
    return tuple(one for one in job.trials if one not in typed)


def names_of(names: tuple[str, ...]) -> str:
    """Names, some of them where there are many."""
    rest = len(names) - _MOST_NAMED
    return ", ".join(names[:_MOST_NAMED]) + (f" and {rest} more" if rest > 0 else "")
