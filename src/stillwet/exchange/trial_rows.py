"""One more row for a table of trials: the whole file's new bytes, its other rows untouched."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import PurePath

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.files import decode_text
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.exchange.guard import guarded
from stillwet.exchange.trials import TRIAL_COLUMNS, need_table_name, open_trials

_MARK = b"\xef\xbb\xbf"


def with_row(content: bytes | None, name: str, values: Mapping[str, str]) -> bytes:
    """The file with one more row, its columns named as they are; None starts a new file.

    A value goes into the column that already feeds its field; a field without one gets a column at
    the end. Raises StillwetError for a name that is no field.
    """
    need_table_name(name)
    _check_names(values)
    is_book = PurePath(name).suffix.lower() == ".xlsx"
    if content is None:
        ordered = {field: values[field] for field in TRIAL_COLUMNS.names if field in values}
        lines = [list(ordered), list(ordered.values())]
        return _new_book(lines) if is_book else _csv_text(lines, ",", "\n").encode()
    findings = Findings()
    table, matched = open_trials(content, name, findings)
    if findings.count:
        raise StillwetError(findings.problems())
    fresh = [field for field in TRIAL_COLUMNS.names if field in values]
    fresh = [field for field in fresh if field not in matched.headers]
    headers = [*table.headers, *fresh]
    by_header = {matched.headers.get(field, field): value for field, value in values.items()}
    row = [by_header.get(header, "") for header in headers]
    if is_book:
        return _longer_book(content, fresh, row)
    return _longer_text(content, name, headers if fresh else None, row)


def _check_names(values: Mapping[str, str]) -> None:
    known = TRIAL_COLUMNS.names
    wanted = "one of " + ", ".join(known)
    problems = [
        Problem("field", wanted, shown(name), "", nearest_hint(name, known))
        for name in values
        if name not in known
    ]
    if problems:
        raise StillwetError(problems)


def _csv_text(lines: list[list[str]], delimiter: str, ending: str) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator=ending).writerows(
        [guarded(cell) for cell in line] for line in lines
    )
    return text.getvalue()


def _longer_text(content: bytes, name: str, headers: list[str] | None, row: list[str]) -> bytes:
    text = decode_text(content, name=name, key="trials file")
    ending = "\r\n" if "\r\n" in text else "\n"
    first = next(line for line in text.splitlines() if line.strip())
    delimiter = max(",;\t", key=first.count)
    if headers is not None:
        lead = text[: text.index(first)]
        rest = text[text.index(first) + len(first) :]
        text = lead + _csv_text([headers], delimiter, "") + rest
    if not text.endswith(("\n", "\r")):
        text += ending
    mark = _MARK if content.startswith(_MARK) else b""
    return mark + (text + _csv_text([row], delimiter, ending)).encode()


def _new_book(lines: list[list[str]]) -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    for line in lines:
        book.worksheets[0].append([guarded(cell) for cell in line])
    return _saved(book)


def _longer_book(content: bytes, fresh: list[str], row: list[str]) -> bytes:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(content))
    sheet = book.worksheets[0]
    top = next(
        number
        for number, line in enumerate(sheet.iter_rows(values_only=True), start=1)
        if any(cell not in (None, "") for cell in line)
    )
    first_free = len(row) - len(fresh) + 1
    for place, field in enumerate(fresh):
        sheet.cell(top, first_free + place, field)
    bottom = max(sheet.max_row, top) + 1
    for place, value in enumerate(row, start=1):
        if value != "":
            sheet.cell(bottom, place, guarded(value))
    return _saved(book)


def _saved(book: object) -> bytes:
    import openpyxl

    assert isinstance(book, openpyxl.Workbook)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()
