"""One plan of the starter job and one of the demo, made once for all tests of this room."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from stillwet.services.demo import run_demo
from stillwet.services.planning import Planned, plan_job
from stillwet.services.starter import write_starter

NOW_S = datetime(2030, 6, 30, 18, 0, tzinfo=UTC).timestamp()


@pytest.fixture(scope="session")
def starter_job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The path of a sound job for 1 July 2030; do not change its files."""
    return write_starter(tmp_path_factory.mktemp("starter") / "job", now_s=NOW_S)


@pytest.fixture(scope="session")
def starter_plan(starter_job: Path) -> Planned:
    """The starter's plan, with its files in ``plan`` beside the job's folder."""
    return plan_job(starter_job, starter_job.parents[1] / "plan", now_s=NOW_S)


@pytest.fixture(scope="session")
def demo_plan(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    """The demo, run into a folder of its own."""
    return run_demo(tmp_path_factory.mktemp("demo") / "out")
