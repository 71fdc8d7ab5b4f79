"""Job files written by earlier versions open in this one, with all that was in them."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from stillwet.services.keeping import read_kept_job
from stillwet.services.logbook import entries_after
from stillwet.store.migrations import MIGRATIONS

KEPT = sorted((Path(__file__).parent / "kept").glob("schema_*.gpkg"))


def test_there_is_a_kept_file_of_the_newest_schema() -> None:
    """Whoever adds a migration adds a file as it writes it (make_kept.py)."""
    assert f"schema_{MIGRATIONS[-1].number}.gpkg" in [path.name for path in KEPT]


@pytest.mark.parametrize("kept", KEPT, ids=lambda path: path.stem)
def test_it_opens_and_nothing_is_lost(kept: Path, tmp_path: Path) -> None:
    """The job is read whole, and every entry of its log: a field added later has a default."""
    copy = Path(shutil.copy(kept, tmp_path / "day.gpkg"))
    job = read_kept_job(copy)
    assert len(job.assets) == 2
    assert job.crews
    assert len(entries_after(copy, 0)) == 20
