"""Sheets as CSV and as a workbook: shapes as columns, and no text that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import Any

from stillwet.errors import Problem, StillwetError
from stillwet.exchange.guard import guarded, table_text
from stillwet.exchange.sheets import Cells, Sheet, SheetRow, Value

_MOST_LETTERS = 32_767  # what spreadsheets keep of a cell


def plain_cell(value: Value) -> str | float:
    """A cell that any table can hold: lists become JSON text, unwritable characters go."""
    if isinstance(value, list):
        return json.dumps(value, ensure_ascii=False)
    return table_text(value) if isinstance(value, str) else value


def flat_row(row: SheetRow) -> Cells:
    """The row's cells with its shape as columns: latitude and longitude, footprint or track."""
    return {**row.cells, **_shape_cells(row)}


def _shape_cells(row: SheetRow) -> Cells:
    import shapely
    from shapely.geometry import Point, Polygon

    if row.shape is None:
        return {}
    if isinstance(row.shape, Point):
        return {"latitude": float(row.shape.y), "longitude": float(row.shape.x)}
    name = "footprint" if isinstance(row.shape, Polygon) else "track"
    return {name: shapely.to_wkt(row.shape, rounding_precision=-1)}


def _flat(sheet: Sheet) -> tuple[list[str], list[Cells]]:
    rows = [flat_row(row) for row in sheet.rows]
    return list(dict.fromkeys(header for row in rows for header in row)), rows


def csv_bytes(sheet: Sheet) -> bytes:
    """CSV (RFC 4180) in UTF-8 with a mark, so that spreadsheets take the letters as they are."""
    headers, rows = _flat(sheet)
    page = io.StringIO(newline="")
    writer = csv.writer(page)
    writer.writerow(headers)
    for row in rows:
        cells = [plain_cell(row.get(header, "")) for header in headers]
        writer.writerow([guarded(cell) if isinstance(cell, str) else repr(cell) for cell in cells])
    return page.getvalue().encode("utf-8-sig")


def xlsx_bytes(sheets: Sequence[Sheet]) -> bytes:
    """A workbook with a sheet a list; every text is stored as text, never as a formula.

    Raises StillwetError for a text that a cell cannot hold: the library would cut it.
    """
    import openpyxl

    for sheet in sheets:
        _need_short(sheet)
    book = openpyxl.Workbook(write_only=True)
    for sheet in sheets:
        page = book.create_sheet(sheet.name)
        headers, rows = _flat(sheet)
        page.append(headers)
        for row in rows:
            page.append([_cell(page, plain_cell(row.get(header, ""))) for header in headers])
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def _need_short(sheet: Sheet) -> None:
    for number, row in enumerate(_flat(sheet)[1], start=2):
        for header, value in row.items():
            plain = plain_cell(value)
            size = len(guarded(plain)) if isinstance(plain, str) else 0
            if size > _MOST_LETTERS:
                wanted = f"at most {_MOST_LETTERS} characters in a workbook's cell"
                place, hint = f"{sheet.name}, row {number}", "write CSV or a map file instead"
                raise StillwetError(Problem(header, wanted, str(size), place, hint))


def _cell(page: Any, value: str | float) -> Any:
    """A workbook's cell: text as text, guarded as in a CSV it may be saved as."""
    from openpyxl.cell import WriteOnlyCell

    cell = WriteOnlyCell(page)
    if value == "":
        return cell
    cell.value = guarded(value) if isinstance(value, str) else value
    if isinstance(value, str):
        cell.data_type = "s"  # whatever it looks like: a formula, an error, a number
    return cell
