"""Use case: what is left on every coated face now, from the job, its plan and its field log."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.left import Left
from stillwet.domain.log_merge import standing
from stillwet.domain.plan import Plan
from stillwet.errors import Problem, StillwetError
from stillwet.services.keeping import is_job_file
from stillwet.services.logbook import log_of
from stillwet.services.planning import Progress, read_whole_job, silent

if TYPE_CHECKING:
    from stillwet.domain.job import Job
    from stillwet.engine.prepared import Prepared

_READ, _FILTERED = 0.05, 0.9


@dataclass(frozen=True, slots=True)
class LeftShown:
    """What is left, ready to be shown."""

    left: Left
    units: str = "us"

    def text(self) -> str:
        """The faces as a table of at most 100 columns, worst first."""
        from stillwet.reports.left_text import left_text

        return left_text(self.left, self.units).rstrip("\n")

    def json_text(self) -> str:
        """The same as JSON (schema stillwet.left/1)."""
        from stillwet.reports.left_json import left_json_text

        return left_json_text(self.left).rstrip("\n")


class LeftReckoner:
    """Reckons what is left in one job file again and again.

    What does not hang on the log (weather, fire, faces: seconds of work) is kept until the job in
    the file is another; the log is read anew each time (a fraction of a second).
    """

    def __init__(self, path: Path) -> None:
        if not is_job_file(path):
            hint = "the log is in the job file: stillwet keep JOB.toml JOB.gpkg"
            raise StillwetError(Problem("job", "a job file (.gpkg)", repr(path.name), "", hint))
        self._path = path
        self._made: tuple[str, Prepared, Plan] | None = None

    def left(self, now_s: float, *, progress: Progress | None = None) -> Left:
        """What is left at a moment."""
        from stillwet.engine.left import what_is_left

        tell = progress or silent
        tell("reading the job", 0.0)
        job = read_whole_job(self._path)
        entries = standing(log_of(self._path)).entries
        prepared, plan, note = self._prepared(job, tell)
        tell("weighing the checks", _FILTERED)
        left = what_is_left(prepared, plan, entries, now_s=now_s, seed=job.seed)
        tell("done", 1.0)
        return replace(left, notes=(*((note,) if note else ()), *left.notes))

    def _prepared(self, job: Job, tell: Progress) -> tuple[Prepared, Plan, str]:
        from stillwet.engine.make_plan import plan_of
        from stillwet.engine.prepared import prepare

        made = self._made
        if made is None or made[0] != job.input_hash:
            span = _FILTERED - _READ
            prepared = prepare(job, progress=lambda what, share: tell(what, _READ + span * share))
            own = plan_of(prepared, now_s=job.start_s)
            made = self._made = (job.input_hash, prepared, own)
        kept, note = _kept_plan(self._path, job)
        return made[1], kept or made[2], note


def left_of(path: Path, now_s: float, *, progress: Progress | None = None) -> Left:
    """What is left on every coated face of a job file at a moment, worst first."""
    return LeftReckoner(path).left(now_s, progress=progress)


def show_left(
    path: Path, *, now_s: float, units: str = "us", progress: Progress | None = None
) -> LeftShown:
    """What is left, to be shown in these units."""
    return LeftShown(left_of(path, now_s, progress=progress), units)


def _kept_plan(path: Path, job: Job) -> tuple[Plan | None, str]:
    """The newest plan of coats kept in the file, if it is of the job as it is now.

    A coat logged without an amount was laid as that plan said, seed and members included.
    """
    from stillwet.store.job_file import open_job_file
    from stillwet.store.plan_tables import PlanKind, kept_plans, load_plan

    with open_job_file(path, now_s=job.start_s) as job_file:
        coats = [plan for plan in kept_plans(job_file) if plan.kind is PlanKind.COATS]
        if not coats:
            return None, ""
        if coats[-1].made.input_hash != job.input_hash:
            return None, (
                f"plan {coats[-1].plan_id} was made before the job was changed: coats logged "
                "without an amount are taken as the job would be planned now"
            )
        found = load_plan(job_file, coats[-1].row)
    assert isinstance(found, Plan)
    return found, ""
