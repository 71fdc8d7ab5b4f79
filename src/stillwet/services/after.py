"""Use case: the account of a job, from its job file: what was used, seen, left and learned."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.after import After
from stillwet.domain.crew_plan import CrewPlan
from stillwet.domain.job import Job
from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.log import Entry
from stillwet.domain.log_merge import standing
from stillwet.domain.plan import Plan
from stillwet.domain.trials import TrialRecord
from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.keeping import need_job_file
from stillwet.services.outputs import Writer, bytes_writer, need_folder_place, write_whole
from stillwet.services.planning import Progress, read_whole_job, silent
from stillwet.services.view import View

if TYPE_CHECKING:
    from stillwet.engine.prepared import Prepared
    from stillwet.store.job_file import JobFile

_READ, _RECKONED, _TOLD = 0.05, 0.75, 0.9


@dataclass(frozen=True, slots=True)
class Accounted:
    """The account, how it is to be seen, and the files it was written to."""

    after: After
    view: View
    files: tuple[Path, ...] = ()

    def text(self) -> str:
        """The account as text of at most 100 columns."""
        from stillwet.reports.after_text import after_text

        return after_text(self.after, self.view.units).rstrip("\n")

    def json_text(self) -> str:
        """The account as JSON (schema stillwet.after/1)."""
        from stillwet.reports.after_json import after_json_text

        return after_json_text(self.after).rstrip("\n")


@dataclass(frozen=True, slots=True)
class _Kept:
    """What a job file holds that an account is made from."""

    entries: tuple[Entry, ...]
    contested: int
    plan: Plan | None
    day: CrewPlan | None
    lines: LinesPlan | None
    trials: tuple[TrialRecord, ...]
    notes: tuple[str, ...]


def account_for(
    path: Path,
    out: Path | None,
    *,
    now_s: float,
    plan_id: str | None = None,
    view: View | None = None,
    progress: Progress | None = None,
) -> Accounted:
    """The account of the job file at ``path``; with ``out``, write its files there, whole or none.

    It is made at ``now_s`` or at the log's last entry, whichever is later. ``plan_id`` picks the
    plan of coats to hold the log against; without it the newest that is kept.
    """
    tell = progress or silent
    need_job_file(path)
    if out is not None:
        need_folder_place(out)
    tell("reading the job", 0.0)
    job = read_whole_job(path)
    view = (view or View()).of(job)
    kept = _read_kept(path, job, plan_id, now_s)
    after = _account(job, kept, now_s, tell)
    if out is None:
        tell("done", 1.0)
        return Accounted(after, view)
    tell("writing the account", _TOLD)
    files = write_whole(out, after_writers(after, kept.trials, view))
    tell("done", 1.0)
    return Accounted(after, view, files)


def _account(job: Job, kept: _Kept, now_s: float, tell: Progress) -> After:
    from stillwet.engine.after import account_of
    from stillwet.engine.make_plan import plan_of
    from stillwet.engine.prepared import prepare

    span = _RECKONED - _READ
    prepared: Prepared = prepare(
        job, progress=lambda label, share: tell(label, _READ + span * share)
    )
    own = plan_of(prepared, now_s=job.start_s) if kept.plan is None else kept.plan
    last_s = max((entry.when_s for entry in kept.entries), default=now_s)
    tell("holding the log against the plan", _RECKONED)
    after = account_of(
        prepared,
        own,
        kept.day,
        kept.entries,
        now_s=max(now_s, last_s),
        seed=job.seed,
        lines=kept.lines,
    )
    return replace(after, trials=len(kept.trials), notes=(*kept.notes, *after.notes))


def _read_kept(path: Path, job: Job, plan_id: str | None, now_s: float) -> _Kept:
    from stillwet.store.job_file import open_job_file
    from stillwet.store.log_table import load_log
    from stillwet.store.trial_tables import load_trials

    with open_job_file(path, now_s=now_s) as job_file:
        told = standing(load_log(job_file))
        plan, notes = _plan_of_coats(job_file, job, plan_id)
        day = _plan_of_crews(job_file, plan)
        lines, of_lines = _plan_of_lines(job_file, job)
        trials = _every_trial(load_trials(job_file), job.trials)
    notes = (*notes, *of_lines)
    if told.contested:
        notes = (*notes, _contested_words(len(told.contested)))
    if day is None:
        notes = (*notes, "no plan of the crews' day is kept, so crews are held against none")
    return _Kept(told.entries, len(told.contested), plan, day, lines, trials, notes)


def _contested_words(count: int) -> str:
    if count == 1:
        return "1 entry of the log contradicts another: look at both"
    return f"{count} entries of the log contradict others: look at them"


def _every_trial(
    kept: tuple[TrialRecord, ...], counted: tuple[TrialRecord, ...]
) -> tuple[TrialRecord, ...]:
    """All that were ever kept; of one name the one that counts."""
    named = {(type(one), one.id): one for one in kept}
    return tuple((named | {(type(one), one.id): one for one in counted}).values())


def _plan_of_coats(
    job_file: JobFile, job: Job, plan_id: str | None
) -> tuple[Plan | None, tuple[str, ...]]:
    """The plan that was worked by, or None where none fits, with what to say of that."""
    from stillwet.services.keeping import faces_of_job
    from stillwet.services.typed_trials import since_words, standing_of
    from stillwet.store.plan_tables import PlanKind, kept_plans, load_plan

    every = [one for one in kept_plans(job_file) if one.kind is PlanKind.COATS]
    picked = [one for one in every if plan_id is None or one.plan_id == plan_id]
    if plan_id is not None and not picked:
        wanted = "a plan of coats that the file keeps"
        known = "kept are: " + (", ".join(one.plan_id for one in every) or "none")
        raise StillwetError(Problem("--plan", wanted, shown(plan_id), str(job_file.path), known))
    if not picked:
        return None, ("no plan is kept in the file: held against one reckoned now from its job",)
    plan = load_plan(job_file, picked[-1].row)
    assert isinstance(plan, Plan)  # only plans of coats were picked
    known_faces = {face.surface.id for asset in plan.assets for face in asset.surfaces}
    lacking = [face.id for face in faces_of_job(job) if face.id not in known_faces]
    if lacking:
        if plan_id is not None:
            got = f"one without {len(lacking)} of the job's faces, {lacking[0]} first"
            raise StillwetError(
                Problem("--plan", "a plan of all the job's faces", got, str(job_file.path))
            )
        said = f"plan {plan.id} lacks faces that the job has now: held against one reckoned now"
        return None, (said,)
    standing = standing_of(job_file, picked[-1].made.input_hash, job)
    if not standing.is_of_files:
        return plan, (f"plan {plan.id} was made before the job in the file was changed",)
    return plan, (since_words(plan.id, standing.since),) if standing.since else ()


def _plan_of_crews(job_file: JobFile, plan: Plan | None) -> CrewPlan | None:
    """The newest plan of the crews' day: one of this plan of coats where there is one."""
    from stillwet.store.plan_tables import PlanKind, kept_plans, load_plan

    rows = [one.row for one in kept_plans(job_file) if one.kind is PlanKind.CREWS]
    days = [load_plan(job_file, row) for row in reversed(rows)]
    crews = [day for day in days if isinstance(day, CrewPlan)]
    same = [day for day in crews if plan is not None and day.plan_id == plan.id]
    return next(iter([*same, *crews]), None)


