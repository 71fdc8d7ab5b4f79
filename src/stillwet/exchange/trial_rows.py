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
from stillwet.exchange.tabular import Table, delimiter_of, text_lines
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
    findings.need_none()
    fresh = [field for field in TRIAL_COLUMNS.names if field in values]
    fresh = [field for field in fresh if field not in matched.headers]
    nameless = [""] * (table.width - len(table.headers))  # columns that hold something all the same
    headers = [*table.headers, *nameless, *fresh]
    by_header = {matched.headers.get(field, field): value for field, value in values.items()}
    row = [by_header.get(header, "") for header in headers]
    if is_book:
        return _longer_book(content, table.header_row, fresh, row)
    return _longer_text(content, table, [*nameless, *fresh] if fresh else [], row)


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


def _longer_text(content: bytes, table: Table, fresh: list[str], row: list[str]) -> bytes:
    """The text with ``fresh`` behind its header and the row at its end; all else as it was."""
    text = decode_text(content, name=table.name, key="trials file")
    mark = b"" if content == text.encode() else _MARK  # it was no plain UTF-8
    ending = next((end for end in ("\r\n", "\n", "\r") if end in text), "\n")
    delimiter = delimiter_of(text)
    if fresh:
        lines = list(text_lines(text))
        at = _last_line_of(lines, delimiter, table.header_row)
        header = lines[at].rstrip("\r\n")
        lines[at] = delimiter.join([header, *fresh]) + lines[at][len(header) :]
        text = "".join(lines)
    if not text.endswith(("\n", "\r")):
        text += ending
    return mark + (text + _csv_text([row], delimiter, ending)).encode()


def _last_line_of(lines: list[str], delimiter: str, row: int) -> int:
    """Where the last line of a row stands, which may have ends of line within quotes."""
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    for _ in range(row):
        next(reader)
    return reader.line_num - 1


def _new_book(lines: list[list[str]]) -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    for line in lines:
        book.worksheets[0].append([guarded(cell) for cell in line])
    return _saved(book)


def _longer_book(content: bytes, top: int, fresh: list[str], row: list[str]) -> bytes:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(content))
    sheet = book.worksheets[0]
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
