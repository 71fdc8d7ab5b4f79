"""Use case: the field log of a job file: entries added, listed, followed, and merged."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.log import CoatLaid, Entry
from stillwet.domain.log_merge import Log, Standing, standing
from stillwet.domain.plan import Verdict
from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.clock import moment_s
from stillwet.services.view import units_for

if TYPE_CHECKING:
    from stillwet.domain.job import Job
    from stillwet.exchange.log_entry import Here
    from stillwet.store.job_tables import JobMarks
    from stillwet.store.log_table import Receipt

_SLACK_S = 300.0  # clocks in the field differ by minutes


@dataclass(frozen=True, slots=True)
class Logged:
    """One entry that was handed in, and what became of it."""

    entry: Entry
    receipt: Receipt
    remarks: tuple[str, ...] = ()  # what whoever wrote it has to know at once


@dataclass(frozen=True, slots=True)
class Merged:
    """What merging another log brought: how many were new, known, and at odds with another."""

    kept: int
    here: int
    conflicts: int

    def text(self) -> str:
        """The counts in a sentence."""
        words = f"{self.kept} new, {self.here} here already"
        return words if not self.conflicts else f"{words}, {self.conflicts} at odds with another"


@dataclass(frozen=True, slots=True)
class Shown:
    """A log, ready to be shown."""

    job: Job
    judged: Standing
    units: str
    is_all: bool

    def text(self) -> str:
        """The entries that stand, oldest first; with all, those corrected and at odds as well."""
        from stillwet.reports.log_text import log_text

        return log_text(self.judged, self.job.time_zone, _names(self.job), self.units, self.is_all)

    def json_text(self) -> str:
        """The same as JSON (schema stillwet.log/1)."""
        from stillwet.exchange.clock import read_zone
        from stillwet.exchange.log_entry import entry_to_json
        from stillwet.reports.log_json import log_json_text

        clock = read_zone(self.job.time_zone, field="time_zone", place="")
        return log_json_text(
            self.job.name, self.judged, lambda entry: entry_to_json(entry, clock)
        ).rstrip("\n")


def add_entries(path: Path, entries: Iterable[Entry]) -> tuple[Receipt, ...]:
    """Add entries to the log of a job file; a receipt for each, in order.

    When this returns, the disk has them. Handing them in again changes nothing. An entry under an
    id that stands for another account is kept beside it and told as a conflict.
    """
    from stillwet.store import log_table
    from stillwet.store.job_file import open_job_file

    with open_job_file(path, now_s=moment_s(None)) as job_file:
        return log_table.add_entries(job_file, entries)


def entries_after(path: Path, row: int) -> tuple[tuple[int, Entry], ...]:
    """Entries that came in after a row, each with its row: ask again with the last one's."""
    from stillwet.store import log_table
    from stillwet.store.job_file import open_job_file

    with open_job_file(path, now_s=moment_s(None)) as job_file:
        return log_table.entries_after(job_file, row)


def log_of(path: Path) -> Log:
    """Every entry of a job file."""
    return frozenset(entry for _row, entry in entries_after(path, 0))


def here_of(job: Job, now_s: float) -> Here:
    """Where words about this job are read: its zone, and the names it knows."""
    from stillwet.exchange.clock import read_zone
    from stillwet.exchange.log_entry import Here
    from stillwet.exchange.log_fields import Places
    from stillwet.services.keeping import faces_of_job

    faces: dict[str, tuple[str, ...]] = {asset.id: () for asset in job.assets}
    for face in faces_of_job(job):
        faces[face.asset_id] += (face.id,)
    names = {asset.id: asset.name for asset in job.assets}
    segments = tuple(f"{line.id}/{part.id}" for line in job.lines for part in line.segments)
    places = Places(faces, names, tuple(crew.id for crew in job.crews), segments)
    clock = read_zone(job.time_zone, field="time_zone", place="")
    return Here(now_s, clock, places)


