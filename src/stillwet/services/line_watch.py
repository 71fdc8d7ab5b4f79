"""Use case: the lines of an open job as they are being worked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.line_watch import LineWatch
from stillwet.domain.log import Entry
from stillwet.domain.log_merge import standing as standing_entries
from stillwet.domain.typed_trials import Standing
from stillwet.services.left import CLOCK_AHEAD_S
from stillwet.services.planning import Progress
from stillwet.services.typed_trials import load_counted_job, since_words, standing_of
from stillwet.store.job_file import JobFile, open_job_file
from stillwet.store.log_table import load_log
from stillwet.store.plan_tables import PlanKind, kept_plans, load_plan
from stillwet.store.stamp import Stamp, stamp_of


def lines_now(path: Path, *, now_s: float, units: str) -> dict[str, Any]:
    """The latest plan of the lines held against the log, as plain data.

    Without a plan its list of lines is empty; ``is_current`` tells whether the plan is of the job's
    files as they are kept now, ``trials_since`` which trials were typed after it, if any.
    """
    from stillwet.reports.line_live import lines_live

    with open_job_file(path, now_s=now_s) as job_file:
        stamp = stamp_of(job_file)
        plan, input_hash, entries = _plan_and_log(job_file)
        standing = Standing(is_of_files=False)
        if plan is not None:
            standing = _standing(job_file, input_hash, stamp)
    if plan is None:
        return {"lines": [], "log_row": stamp.log_row, "is_current": False}
    near = _by_now(entries, now_s)
    seen_s = max([now_s, *(entry.when_s for entry in near)])
    return {
        **lines_live(plan, _watched(plan, near, seen_s), now_s=now_s, units=units),
        "log_row": stamp.log_row,
        "is_current": standing.is_of_files,
        "trials_since": since_words(plan.id, standing.since) if standing.since else "",
    }


def lag_alarms(path: Path, *, at_s: float, now_s: float) -> list[dict[str, str]]:
    """Which stretches are past their lag and not lit at ``at_s``, by what is logged ``now_s``.

    As plain data like the alarms of the wet board; the segment ("line/segment") as their surface.
    """
    from stillwet.reports.line_live import late_alarms

    with open_job_file(path, now_s=now_s) as job_file:
        plan, _hash, entries = _plan_and_log(job_file)
    if plan is None:
        return []
    near = [entry for entry in _by_now(entries, now_s) if at_s >= now_s or entry.when_s <= at_s]
    seen_s = max([at_s, *(entry.when_s for entry in near)])
    return late_alarms(plan, _watched(plan, near, seen_s))


def _plan_and_log(job_file: JobFile) -> tuple[LinesPlan | None, str, tuple[Entry, ...]]:
    """The latest plan of the lines, the hash of the job it was made of, and the log."""
    kept = [one for one in kept_plans(job_file) if one.kind is PlanKind.LINES]
    if not kept:
        return None, "", ()
    plan = load_plan(job_file, kept[-1].row)
    assert isinstance(plan, LinesPlan)
    return plan, kept[-1].made.input_hash, standing_entries(load_log(job_file)).entries


def _standing(job_file: JobFile, input_hash: str, stamp: Stamp) -> Standing:
    """How a plan stands to the job; the job itself is read only where trials were typed."""
    if not stamp.trials_row:
        return Standing(is_of_files=input_hash == stamp.input_hash)
    return standing_of(job_file, input_hash, load_counted_job(job_file))


def _by_now(entries: Iterable[Entry], now_s: float) -> list[Entry]:
    return [entry for entry in entries if entry.when_s <= now_s + CLOCK_AHEAD_S]


def _watched(plan: LinesPlan, entries: Sequence[Entry], now_s: float) -> list[LineWatch]:
    from stillwet.engine.line_watch import watch_line

    return [watch_line(line, entries, now_s=now_s) for line in plan.lines]


def reckon_lines(path: Path, now_s: float, progress: Progress) -> str:
    """Reckon the lines of a job file and keep their plan there; returns what to say of it."""
    from stillwet.services.lines import lines_of_job

    return lines_of_job(path, None, now_s=now_s, progress=progress).kept
