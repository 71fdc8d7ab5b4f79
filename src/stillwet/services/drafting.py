"""Use cases of a job that is made edit by edit: typed, brought in, undone; kept at every step."""

from __future__ import annotations

import json
import tempfile
import threading
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stillwet.domain.draft import (
    Document,
    Edit,
    FileMark,
    History,
    OpenJob,
    Redo,
    Step,
    Undo,
)
from stillwet.domain.sharing import Draft, SourceFile
from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.draft_records import document_json, step_json, step_of, typed_step
from stillwet.services.sharing import add_drafts, drafts_after, drafts_named

if TYPE_CHECKING:
    from stillwet.domain.job import Job

MOST_EDITS = 500  # at once
MOST_ID = 80


@dataclass(frozen=True, slots=True)
class Writer:
    """Who edits, from which device, and when."""

    name: str
    device: str
    now_s: float


@dataclass(frozen=True, slots=True)
class Look:
    """A draft as it stands: the last row of its edits, what counts, what it says."""

    row: int
    history: History
    document: Document

    def to_json(self) -> dict[str, Any]:
        """The draft for the browser."""
        return {
            "row": self.row,
            "can_undo": self.history.can_undo,
            "can_redo": self.history.can_redo,
            "is_ahead": self.history.is_ahead,
            **document_json(self.document),
        }


class DraftBook:
    """The draft of one job file, folded as far as it has been read.

    The file stays the truth: each look asks it for what came in since the last one, so that an
    edit costs about the same however many came before. A file put in another's place is read anew.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = threading.Lock()
        self._last: tuple[int, Draft | None] = (0, None)
        self._history = History()

    def look(self, writer: Writer) -> Look:
        """The draft as it stands; a job that was kept from elsewhere meanwhile begins it anew."""
        row, history = self.history()
        input_hash = kept_hash(self._path)
        if input_hash and input_hash not in history.hashes:
            opened = OpenJob(_kept_document(self._path), input_hash)
            add_steps(self._path, {f"open-{input_hash[:32]}-{row}": opened}, writer)
            row, history = self.history()
        return Look(row, history, history.document)

    def undo(self, edit_id: str, writer: Writer, *, is_redo: bool = False) -> bool:
        """Withdraw the last edit, or bring the one withdrawn last back; False if there is none.

        Sending the same id again changes nothing.
        """
        if drafts_named(self._path, [edit_id]):
            return True
        _, history = self.history()
        name = history.redo_next if is_redo else history.undo_next
        if name:
            add_steps(self._path, {edit_id: Redo(name) if is_redo else Undo(name)}, writer)
        return bool(name)

    def history(self) -> tuple[int, History]:
        """The last row and the history up to it."""
        with self._lock:
            row, last = self._last
            kept = drafts_after(self._path, row - 1)  # from the last one on, to see it is still it
            if last is not None and (not kept or kept[0] != self._last):
                self._last, self._history = (0, None), History()
                kept = drafts_after(self._path)
            for at, draft in kept if self._last[1] is None else kept[1:]:
                step = step_of(json.loads(draft.record))
                self._history = self._history.after(Edit(draft.edit_id, step))
                self._last = (at, draft)
            return self._last[0], self._history


def look_at_draft(path: Path, writer: Writer) -> Look:
    """The draft in a job file, for whoever looks once."""
    return DraftBook(path).look(writer)


def type_edits(path: Path, plain: Iterable[object], writer: Writer) -> tuple[str, ...]:
    """Keep what was typed; of each edit "kept" or "already here". None is kept if one is bad.

    An id that is here already for something else is refused.
    """
    edits = [_typed_edit(one) for one in plain]
    if len(edits) > MOST_EDITS:
        raise StillwetError(Problem("edits", f"at most {MOST_EDITS} at once", str(len(edits))))
    return _add(path, edits, writer)


def _typed_edit(plain: object) -> Edit:
    step = typed_step(plain)
    assert isinstance(plain, dict)
    return Edit(need_id(plain.get("id")), step)


def need_id(given: object) -> str:
    """An edit's id as its maker gave it; raises StillwetError for none."""
    if isinstance(given, str) and 8 <= len(given) <= MOST_ID and given.isascii():
        return given
    raise StillwetError(Problem("id", "an id of its own, 8 to 80 characters", shown(given)))


def add_steps(path: Path, steps: Mapping[str, Step], writer: Writer) -> tuple[str, ...]:
    """Keep steps by id; of each "kept" or "already here"."""
    return _add(path, [Edit(name, step) for name, step in steps.items()], writer)


def _add(path: Path, edits: Iterable[Edit], writer: Writer) -> tuple[str, ...]:
    """Add edits; one sent again keeps the moment of its first coming."""
    given = tuple(edits)
    there = drafts_named(path, [edit.id for edit in given])
    drafts = []
    for edit in given:
        record = json.dumps(step_json(edit.step), ensure_ascii=False, sort_keys=True)
        before = there.get(edit.id)
        draft = Draft(edit.id, writer.now_s, writer.name, writer.device, record)
        if before is not None and before.record == record:
            draft = before
        drafts.append(draft)
    return tuple("kept" if is_new else "already here" for is_new in add_drafts(path, drafts))