def write_entry(
    path: Path,
    given: Mapping[str, object],
    *,
    now_s: float,
    is_dry: bool = False,
) -> Logged:
    """Add one entry told in words ("coat": "1/8 in"); its id is made here where none is given.

    Names of faces, assets and crews must be the job's, and it must not be about the future; an
    entry to be corrected or withdrawn must be in the log. With ``is_dry`` nothing is written.
    Raises StillwetError with every problem.
    """
    from stillwet.exchange.log_entry import read_entry
    from stillwet.services.keeping import need_job_file, read_kept_job
    from stillwet.store.log_table import Receipt

    need_job_file(path)
    job = read_kept_job(path)
    here = here_of(job, now_s)
    whole = {"id": str(uuid.uuid4()), **given}
    known = {entry.id for entry in log_of(path)}
    whole["replaces"] = _whole_id(whole.get("replaces"), known)
    entry = read_entry(whole, here)
    _need_past(entry, job, now_s)
    receipt = Receipt.KEPT if is_dry else add_entries(path, [entry])[0]
    return Logged(entry, receipt, _forbidden(path, entry))


def _forbidden(path: Path, entry: Entry) -> tuple[str, ...]:
    """That a coat is on an asset which the kept plan says not to coat, with why."""
    from stillwet.services.keeping import newest_coats

    if not isinstance(entry.body, CoatLaid):
        return ()
    plan = newest_coats(path)
    laid = set(entry.body.surface_ids)
    return tuple(
        f"{asset.name} is not to be coated: {asset.reason} Lay no more, keep what runs off out of "
        "water, and log what reached it: stillwet log add JOB.gpkg spill ..."
        for asset in (() if plan is None else plan.assets)
        if asset.verdict is Verdict.DO_NOT_COAT
        and laid & {face.surface.id for face in asset.surfaces}
    )


def merge_log(path: Path, other: Path) -> Merged:
    """Take in all entries of another job file of the same job; that one is only read.

    Raises StillwetError, and takes in none, for a file of another job: its entries would tell of
    assets that this one does not have, and an entry once in a log is never taken out.
    """
    from stillwet.services.keeping import need_job_file
    from stillwet.store.job_file import look_into, open_job_file
    from stillwet.store.job_tables import job_marks
    from stillwet.store.log_table import Receipt, load_log

    need_job_file(path)
    need_job_file(other)
    with open_job_file(path, now_s=moment_s(None)) as here:
        own = job_marks(here)
    with look_into(other) as there:
        marks, entries = job_marks(there), load_log(there)
    if own != marks:
        raise StillwetError(_another_job(own, marks, other))
    receipts = add_entries(path, sorted(entries, key=lambda one: (one.written_s, one.id)))
    return Merged(
        kept=receipts.count(Receipt.KEPT),
        here=receipts.count(Receipt.HERE),
        conflicts=receipts.count(Receipt.CONFLICT),
    )


def _another_job(own: JobMarks, marks: JobMarks, other: Path) -> Problem:
    """What sets the other file's job apart: its name, else its time zone, else its map system."""
    names = ("name", "time zone", "map reference system")
    which = next(at for at, (one, two) in enumerate(zip(own, marks, strict=True)) if one != two)
    wanted = f"a file of the same job, whose {names[which]} is {shown(own[which])}"
    return Problem("OTHER.gpkg", wanted, shown(marks[which]), str(other))


def show_log(path: Path, *, units: str | None = None, is_all: bool = False) -> Shown:
    """The log of a job file as it stands."""
    from stillwet.services.keeping import need_job_file, read_kept_job

    need_job_file(path)
    job = read_kept_job(path)
    return Shown(job, standing(log_of(path)), units_for(units, job), is_all)


def _whole_id(begun: object, known: set[str]) -> object:
    """The id of the entry in the log that begins like this; the text itself is refused if none."""
    if begun is None:
        return None
    first = str(begun).strip().lower()
    found = sorted(name for name in known if first and name.startswith(first))
    if len(found) == 1:
        return found[0]
    got = f"{str(begun)!r}, which {len(found) or 'no'} entries have"
    hint = "stillwet log show JOB.gpkg --all lists them"
    raise StillwetError(Problem("replaces", "the id of one entry of the log", got, hint=hint))


def _need_past(entry: Entry, job: Job, now_s: float) -> None:
    if entry.when_s <= now_s + _SLACK_S:
        return
    from stillwet.reports.local_time import LocalClock

    clock = LocalClock(job.time_zone)
    got = clock.full(entry.when_s)
    wanted = f"a moment that has been; now is {clock.full(now_s)}"
    raise StillwetError(Problem("when", wanted, got))


def _names(job: Job) -> dict[str, str]:
    return {asset.id: asset.name for asset in job.assets}
