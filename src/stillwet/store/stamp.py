"""What a job file holds, in a few numbers: cheap to ask, and equal as long as nothing changed."""

from __future__ import annotations

from dataclasses import dataclass

from stillwet.store.job_file import JobFile
from stillwet.store.migrations import MIGRATIONS_TABLE
from stillwet.store.plan_tables import PlanKind


@dataclass(frozen=True, slots=True)
class Stamp:
    """The hash of the job's files; the last rows (0: none) of plans, log and typed trials."""

    input_hash: str
    coats_row: int
    crews_row: int
    lines_row: int
    log_row: int
    trials_row: int


def made_when(job_file: JobFile) -> str:
    """When the file was made, as its first migration has it: the same for all its life."""
    with job_file.reading() as connection:
        row = connection.execute(f"SELECT * FROM {MIGRATIONS_TABLE} LIMIT 1").fetchone()
    return "|".join(map(str, row or ()))


def stamp_of(job_file: JobFile) -> Stamp:
    """The stamp of the file as it stands at one moment."""
    with job_file.reading() as connection:
        (input_hash,) = connection.execute("SELECT input_hash FROM job").fetchone() or ("",)
        kinds = dict(connection.execute("SELECT kind, max(id) FROM plans GROUP BY kind").fetchall())
        (log_row,) = connection.execute("SELECT ifnull(max(id), 0) FROM log").fetchone()
        (trials_row,) = connection.execute("SELECT ifnull(max(id), 0) FROM typed_trials").fetchone()
    coats, crews, lines = (int(kinds.get(kind.value, 0)) for kind in PlanKind)
    return Stamp(str(input_hash), coats, crews, lines, int(log_row), int(trials_row))
