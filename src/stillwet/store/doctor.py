"""The examination of a job file: integrity, schema, references, records, clocks, disk."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from pathlib import Path

from stillwet.domain.assets import Surface
from stillwet.domain.health import Finding, Grade, Health
from stillwet.domain.job import Job
from stillwet.domain.log import CoatChecked, CoatLaid, Entry, FirePassed, Outcome, WashedOff
from stillwet.domain.log_merge import Log, standing
from stillwet.errors import StillwetError, shown
from stillwet.store import migrations
from stillwet.store.file_tables import changed_files
from stillwet.store.job_file import JobFile, iso, look_into
from stillwet.store.job_tables import job_rows, load_job
from stillwet.store.log_table import load_log
from stillwet.store.plan_tables import kept_plans, load_plan
from stillwet.store.trial_tables import load_trials

FacesOf = Callable[[Job], Iterable[Surface]]

_SLACK_S = 300.0  # clocks of phones and laptops in the field differ by minutes
_LEAST_FREE_BYTES = 100_000_000
_MOST_NAMED = 5


def examine(path: Path, faces_of: FacesOf, *, now_s: float) -> Health:
    """Look at everything that can be wrong with a file; nothing in it is changed.

    ``faces_of`` makes the faces of a job, to hold the layers against. Raises StillwetError for
    what is no job file at all, or one newer than this program.
    """
    with look_into(path) as job_file:
        found = [*_integrity(job_file), *_schema(job_file)]
        if not any(finding.grade is Grade.FAULT for finding in found):
            found += _contents(job_file, faces_of, now_s)
    found += _disk(path)
    return Health(path.name, tuple(found))


def _integrity(job_file: JobFile) -> Iterator[Finding]:
    hint = "copy the file, then go back to the newest sound backup beside it"
    try:
        rows = job_file.connection.execute("PRAGMA integrity_check").fetchall()
    except sqlite3.DatabaseError as error:
        rows = [(str(error),)]
    faults = [str(row[0]) for row in rows if row[0] != "ok"]
    yield _verdict("integrity", faults, "every page of the file is sound", hint)
    if faults:
        return
    broken = job_file.connection.execute("PRAGMA foreign_key_check").fetchall()
    yield _verdict(
        "references",
        [
            f"{table}, row {row}, names a missing row of {parent}"
            for table, row, parent, _ in broken
        ],
        "every row that names another finds it",
        "another program has removed rows; go back to a backup",
    )


def _schema(job_file: JobFile) -> Iterator[Finding]:
    connection = job_file.connection
    lacking = [step.name for step in migrations.pending(connection)]
    if lacking:
        words = f"the file is older than this program; it lacks: {', '.join(lacking)}"
        hint = "it is backed up and brought up to date when it is next used"
        yield Finding("schema", Grade.NOTE, words, hint)
    number = len(migrations.MIGRATIONS) - len(lacking)
    wanted, there = _reference_schema(number), _objects(connection)
    wrong = [name for name, sql in wanted.items() if there.get(name) != sql]
    yield _verdict(
        "schema",
        [f"{name} is missing or has been changed" for name in wrong],
        f"schema {number}: every table and trigger is as it was made",
        "another program has changed the file's structure; go back to a backup",
    )
    extra = [name for name in there if name not in wanted]
    if extra:
        words = f"another program has added {_some(extra)}"
        yield Finding("schema", Grade.NOTE, words, "work on copies in a GIS, not on the live file")


def _reference_schema(number: int) -> dict[str, str]:
    """What the file's structure must be after so many migrations: they are run in memory."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as fresh:
        for step in migrations.MIGRATIONS[:number]:
            migrations.apply(fresh, step, when=iso(0.0))
        return _objects(fresh)


def _objects(connection: sqlite3.Connection) -> dict[str, str]:
    rows = connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%'"
    )
    return {str(name): str(sql) for name, sql in rows}


def _contents(job_file: JobFile, faces_of: FacesOf, now_s: float) -> Iterator[Finding]:
    try:
        job = load_job(job_file)
    except StillwetError as error:
        yield Finding("job", Grade.FAULT, str(error), "keep it again: stillwet keep")
        return
    try:
        faces = tuple(faces_of(job))
    except (StillwetError, KeyError, ValueError) as error:
        words = f"an asset that no faces can be made of: {shown(str(error))}"
        yield Finding("job", Grade.FAULT, words, "keep it again: stillwet keep")
        return
    yield _layers(job_file, job, faces)
    tables = {row[0] for row in job_file.connection.execute("SELECT name FROM sqlite_master")}
    if "plans" in tables:
        yield _plans(job_file)
    if "files" in tables:
        changed = [f"{name} is not what was kept" for name in changed_files(job_file)]
        yield _verdict("files", changed, "every kept file is as it was", "go back to a backup")
    if "log" in tables:
        try:
            log = load_log(job_file)
        except StillwetError as error:
            yield Finding("log", Grade.FAULT, str(error), "go back to a backup")
            return
        yield from _log(job_file, job, faces, log)
        yield from _clocks(job_file, log, now_s)


