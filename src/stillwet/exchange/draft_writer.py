"""A draft as a job file and its lists, which ``job_file.read_job`` reads like anybody's."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from stillwet.domain.draft import SLOTS, Document, DraftRow
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.draft_shape import NAMES, PAIRS, SECTIONS, TABLES
from stillwet.exchange.geo import need_degrees, shape_of_text
from stillwet.exchange.sheet_tables import csv_bytes
from stillwet.exchange.sheets import Cells, Sheet, SheetRow
from stillwet.exchange.toml_text import toml_text

JOB_NAME = "job.toml"
_POSITION = ("latitude", "longitude")
_NEEDED = {"assets": "kind", "streams": "name"}
_HEAD = "# Written by the desk of stillwet; numbers stand as they were typed.\n\n"


def make_draft_files(document: Document, contents: Mapping[str, bytes]) -> dict[str, bytes]:
    """The files by name, the job file first; ``contents`` are the brought files by SHA-256."""
    lists = {name: rows for name, rows in document.lists.items() if rows}
    files = {f"{name}.csv": csv_bytes(_sheet(name, rows)) for name, rows in lists.items()}
    brought = {slot: f"files/{mark.name}" for slot, mark in document.files.items()}
    files |= {brought[slot]: contents[mark.sha256] for slot, mark in document.files.items()}
    where = {name: f"{name}.csv" for name in lists} | brought
    text = _HEAD + toml_text(_sections(document, where))
    return {JOB_NAME: text.encode(errors="replace"), **files}  # halves of character pairs


def _sections(document: Document, where: Mapping[str, str]) -> dict[str, dict[str, Any]]:
    sections: dict[str, dict[str, Any]] = {name: {"file": file} for name, file in where.items()}
    for section, keys in SECTIONS.items():
        if section in SLOTS and section not in document.files:
            continue  # what is said of a file waits until there is one
        values = {key: _value(document.texts, f"{section}.{key}") for key in keys}
        told = {key: value for key, value in values.items() if value is not None}
        if told:
            sections[section] = sections.get(section, {}) | told
    return sections


def _value(texts: Mapping[str, str], key: str) -> Any:
    if key in PAIRS:
        ends = [texts.get(end, "") for end in PAIRS[key]]
        return None if not any(ends) else ends
    text = texts.get(key)
    if text is None:
        return None
    if key in NAMES:
        return [name.strip() for name in text.split(";") if name.strip()]
    return _table(text) if key in TABLES else text


def _table(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text


def _sheet(name: str, rows: tuple[DraftRow, ...]) -> Sheet:
    return Sheet(name, tuple(_sheet_row(row, _NEEDED.get(name, "id")) for row in rows))


def _sheet_row(row: DraftRow, needed: str) -> SheetRow:
    """A row on its way to CSV; a typed position stands above a drawn one.

    The column ``needed`` is always there, so that the row that lacks it is named.
    """
    cells: Cells = {needed: "", **row.fields}
    is_typed = any(name in row.fields for name in _POSITION)
    if not row.shape or is_typed:
        return SheetRow(cells)
    return SheetRow(cells, shape_of_text(row.shape, field="shape", place=row.key))


def need_shape(text: str, place: str) -> None:
    """Raise unless a drawn shape is one, in degrees."""
    shape = shape_of_text(text, field="shape", place=place)
    need_degrees(shape, place)
    if not shape.is_valid and shape.geom_type == "LineString":
        raise StillwetError(Problem("shape", "at least two places", shown(text), place))
