"""A small kept job and entries for it, for the tests of the job file."""

from __future__ import annotations

import random
from collections.abc import Iterable
from pathlib import Path

from job_fixture import make_asset, make_job
from log_strategies import ids
from stillwet.domain.assets import Surface
from stillwet.domain.job import Job
from stillwet.domain.log import CoatChecked, Entry, Feel
from stillwet.engine.faces import faces_of
from stillwet.store.job_file import make_job_file
from stillwet.store.job_tables import save_job

NOW_S = 1_786_716_000.0


def all_faces(job: Job) -> Iterable[Surface]:
    """The faces of all assets of a job."""
    return tuple(face for asset in job.assets for face in faces_of(asset))


def small_job(input_hash: str = "0f" * 32) -> Job:
    """Two assets of the invented job, one with an outline."""
    ring = ((0.0, 0.0), (12.0, 0.0), (12.0, 9.0), (0.0, 9.0))
    assets = (
        make_asset(footprint_m=ring),
        make_asset(id="a2", name="Invented shed", kind="shed", x_m=60.0, y_m=20.0),
    )
    return make_job(assets=assets, input_hash=input_hash, members=16)


def kept_job(folder: Path, job: Job | None = None) -> Path:
    """The path of a job file with the small job in it."""
    path = folder / "job.gpkg"
    with make_job_file(path, now_s=NOW_S) as job_file:
        found = job or small_job()
        save_job(job_file, found, all_faces(found), now_s=NOW_S)
    return path


def some_entries(count: int, seed: int = 1) -> list[Entry]:
    """Checks of one face, a second apart; the same for the same seed."""
    source = random.Random(seed)
    return [
        Entry(
            id=ids(source),
            when_s=NOW_S + number,
            written_s=NOW_S + number,
            writer="Ash",
            device=f"phone {seed}",
            body=CoatChecked("a1/north-wall", feel=source.choice(list(Feel))),
            note="n" * source.randint(0, 2000),
        )
        for number in range(count)
    ]