def _layers(job_file: JobFile, job: Job, faces: tuple[Surface, ...]) -> Finding:
    """The columns that people see must say what the records say that plans are made from."""
    connection = job_file.connection
    registered = connection.execute(
        "SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = 'assets'"
    ).fetchone()
    (srs_id,) = registered or (0,)
    wrong = [] if registered else ["assets is no layer any more"]
    for table, (rows, _points) in job_rows(job, faces, srs_id).items():
        names = list(rows[0]) if rows else ["id"]
        there = connection.execute(f"SELECT {', '.join(names)} FROM {table} ORDER BY id").fetchall()
        if there != [tuple(row.values()) for row in rows]:
            wrong.append(f"{table} has been changed by another program")
    hint = "such changes are not used; change the job's own files and keep it again"
    return _verdict("layers", wrong, "the layers say what the job says", hint)


def _plans(job_file: JobFile) -> Finding:
    faults = []
    plans = kept_plans(job_file)
    for plan in plans:
        try:
            load_plan(job_file, plan.row)
        except StillwetError as error:
            faults.append(f"plan {plan.plan_id}: {error}")
    try:
        load_trials(job_file)
    except StillwetError as error:
        faults.append(str(error))
    return _verdict("plans", faults, f"{len(plans)} kept, all readable", "go back to a backup")


def _log(job_file: JobFile, job: Job, faces: tuple[Surface, ...], log: Log) -> Iterator[Finding]:
    stored = job_file.connection.execute("SELECT record, content_hash, entry_id FROM log")
    hashes = {entry.content_hash: entry for entry in log}
    wrong = [
        f"entry {entry_id} is not what was written"
        for _record, content_hash, entry_id in stored
        if content_hash not in hashes or hashes[content_hash].id != entry_id
    ]
    yield _verdict("log", wrong, f"{len(log)} entries, all as written", "go back to a backup")
    known_faces, known_assets = {face.id for face in faces}, {asset.id for asset in job.assets}
    ids = {entry.id for entry in log}
    orphans = []
    judged = standing(log)
    for entry in judged.entries:
        named, known = _names(entry), known_faces | known_assets
        orphans += [f"{name} ({entry.kind} of {iso(entry.when_s)})" for name in named - known]
    if orphans:
        words = f"entries about what the job does not have: {_some(sorted(orphans))}"
        yield Finding("orphans", Grade.NOTE, words, "correct them, or is it another job's log?")
    waiting = [entry for entry in log if entry.replaces is not None and entry.replaces not in ids]
    if waiting:
        words = f"{len(waiting)} corrections of entries that have not come in yet"
        yield Finding("orphans", Grade.NOTE, words, "merge the other device's log")
    if judged.contested:
        words = f"{len(judged.contested)} entries lost to another correction of the same account"
        yield Finding("log", Grade.NOTE, words, "stillwet log show JOB.gpkg --all lists them")


def _names(entry: Entry) -> set[str]:
    """The faces and assets an entry is about."""
    body = entry.body
    if isinstance(body, (CoatLaid, WashedOff)):
        return set(body.surface_ids)
    if isinstance(body, CoatChecked):
        return {body.surface_id}
    return {body.asset_id} if isinstance(body, (FirePassed, Outcome)) else set()


def _clocks(job_file: JobFile, log: Log, now_s: float) -> Iterator[Finding]:
    (kept_s,) = job_file.connection.execute("SELECT kept_s FROM job").fetchone()
    faults = []
    if kept_s > now_s + _SLACK_S:
        faults.append(f"the job was kept at {_moment(kept_s)}, after this clock's {iso(now_s)}")
    ahead = sorted({e.device or e.writer for e in log if e.written_s > now_s + _SLACK_S})
    if ahead:
        faults.append(f"entries written later than now by {_some(ahead)}")
    early = [entry for entry in log if entry.when_s > entry.written_s + _SLACK_S]
    if early:
        faults.append(f"{len(early)} entries tell of what came after they were written")
    words = f"nothing is later than now, {iso(now_s)}"
    yield _verdict("clock", faults, words, "set the clocks of this machine and of the devices")


def _moment(time_s: float) -> str:
    """A moment out of the file, which may be none."""
    try:
        return iso(time_s)
    except (OverflowError, ValueError, OSError):
        return f"{time_s:g} s, which is no moment"


def _disk(path: Path) -> Iterator[Finding]:
    free = shutil.disk_usage(path.absolute().parent).free
    need = max(_LEAST_FREE_BYTES, 3 * path.stat().st_size)
    faults = []
    if free < need:
        faults.append(f"{free / 1e6:.0f} MB free, wanted {need / 1e6:.0f}")
    if not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)):
        faults.append("the file or its folder cannot be written")
    yield _verdict("disk", faults, f"{free / 1e9:.1f} GB free", "free some space or move the file")
    aside = path.with_name(path.name + "-wal")
    if aside.exists():
        words = f"another program has the file open, or left {aside.name} behind"
        yield Finding("disk", Grade.NOTE, words, "never copy the one without the other")
    backups = sorted(path.parent.glob(f"{path.stem}.backup-*{path.suffix}"))
    if backups:
        yield Finding("backups", Grade.FINE, f"{len(backups)}, the newest {backups[-1].name}")


def _verdict(topic: str, faults: list[str], words: str, hint: str) -> Finding:
    if faults:
        return Finding(topic, Grade.FAULT, _some(faults), hint)
    return Finding(topic, Grade.FINE, words)


def _some(names: list[str]) -> str:
    rest = len(names) - _MOST_NAMED
    return "; ".join(names[:_MOST_NAMED]) + (f"; and {rest} more" if rest > 0 else "")
