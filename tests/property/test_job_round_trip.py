"""Any job written to a file and read back is the same job."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from job_strategies import JOBS
from same_record import same
from stillwet.domain.assets import Geometry, Surface
from stillwet.domain.job import Job
from stillwet.store.doctor import examine
from stillwet.store.job_file import make_job_file, open_job_file
from stillwet.store.job_tables import load_job, save_job

NOW_S = 1_786_700_000.0


def faces_of(job: Job) -> tuple[Surface, ...]:
    """One face an asset."""
    return tuple(
        Surface(f"{asset.id}/{number}", asset.id, "wall", Geometry.WALL, 90.0, 0.0, 5.0, 2.0, 1.0)
        for number, asset in enumerate(job.assets)
    )


def goes_round(jobs: list[Job]) -> None:
    """Each job takes the place of the one before in one file, and comes back as it was."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.gpkg"
        with make_job_file(path, now_s=NOW_S):
            pass
        for job in jobs:
            with open_job_file(path, now_s=NOW_S) as job_file:
                save_job(job_file, job, faces_of(job), now_s=NOW_S)
            with open_job_file(path, now_s=NOW_S) as job_file:
                assert same(load_job(job_file), job)
            health = examine(path, faces_of, now_s=NOW_S)
            assert health.is_sound or {
                finding.topic for finding in health.findings if finding.grade == "fault"
            } <= {"disk"}


_QUIET = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example]


@settings(max_examples=25, deadline=None, suppress_health_check=_QUIET)
@given(JOBS)
def test_any_job_comes_back_equal(job: Job) -> None:
    """Write, read, compare: every field of every record, to the bit; and doctor finds it sound."""
    goes_round([job])


@pytest.mark.slow
@settings(max_examples=100, deadline=None, suppress_health_check=_QUIET)
@given(st.data())
def test_many_jobs_come_back_equal(data: st.DataObject) -> None:
    """The same many times over, with a second job in the first one's place."""
    first = data.draw(JOBS)
    second = data.draw(JOBS.filter(lambda job: job.crs == first.crs))
    goes_round([first, second])
