"""Use case: the crews' day. A job's plan becomes who sprays what in which order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.crew_plan import CrewPlan
from stillwet.domain.job import Job
from stillwet.services.keeping import keep_plan_in
from stillwet.services.outputs import Writer, bytes_writer, need_folder_place, write_whole
from stillwet.services.planning import Progress, read_whole_job, silent, with_knobs
from stillwet.services.view import View

if TYPE_CHECKING:
    from stillwet.engine.prepared import Prepared
    from stillwet.routing.plan import RoutePlan
    from stillwet.routing.problem import RoutingProblem
    from stillwet.routing.solver import Budget, Solver
    from stillwet.services.crew_again import Again
    from stillwet.services.crew_records import Laid, Told
    from stillwet.services.crew_rounds import Before, Day

ITERATIONS = 1000  # of each search, when neither iterations nor seconds are told
_READ_SHARE, _REASONED_SHARE, _ROUTED_SHARE = 0.05, 0.15, 0.92


@dataclass(frozen=True, slots=True)
class Knobs:
    """How long to search: iterations of each search, or seconds for all of it; and the seed."""

    iterations: int | None = None
    seconds: float | None = None
    seed: int = 1

    def budget(self) -> Budget:
        """The stopping rule."""
        from stillwet.routing.solver import Budget

        if self.seconds is not None:
            return Budget(seconds=self.seconds)
        return Budget(iterations=ITERATIONS if self.iterations is None else self.iterations)

    @property
    def words(self) -> str:
        """The stopping rule, for the reader."""
        if self.seconds is not None:
            return f"{self.seconds:g} s (another machine may find another plan)"
        count = ITERATIONS if self.iterations is None else self.iterations
        return f"{count} iterations a search"


@dataclass(frozen=True, slots=True)
class Crewed:
    """A crew plan, how it is to be seen, and the files it was written to."""

    plan: CrewPlan
    view: View
    files: tuple[Path, ...] = ()
    kept: str = ""  # what to say of its being kept in the job file

    def text(self) -> str:
        """The crew plan in at most 100 columns."""
        from stillwet.reports.crew_text import crew_text

        return crew_text(self.plan, self.view.units).rstrip("\n")

    def json_text(self) -> str:
        """The crew plan as JSON (schema stillwet.crews/1)."""
        from stillwet.reports.crew_json import crew_plan_json_text

        return crew_plan_json_text(self.plan).rstrip("\n")


def crew_job(
    path: Path,
    out: Path | None,
    *,
    now_s: float,
    knobs: Knobs | None = None,
    status_file: Path | None = None,
    view: View | None = None,
    members: int | None = None,
    progress: Progress | None = None,
    should_stop: Callable[[], bool] = lambda: False,
) -> Crewed:
    """Plan the crews of the job at ``path``; with ``out``, write the day's files there.

    With ``status_file`` the plan starts from now: what it lists as done stays done. Asked to stop,
    the answer is the best plan found so far. Raises StillwetError with every problem found in the
    files, before anything is written.
    """
    from stillwet.routing.pyvrp_solver import PyvrpSolver

    tell, knobs = progress or silent, knobs or Knobs()
    if out is not None:
        need_folder_place(out)
    tell("reading the job", 0.0)
    job = with_knobs(read_whole_job(path), seed=None, members=members)
    view = (view or View()).of(job)
    again = None if status_file is None else _again(job, status_file, now_s)
    plan = plan_crews(
        job,
        solver=PyvrpSolver(),
        now_s=now_s if again is None else again.now_s,
        knobs=knobs,
        again=again,
        progress=tell,
        should_stop=should_stop,
    )
    kept = keep_plan_in(path, plan, job)
    if out is None:
        return Crewed(plan, view, kept=kept)
    tell("writing the sheets", _ROUTED_SHARE)
    files = write_whole(out, crew_writers(plan, view))
    tell("done", 1.0)
    return Crewed(plan, view, files, kept)


def _again(job: Job, path: Path, now_s: float) -> Again:
    from stillwet.exchange.crew_status import read_crew_status
    from stillwet.services.crew_again import take_stock

    status = read_crew_status(path, job)
    return take_stock(job, status, now_s=now_s if status.now_s is None else status.now_s)


def plan_crews(
    job: Job,
    *,
    solver: Solver,
    now_s: float,
    knobs: Knobs,
    again: Again | None = None,
    progress: Progress = silent,
    should_stop: Callable[[], bool] = lambda: False,
) -> CrewPlan:
    """The crew plan of a job that has been read: coats and routes made to agree, and checked.

    Deterministic for the same job, seed and iterations. Raises AssertionError with the violations
    if the finished routes break the validator's rules: such a plan must not reach a crew.
    """
    from stillwet.engine.lay_windows import lay_windows
    from stillwet.engine.make_plan import plan_of
    from stillwet.engine.prepared import prepare
    from stillwet.services.crew_numbers import numbered_as_laid
    from stillwet.services.crew_records import crew_plan_of
    from stillwet.services.crew_rounds import Before, Rounds

    span = _REASONED_SHARE - _READ_SHARE
    prepared = prepare(job, progress=lambda name, share: progress(name, _READ_SHARE + span * share))
    base = plan_of(prepared, now_s=now_s)
    before = Before() if again is None else again.before
    rest = _ROUTED_SHARE - _REASONED_SHARE
    day = Rounds(
        prepared=prepared,
        windows=lay_windows(prepared),
        solver=solver,
        seed=knobs.seed,
        budget=knobs.budget(),
        now_s=job.start_s if again is None else again.now_s,
        tell=lambda name, share: progress(name, _REASONED_SHARE + rest * min(1.0, share)),
        should_stop=should_stop,
        shape=(lambda problem: problem) if again is None else again.shape,
        before=before,
    ).run()
    day = numbered_as_laid(day, frozenset() if again is None else again.told)
    _check(day.routed.problem, day.routed.routes)
    told = _told(job, day, knobs, now_s)
    if again is not None:
        told = _told_again(job, day, before, again, told)
    plan = crew_plan_of(job, base.assets, day, _laid(prepared, day, before), told)
    _check_turns(job, plan)
    return plan


def _told(job: Job, day: Day, knobs: Knobs, now_s: float) -> Told:
    """What a fresh day's plan says beside the day itself."""
    from stillwet.services.crew_problem import assumptions, not_waiting
    from stillwet.services.crew_records import Told

    return Told(
        made_s=now_s,
        seed=knobs.seed,
        budget=knobs.words,
        assumed=(*assumptions(job), *not_waiting(job, day.work)),
        carry_enough=frozenset(crew.id for crew in job.crews if crew.concentrate_m3 is None),
    )


