"""Use cases: a job's files kept as one job file; a job read from either; plans kept in it."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.assets import Surface
from stillwet.domain.health import Health
from stillwet.domain.job import Job
from stillwet.domain.plan import Plan
from stillwet.domain.sharing import FileKind, SourceFile
from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.clock import moment_s
from stillwet.services.outputs import need_folder_place, usual_mode
from stillwet.version import VERSION

if TYPE_CHECKING:
    from stillwet.store.job_file import JobFile
    from stillwet.store.plan_tables import AnyPlan

JOB_ENDING = ".gpkg"


@dataclass(frozen=True, slots=True)
class Kept:
    """A job in its file. ``backup`` is the copy of what the file held before, if it held a job."""

    path: Path
    job: Job
    backup: Path | None

    def text(self) -> str:
        """What is in the file now, in a sentence or two."""
        from stillwet.reports.words import count_words

        assets = count_words(len(self.job.assets), "asset")
        crews = count_words(len(self.job.crews), "crew")
        words = f"{self.path}: {self.job.name}, {assets}, {crews}"
        return words if self.backup is None else f"{words}; before: {self.backup}"


def is_job_file(path: Path) -> bool:
    """True when the name is that of a job file, not of a TOML file."""
    return path.suffix.lower() == JOB_ENDING


def need_job_file(path: Path) -> None:
    """Raise unless the name is that of a job file: log and plans are kept in no other."""
    if not is_job_file(path):
        hint = "make one with: stillwet keep JOB.toml JOB.gpkg"
        raise StillwetError(Problem("job", "a job file (.gpkg)", shown(path.name), "", hint))


def read_plain_job(path: Path) -> Job:
    """The job of a TOML file and its files, or of a job file, before any trial is taken.

    Raises StillwetError with every problem found.
    """
    if is_job_file(path):
        return read_kept_job(path)
    from stillwet.exchange.job_file import read_job

    job, problems = read_job(path)
    if job is None or problems:
        raise StillwetError(problems)
    return job


def read_kept_job(path: Path) -> Job:
    """The job that a job file holds, with the trials typed at its bench."""
    from stillwet.services.typed_trials import load_counted_job
    from stillwet.store.job_file import open_job_file

    with open_job_file(path, now_s=moment_s(None)) as job_file:
        return load_counted_job(job_file)


def keep_job(source: Path, target: Path, *, now_s: float, dry_run: bool = False) -> Kept:
    """Keep the job at ``source`` in the job file ``target``: a new one, or in place of its job.

    A file that holds a job already is backed up first; its log, trials and plans stay. With
    ``dry_run`` all is read and checked, and nothing is written.
    """
    if not is_job_file(target):
        raise StillwetError(Problem("JOB.gpkg", "a name ending in .gpkg", shown(target.name)))
    if is_job_file(source):
        hint = "to make a copy, copy the file"
        raise StillwetError(Problem("JOB.toml", "a TOML job", shown(source.name), "", hint))
    job = read_plain_job(source)
    files = source_files(source, job)
    if dry_run:
        return Kept(target, job, None)
    if target.exists() and target.stat().st_size:
        return _keep_again(job, files, target, now_s)
    _make_whole(target, now_s, lambda job_file: save_whole_job(job_file, job, files, now_s))
    return Kept(target, job, None)


def make_empty_job_file(target: Path, *, now_s: float) -> None:
    """Make a job file with no job in it yet, for the desk to fill; never over another file."""
    need_job_file(target)
    _make_whole(target, now_s, lambda _empty: None)


def source_files(source: Path, job: Job) -> tuple[SourceFile, ...]:
    """The files that the job was read from, which must be what they were a moment ago."""
    from stillwet.exchange.files import Files

    files = Files(source.parent)
    kinds = (FileKind.JOB, *(FileKind.INPUT for _ in job.sources[1:]))
    found = tuple(
        SourceFile(name, kind, files.read(name, key="job file"))
        for name, kind in zip(job.sources, kinds, strict=True)
    )
    if files.input_hash != job.input_hash:
        wanted, got = "files that stay as they are", "files changed while they were read"
        raise StillwetError(Problem("JOB.toml", wanted, got, str(source), "do it again"))
    return found


def _keep_again(job: Job, files: tuple[SourceFile, ...], target: Path, now_s: float) -> Kept:
    from stillwet.store.job_file import back_up, open_job_file

    with open_job_file(target, now_s=now_s) as job_file:
        backup = job_file.backup or back_up(target, now_s)
        save_whole_job(job_file, job, files, now_s)
    return Kept(target, job, backup)


def _make_whole(target: Path, now_s: float, fill: Callable[[JobFile], None]) -> None:
    """Make the file aside and give it its name when it is whole; never over another file."""
    from stillwet.store.job_file import make_job_file, sync_folder

    folder = target.absolute().parent
    if not folder.is_dir():
        raise StillwetError(Problem("JOB.gpkg", "a folder that exists", "none", str(folder)))
    need_folder_place(folder, field="JOB.gpkg")
    handle, name = tempfile.mkstemp(prefix=".stillwet-", suffix=JOB_ENDING, dir=folder)
    os.close(handle)
    fresh = Path(name)
    try:
        with make_job_file(fresh, now_s=now_s) as job_file:
            fill(job_file)
        fresh.chmod(usual_mode(0o666))  # mkstemp files are private
        _claim(target)
        os.replace(fresh, target)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    sync_folder(folder)


def _claim(target: Path) -> None:
    """Take the name, so that two who make the same file cannot both think they did."""
    with suppress(FileExistsError):
        os.close(os.open(target, os.O_CREAT | os.O_EXCL))
        return
    if target.stat().st_size:
        raise StillwetError(Problem("JOB.gpkg", "a free name", "a file made just now", str(target)))


def save_whole_job(
    job_file: JobFile, job: Job, files: tuple[SourceFile, ...], now_s: float
) -> None:
    """Put a job into an open job file, with the files that it was read from and its trials."""
    from stillwet.store.file_tables import save_files
    from stillwet.store.job_tables import save_job
    from stillwet.store.trial_tables import add_trials

    save_job(job_file, job, faces_of_job(job), now_s=now_s)
    save_files(job_file, job.input_hash, files)
    add_trials(job_file, job.trials)


def faces_of_job(job: Job) -> Iterable[Surface]:
    """The faces of all assets, in order."""
    from stillwet.engine.faces import faces_of

    return tuple(face for asset in job.assets for face in faces_of(asset))


def newest_coats(path: Path) -> Plan | None:
    """The plan of coats that was kept last in a job file; None where none is."""
    from stillwet.store.job_file import open_job_file
    from stillwet.store.plan_tables import PlanKind, kept_plans, load_plan

    with open_job_file(path, now_s=moment_s(None)) as job_file:
        rows = [one.row for one in kept_plans(job_file) if one.kind is PlanKind.COATS]
        plan = load_plan(job_file, rows[-1]) if rows else None
    return plan if isinstance(plan, Plan) else None


def keep_plan_in(path: Path, plan: AnyPlan, job: Job) -> str:
    """Keep a plan made from a job file in that file; returns what to say of it, if anything.

    A plan that cannot be kept is still a plan: the trouble is told, not raised.
    """
    if not is_job_file(path):
        return ""
    from stillwet.store.job_file import open_job_file
    from stillwet.store.plan_tables import Made, keep_plan
    from stillwet.store.trial_tables import keep_inputs

    made = Made(job.input_hash, VERSION, job.seed, job.members)
    try:
        with open_job_file(path, now_s=plan.made_s) as job_file:
            keep_inputs(job_file, job, now_s=plan.made_s)
            is_new = keep_plan(job_file, plan, made)
    except StillwetError as error:
        return f"the plan is NOT kept in {path}: {error}"
    return f"plan {plan.id} kept in {path}" if is_new else f"plan {plan.id} is in {path} already"


@dataclass(frozen=True, slots=True)
class Examined:
    """An examination, ready to be shown."""

    health: Health

    def text(self) -> str:
        """Faults first."""
        from stillwet.reports.health_text import health_text

        return health_text(self.health)

    def json_text(self) -> str:
        """The same as JSON (schema stillwet.doctor/1)."""
        from stillwet.reports.health_text import health_json_text

        return health_json_text(self.health).rstrip("\n")


def examine_job_file(path: Path, *, now_s: float) -> Examined:
    """Examine a job file; nothing in it is changed."""
    from stillwet.store.doctor import examine

    need_job_file(path)
    return Examined(examine(path, faces_of_job, now_s=now_s))
