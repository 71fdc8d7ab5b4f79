"""Text that no database column can hold: kept as well as can be, or told; never a traceback."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from stillwet.domain.sharing import Draft, Role
from stillwet.errors import StillwetError
from stillwet.store.draft_table import add_drafts, find_drafts
from stillwet.store.job_file import open_job_file
from stillwet.store.job_tables import load_job
from stillwet.store.people_tables import CodeHash, add_person, person_by_handle
from store_fixture import NOW_S, kept_job, small_job

HALF = "\ud800"  # JSON can write it, UTF-8 cannot (RFC 8259, section 8.2; RFC 3629, section 3)


def test_a_job_named_with_half_a_character(tmp_path: Path) -> None:
    """The job keeps its name in its record; only the column that people see has a mark in it."""
    path = kept_job(tmp_path, replace(small_job(), name=HALF))
    with open_job_file(path, now_s=NOW_S) as job_file:
        assert load_job(job_file).name == HALF
        assert job_file.connection.execute("SELECT name FROM job").fetchone() == ("?",)


@pytest.mark.parametrize(
    "ask",
    [
        lambda job_file: add_drafts(job_file, [Draft(HALF, 1.0, "Ash", "phone", "{}")]),
        lambda job_file: find_drafts(job_file, [HALF]),
        lambda job_file: add_person(
            job_file, HALF, "Ash", Role.LOG, CodeHash("0", "0"), made_s=1.0
        ),
        lambda job_file: person_by_handle(job_file, HALF),
    ],
)
def test_ids_with_half_a_character_are_told(tmp_path: Path, ask: object) -> None:
    """An id has to be itself: nothing is kept, and the file stays usable."""
    assert callable(ask)
    with open_job_file(kept_job(tmp_path), now_s=NOW_S) as job_file:
        with pytest.raises(StillwetError, match="text: wanted whole characters, got"):
            ask(job_file)
        assert load_job(job_file).name == small_job().name
