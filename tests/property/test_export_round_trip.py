"""Any job written as files, in any format, reads back as the same job."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from readable_jobs import READABLE_JOBS, differences
from stillwet.domain.job import Job
from stillwet.exchange.guard import guarded, unguarded
from stillwet.exchange.job_file import read_job
from stillwet.exchange.job_writer import make_job_files
from stillwet.exchange.sheets import Form

_QUIET = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example]


def back(job: Job, form: Form) -> Job:
    """The job after a way through files, which must read without problems."""
    with tempfile.TemporaryDirectory() as folder:
        for name, content in make_job_files(job, form).files.items():
            (Path(folder) / name).write_bytes(content)
        found, problems = read_job(Path(folder) / "job.toml")
    assert problems == (), "\n".join(map(str, problems[:5]))
    assert found is not None
    return found


@settings(max_examples=12, deadline=None, suppress_health_check=_QUIET)
@given(READABLE_JOBS)
@pytest.mark.parametrize("form", list(Form))
def test_any_job_comes_back_equal(form: Form, job: Job) -> None:
    """Every field of every record, whatever the format; only where it stood may differ."""
    assert differences(job, back(job, form)) == []


@pytest.mark.slow
@settings(max_examples=150, deadline=None, suppress_health_check=_QUIET)
@given(READABLE_JOBS)
@pytest.mark.parametrize("form", list(Form))
def test_many_jobs_come_back_equal(form: Form, job: Job) -> None:
    """The same, many times over."""
    assert differences(job, back(job, form)) == []


@given(st.text())
@example("'=1+1")
@example("''-x")
@example("@SUM(A1)")
@example("\t=1")
def test_a_guarded_text_is_never_run_and_comes_back(text: str) -> None:
    """OWASP's beginnings are guarded in every text, and taking the guard off gives it back."""
    safe = guarded(text)
    assert unguarded(safe) == text
    is_number = safe.lstrip("+-").replace(".", "", 1).isdigit() or "e" in safe.lower()
    assert is_number or not safe.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