def file_key(path: Path) -> str:
    """What tells this job file from every other that was ever served at the same address."""
    import hashlib

    from stillwet.services.clock import moment_s
    from stillwet.store.job_file import open_job_file
    from stillwet.store.stamp import made_when

    with open_job_file(path, now_s=moment_s(None)) as job_file:
        made = made_when(job_file)
    return hashlib.sha256(f"{path.absolute()}|{made}".encode()).hexdigest()[:16]


def kept_hash(path: Path) -> str:
    """The hash of the job that a job file holds; empty while it holds none."""
    from stillwet.services.clock import moment_s
    from stillwet.services.job_view import job_stamp

    return job_stamp(path, now_s=moment_s(None)).input_hash


def _kept_document(path: Path) -> Document:
    """The document of the job that is kept: by its own files, or by those written of it."""
    from stillwet.exchange.draft_reader import read_draft
    from stillwet.exchange.files import Files
    from stillwet.services.sharing import sources_of

    with tempfile.TemporaryDirectory(prefix="stillwet-") as name:
        folder = Path(name)
        sources = {file.name: file.content for file in sources_of(path)} or _written(path)
        _write(folder, sources)
        document, slots = read_draft(Files(folder), next(iter(sources)))
    marks = {slot: _keep_file(path, file, sources[file]) for slot, file in slots.items()}
    return replace(document, files=marks)


def _written(path: Path) -> dict[str, bytes]:
    from stillwet.exchange.job_writer import make_job_files
    from stillwet.exchange.sheets import Form
    from stillwet.services.clock import moment_s
    from stillwet.store.job_file import open_job_file
    from stillwet.store.job_tables import load_job

    with open_job_file(path, now_s=moment_s(None)) as job_file:
        job = load_job(job_file)  # trials typed at the bench stay there
    return make_job_files(job, Form.CSV).files


def _keep_file(path: Path, name: str, content: bytes) -> FileMark:
    from stillwet.domain.sharing import FileKind
    from stillwet.services.clock import moment_s
    from stillwet.store.file_tables import add_file
    from stillwet.store.job_file import open_job_file

    file = SourceFile(plain_name(name), FileKind.INPUT, content)
    with open_job_file(path, now_s=moment_s(None)) as job_file:
        add_file(job_file, file)
    return FileMark(file.name, file.sha256)


def keep_upload(path: Path, name: str, content: bytes) -> FileMark:
    """Keep the bytes of a file that was brought, under its own name without any folder."""
    return _keep_file(path, name, content)


def plain_name(name: str) -> str:
    """The last part of a file's name, without anything that a path or a message could trip on."""
    last = name.replace("\\", "/").rpartition("/")[2]
    kept = "".join(c if c.isalnum() or c in " ._-()" else "_" for c in last)[:120].strip(" .")
    return kept or "file"


@contextmanager
def materialised(path: Path, document: Document) -> Iterator[Path]:
    """The draft's files in a folder of their own; yields the job file's path."""
    from stillwet.exchange.draft_writer import JOB_NAME, make_draft_files
    from stillwet.services.clock import moment_s
    from stillwet.store.file_tables import file_contents
    from stillwet.store.job_file import open_job_file

    hashes = [mark.sha256 for mark in document.files.values()]
    with open_job_file(path, now_s=moment_s(None)) as job_file:
        contents = file_contents(job_file, hashes)
    with tempfile.TemporaryDirectory(prefix="stillwet-") as name:
        _write(Path(name), make_draft_files(document, contents))
        yield Path(name) / JOB_NAME


def _write(folder: Path, files: Mapping[str, bytes]) -> None:
    for name, content in files.items():
        target = (folder / name).resolve()
        if not target.is_relative_to(folder.resolve()):
            raise StillwetError(Problem("file", "a name inside the job's folder", shown(name)))
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)


@dataclass(frozen=True, slots=True)
class Checked:
    """What reading the draft found: its job or its problems, placed, and what was assumed."""

    job: Job | None
    problems: tuple[tuple[Problem, dict[str, str]], ...]
    remarks: tuple[str, ...]


def check_document(path: Path, document: Document) -> Checked:
    """Read the draft as the command line would, and bring every problem back to its field."""
    from stillwet.exchange.draft_places import place_problems
    from stillwet.exchange.job_file import read_job

    with materialised(path, document) as job_path:
        job, problems = read_job(job_path)
    placed = tuple(
        (
            one.problem,
            {
                "key": one.spot.key,
                "list": one.spot.list,
                "row": one.spot.row,
                "field": one.spot.field,
            },
        )
        for one in place_problems(problems, document)
    )
    return Checked(job, placed, () if job is None else job.remarks)
