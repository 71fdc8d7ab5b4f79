"""A small kept job behind the app, asked without a network."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from web_fixture import kept_yard, make_test_client


@pytest.fixture
def job_path(tmp_path: Path) -> Path:
    """A job file of its own, with a plan in it."""
    return kept_yard(tmp_path)


@pytest.fixture
def client(job_path: Path) -> Iterator[TestClient]:
    """The app as a browser on this machine sees it."""
    with make_test_client(job_path) as made:
        yield made
