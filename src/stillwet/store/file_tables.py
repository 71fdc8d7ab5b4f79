"""The files a job was read from, kept as they were, so that it can be edited later."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from stillwet.domain.sharing import FileKind, SourceFile
from stillwet.errors import Problem, StillwetError
from stillwet.store.job_file import JobFile
from stillwet.store.job_tables import sound


def save_files(job_file: JobFile, input_hash: str, files: Sequence[SourceFile]) -> None:
    """Keep the files of a set of inputs, in order; a set that has its files already is left."""
    with job_file.writing() as connection:
        there = connection.execute(
            "SELECT count(*) FROM input_files WHERE input_hash = ?", (input_hash,)
        ).fetchone()[0]
        if there:
            return
        for position, file in enumerate(files):
            key = (sound(file.name), file.kind.value, file.sha256)
            connection.execute(
                "INSERT OR IGNORE INTO files (name, kind, sha256, bytes) VALUES (?, ?, ?, ?)",
                (*key, file.content),
            )
            connection.execute(
                "INSERT INTO input_files (input_hash, position, file_id) VALUES (?, ?, "
                "(SELECT id FROM files WHERE name = ? AND kind = ? AND sha256 = ?))",
                (input_hash, position, *key),
            )


def load_files(job_file: JobFile, input_hash: str) -> tuple[SourceFile, ...]:
    """The files of a set of inputs, in order; none for a job kept before files were.

    Raises StillwetError when one is not what was kept.
    """
    with job_file.reading() as connection:
        rows = connection.execute(
            "SELECT name, kind, bytes, sha256 FROM input_files JOIN files "
            "ON files.id = file_id WHERE input_hash = ? ORDER BY position",
            (input_hash,),
        ).fetchall()
    found = []
    for name, kind, content, sha256 in rows:
        file = SourceFile(name, FileKind(kind), content)
        if file.sha256 != sha256:
            hint = "run: stillwet doctor"
            place = str(job_file.path)
            raise StillwetError(Problem("files", f"{name} as it was kept", "another", place, hint))
        found.append(file)
    return tuple(found)


def add_file(job_file: JobFile, file: SourceFile) -> None:
    """Keep a file that no set of inputs has yet; one that is there already is left."""
    with job_file.writing() as connection:
        connection.execute(
            "INSERT OR IGNORE INTO files (name, kind, sha256, bytes) VALUES (?, ?, ?, ?)",
            (sound(file.name), file.kind.value, file.sha256, file.content),
        )


def file_contents(job_file: JobFile, hashes: Iterable[str]) -> dict[str, bytes]:
    """The bytes of kept files by their hash; those that are not there are left out."""
    found = {}
    with job_file.reading() as connection:
        for sha256 in sorted(set(hashes)):
            row = connection.execute(
                "SELECT bytes FROM files WHERE sha256 = ? LIMIT 1", (sha256,)
            ).fetchone()
            if row is not None:
                found[sha256] = bytes(row[0])
    return found


def changed_files(job_file: JobFile) -> tuple[str, ...]:
    """Names of kept files whose bytes are no longer what their hash says."""
    with job_file.reading() as connection:
        rows = connection.execute("SELECT name, kind, sha256, bytes FROM files").fetchall()
    return tuple(
        name
        for name, kind, sha256, content in rows
        if SourceFile(name, FileKind(kind), content).sha256 != sha256
    )
