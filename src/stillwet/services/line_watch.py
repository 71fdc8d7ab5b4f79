"""Use case: the lines of an open job as they are being worked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.log_merge import standing
from stillwet.services.planning import Progress
from stillwet.store.job_file import open_job_file
from stillwet.store.log_table import load_log
from stillwet.store.plan_tables import PlanKind, kept_plans, load_plan
from stillwet.store.stamp import stamp_of

CLOCK_AHEAD_S = 900.0  # by so much a phone's clock may be ahead of this machine's


def lines_now(path: Path, *, now_s: float, units: str) -> dict[str, Any]:
    """The latest plan of the lines held against the log, as plain data.

    Without a plan its list of lines is empty; ``is_current`` tells whether the plan is of the job
    as it is kept now.
    """
    from stillwet.engine.line_watch import watch_line
    from stillwet.reports.line_live import lines_live

    with open_job_file(path, now_s=now_s) as job_file:
        stamp = stamp_of(job_file)
        kept = [one for one in kept_plans(job_file) if one.kind is PlanKind.LINES]
        plan = load_plan(job_file, kept[-1].row) if kept else None
        entries = standing(load_log(job_file)).entries if kept else ()
    if not isinstance(plan, LinesPlan):
        return {"lines": [], "log_row": stamp.log_row, "is_current": False}
    near = [entry for entry in entries if entry.when_s <= now_s + CLOCK_AHEAD_S]
    seen_s = max([now_s, *(entry.when_s for entry in near)])
    watches = [watch_line(line, near, now_s=seen_s) for line in plan.lines]
    return {
        **lines_live(plan, watches, now_s=now_s, units=units),
        "log_row": stamp.log_row,
        "is_current": kept[-1].made.input_hash == stamp.input_hash,
    }


def reckon_lines(path: Path, now_s: float, progress: Progress) -> str:
    """Reckon the lines of a job file and keep their plan there; returns what to say of it."""
    from stillwet.services.lines import lines_of_job

    return lines_of_job(path, None, now_s=now_s, progress=progress).kept
