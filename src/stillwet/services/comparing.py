"""Use case: what if. The job's plan beside the plans that changes make of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.comparison import Comparison, NotTried, pair_plans
from stillwet.domain.job import Job
from stillwet.errors import StillwetError
from stillwet.services.outputs import need_file_place, write_one
from stillwet.services.planning import (
    READ_SHARE,
    Progress,
    make_job_plan,
    read_whole_job,
    silent,
    with_knobs,
)
from stillwet.services.view import units_for

if TYPE_CHECKING:
    from stillwet.engine.change_keys import Change


@dataclass(frozen=True, slots=True)
class Compared:
    """One comparison, or several with the changes tried one at a time."""

    comparisons: tuple[Comparison, ...]
    not_tried: tuple[NotTried, ...]
    each: bool
    units: str

    def text(self) -> str:
        """What flips first, then the tables, in at most 100 columns."""
        from stillwet.reports.comparison_text import comparison_text, comparisons_text

        if self.each:
            return comparisons_text(self.comparisons, self.not_tried, self.units).rstrip("\n")
        return comparison_text(self.comparisons[0], self.units).rstrip("\n")

    def json_text(self) -> str:
        """The comparisons as JSON (schema stillwet.compare/1)."""
        from stillwet.reports.comparison_json import comparisons_to_json
        from stillwet.reports.plan_json import json_text

        return json_text(comparisons_to_json(self.comparisons, self.not_tried)).rstrip("\n")

    def csv_text(self) -> str:
        """One row an asset and comparison."""
        from stillwet.reports.comparison_json import comparisons_csv_text

        return comparisons_csv_text(self.comparisons)


def compare_job(
    path: Path,
    texts: Sequence[str],
    out: Path | None,
    *,
    each: bool = False,
    units: str | None = None,
    seed: int | None = None,
    members: int | None = None,
    progress: Progress | None = None,
) -> Compared:
    """Set the plan of the job at ``path`` beside the plan with all changes, or ``each`` alone.

    Without texts the usual doubts (data/doubts.toml) are tried one at a time, and those that the
    job does not allow are left out and told; a change that was asked for and cannot be is an error.
    """
    from stillwet.engine.changes import read_changes

    tell = progress or silent
    if out is not None:
        need_file_place(out, (".csv",))
    asked = read_changes(texts)
    tell("reading the job", 0.0)
    job = with_knobs(read_whole_job(path), seed=seed, members=members)
    sets, not_tried = _sets(job, asked, each=each)
    compared = Compared(
        comparisons=_comparisons(job, sets, tell),
        not_tried=not_tried,
        each=each or not asked,
        units=units_for(units, job),
    )
    if out is not None:
        write_one(out, compared.csv_text().encode())
    tell("done", 1.0)
    return compared


_Set = tuple["tuple[Change, ...]", Job]


def _sets(
    job: Job, asked: tuple[Change, ...], *, each: bool
) -> tuple[list[_Set], tuple[NotTried, ...]]:
    """Each set of changes with the job it makes, before any plan is reckoned."""
    from stillwet.engine.changes import change_job, usual_doubts

    if asked:
        alone = [(change,) for change in asked] if each else [asked]
        return [(changes, change_job(job, changes)) for changes in alone], ()
    sets: list[_Set] = []
    not_tried = []
    for change in usual_doubts():
        try:
            sets.append(((change,), change_job(job, (change,))))
        except StillwetError as error:
            not_tried.append(NotTried(change.what_if, "; ".join(map(str, error.problems))))
    return sets, tuple(not_tried)


def _comparisons(job: Job, sets: Sequence[_Set], tell: Progress) -> tuple[Comparison, ...]:
    """The plan as it stands beside the plan of every changed job."""
    from stillwet.engine.as_laid import as_laid
    from stillwet.engine.make_plan import plan_of
    from stillwet.engine.prepared import prepare

    tell("the plan as it stands", READ_SHARE)
    before = make_job_plan(job, job.start_s, silent)
    found = []
    for count, (changes, changed) in enumerate(sets, 1):
        told = ", ".join(change.words for change in changes)
        tell(told, READ_SHARE + (1.0 - READ_SHARE) * count / (len(sets) + 1))
        prepared = prepare(changed)
        after = plan_of(prepared, now_s=changed.start_s)
        what_if = tuple(change.what_if for change in changes)
        found.append(pair_plans(what_if, before, after, as_laid(job, before, prepared)))
    return tuple(found)
