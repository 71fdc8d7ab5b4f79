"""Use case: what is left on every coated face now, from the job, its plan and its field log."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.left import Left
from stillwet.domain.log_merge import standing
from stillwet.domain.plan import Plan
from stillwet.services.job_view import JobView, view_job
from stillwet.services.keeping import need_job_file
from stillwet.services.planning import Progress, silent
from stillwet.services.trials import with_trials
from stillwet.services.typed_trials import since_words
from stillwet.services.view import units_for
from stillwet.store.job_file import open_job_file
from stillwet.store.log_table import load_log
from stillwet.store.stamp import Stamp, stamp_of

if TYPE_CHECKING:
    from stillwet.domain.log import Entry
    from stillwet.engine.prepared import Prepared

CLOCK_AHEAD_S = 900.0  # by so much a phone's clock may be ahead of this machine's
_READ, _FILTERED = 0.05, 0.9


@dataclass(frozen=True, slots=True)
class LeftShown:
    """What is left, ready to be shown."""

    left: Left
    units: str

    def text(self) -> str:
        """The faces as a table of at most 100 columns, worst first."""
        from stillwet.reports.left_text import left_text

        return left_text(self.left, self.units).rstrip("\n")

    def json_text(self) -> str:
        """The same as JSON (schema stillwet.left/1)."""
        from stillwet.reports.left_json import left_json_text

        return left_json_text(self.left).rstrip("\n")


class LeftReckoner:
    """Reckons what is left in one job file again and again; what is costly is kept.

    Looking again reads what the file's stamp says has changed: the log in a fraction of a second,
    plans in another, and only for another job or other trials all that does not hang on the log
    (weather, fire, faces: seconds of work).
    """

    def __init__(self, path: Path) -> None:
        need_job_file(path)
        self.path = path
        self.stamp: Stamp | None = None
        self._entries: tuple[Entry, ...] = ()
        self._made: Made | None = None

    def look(self, now_s: float, *, progress: Progress | None = None) -> bool:
        """Take up what has changed in the file since it was last looked at; True if anything."""
        tell = progress or silent
        with open_job_file(self.path, now_s=now_s) as job_file:
            stamp = stamp_of(job_file)
            if stamp == self.stamp:
                return False
            entries = standing(load_log(job_file)).entries
        if self._made is None or _without_log(self._made.view.stamp) != _without_log(stamp):
            tell("reading the job", 0.0)
            self._made = _make(view_job(self.path, now_s=now_s), self._made, tell)
        self.stamp, self._entries = stamp, entries
        return True

    @property
    def made(self) -> Made:
        """The job as it was last looked at: prepared, with its plans."""
        assert self._made is not None, "look first"
        return self._made

    def known(self, now_s: float) -> tuple[Entry, ...]:
        """The entries of what has happened; those of a clock a little ahead happened just now."""
        near = (entry for entry in self._entries if entry.when_s <= now_s + CLOCK_AHEAD_S)
        return tuple(replace(entry, when_s=min(entry.when_s, now_s)) for entry in near)

    def left(
        self, at_s: float, *, now_s: float | None = None, progress: Progress | None = None
    ) -> Left:
        """What is left at ``at_s`` by what is known ``now_s`` (the same moment, if none is given).

        The file is looked at first.
        """
        from stillwet.engine.left import what_is_left

        tell, seen_s = progress or silent, at_s if now_s is None else now_s
        self.look(seen_s, progress=tell)
        tell("weighing the checks", _FILTERED)
        made = self.made
        seed = made.prepared.job.seed
        left = what_is_left(made.prepared, made.plan, self.known(seen_s), now_s=at_s, seed=seed)
        tell("done", 1.0)
        return replace(left, notes=(*made.notes, *left.notes))


@dataclass(frozen=True, slots=True)
class Made:
    """What does not hang on the log. ``plan`` is the kept one if it is of the job's files now.

    Trials typed after it change what is known of the gel, not the coats that were laid by it.
    """

    view: JobView
    prepared: Prepared
    plan: Plan

    @property
    def notes(self) -> tuple[str, ...]:
        """What to say of the plan: a coat logged without an amount was laid as it said."""
        kept, standing = self.view.plan, self.view.standing
        if kept is None or standing is None or standing.is_current:
            return ()
        if standing.is_of_files:
            said = since_words(kept.id, standing.since)
            return (f"{said} What is left is reckoned with them already.",)
        return (
            f"plan {kept.id} was made before the job was changed: coats logged "
            "without an amount are taken as the job would be planned now",
        )


def _make(view: JobView, before: Made | None, tell: Progress) -> Made:
    from stillwet.engine.make_plan import plan_of

    same = before is not None and _of_job(before.view.stamp) == _of_job(view.stamp)
    prepared = before.prepared if before is not None and same else _prepare(view, tell)
    kept = view.plan
    if kept is not None and view.standing is not None and view.standing.is_of_files:
        return Made(view, prepared, kept)
    return Made(view, prepared, plan_of(prepared, now_s=view.job.start_s))


def _prepare(view: JobView, tell: Progress) -> Prepared:
    from stillwet.engine.prepared import prepare

    span = _FILTERED - _READ
    return prepare(
        with_trials(view.job), progress=lambda what, share: tell(what, _READ + span * share)
    )


def _without_log(stamp: Stamp) -> Stamp:
    return replace(stamp, log_row=0, lines_row=0)


def _of_job(stamp: Stamp) -> tuple[str, int]:
    return stamp.input_hash, stamp.trials_row


def left_of(path: Path, now_s: float, *, progress: Progress | None = None) -> Left:
    """What is left on every coated face of a job file at a moment, worst first."""
    return LeftReckoner(path).left(now_s, progress=progress)


def show_left(
    path: Path, *, now_s: float, units: str | None = None, progress: Progress | None = None
) -> LeftShown:
    """What is left, to be shown in these units or the job's own."""
    reckoner = LeftReckoner(path)
    left = reckoner.left(now_s, progress=progress)
    return LeftShown(left, units_for(units, reckoner.made.prepared.job))
