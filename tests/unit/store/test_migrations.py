"""Files of every past schema open and are brought up to date; newer ones are refused."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from same_record import same
from stillwet.domain.trials import YieldEstimate
from stillwet.errors import StillwetError
from stillwet.store import migrations
from stillwet.store.doctor import examine
from stillwet.store.job_file import JobFile, iso, open_job_file
from stillwet.store.job_tables import load_job, save_job
from stillwet.store.log_table import add_entries, load_log
from stillwet.store.migrations import MIGRATIONS
from stillwet.store.trial_tables import add_trials, load_typed_trials
from store_fixture import NOW_S, all_faces, kept_job, small_job, some_entries
from trial_fixture import plain_trial

OLD_TRIAL = plain_trial("t1", 0.01, YieldEstimate(40.0))
_NAMES = "SELECT name FROM stillwet_migrations ORDER BY id"
# Of the statements of each step as it shipped. A step is never changed: add another one.
SHIPPED = {
    "container": "291c3a6eebc03bbca233d2712755390a9b9d37aedbbcb157faf459d17c29a9ae",
    "job": "d20d89b563903e6f3ea11dc8f9017f44692551aed7de9db4320fee2b5672d9cb",
    "field log": "07fe8cd459f79e9f1f818954af78796a9140a40ac6e5ccdfe7d69261b5fa0b04",
    "plans, routes and trials": "20a6f719e1b0208249c275cf838020daa4ae60438f88a5bbb13d1885accbb62e",
    "source files": "9b32370a0746e581ab31e7f8b1645af974abc23d4c9a9088098610fc35b35e02",
    "drafts, people and audit": "b586560508daa57d7b2b0faf1dd1c032b733e0e528d98a455c58931e53ea3930",
    "typed trials": "a336625ef2ff67fdba8739a2158559ae470fe6178d5f942a4866b436723563c9",
}


def make_old_file(path: Path, number: int) -> None:
    """A file of an earlier schema with whatever that schema could hold."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        old = JobFile(path, connection)
        for step in MIGRATIONS[:number]:
            with old.writing():
                migrations.apply(connection, step, when=iso(NOW_S))
        if number >= 2:
            save_job(old, small_job(), all_faces(small_job()), now_s=NOW_S)
        if number >= 3:
            add_entries(old, some_entries(5))
        if number >= 4:
            add_trials(old, [OLD_TRIAL])


@pytest.mark.parametrize("number", range(1, len(MIGRATIONS) + 1))
def test_every_past_schema_is_brought_up_to_date(tmp_path: Path, number: int) -> None:
    """What the old file held is there afterwards, and its structure is that of a new file."""
    path = tmp_path / "job.gpkg"
    make_old_file(path, number)
    before = path.read_bytes()
    with open_job_file(path, now_s=NOW_S) as job_file:
        if number >= 2:
            assert same(load_job(job_file), small_job())
        expected = frozenset(some_entries(5)) if number >= 3 else frozenset()
        assert load_log(job_file) == expected
        trials = (OLD_TRIAL,) if 4 <= number < 7 else ()  # before, none told whence it came
        assert load_typed_trials(job_file) == trials
        assert migrations.pending(job_file.connection) == ()
        rows = job_file.connection.execute("SELECT name, sha256 FROM stillwet_migrations")
        assert rows.fetchall() == [(step.name, step.hash) for step in MIGRATIONS]
        backup = job_file.backup
    if number == len(MIGRATIONS):
        assert backup is None
        assert path.read_bytes() == before
        return
    assert backup is not None
    with closing(sqlite3.connect(backup)) as copy:
        names = [name for (name,) in copy.execute(_NAMES)]
    assert names == [step.name for step in MIGRATIONS[:number]]
    if number >= 2:
        faults = [f for f in examine(path, all_faces, now_s=NOW_S).findings if f.grade == "fault"]
        assert [fault for fault in faults if fault.topic != "disk"] == []


