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


_KEPT_EVERY = 100  # edits: how far an undo may have to go back to make its document again


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """An edit on those below it. Stacks share what they have in common, so a step costs the same
    however many came before.
    """

    edit: Edit
    below: Standing | None
    count: int  # of edits in the stack, this one among them
    document_below: Document | None  # what those below make; kept with every hundredth only


@dataclass(frozen=True, slots=True, eq=False)
class History:
    """What counts, what may be brought back, the jobs it has met, and what all of it says."""

    done: Standing | None = None
    undone: Standing | None = None  # withdrawn last on top
    hashes: frozenset[str] = frozenset()
    # The last edit that counted in the job as it is kept. It tells all below it as well: an edit
    # never stands on others than those it was first put on.
    planned: str | None = None
    document: Document = field(default_factory=Document)

    @property
    def can_undo(self) -> bool:
        """True when there is an edit to withdraw; opening a job is none."""
        return self.done is not None and not isinstance(self.done.edit.step, OpenJob)

    @property
    def is_ahead(self) -> bool:
        """True when something that counts has changed since the job was planned or opened."""
        return self.planned != _top(self.done)

    @property
    def can_redo(self) -> bool:
        """True when an edit may be brought back."""
        return self.undone is not None

    @property
    def undo_next(self) -> str:
        """The edit that an undo would withdraw; empty when there is none."""
        return _top(self.done) if self.can_undo else ""

    @property
    def redo_next(self) -> str:
        """The edit that a redo would bring back; empty when there is none."""
        return _top(self.undone)

    def after(self, edit: Edit) -> History:
        """The history with one step more."""
        step = edit.step
        if isinstance(step, Planned):
            return replace(self, hashes=self.hashes | {step.input_hash}, planned=_top(self.done))
        if isinstance(step, Undo):
            return self._without(step.edit)
        if isinstance(step, Redo):
            return self._again(step.edit)
        after = replace(self._with(edit), undone=None)
        return after.after(_as_kept(edit)) if isinstance(step, OpenJob) else after

    def _with(self, edit: Edit) -> History:
        done = _put(self.done, edit, self.document)
        return replace(self, done=done, document=with_step(self.document, edit.step))

    def _without(self, edit_id: str) -> History:
        if self.done is None or self.undo_next != edit_id:
            return self
        undone = _put(self.undone, self.done.edit, None)
        below = self.done.below
        return replace(self, done=below, undone=undone, document=_document_before(self.done))

    def _again(self, edit_id: str) -> History:
        if self.undone is None or self.undone.edit.id != edit_id:
            return self
        return replace(self._with(self.undone.edit), undone=self.undone.below)


def _top(stack: Standing | None) -> str:
    return "" if stack is None else stack.edit.id


def _put(stack: Standing | None, edit: Edit, document: Document | None) -> Standing:
    count = 1 + (0 if stack is None else stack.count)
    return Standing(edit, stack, count, document if count % _KEPT_EVERY == 1 else None)


def _document_before(standing: Standing) -> Document:
    """What the edits below one make: made again from the nearest that is kept."""
    steps: list[Step] = []
    at = standing
    while at.document_below is None:
        assert at.below is not None, "the lowest edit keeps what it stands on"
        at = at.below
        steps.append(at.edit.step)
    document = at.document_below
    for step in reversed(steps):
        document = with_step(document, step)
    return document


def _as_kept(edit: Edit) -> Edit:
    """What opening a job also says: that the draft is as the file's job is."""
    assert isinstance(edit.step, OpenJob)
    return Edit(edit.id, Planned(edit.step.input_hash))


def with_step(document: Document, step: Step) -> Document:
    """The document after one step; the steps of a history itself (Undo, Planned) change none."""
    if isinstance(step, OpenJob):
        return step.document
    if isinstance(step, SetText):
        return replace(document, texts=_with_texts(document.texts, {step.key: step.text}))
    if isinstance(step, SetTexts):
        return replace(document, texts=_with_texts(document.texts, step.texts))
    if isinstance(step, SetFile):
        files = {slot: mark for slot, mark in document.files.items() if slot != step.slot}
        return replace(
            document, files=files if step.file is None else files | {step.slot: step.file}
        )
    if isinstance(step, SetRow | RemoveRow | AddRows):
        rows = tuple(_with_rows(document.rows(step.list), step))
        return replace(document, lists={**document.lists, step.list: rows})
    return document


def _with_texts(before: Mapping[str, str], given: Mapping[str, str]) -> dict[str, str]:
    texts = dict(before)
    for key, text in given.items():
        texts.pop(key, None)
        if text:
            texts[key] = text
    return texts


def _with_rows(
    before: tuple[DraftRow, ...], step: SetRow | RemoveRow | AddRows
) -> Iterable[DraftRow]:
    rows = {row.key: row for row in before}
    if isinstance(step, RemoveRow):
        rows.pop(step.row, None)
    elif isinstance(step, AddRows):
        if step.replaces:
            rows.clear()
        rows.update({row.key: row for row in step.rows})
    else:
        rows[step.row] = _with_fields(rows.get(step.row, DraftRow(step.row)), step)
    return rows.values()


def _with_fields(row: DraftRow, step: SetRow) -> DraftRow:
    merged = {**row.fields, **step.fields}
    kept = {name: text for name, text in merged.items() if text}
    return DraftRow(row.key, kept, row.shape if step.shape is None else step.shape)
