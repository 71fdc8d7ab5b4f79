"""A line of very many points through every table: whole, or refused; never cut short."""

from __future__ import annotations

import pytest
import shapely

from stillwet.errors import StillwetError
from stillwet.exchange.sheet_tables import csv_bytes, xlsx_bytes
from stillwet.exchange.sheets import Sheet, SheetRow
from stillwet.exchange.tabular import read_csv

TRACK = shapely.LineString(
    [(-105.2 + number / 3e5, 39.75 + number / 7e6) for number in range(6000)]
)
STREAMS = Sheet("streams", (SheetRow({"name": "Long Creek"}, TRACK),))


def test_a_csv_holds_a_long_track() -> None:
    """Two hundred thousand letters in one cell are read back to the last."""
    (row,) = read_csv(csv_bytes(STREAMS), name="streams.csv", key="x").rows
    assert shapely.from_wkt(str(row.values["track"])).equals(TRACK)


def test_a_workbook_refuses_a_long_track() -> None:
    """A cell holds 32 767 characters (Office's published limits); the rest was cut off unsaid."""
    with pytest.raises(StillwetError, match=r"track: wanted at most 32767 characters .* row 2\)"):
        xlsx_bytes([STREAMS])
    note = Sheet("assets", (SheetRow({"id": "a", "note": "n" * 32_767}),))
    assert xlsx_bytes([note])