def test_a_step_that_fails_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A migration that breaks in its last statement: no part of it is in the file."""
    path = kept_job(tmp_path)
    broken = migrations.Migration(
        99, "broken", "CREATE TABLE half (x TEXT);\nINSERT INTO no_such VALUES (1);\n"
    )
    monkeypatch.setattr(migrations, "MIGRATIONS", (*MIGRATIONS, broken))
    with pytest.raises(StillwetError, match="no such table"), open_job_file(path, now_s=NOW_S):
        pass
    with closing(sqlite3.connect(path)) as connection:
        names = [name for (name,) in connection.execute("SELECT name FROM sqlite_master")]
        assert "half" not in names
        assert migrations.applied_names(connection) == [step.name for step in MIGRATIONS]


def test_a_newer_file_is_refused(tmp_path: Path) -> None:
    """A file with a step this program does not know: told so, and not touched."""
    path = kept_job(tmp_path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(
            "INSERT INTO stillwet_migrations (name, applied, sha256) VALUES ('drones', '', '')"
        )
        connection.commit()
    before = path.read_bytes()
    with (
        pytest.raises(
            StillwetError, match='schema 7 or older, got a newer one, which has "drones"'
        ),
        open_job_file(path, now_s=NOW_S),
    ):
        pass
    assert path.read_bytes() == before


def test_another_file_is_refused(tmp_path: Path) -> None:
    """An SQLite file that is none of ours, and a file that is no SQLite at all."""
    foreign = tmp_path / "other.gpkg"
    with closing(sqlite3.connect(foreign)) as connection:
        connection.execute("CREATE TABLE mine (x)")
    noise = tmp_path / "noise.gpkg"
    noise.write_bytes(b"no database" * 500)
    for path in (foreign, noise, tmp_path / "missing.gpkg"):
        with pytest.raises(StillwetError, match="job: wanted"), open_job_file(path, now_s=NOW_S):
            pass


def test_steps_are_only_added_to() -> None:
    """The steps keep their statements, names and order."""
    assert {step.name: step.hash for step in MIGRATIONS} == SHIPPED
    assert [step.name for step in MIGRATIONS] == list(SHIPPED)
    assert [step.number for step in MIGRATIONS] == list(range(1, len(MIGRATIONS) + 1))


# A row for each table that is only added to; the log has entries, inputs and steps are there.
ROWS = {
    "log": "",
    "inputs": "",
    "stillwet_migrations": "",
    "plans": "INSERT INTO plans (plan_id, kind, made_s, model_version, seed, members, input_hash, "
    "answer_hash, record) SELECT 'p', 'coats', 0.0, '0', 1, 8, input_hash, '', '' FROM inputs",
    "trials": "INSERT INTO trials (trial_id, product_id, content_hash, record) "
    "VALUES ('t', 'p', '', '')",
    "typed_trials": "INSERT INTO typed_trials (trial_row) SELECT id FROM trials",
    "input_trials": "INSERT INTO input_trials (input_hash, trial_row) "
    "SELECT input_hash, trials.id FROM inputs, trials",
    "files": "INSERT INTO files (name, kind, sha256, bytes) VALUES ('n', 'job', '', x'00')",
    "input_files": "INSERT INTO input_files (input_hash, position, file_id) "
    "SELECT input_hash, 0, files.id FROM inputs, files",
    "drafts": "INSERT INTO drafts (edit_id, made_s, writer, device, record) "
    "VALUES ('e', 0.0, 'Ash', '', '{}')",
    "people": "INSERT INTO people (handle, name, role, code_salt, code_hash, made_s) "
    "VALUES ('h', 'Ash', 'log', '', '', 0.0)",
    "audit": "INSERT INTO audit (when_s, who, device, address, what) "
    "VALUES (0.0, 'Ash', '', '', 'it')",
}


@pytest.mark.parametrize("table", ROWS)
def test_what_is_kept_cannot_be_changed(tmp_path: Path, table: str) -> None:
    """The database itself refuses to change or remove a row of a table that is only added to."""
    path = kept_job(tmp_path)
    with open_job_file(path, now_s=NOW_S) as job_file:
        add_entries(job_file, some_entries(1))
        connection = job_file.connection
        before = {"input_files": "files", "typed_trials": "trials", "input_trials": "trials"}
        if table in before:
            connection.execute(ROWS[before[table]])
        if ROWS[table]:
            connection.execute(ROWS[table])
        assert connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0] > 0
        for statement in (f"UPDATE {table} SET id = id + 1", f"DELETE FROM {table}"):
            with pytest.raises(sqlite3.IntegrityError, match=r"added to|never"):
                connection.execute(statement)


def test_a_person_can_only_be_revoked_and_once(tmp_path: Path) -> None:
    """No other change of a person passes, not even after revoking; nor does undoing it."""
    with open_job_file(kept_job(tmp_path), now_s=NOW_S) as job_file:
        connection = job_file.connection
        connection.execute(ROWS["people"])
        for change in ("role = 'lead'", "role = 'lead', revoked_s = 1.0", "revoked_s = NULL"):
            with pytest.raises(sqlite3.IntegrityError, match="never changed"):
                connection.execute(f"UPDATE people SET {change}")
        connection.execute("UPDATE people SET revoked_s = 1.0")
        for change in ("revoked_s = NULL", "revoked_s = 2.0"):
            with pytest.raises(sqlite3.IntegrityError, match="never changed"):
                connection.execute(f"UPDATE people SET {change}")
