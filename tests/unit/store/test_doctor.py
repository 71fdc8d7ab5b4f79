"""The doctor finds what is wrong with a file, and nothing with a sound one."""

from __future__ import annotations

import shutil
import sqlite3
from collections import namedtuple
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from stillwet.domain.health import Grade, Health
from stillwet.domain.log import CoatChecked, Entry, Feel
from stillwet.store import doctor
from stillwet.store.job_file import back_up, open_job_file
from stillwet.store.log_table import add_entries
from store_fixture import NOW_S, all_faces, kept_job, some_entries

LATER_S = NOW_S + 3600.0


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """A sound file with a few entries."""
    path = kept_job(tmp_path)
    with open_job_file(path, now_s=NOW_S) as job_file:
        add_entries(job_file, some_entries(3))
    return path


def look(path: Path, now_s: float = LATER_S) -> Health:
    """The examination, an hour after the job was kept."""
    return doctor.examine(path, all_faces, now_s=now_s)


def told(health: Health, grade: Grade) -> list[str]:
    """What was found of this grade."""
    return [f"{f.topic}: {f.words}" for f in health.findings if f.grade is grade]


def spoil(path: Path, *statements: str) -> None:
    """What another program might do to the file."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for statement in statements:
            connection.execute(statement)


def test_a_sound_file(kept: Path) -> None:
    """Nothing is wrong, and everything that was looked at is named."""
    health = look(kept)
    assert health.is_sound, told(health, Grade.FAULT)
    assert {finding.topic for finding in health.findings} == {
        "integrity",
        "references",
        "schema",
        "layers",
        "plans",
        "files",
        "log",
        "clock",
        "disk",
    }


@pytest.mark.parametrize(
    ("statements", "words"),
    [
        (["UPDATE assets SET name = 'Renamed in a GIS'"], "layers: assets has been changed"),
        (["DELETE FROM surfaces WHERE id = 1"], "layers: surfaces has been changed"),
        (["DELETE FROM assets"], "references: "),
        (["DROP TRIGGER log_stay", "DELETE FROM log"], "schema: log_stay is missing"),
        (["ALTER TABLE crews ADD COLUMN colour TEXT"], "schema: crews is missing or has been"),
        (["UPDATE job SET record = '{}'"], "job: job: wanted sound records"),
        (["UPDATE products SET record = 'gel'"], "job: job: wanted sound records"),
        (["DELETE FROM weather_members", "DELETE FROM weather"], "job: job: wanted sound records"),
        (["UPDATE job SET kept_s = 1e300"], "clock: the job was kept at 1e+300 s, which is no"),
        (["UPDATE assets SET record = replace(record, 'house', 'x')"], "job: an asset that no"),
        (["DELETE FROM gpkg_geometry_columns"], "layers: assets is no layer any more"),
    ],
)
def test_a_spoilt_file(kept: Path, statements: list[str], words: str) -> None:
    """Each fault is named with its table, and the file is said to be unsound."""
    spoil(kept, *statements)
    health = look(kept)
    assert not health.is_sound
    assert any(fault.startswith(words) for fault in told(health, Grade.FAULT))


def test_a_damaged_page(kept: Path) -> None:
    """Bytes overwritten in the middle of the file are found."""
    content = bytearray(kept.read_bytes())
    middle = len(content) // 2 // 4096 * 4096
    content[middle : middle + 4096] = b"\xa5" * 4096
    kept.write_bytes(bytes(content))
    health = look(kept)
    assert not health.is_sound
    assert told(health, Grade.FAULT)[0].startswith("integrity: ")


def test_entries_about_what_the_job_lacks(kept: Path) -> None:
    """An entry about a face that is not in the job, and a correction whose account is missing."""
    odd = replace(some_entries(1, seed=5)[0], body=CoatChecked("a9/roof", feel=Feel.WET))
    lone = replace(some_entries(1, seed=6)[0], replaces="0" * 8 + "-0000-0000-0000-" + "0" * 12)
    with open_job_file(kept, now_s=NOW_S) as job_file:
        add_entries(job_file, [odd, lone])
    health = look(kept)
    assert health.is_sound
    notes = told(health, Grade.NOTE)
    assert any("orphans: entries about what the job does not have: a9/roof" in n for n in notes)
    assert any("orphans: 1 corrections of entries that have not come in yet" in n for n in notes)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda entry: replace(entry, written_s=LATER_S + 7200), "written later than now by phone"),
        (lambda entry: replace(entry, when_s=NOW_S + 900), "1 entries tell of what came after"),
    ],
)
def test_clocks(kept: Path, change: Callable[[Entry], Entry], words: str) -> None:
    """A device's clock that runs ahead, and an entry of something that had not happened yet."""
    with open_job_file(kept, now_s=NOW_S) as job_file:
        add_entries(job_file, [change(some_entries(1, seed=7)[0])])
    assert any(words in fault for fault in told(look(kept), Grade.FAULT))


def test_this_machines_clock(kept: Path) -> None:
    """A clock that stands before the job was kept is behind."""
    faults = told(look(kept, NOW_S - 86400), Grade.FAULT)
    assert any("the job was kept at 2026-08-14T14:00:00.000Z, after" in fault for fault in faults)


def test_little_room_on_the_disk(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Less than 100 MB free is a fault: the next write may be the one that fails."""
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(shutil, "disk_usage", lambda _path: usage(1e9, 9.7e8, 3e7))
    assert "disk: 30 MB free, wanted 100" in told(look(kept), Grade.FAULT)


def test_what_a_gis_leaves_behind_is_only_noted(kept: Path) -> None:
    """A spatial index that a GIS has added does not make the file unsound."""
    spoil(kept, "CREATE TABLE layer_styles (id INTEGER PRIMARY KEY)")
    health = look(kept)
    assert health.is_sound
    assert "schema: another program has added layer_styles" in told(health, Grade.NOTE)


def test_a_backup_is_sound_and_named(kept: Path) -> None:
    """A backup holds what the file held, is a sound job file itself, and is told of."""
    copy = back_up(kept, NOW_S)
    assert look(copy).is_sound
    assert f"backups: 1, the newest {copy.name}" in told(look(kept), Grade.FINE)
    again = back_up(kept, NOW_S)
    assert again != copy


def test_examining_changes_nothing(kept: Path, tmp_path: Path) -> None:
    """The file is the same to the byte afterwards."""
    before = shutil.copy(kept, tmp_path / "before.gpkg")
    look(kept)
    assert kept.read_bytes() == Path(before).read_bytes()


@pytest.mark.parametrize(
    "columns", ["not JSON", '["wind_speed_m_s, (SELECT 1) AS x"]', '{"a": 1}', '["time_s"]']
)
def test_names_of_columns_out_of_a_file_are_not_run(kept: Path, columns: str) -> None:
    """What the file says of its ensemble is held against what there can be, never put into SQL."""
    with closing(sqlite3.connect(kept, isolation_level=None)) as connection:
        connection.execute("UPDATE forecasts SET ensemble_columns = ?", (columns,))
    (fault,) = told(look(kept), Grade.FAULT)
    assert fault.startswith("job: job: wanted sound records, got ")


def test_members_that_are_missing(kept: Path) -> None:
    """An ensemble whose rows do not fill its hours is a damaged record."""
    spoil(
        kept,
        """UPDATE forecasts SET ensemble_columns = '["wind_speed_m_s"]'""",
        "INSERT INTO weather_members (weather_id, member, wind_speed_m_s) VALUES (1, 0, 3.0)",
    )
    (fault,) = told(look(kept), Grade.FAULT)
    assert "1 rows of members in" in fault