def _plan_of_lines(job_file: JobFile, job: Job) -> tuple[LinesPlan | None, tuple[str, ...]]:
    """The newest plan of the lines, or None, with what to say of it."""
    from stillwet.services.typed_trials import since_words, standing_of
    from stillwet.store.plan_tables import PlanKind, kept_plans, load_plan

    kept = [one for one in kept_plans(job_file) if one.kind is PlanKind.LINES]
    if not kept:
        return None, ()
    plan = load_plan(job_file, kept[-1].row)
    assert isinstance(plan, LinesPlan)  # only plans of lines were picked
    standing = standing_of(job_file, kept[-1].made.input_hash, job)
    if not standing.is_of_files:
        said = f"plan {plan.id} of the lines was made before the job in the file was changed"
        return plan, (said,)
    return plan, (since_words(plan.id, standing.since),) if standing.since else ()


def after_writers(after: After, trials: tuple[TrialRecord, ...], view: View) -> dict[str, Writer]:
    """Every file of an account, by name; trials only where there are some."""
    from stillwet.exchange.trial_table import trials_csv_text
    from stillwet.reports.after_calendar import after_calendar_text
    from stillwet.reports.after_csv import (
        checks_csv_text,
        outcomes_csv_text,
        residue_csv_text,
        use_csv_text,
    )
    from stillwet.reports.after_figure import holding_figure_svg
    from stillwet.reports.after_json import after_json_text
    from stillwet.reports.after_pdf import after_pdf_bytes

    texts = {
        "after.json": after_json_text(after),
        "holding.svg": holding_figure_svg(after),
        "use.csv": use_csv_text(after),
        "checks.csv": checks_csv_text(after),
        "residue.csv": residue_csv_text(after),
        "outcomes.csv": outcomes_csv_text(after),
        "to_do.ics": after_calendar_text(after),
    }
    if trials:
        texts["trials.csv"] = trials_csv_text(trials)
    writers = {name: bytes_writer(text.encode()) for name, text in texts.items()}
    sheets = after_pdf_bytes(after, units=view.units, paper=view.paper)
    return {"after.pdf": bytes_writer(sheets), **writers}
