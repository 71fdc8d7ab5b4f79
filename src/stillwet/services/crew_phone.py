"""Use case: what one crew's phone shows: its stops of the kept crew plan, and its log."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stillwet.domain.log_merge import Standing, standing
from stillwet.services.job_view import JobView
from stillwet.store.job_file import open_job_file
from stillwet.store.log_table import entries_after
from stillwet.store.stamp import Stamp

if TYPE_CHECKING:
    from stillwet.domain.crew_plan import CrewRun, CrewStep
    from stillwet.domain.log import Entry

_TELL_DIFFERENCE_S = 60.0  # clocks closer than this are as good as equal


def crew_choices(view: JobView) -> list[dict[str, Any]]:
    """The crews of the job, each with the number of its stops; None before a crew plan."""
    return [
        {
            "id": crew.id,
            "name": crew.name,
            "stops": None if view.crew_plan is None else len(_steps(view, crew.id)),
        }
        for crew in view.job.crews
    ]


def is_crew(view: JobView, crew_id: str) -> bool:
    """True for a crew of the job."""
    return any(crew.id == crew_id for crew in view.job.crews)


class PhoneDesk:
    """Answers the phones of one job file: the log is read once for all, and each crew told once."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = threading.Lock()
        self._row = 0
        self._entries: set[Entry] = set()
        self._judged = standing(())
        self._answers: dict[str, tuple[Stamp, dict[str, Any]]] = {}

    def crew_json(self, view: JobView, crew_id: str, *, now_s: float) -> dict[str, Any]:
        """All that a crew's phone needs for its day, also without a network; a known crew's.

        ``job`` tells one job from another: entries are only sent to the job they were written for.
        """
        judged, row = self._log(now_s)
        made_of = replace(view.stamp, log_row=row)
        with self._lock:
            known = self._answers.get(crew_id)
        if known is None or known[0] != made_of:
            known = (made_of, _crew_json(view, crew_id, judged))
            with self._lock:
                self._answers[crew_id] = known
        return {**known[1], "now": datetime.fromtimestamp(now_s, UTC).isoformat()}

    def _log(self, now_s: float) -> tuple[Standing, int]:
        with self._lock:
            with open_job_file(self._path, now_s=now_s) as job_file:
                rows = entries_after(job_file, self._row)
            if rows:
                self._row = rows[-1][0]
                self._entries.update(entry for _row, entry in rows)
                self._judged = standing(self._entries)
            return self._judged, self._row


def _crew_json(view: JobView, crew_id: str, judged: Standing) -> dict[str, Any]:
    from stillwet.engine.faces import faces_of
    from stillwet.reports.local_time import LocalClock
    from stillwet.reports.phone_json import SCHEMA, asked_json, log_to_json

    job = view.job
    (crew,) = (one for one in job.crews if one.id == crew_id)
    return {
        "schema": SCHEMA,
        "job": job_key(view),
        "job_name": job.name,
        "crew": {"id": crew.id, "name": crew.name},
        **_day(view, crew_id),
        "inputs": asked_json(),
        "faces": [
            {"id": face.id, "label": f"{asset.name}: {face.label}"}
            for asset in job.assets
            for face in faces_of(asset)
        ],
        "log": log_to_json(
            judged,
            {asset.id: asset.name for asset in job.assets},
            LocalClock(job.time_zone),
            assets={step.place_id for step in _steps(view, crew_id)},
            crew=crew_id,
        ),
    }


def crew_code_svg(address: str, crew_id: str) -> str:
    """The code that opens a crew's page at this address, as a picture."""
    from stillwet.reports.link_code import crew_link, link_code_svg

    return link_code_svg(crew_link(address, crew_id))


def job_key(view: JobView) -> str:
    """What stays the same of a job while its forecast, plan and log change.

    Made of the same marks that a merge of two logs goes by (``store.job_tables.job_marks``).
    """
    from stillwet.domain.codec import text_hash

    return text_hash(f"{view.job.name}\n{view.job.crs}\n{view.job.time_zone}")[:16]


def clock_words(device: str, ahead_s: float) -> str:
    """How far a device's clock is off this machine's, as the audit has it; empty when it is not."""
    if abs(ahead_s) < _TELL_DIFFERENCE_S:
        return ""
    way = "ahead of" if ahead_s > 0 else "behind"
    return f"clock of {device} is {abs(ahead_s):.0f} s {way} this machine's"


def _steps(view: JobView, crew_id: str) -> tuple[CrewStep, ...]:
    run = _run(view, crew_id)
    return () if run is None else run.steps


def _run(view: JobView, crew_id: str) -> CrewRun | None:
    crews = () if view.crew_plan is None else view.crew_plan.crews
    return next((run for run in crews if run.crew_id == crew_id), None)


def _day(view: JobView, crew_id: str) -> dict[str, Any]:
    from stillwet.reports.crew_tracks import degrees_of
    from stillwet.reports.phone_json import run_to_json

    run = _run(view, crew_id)
    if run is None or view.crew_plan is None:
        return {"crew_plan_id": "", "made": None, "stops": [], "words": None}
    return run_to_json(view.crew_plan, run, degrees_of(view.crew_plan.crs))
