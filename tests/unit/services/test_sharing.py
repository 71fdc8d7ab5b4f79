"""A job that several people work on: its own files, edits, joining, and who did what."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from job_folder import write_job
from stillwet.domain.sharing import AuditLine, Draft, FileKind, Role
from stillwet.errors import StillwetError
from stillwet.services.keeping import examine_job_file, keep_job
from stillwet.services.sharing import (
    SESSION_S,
    add_drafts,
    drafts_after,
    join,
    last_audit,
    leave,
    let_in,
    let_out,
    people_of,
    sources_of,
    who_is,
    write_audit,
)
from store_fixture import NOW_S, kept_job

DRAFT = Draft("e1", NOW_S, "Ash", "laptop", '{"asset":"a1","coat":null}')


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A job file with two assets."""
    return kept_job(tmp_path)


def job_in(folder: Path) -> Path:
    """A small whole job in a folder of its own."""
    folder.mkdir()
    return write_job(folder)


def test_the_jobs_own_files_come_back_to_the_byte(tmp_path: Path) -> None:
    """Kept, changed and kept again: the files of the job as it is now, each as it was read."""
    source = job_in(tmp_path / "job")
    target = tmp_path / "day.gpkg"
    kept = keep_job(source, target, now_s=NOW_S)
    files = sources_of(target)
    assert tuple(file.name for file in files) == kept.job.sources
    assert [file.kind for file in files] == [FileKind.JOB] + [FileKind.INPUT] * (len(files) - 1)
    for file in files:
        assert file.content == (source.parent / file.name).read_bytes()
    source.write_bytes(source.read_bytes() + b"\n# one more line\n")
    keep_job(source, target, now_s=NOW_S + 60.0)
    again = sources_of(target)
    assert again[0].content == source.read_bytes()
    assert again[1:] == files[1:]
    with closing(sqlite3.connect(target)) as connection:
        assert connection.execute("SELECT count(*) FROM files").fetchone() == (len(files) + 1,)
    assert "every kept file is as it was" in examine_job_file(target, now_s=NOW_S + 60.0).text()


def test_files_written_out_make_the_same_job(tmp_path: Path) -> None:
    """The kept files alone, in a new folder, are read to a job of the same hash."""
    source = job_in(tmp_path / "job")
    kept = keep_job(source, tmp_path / "day.gpkg", now_s=NOW_S)
    folder = tmp_path / "elsewhere"
    for file in sources_of(tmp_path / "day.gpkg"):
        (folder / file.name).parent.mkdir(parents=True, exist_ok=True)
        (folder / file.name).write_bytes(file.content)
    again = keep_job(folder / source.name, tmp_path / "again.gpkg", now_s=NOW_S)
    assert again.job.input_hash == kept.job.input_hash


def test_a_changed_file_is_a_fault(tmp_path: Path) -> None:
    """A byte changed in a kept file: the doctor names the file, and it is not handed out."""
    source = job_in(tmp_path / "job")
    target = tmp_path / "day.gpkg"
    keep_job(source, target, now_s=NOW_S)
    with closing(sqlite3.connect(target, isolation_level=None)) as connection:
        (sql,) = connection.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'files_keep'"
        ).fetchone()
        connection.execute("DROP TRIGGER files_keep")
        connection.execute("UPDATE files SET bytes = x'00' WHERE kind = 'job'")
        connection.execute(sql)
    assert (
        "files      job.toml is not what was kept" in examine_job_file(target, now_s=NOW_S).text()
    )
    with pytest.raises(StillwetError, match=r"files: wanted job.toml as it was kept"):
        sources_of(target)


def test_a_job_kept_before_files_were_has_none(path: Path) -> None:
    """No files is no fault."""
    assert sources_of(path) == ()


