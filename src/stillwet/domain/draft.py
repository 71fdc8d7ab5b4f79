"""A job that is being made: what has been typed, edit by edit, and what undo leaves of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

LISTS = ("assets", "lines", "streams", "wells", "crews", "water", "depots")
SLOTS = ("weather", "trials", "roads")  # files that stay as they were brought


@dataclass(frozen=True, slots=True)
class DraftRow:
    """One row of a list: its fields as typed, and its shape as well-known text in degrees."""

    key: str  # made by whoever adds the row; never changes
    fields: Mapping[str, str] = field(default_factory=dict)
    shape: str = ""


@dataclass(frozen=True, slots=True)
class FileMark:
    """A file that was brought: its name and the SHA-256 of its bytes."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Document:
    """All that has been typed: texts by "section.field", rows by list, files by slot."""

    texts: Mapping[str, str] = field(default_factory=dict)
    lists: Mapping[str, tuple[DraftRow, ...]] = field(default_factory=dict)
    files: Mapping[str, FileMark] = field(default_factory=dict)

    def rows(self, name: str) -> tuple[DraftRow, ...]:
        """The rows of a list."""
        return self.lists.get(name, ())


@dataclass(frozen=True, slots=True)
class SetText:
    """A field typed; an empty text takes it back."""

    key: str
    text: str


@dataclass(frozen=True, slots=True)
class SetRow:
    """Fields of a row typed, or the row added; ``shape`` None leaves its shape as it is."""

    list: str
    row: str
    fields: Mapping[str, str] = field(default_factory=dict)
    shape: str | None = None


@dataclass(frozen=True, slots=True)
class RemoveRow:
    """A row taken out."""

    list: str
    row: str


@dataclass(frozen=True, slots=True)
class AddRows:
    """Rows brought in from a file, after those there or in their place."""

    list: str
    rows: tuple[DraftRow, ...]
    replaces: bool = False


@dataclass(frozen=True, slots=True)
class SetFile:
    """A file put into its slot; None takes it out."""

    slot: str
    file: FileMark | None


@dataclass(frozen=True, slots=True)
class SetTexts:
    """Several fields at once: what a file says of a whole section."""

    texts: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class OpenJob:
    """The draft begun anew from a job that the file holds."""

    document: Document
    input_hash: str


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan made from the draft as it was; changes nothing of it."""

    input_hash: str


@dataclass(frozen=True, slots=True)
class Undo:
    """The last edit withdrawn; ``edit`` names it, so that two who undo at once undo one."""

    edit: str


@dataclass(frozen=True, slots=True)
class Redo:
    """The edit withdrawn last brought back."""

    edit: str


Change = SetText | SetTexts | SetRow | RemoveRow | AddRows | SetFile | OpenJob
Step = Change | Planned | Undo | Redo


@dataclass(frozen=True, slots=True)
class Edit:
    """One step with the id that its maker gave it."""

    id: str
    step: Step


@dataclass(frozen=True, slots=True)
class History:
    """What counts (in order), what may be brought back (last first), and the jobs it has met."""

    done: tuple[Edit, ...] = ()
    undone: tuple[Edit, ...] = ()
    hashes: frozenset[str] = frozenset()
    planned: tuple[str, ...] | None = None  # the edits that counted in the job as it is kept

    @property
    def can_undo(self) -> bool:
        """True when there is an edit to withdraw; opening a job is none."""
        return bool(self.done) and not isinstance(self.done[-1].step, OpenJob)

    @property
    def is_ahead(self) -> bool:
        """True when something that counts has changed since the job was planned or opened."""
        return self.planned != tuple(edit.id for edit in self.done)

    @property
    def can_redo(self) -> bool:
        """True when an edit may be brought back."""
        return bool(self.undone)

    def after(self, edit: Edit) -> History:
        """The history with one step more."""
        step = edit.step
        if isinstance(step, Planned):
            planned = tuple(one.id for one in self.done)
            return replace(self, hashes=self.hashes | {step.input_hash}, planned=planned)
        if isinstance(step, Undo):
            return self._without(step.edit)
        if isinstance(step, Redo):
            return self._again(step.edit)
        after = replace(self, done=(*self.done, edit), undone=())
        return after.after(_as_kept(edit)) if isinstance(step, OpenJob) else after

    def _without(self, edit_id: str) -> History:
        if not self.can_undo or self.done[-1].id != edit_id:
            return self
        return replace(self, done=self.done[:-1], undone=(self.done[-1], *self.undone))

    def _again(self, edit_id: str) -> History:
        if not self.undone or self.undone[0].id != edit_id:
            return self
        return replace(self, done=(*self.done, self.undone[0]), undone=self.undone[1:])

    def document(self) -> Document:
        """What has been typed, as far as it counts."""
        return document_of(edit.step for edit in self.done)


def _as_kept(edit: Edit) -> Edit:
    """What opening a job also says: that the draft is as the file's job is."""
    assert isinstance(edit.step, OpenJob)
    return Edit(edit.id, Planned(edit.step.input_hash))


def history_of(edits: Iterable[Edit]) -> History:
    """The history that edits make, in order."""
    history = History()
    for edit in edits:
        history = history.after(edit)
    return history


def document_of(steps: Iterable[Step]) -> Document:
    """The document that steps make, in order."""
    texts: dict[str, str] = {}
    rows: dict[str, dict[str, DraftRow]] = {}
    files: dict[str, FileMark] = {}
    for step in steps:
        if isinstance(step, OpenJob):
            texts = dict(step.document.texts)
            rows = {name: _by_key(own) for name, own in step.document.lists.items()}
            files = dict(step.document.files)
        elif isinstance(step, SetText | SetTexts):
            _set_texts(texts, step)
        elif isinstance(step, SetFile):
            _set_file(files, step)
        elif isinstance(step, SetRow | RemoveRow | AddRows):
            _set_rows(rows.setdefault(step.list, {}), step)
    return Document(texts, {name: tuple(own.values()) for name, own in rows.items()}, files)


def _by_key(rows: Iterable[DraftRow]) -> dict[str, DraftRow]:
    return {row.key: row for row in rows}


def _set_texts(texts: dict[str, str], step: SetText | SetTexts) -> None:
    given = {step.key: step.text} if isinstance(step, SetText) else step.texts
    for key, text in given.items():
        texts.pop(key, None)
        if text:
            texts[key] = text


def _set_file(files: dict[str, FileMark], step: SetFile) -> None:
    files.pop(step.slot, None)
    if step.file is not None:
        files[step.slot] = step.file


def _set_rows(rows: dict[str, DraftRow], step: SetRow | RemoveRow | AddRows) -> None:
    if isinstance(step, RemoveRow):
        rows.pop(step.row, None)
    elif isinstance(step, AddRows):
        if step.replaces:
            rows.clear()
        rows.update(_by_key(step.rows))
    else:
        before = rows.get(step.row, DraftRow(step.row))
        merged = {**before.fields, **step.fields}
        kept = {name: text for name, text in merged.items() if text}
        shape = before.shape if step.shape is None else step.shape
        rows[step.row] = DraftRow(step.row, kept, shape)
