"""Sheets of .xlsx workbooks, a row at a time: values and dates, never a formula that was not run.

Dates come as dates, in the 1900 and in the 1904 system (ECMA-376, 18.17.4).
"""

from __future__ import annotations

import io
import warnings
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import zip_longest
from typing import TYPE_CHECKING, Any

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.findings import nearest_hint
from stillwet.exchange.limits import MEGABYTE, MOST_UNPACKED_BYTES

if TYPE_CHECKING:
    from openpyxl import Workbook

Line = tuple[Any, ...]


def sheet_lines(content: bytes, *, name: str, key: str, sheet: str | None) -> Iterator[Line]:
    """The rows of one sheet (the first, unless named), blank ones too."""
    _need_unpacked(content, name=name, key=key)
    with _as_problem(name, key):
        book = _open(content, values=True)
        chosen = _chosen(book, sheet, name)
        has_formulas = _has_formulas(content)
    pairs: Iterator[tuple[Line | None, Line | None]]
    pairs = zip_longest(_rows(book, chosen, name, key), ())
    if has_formulas:
        formulas = _open(content, values=False)
        pairs = zip_longest(_rows(book, chosen, name, key), _rows(formulas, chosen, name, key))
    for number, (line, told) in enumerate(pairs, start=1):
        _need_results(line or (), told or (), f"{name}, row {number}")
        yield line or ()


def _open(content: bytes, *, values: bool) -> Workbook:
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about styles and extensions we do not use
        return openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=values)


@contextmanager
def _as_problem(name: str, key: str) -> Iterator[None]:
    """What a damaged workbook raises becomes one problem.

    The library and the XML parser below it promise no list of errors; anything but our own is one.
    """
    try:
        yield
    except (StillwetError, MemoryError):
        raise
    except Exception as error:
        got = f"a damaged one ({type(error).__name__})"
        raise StillwetError(Problem(key, "an .xlsx workbook", got, name)) from None


def _need_unpacked(content: bytes, *, name: str, key: str) -> None:
    """Raise for what is no workbook, or one that would unpack to more than is sane."""
    try:
        parts = zipfile.ZipFile(io.BytesIO(content)).infolist()
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError):
        problem = Problem(key, "an .xlsx workbook", "something else", name)
        raise StillwetError(problem) from None
    size = sum(part.file_size for part in parts)
    if size > MOST_UNPACKED_BYTES:
        wanted = f"a workbook of at most {MOST_UNPACKED_BYTES // MEGABYTE} MB unpacked"
        raise StillwetError(Problem(key, wanted, f"{size // MEGABYTE} MB", name))


def _chosen(book: Workbook, sheet: str | None, name: str) -> str:
    names = [page.title for page in book.worksheets]
    if sheet is None and names:
        return names[0]
    if sheet in names:
        return str(sheet)
    hint = nearest_hint(sheet or "", names)
    wanted = "one of " + ", ".join(names) if names else "a sheet with cells"
    raise StillwetError(Problem("sheet", wanted, shown(sheet), name, hint))


def _rows(book: Workbook, sheet: str, name: str, key: str) -> Iterator[Line]:
    with _as_problem(name, key), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # that a date is out of range: it stays a number
        page: Any = book[sheet]
        page.reset_dimensions()  # some programs write a size that is not the sheet's
        yield from page.iter_rows(values_only=True)


def _has_formulas(content: bytes) -> bool:
    """True when some sheet holds a formula."""
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        for part in book.infolist():
            if part.filename.startswith("xl/worksheets/"):
                with book.open(part) as page:
                    if _has_mark(page):
                        return True
    return False


def _has_mark(page: Any) -> bool:
    tail = b""
    while piece := page.read(1 << 20):
        block = tail + piece
        if b"<f>" in block or b"<f " in block or b"<f/" in block:
            return True
        tail = block[-4:]
    return False


def _need_results(line: Line, told: Line, place: str) -> None:
    """Raise for a formula whose result the file does not hold: its cell would pass for blank."""
    for value, formula in zip(line, told, strict=False):
        text = getattr(formula, "text", formula)  # of an array formula
        if value is None and isinstance(text, str) and text.startswith("="):
            hint = "open it in a spreadsheet and save it, so that results are stored"
            raise StillwetError(
                Problem("cell", "the result of a formula", shown(text), place, hint)
            )
