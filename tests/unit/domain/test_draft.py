"""A draft edit by edit: what undo and redo leave, and that sending twice changes nothing."""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce

from hypothesis import given
from hypothesis import strategies as st

from stillwet.domain.draft import (
    AddRows,
    Document,
    DraftRow,
    Edit,
    FileMark,
    History,
    OpenJob,
    Planned,
    Redo,
    RemoveRow,
    SetFile,
    SetRow,
    SetText,
    Step,
    Undo,
)

_words = st.text("abc", max_size=2)
_keys = st.sampled_from(["r1", "r2"])
_steps: st.SearchStrategy[Step] = st.one_of(
    st.builds(SetText, st.sampled_from(["job.name", "fire.from"]), _words),
    st.builds(
        SetRow,
        st.just("assets"),
        _keys,
        st.dictionaries(st.sampled_from(["id", "kind"]), _words),
        st.none() | st.just("POINT (1 2)"),
    ),
    st.builds(RemoveRow, st.just("assets"), _keys),
    st.builds(
        AddRows,
        st.just("assets"),
        st.tuples(st.builds(DraftRow, st.just("r3"))),
        st.booleans(),
    ),
    st.builds(SetFile, st.just("weather"), st.none() | st.just(FileMark("w.csv", "0f"))),
)
_lists = st.lists(_steps, max_size=8)


def edits(steps: list[Step]) -> list[Edit]:
    """Steps with ids of their own."""
    return [Edit(f"e{number}", step) for number, step in enumerate(steps)]


def history_of(taken: Iterable[Edit]) -> History:
    """The history that edits make, in order."""
    return reduce(History.after, taken, History())


@given(_lists, _steps)
def test_undo_gives_the_document_from_before(before: list[Step], last: Step) -> None:
    """Any edit withdrawn leaves what stood before it; brought back, what stood after it."""
    typed = edits([*before, last])
    undo, redo = Edit("u", Undo(typed[-1].id)), Edit("r", Redo(typed[-1].id))
    assert history_of([*typed, undo]).document == history_of(typed[:-1]).document
    assert history_of([*typed, undo, redo]).document == history_of(typed).document


@given(_lists)
def test_all_can_be_undone_and_redone(steps: list[Step]) -> None:
    """As many undos as edits leave an empty document, as many redos the whole one."""
    typed = edits(steps)
    back = [Edit(f"u{n}", Undo(e.id)) for n, e in enumerate(reversed(typed))]
    again = [Edit(f"r{n}", Redo(e.id)) for n, e in enumerate(typed)]
    empty = history_of([*typed, *back])
    assert empty.document == Document()
    assert not empty.can_undo
    whole = history_of([*typed, *back, *again])
    assert whole.document == history_of(typed).document
    assert not whole.can_redo


def test_a_long_history_goes_back_as_far_as_it_came() -> None:
    """250 edits undone one by one pass through every document they came by, to the empty one."""
    typed = edits([SetText("job.name", str(number)) for number in range(250)])
    history = history_of(typed)
    seen = []
    for number in range(250):
        seen.append(history.document.texts["job.name"])
        history = history.after(Edit(f"u{number}", Undo(history.undo_next)))
    assert seen == [str(number) for number in reversed(range(250))]
    assert history.document == Document()


@given(st.lists(_steps | st.sampled_from(["undo", "redo", "plan"]), max_size=40))
def test_a_history_is_two_piles(asked: list[Step | str]) -> None:
    """Against two plain lists: the document, and whether it is ahead, are those of what counts."""
    history = History()
    done: list[Edit] = []
    undone: list[Edit] = []
    kept: list[Edit] | None = None
    for number, step in enumerate(asked):
        if step == "undo":
            history = history.after(Edit(f"u{number}", Undo(history.undo_next)))
            undone[:0] = [done.pop()] if done else []
        elif step == "redo":
            history = history.after(Edit(f"r{number}", Redo(history.redo_next)))
            done += [undone.pop(0)] if undone else []
        elif step == "plan":
            history, kept = history.after(Edit(f"p{number}", Planned("0f"))), list(done)
        else:
            assert not isinstance(step, str)
            history = history.after(Edit(f"e{number}", step))
            done, undone = [*done, Edit(f"e{number}", step)], []
        assert history.document == history_of(done).document
        assert history.is_ahead == (kept != done)
        assert (history.can_undo, history.can_redo) == (bool(done), bool(undone))


def test_two_who_undo_at_once_undo_one() -> None:
    """An undo names its edit, so a second one of the same edit finds it gone."""
    typed = edits([SetText("job.name", "a"), SetText("job.name", "b")])
    both = history_of([*typed, Edit("u1", Undo("e1")), Edit("u2", Undo("e1"))])
    assert both.document.texts == {"job.name": "a"}


def test_a_new_edit_ends_what_could_be_redone() -> None:
    """After undo and a new edit there is nothing to bring back."""
    typed = edits([SetText("job.name", "a")])
    history = history_of([*typed, Edit("u", Undo("e0")), Edit("n", SetText("fire.from", "S"))])
    assert not history.can_redo
    assert history_of([*typed, Edit("r", Redo("e0"))]).document.texts == {"job.name": "a"}


def test_an_opened_job_is_no_edit() -> None:
    """Opening a job begins anew and is not undone; planning changes nothing and is remembered."""
    opened = OpenJob(Document({"job.name": "kept"}), "0f")
    history = history_of(
        edits([SetText("job.name", "typed"), opened, Planned("a1"), Undo("e1")]),
    )
    assert history.document.texts == {"job.name": "kept"}
    assert not history.can_undo
    assert history.hashes == {"0f", "a1"}


def test_an_empty_text_takes_back() -> None:
    """A field emptied is no field; a row keeps its shape when only fields are typed."""
    steps: list[Step] = [
        SetText("job.name", "a"),
        SetText("job.name", ""),
        SetRow("assets", "r1", {"id": "h1", "kind": "house"}, "POINT (1 2)"),
        SetRow("assets", "r1", {"kind": ""}),
    ]
    document = history_of(edits(steps)).document
    assert document.texts == {}
    assert document.rows("assets") == (DraftRow("r1", {"id": "h1"}, "POINT (1 2)"),)
