"""Trials typed at the bench beside those of a job's own files: which count."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, cast

from stillwet.domain.codec import text_hash, to_text
from stillwet.domain.job import Job
from stillwet.domain.products import Product
from stillwet.domain.trials import Trial, TrialRecord

BENCH = "the bench"

Records = tuple[TrialRecord, ...]


@dataclass(frozen=True, slots=True)
class Standing:
    """How a plan kept earlier stands to the job as it is now.

    ``since`` names the trials that were typed after the plan was made and count now; it is empty
    where the job's files are others, because then the whole plan is of another job.
    """

    is_of_files: bool
    since: tuple[str, ...] = ()

    @property
    def is_current(self) -> bool:
        """True when the plan is of the job with all that counts now."""
        return self.is_of_files and not self.since


def with_typed_trials(job: Job, typed: Iterable[TrialRecord]) -> Job:
    """The job of its files with the trials typed beside them, in the order they were typed.

    All of its product count. Of one name the one typed last does, also over one of the files. A
    typed trial that is like one of the files in all but its name is that one, and counts once.
    Where none makes a difference the job is returned as it is; else its input hash is of both.
    """
    typed = tuple(typed)
    own = own_trials(typed, job.product)
    every, counted = _joined(job.trials, own)
    told = (*_not_counted(typed, own, job.product), *_copies(own, every))
    remarks = (*job.remarks, *told, *_replaced(job.trials, counted))
    if not counted:
        return replace(job, remarks=remarks)
    filed = len(every) > len(counted)
    marks = (job.input_hash, BENCH, *(trial_text(one) for one in every))
    return replace(
        job,
        trials=every,
        trials_source=f"{job.trials_source} and {BENCH}" if filed else BENCH,
        typed_trials=counted,
        input_hash=text_hash("|".join(marks)),
        files_hash=job.input_hash,
        remarks=remarks,
    )


def trial_text(trial: TrialRecord) -> str:
    """A trial as the text that is kept of it."""
    return to_text(trial, cast(Any, TrialRecord))


def own_trials(trials: Iterable[TrialRecord], product: Product) -> Records:
    """Those of one product in its own basis, each name once: as it was typed last."""
    return tuple({_key(one): one for one in trials if _is_of(one, product)}.values())


def _is_of(one: TrialRecord, product: Product) -> bool:
    if one.product_id not in (product.id, product.name):
        return False
    return not isinstance(one, Trial) or one.ratio_basis is product.ratio_basis


def _joined(filed: Records, typed: Records) -> tuple[Records, Records]:
    """All that count, and those of them that stand in no file."""
    every = {_key(one): one for one in filed}
    counted = [one for one in typed if _told(one) != _told(every.get(_key(one), one))]
    every |= {_key(one): one for one in counted}
    copies = Counter(_told(one) for one in every.values())
    for one in typed:
        if _key(one) in every:
            continue
        if copies[_told(one)]:
            copies[_told(one)] -= 1
        else:
            counted.append(one)
    every |= {_key(one): one for one in counted}
    return tuple(every.values()), tuple(counted)


def _key(one: TrialRecord) -> tuple[bool, str]:
    return isinstance(one, Trial), one.id


def _told(one: TrialRecord) -> TrialRecord:
    """All that a trial says but its name, and its product's, which is known."""
    return replace(one, id="-", product_id="-")


def _copies(own: Records, every: Records) -> Iterable[str]:
    known = {_key(one) for one in every}
    names = [one.id for one in own if _key(one) not in known]
    if names:
        yield f"trials that a file of the job has already, so counted once: {', '.join(names)}"


def _replaced(filed: Records, counted: Records) -> Iterable[str]:
    known = {_key(one) for one in filed}
    names = [one.id for one in counted if _key(one) in known]
    if names:
        yield f"trials typed at the bench that replace those so named in a file: {', '.join(names)}"


def _not_counted(typed: Records, own: Records, product: Product) -> Iterable[str]:
    known = {_key(one) for one in own}
    names = dict.fromkeys(one.id for one in typed if _key(one) not in known)
    if names:
        yield (
            f"trials typed at the bench that are not of {product.name} in its own basis do not "
            f"count: {', '.join(names)}"
        )
