"""Use case: what a screen needs to know of an open job: names, times, places, what it stands at."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from stillwet.domain.crew_plan import CrewPlan
from stillwet.domain.job import Job
from stillwet.domain.plan import Plan
from stillwet.domain.typed_trials import Standing
from stillwet.services.typed_trials import load_counted_job, standing_of
from stillwet.services.view import units_for
from stillwet.store.job_file import open_job_file
from stillwet.store.plan_tables import AnyPlan, PlanKind, kept_plans, load_plan
from stillwet.store.stamp import Stamp, stamp_of


@dataclass(frozen=True, slots=True)
class JobView:
    """The job with the trials that count, its latest plans of coats and crews, the file's stamp.

    ``standing`` is how the plan of coats stands to the job; None where there is no plan.
    """

    job: Job
    plan: Plan | None
    crew_plan: CrewPlan | None
    stamp: Stamp
    standing: Standing | None = None

    @property
    def plan_id(self) -> str:
        """The latest plan's id; empty before the first."""
        return "" if self.plan is None else self.plan.id


def job_stamp(path: Path, *, now_s: float) -> Stamp:
    """What the file stands at; cheap."""
    with open_job_file(path, now_s=now_s) as job_file:
        return stamp_of(job_file)


def view_job(path: Path, *, now_s: float) -> JobView:
    """The job in a job file with its latest plans."""
    with open_job_file(path, now_s=now_s) as job_file:
        stamp = stamp_of(job_file)
        job = load_counted_job(job_file)
        last = {one.kind: one for one in kept_plans(job_file)}
        latest: dict[PlanKind, AnyPlan] = {
            kind: load_plan(job_file, kept.row) for kind, kept in last.items()
        }
        coats = last.get(PlanKind.COATS)
        standing = None if coats is None else standing_of(job_file, coats.made.input_hash, job)
    plan, crew_plan = latest.get(PlanKind.COATS), latest.get(PlanKind.CREWS)
    return JobView(
        job,
        plan if isinstance(plan, Plan) else None,
        crew_plan if isinstance(crew_plan, CrewPlan) else None,
        stamp,
        standing,
    )


def job_json(view: JobView) -> dict[str, Any]:
    """The job for the browser: SI, ISO 8601 UTC.

    Places in metres of the job's own projected system, and for maps as [longitude, latitude].
    """
    from stillwet.engine.cautions import job_cautions
    from stillwet.engine.faces import faces_of
    from stillwet.exchange.places import earth_of
    from stillwet.reports.local_time import LocalClock

    job, clock, earth = view.job, LocalClock("UTC"), earth_of(view.job.crs)
    issued = job.weather.issued_s
    return {
        "name": job.name,
        "time_zone": job.time_zone,
        "crs": job.crs,
        "start": clock.iso(job.start_s),
        "plan_id": view.plan_id,
        "plan_made": None if view.plan is None else clock.iso(view.plan.made_s),
        "crew_plan_id": "" if view.crew_plan is None else view.crew_plan.id,
        "weather_source": job.weather.source,
        "weather_issued": clock.iso(issued),
        "log_row": view.stamp.log_row,
        "assets": [
            {
                "id": asset.id,
                "name": asset.name,
                "kind": asset.kind,
                "at_m": [asset.x_m, asset.y_m],
                "outline_m": None if asset.footprint_m is None else list(asset.footprint_m),
                "at_deg": earth.degrees(((asset.x_m, asset.y_m),))[0],
                "outline_deg": asset.footprint_m and earth.degrees(asset.footprint_m),
                "fire_from": clock.iso(asset.fire.arrival_from_s),
                "fire_to": clock.iso(asset.fire.arrival_to_s),
                "note": asset.note,
                "faces": [{"id": face.id, "label": face.label} for face in faces_of(asset)],
            }
            for asset in job.assets
        ],
        "lines": [
            {
                "id": line.id,
                "name": line.name,
                "track_m": line.track_m,
                "track_deg": earth.degrees(line.track_m),
            }
            for line in job.lines
        ],
        "crews": [{"id": c.id, "name": c.name, "people": c.people} for c in job.crews],
        "water_points": [
            {
                "id": point.id,
                "name": point.name,
                "at_m": [point.x_m, point.y_m],
                "at_deg": earth.degrees(((point.x_m, point.y_m),))[0],
            }
            for point in job.water_points
        ],
        "streams_m": job.streams_m,
        "streams_deg": [earth.degrees(track) for track in job.streams_m],
        "cautions": list(job_cautions()),
    }


@dataclass(frozen=True, slots=True)
class PageHead:
    """What stands at the top of every page."""

    job_name: str
    plan_id: str
    time_zone: str
    now: str  # ISO 8601 with the job's offset
    clock: str  # "14:30"
    day: str  # "Wed 14 Aug 2030, MDT (UTC-06:00)"
    cautions: tuple[str, ...]
    units: str  # of the job, for whoever has not pressed the switch
    is_empty: bool = False  # the file holds no job yet


def is_only_log(before: Stamp, now: Stamp) -> bool:
    """True when nothing but the log has changed between two stamps."""
    return replace(before, log_row=now.log_row) == now


def page_head(view: JobView, *, now_s: float) -> PageHead:
    """The head of a page at a moment."""
    from stillwet.reports.words import clean

    return _head(clean(view.job.name), view.plan_id, view.job.time_zone, view.job.units, now_s)


def empty_head(*, now_s: float) -> PageHead:
    """The head while the file holds no job yet; times are UTC until somebody says a zone."""
    return replace(_head("New job", "", "UTC", units_for(None), now_s), is_empty=True)


def _head(job_name: str, plan_id: str, time_zone: str, units: str, now_s: float) -> PageHead:
    from stillwet.engine.cautions import job_cautions
    from stillwet.reports.local_time import LocalClock

    clock = LocalClock(time_zone)
    return PageHead(
        job_name=job_name,
        plan_id=plan_id,
        time_zone=time_zone,
        now=clock.iso(now_s) or "",
        clock=clock.short(now_s).split()[-1],
        day=f"{clock.days([now_s])}, {clock.zone_words([now_s])}",
        cautions=job_cautions(),
        units=units,
    )
