"""Edits of a draft in and out of JSON; what a browser sends is checked part by part."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from stillwet.domain.draft import (
    LISTS,
    SLOTS,
    AddRows,
    Document,
    DraftRow,
    FileMark,
    OpenJob,
    Planned,
    Redo,
    RemoveRow,
    SetFile,
    SetRow,
    SetText,
    SetTexts,
    Step,
    Undo,
)
from stillwet.errors import Problem, StillwetError, shown

MOST_TEXT = 4000  # characters of one field
MOST_SHAPE = 200_000
MOST_KEY = 80


def step_json(step: Step) -> dict[str, Any]:
    """A step as plain dictionaries."""
    match step:
        case SetText(key, text):
            return {"kind": "text", "key": key, "text": text}
        case SetTexts(texts):
            return {"kind": "texts", "texts": dict(texts)}
        case SetRow(name, row, fields, shape):
            plain = {"kind": "row", "list": name, "row": row, "fields": dict(fields)}
            return plain if shape is None else plain | {"shape": shape}
        case RemoveRow(name, row):
            return {"kind": "remove", "list": name, "row": row}
        case AddRows(name, rows, replaces):
            own = [row_json(row) for row in rows]
            return {"kind": "rows", "list": name, "rows": own, "replaces": replaces}
        case SetFile(slot, None):
            return {"kind": "file", "slot": slot}
        case SetFile(slot, FileMark(name, sha256)):
            return {"kind": "file", "slot": slot, "name": name, "sha256": sha256}
        case OpenJob(document, input_hash):
            return {"kind": "open", "hash": input_hash, "document": document_json(document)}
        case Planned(input_hash):
            return {"kind": "planned", "hash": input_hash}
        case Undo(edit):
            return {"kind": "undo", "edit": edit}
        case Redo(edit):
            return {"kind": "redo", "edit": edit}
    raise AssertionError(step)


def row_json(row: DraftRow) -> dict[str, Any]:
    """A row as plain dictionaries."""
    return {"row": row.key, "fields": dict(row.fields), "shape": row.shape}


def document_json(document: Document) -> dict[str, Any]:
    """A document as plain dictionaries."""
    return {
        "texts": dict(document.texts),
        "lists": {name: [row_json(row) for row in document.rows(name)] for name in LISTS},
        "files": {
            slot: {"name": mark.name, "sha256": mark.sha256}
            for slot, mark in document.files.items()
        },
    }


def step_of(plain: Mapping[str, Any]) -> Step:
    """A step out of what was kept; raises StillwetError where something of it is missing."""
    try:
        return _step_of(plain)
    except (KeyError, TypeError, AttributeError):
        got = shown(plain.get("kind"))
        raise StillwetError(Problem("kind", "a step of a draft, whole", got)) from None


def _step_of(plain: Mapping[str, Any]) -> Step:
    match plain["kind"]:
        case "text":
            return SetText(plain["key"], plain["text"])
        case "texts":
            return SetTexts(plain["texts"])
        case "row":
            fields = plain.get("fields", {})
            return SetRow(plain["list"], plain["row"], fields, plain.get("shape"))
        case "remove":
            return RemoveRow(plain["list"], plain["row"])
        case "rows":
            rows = tuple(_row_of(row) for row in plain["rows"])
            return AddRows(plain["list"], rows, plain["replaces"])
        case "file":
            mark = FileMark(plain["name"], plain["sha256"]) if "name" in plain else None
            return SetFile(plain["slot"], mark)
        case "open":
            return OpenJob(_document_of(plain["document"]), plain["hash"])
        case "planned":
            return Planned(plain["hash"])
        case "undo":
            return Undo(plain["edit"])
        case "redo":
            return Redo(plain["edit"])
        case _:
            raise KeyError("kind")


def _row_of(plain: Mapping[str, Any]) -> DraftRow:
    return DraftRow(plain["row"], plain["fields"], plain["shape"])


def _document_of(plain: Mapping[str, Any]) -> Document:
    return Document(
        plain["texts"],
        {name: tuple(map(_row_of, rows)) for name, rows in plain["lists"].items()},
        {slot: FileMark(one["name"], one["sha256"]) for slot, one in plain["files"].items()},
    )


TYPED = ("text", "row", "remove", "file")  # the kinds of step that a browser may send


def typed_step(plain: object) -> Step:
    """A step that somebody typed, every part of it checked; raises StillwetError."""
    if not isinstance(plain, dict):
        raise StillwetError(Problem("edit", "an object", type(plain).__name__))
    kind = plain.get("kind")
    if kind not in TYPED:
        raise StillwetError(Problem("kind", "one of " + ", ".join(TYPED), shown(kind)))
    if kind == "text":
        return SetText(_known_key(plain), _text(plain, "text", MOST_TEXT))
    if kind == "file":
        return SetFile(_one_of(plain, "slot", SLOTS), None)
    name, row = _one_of(plain, "list", LISTS), _key(plain, "row")
    if kind == "remove":
        return RemoveRow(name, row)
    return SetRow(name, row, _fields(plain, name), _shape(plain))


def _known_key(plain: Mapping[str, Any]) -> str:
    from stillwet.exchange.draft_shape import text_keys

    return _one_of(plain, "key", text_keys())


def _one_of(plain: Mapping[str, Any], name: str, known: Any) -> str:
    value = plain.get(name)
    if isinstance(value, str) and value in known:
        return value
    raise StillwetError(Problem(name, "one that a job has", shown(value)))


def _key(plain: Mapping[str, Any], name: str) -> str:
    value = _text(plain, name, MOST_KEY)
    if value and value.isascii() and value.isprintable():
        return value
    raise StillwetError(Problem(name, "a key in plain letters", shown(value)))


def _text(plain: Mapping[str, Any], name: str, most: int) -> str:
    value = plain.get(name)
    if not isinstance(value, str):
        raise StillwetError(Problem(name, "a text", type(value).__name__))
    if len(value) > most:
        raise StillwetError(Problem(name, f"at most {most} characters", str(len(value))))
    return value.strip()


def _fields(plain: Mapping[str, Any], name: str) -> dict[str, str]:
    from stillwet.exchange.draft_shape import LIST_COLUMNS

    fields = plain.get("fields", {})
    known = LIST_COLUMNS[name].names
    if not isinstance(fields, dict) or not set(fields) <= set(known):
        raise StillwetError(Problem("fields", f"fields of {name}", shown(fields)))
    return {key: _text(fields, key, MOST_TEXT) for key in fields}


def _shape(plain: Mapping[str, Any]) -> str | None:
    from stillwet.exchange.draft_writer import need_shape

    if plain.get("shape") is None:
        return None
    text = _text(plain, "shape", MOST_SHAPE)
    if text:
        need_shape(text, "map")
    return text
