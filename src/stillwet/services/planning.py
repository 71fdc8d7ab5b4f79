"""The main use case: a job's files become a plan, on paper, in tables and for a map."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from stillwet.domain.job import Job
from stillwet.domain.plan import Plan
from stillwet.services.keeping import keep_plan_in, read_plain_job
from stillwet.services.outputs import Writer, bytes_writer, need_folder_place, write_whole
from stillwet.services.trials import with_trials
from stillwet.services.view import View

Progress = Callable[[str, float], None]

# The engine's own progress runs from reading to writing; these are the shares at its two ends.
READ_SHARE, RECKONED_SHARE = 0.05, 0.90


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan, how it is to be seen, and the files it was written to."""

    plan: Plan
    view: View
    files: tuple[Path, ...] = ()
    kept: str = ""  # what to say of its being kept in the job file

    def text(self) -> str:
        """The plan as a table of at most 100 columns."""
        from stillwet.reports.text_table import plan_text
        from stillwet.reports.words import Units

        return plan_text(self.plan, Units(self.view.units)).rstrip("\n")

    def json_text(self) -> str:
        """The plan as JSON (schema stillwet.plan/1)."""
        from stillwet.reports.plan_json import plan_json_text

        return plan_json_text(self.plan).rstrip("\n")


def plan_job(
    path: Path,
    out: Path | None,
    *,
    now_s: float,
    seed: int | None = None,
    members: int | None = None,
    view: View | None = None,
    progress: Progress | None = None,
) -> Planned:
    """Plan the job at ``path``; with ``out``, write the plan's files there, whole or not at all.

    A plan of a job file is kept in it.
    Raises StillwetError with every problem found in the job's files, before anything is written.
    """
    tell = progress or silent
    if out is not None:
        need_folder_place(out)
    tell("reading the job", 0.0)
    job = with_knobs(read_whole_job(path), seed=seed, members=members)
    view = (view or View()).of(job)
    span = RECKONED_SHARE - READ_SHARE
    plan = make_job_plan(job, now_s, lambda label, share: tell(label, READ_SHARE + span * share))
    kept = keep_plan_in(path, plan, job)
    if out is None:
        return Planned(plan, view, kept=kept)
    tell("writing the sheets", RECKONED_SHARE)
    files = write_whole(out, plan_writers(plan, view))
    tell("done", 1.0)
    return Planned(plan, view, files, kept)


def read_whole_job(path: Path) -> Job:
    """The job at ``path`` (TOML or job file), its product as its taken trials have it.

    Raises StillwetError with every problem its files have.
    """
    return with_trials(read_plain_job(path))


def plan_writers(plan: Plan, view: View) -> dict[str, Writer]:
    """Every file of a plan, by name, with what writes it."""
    from stillwet.reports.plan_csv import plan_csv_text
    from stillwet.reports.plan_gpkg import plan_gpkg_write
    from stillwet.reports.plan_json import plan_json_text
    from stillwet.reports.plan_pdf import plan_pdf_bytes

    return {
        "plan.json": bytes_writer(plan_json_text(plan).encode()),
        "plan.csv": bytes_writer(plan_csv_text(plan).encode()),
        "plan.gpkg": lambda path: plan_gpkg_write(plan, path),
        "plan.pdf": bytes_writer(plan_pdf_bytes(plan, units=view.units, paper=view.paper)),
    }


def make_job_plan(job: Job, now_s: float, progress: Progress) -> Plan:
    """The plan of a job that has been read."""
    from stillwet.engine.make_plan import make_plan

    return make_plan(job, now_s=now_s, progress=progress)


def with_knobs(job: Job, *, seed: int | None, members: int | None) -> Job:
    """The job with another seed or number of members, where one is given."""
    return replace(
        job,
        seed=job.seed if seed is None else seed,
        members=job.members if members is None else members,
    )


def silent(label: str, share: float) -> None:
    """Say nothing."""