def test_drafts_go_in_once_and_in_order(path: Path) -> None:
    """Sent twice, there once; followers get what came since; another edit's id is refused."""
    second = replace(DRAFT, edit_id="e2", record="[1, 2]")
    assert add_drafts(path, [DRAFT]) == (True,)
    assert add_drafts(path, [DRAFT, second]) == (False, True)
    rows = drafts_after(path)
    assert [draft for _row, draft in rows] == [DRAFT, second]
    assert [draft for _row, draft in drafts_after(path, rows[0][0])] == [second]
    third = replace(DRAFT, edit_id="e3")
    with pytest.raises(StillwetError, match="edit_id: wanted an id of its own"):
        add_drafts(path, [third, replace(DRAFT, record="{}")])
    assert len(drafts_after(path)) == 2, "none of the batch is kept"


@pytest.mark.parametrize("record", ["", "{", "gel", "[" * 100_000])
def test_a_draft_is_json(path: Path, record: str) -> None:
    """What is no JSON is told by the edit's id."""
    with pytest.raises(StillwetError, match=r"record: wanted JSON text, got .*\(e1\)"):
        add_drafts(path, [replace(DRAFT, record=record)])


def test_joining_and_leaving(path: Path) -> None:
    """A code lets in its owner, however it is typed; the token says who, until they leave."""
    ash, code = let_in(path, "Ash", Role.LOG, now_s=NOW_S)
    _lead, lead_code = let_in(path, "Bo", Role.LEAD, now_s=NOW_S)
    assert [person.name for person in people_of(path)] == ["Ash", "Bo"]
    who, token = join(path, f"  {code.lower().replace('-', ' ')} ", "phone", now_s=NOW_S)
    assert who == ash
    assert who_is(path, token, now_s=NOW_S) == ash
    assert who_is(path, token, now_s=NOW_S + SESSION_S) is None
    assert who_is(path, token + "x", now_s=NOW_S) is None
    leave(path, token, now_s=NOW_S)
    assert who_is(path, token, now_s=NOW_S) is None
    for wrong in ("", "AAAA", code[:-1], code[:5] + lead_code[5:], lead_code[::-1]):
        with pytest.raises(StillwetError, match="code: wanted a join code of this job"):
            join(path, wrong, "phone", now_s=NOW_S)


def test_who_is_let_out_is_out_everywhere(path: Path) -> None:
    """Their sessions end and their code opens nothing; once out, out for good."""
    ash, code = let_in(path, "Ash", Role.PLAN, now_s=NOW_S)
    tokens = [join(path, code, f"phone {n}", now_s=NOW_S)[1] for n in range(2)]
    assert let_out(path, ash.id, now_s=NOW_S + 1.0)
    assert not let_out(path, ash.id, now_s=NOW_S + 2.0)
    assert [who_is(path, token, now_s=NOW_S) for token in tokens] == [None, None]
    with pytest.raises(StillwetError, match="code: wanted"):
        join(path, code, "phone", now_s=NOW_S)
    (person,) = people_of(path)
    assert person.revoked_s == NOW_S + 1.0


def test_no_secret_is_in_the_file(path: Path) -> None:
    """Neither the secret part of a code nor a token can be read from the file's bytes."""
    _ash, code = let_in(path, "Ash", Role.LOG, now_s=NOW_S)
    _who, token = join(path, code, "phone", now_s=NOW_S)
    content = path.read_bytes()
    secret = code.replace("-", "")[4:]
    for text in (secret, code[5:], token):
        assert text.encode() not in content


def test_each_role_may_what_those_before_it_may() -> None:
    """Lead over plan over log over look."""
    allowed = {role: [other for other in Role if role.may(other)] for role in Role}
    assert {role: len(others) for role, others in allowed.items()} == {
        Role.LOOK: 1,
        Role.LOG: 2,
        Role.PLAN: 3,
        Role.LEAD: 4,
    }
    assert not Role.LOG.may(Role.PLAN)


def test_the_audit_keeps_its_order(path: Path) -> None:
    """Lines come back as written, newest first and no more than asked; older ones before a row."""
    lines = [AuditLine(NOW_S + n, "Ash", "phone", "192.0.2.7", f"did {n}") for n in range(3)]
    for line in lines:
        write_audit(path, line)
    rows = last_audit(path, 5)
    assert [line for _row, line in rows] == lines[::-1]
    assert last_audit(path, 2) == rows[:2]
    assert last_audit(path, 2, rows[1][0]) == rows[2:]