def _told_again(job: Job, day: Day, before: Before, again: Again, told: Told) -> Told:
    """The same of a day planned again: what is done, and what differs from the plan before."""
    from stillwet.routing.replan import changes_between
    from stillwet.services.crew_begun import begun_visits
    from stillwet.services.crew_problem import not_waiting

    assert before.routes is not None
    names = {crew.id: crew.name for crew in job.crews}
    changes = changes_between(day.routed.problem, before.routes, day.routed.routes, names)
    return replace(
        told,
        assumed=(*again.assumed(), *not_waiting(job, day.work)),
        done=again.done_visits(),
        done_by=again.done_by(),
        changes=tuple(change.words for change in changes),
        carry_enough=again.carry_enough,
        begun=begun_visits(again, day),
    )


def _laid(prepared: Prepared, day: Day, before: Before) -> Laid:
    """What coats are worth laid when the routes lay them, or when they were laid."""
    from stillwet.engine.lay_windows import as_sprayed
    from stillwet.engine.recoating import recoats_as_sprayed
    from stillwet.services.crew_records import Laid

    assets = day.work.plan.assets
    first_s = {**day.face_starts, **before.laid_s}
    again = recoats_as_sprayed(
        prepared,
        assets,
        day.work.fresh.coats,
        first_s=first_s,
        second_s={**day.again_starts, **before.again_s},
    )
    return Laid(as_sprayed(prepared, assets, first_s), again)


def _check(problem: RoutingProblem, routes: RoutePlan) -> None:
    from stillwet.routing.validator import validate_plan

    faults = validate_plan(problem, routes)
    if faults:
        told = "; ".join(f"{one.kind}, {one.where}: {one.words}" for one in faults)
        raise AssertionError(f"the crew plan breaks its own rules: {told}")


def _check_turns(job: Job, plan: CrewPlan) -> None:
    from stillwet.services.crew_checks import turn_faults

    faults = turn_faults(job, plan)
    if faults:
        raise AssertionError(f"the crew plan breaks its own rules: {'; '.join(faults)}")


def crew_writers(plan: CrewPlan, view: View) -> dict[str, Writer]:
    """Every file of a crew plan, by name, with what writes it."""
    from stillwet.reports.crew_calendar import crew_calendar_text
    from stillwet.reports.crew_json import crew_plan_json_text
    from stillwet.reports.crew_pdf import crew_pdf_bytes
    from stillwet.reports.crew_timeline import crew_timeline_svg
    from stillwet.reports.crew_tracks import crew_geojson_text, crew_gpx_text

    return {
        "crews.json": bytes_writer(crew_plan_json_text(plan).encode()),
        "crews.pdf": bytes_writer(
            crew_pdf_bytes(plan, units=view.units, paper=view.paper, address=view.address)
        ),
        "crews.svg": bytes_writer(crew_timeline_svg(plan).encode()),
        "crews.ics": bytes_writer(crew_calendar_text(plan, units=view.units).encode()),
        "crews.gpx": bytes_writer(crew_gpx_text(plan).encode()),
        "crews.geojson": bytes_writer(crew_geojson_text(plan).encode()),
    }
