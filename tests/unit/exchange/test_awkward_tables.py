"""Tables as programs and people really save them: read rightly, or refused in plain words."""

from __future__ import annotations

import io
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.worksheet.formula import ArrayFormula

from job_folder import ASSETS, JOB, good, messages, write_job
from stillwet.domain.lines import LinePurpose
from stillwet.exchange.job_file import read_job
from stillwet.exchange.trial_rows import with_row

XLSX_JOB = JOB.replace("assets.csv", "a.xlsx")
HEAD = ["id", "kind", "latitude", "longitude"]
HOUSE = ["h1", "house", 39.75, -105.2]


def saved(book: openpyxl.Workbook) -> bytes:
    """A workbook's bytes."""
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def book_of(*rows: list[Any]) -> bytes:
    """A workbook of one sheet."""
    book = openpyxl.Workbook()
    for row in rows:
        book.worksheets[0].append(row)
    return saved(book)


def remarks(folder: Path, **texts: str | bytes) -> str:
    """What reading a good job remarks."""
    return "\n".join(good(folder, **texts).remarks)


def test_unicode_text_as_a_spreadsheet_saves_it(tmp_path: Path) -> None:
    """UTF-16 with tabs, of either byte order, is read as its UTF-8 twin."""
    twin = good(tmp_path).assets
    for encoding in ("utf-16", "utf-16-be"):
        mark = b"\xfe\xff" if encoding == "utf-16-be" else b""
        content = mark + ASSETS.replace(",", "\t").encode(encoding)
        names = [asset.name for asset in good(tmp_path, assets=content).assets]
        assert names == [asset.name for asset in twin]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_line_end_within_quotes_stays_in_the_cell(tmp_path: Path, end: str) -> None:
    """A quoted cell of two lines is one cell, and the rows below keep their numbers."""
    text = ASSETS.replace("First house", f'"First{end}house"').replace("\n", end)
    text = text.replace("Red barn", "Red barn, no quotes").replace(",barn", ",hut")
    (message,) = messages(tmp_path, assets=text.replace("Red barn, no quotes", "Red"))
    assert "assets.csv, row 3" in message
    job = good(tmp_path, assets=ASSETS.replace("First house", f'"First{end}house"'))
    assert job.assets[0].name == f"First{end}house"


def test_an_open_quotation_mark_names_its_line(tmp_path: Path) -> None:
    """A quotation mark never closed swallows the rest; the line and the likely slip are named."""
    (message,) = messages(tmp_path, assets=ASSETS.replace("Red barn", '"Red barn'))
    assert "(assets.csv, line 4); is a quotation mark left open" in message


def test_decimal_commas_change_numbers_only(tmp_path: Path) -> None:
    """In a table of semicolons 2,75 is a number, and "3,5 m from the gate" stays a note."""
    text = "id;kind;latitude;longitude;eave height [m];note\nh;house;39,75;-105,2;2,75;3,5 m off\n"
    asset = good(tmp_path, assets=text).assets[0]
    assert (asset.eave_height_m, asset.note) == (2.75, "3,5 m off")


def test_thousands_and_decimal_commas_together(tmp_path: Path) -> None:
    """In such a table 1.234,5 can only be one number; 1,234.5 is refused."""
    text = "id;kind;latitude;longitude;eave height [mm]\nh;house;39,75;-105,2;1.234,5\n"
    assert good(tmp_path, assets=text).assets[0].eave_height_m == pytest.approx(1.2345)
    found = messages(tmp_path, assets=text.replace("1.234,5", "1,234.5"))
    assert found[0].startswith("eave_height: wanted a unit")


def test_a_title_above_the_header_is_passed_over(tmp_path: Path) -> None:
    """A merged title line is no header; rows keep the numbers the spreadsheet shows."""
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    for row in (["Assets of Alder Bend"], [], HEAD, HOUSE, ["h2", "hose", 39.75, -105.2]):
        page.append(row)
    page.merge_cells("A1:D1")
    (message,) = messages(tmp_path, job=XLSX_JOB, a_xlsx=saved(book))
    assert "a.xlsx, row 5" in message
    page["B5"] = "house"
    told = remarks(tmp_path, job=XLSX_JOB, a_xlsx=saved(book))
    assert "a.xlsx: 1 line(s) above the header passed over" in told


def test_a_header_merged_over_two_columns_is_told(tmp_path: Path) -> None:
    """The second column of a merged header has no name: it is not used, and that is said."""
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.append([*HEAD, "note", None])
    page.append([*HOUSE, "by the gate", "ladder"])
    page.merge_cells("E1:F1")
    told = remarks(tmp_path, job=XLSX_JOB, a_xlsx=saved(book))
    assert "a.xlsx: columns without a header not used: F (a header merged over" in told


def test_a_header_twice_is_not_guessed_at(tmp_path: Path) -> None:
    """Two columns of one name are named by their letters, also where the job maps them."""
    text = "id,kind,latitude,longitude,value,value\nh,house,39.75,-105.2,1,2\n"
    wanted = "value: wanted one column, got 'value' over columns E and F (assets.csv)"
    assert messages(tmp_path, assets=text) == [f"{wanted}; rename the others"]
    mapped = JOB.replace('"assets.csv"', '"assets.csv"\ncolumns = { value = "worth" }')
    found = messages(tmp_path, job=mapped, assets=text.replace("value", "worth"))
    assert "value: wanted one column, got 'worth' over columns E and F" in found[0]


def test_a_spare_header_twice_does_no_harm(tmp_path: Path) -> None:
    """Columns that nobody reads may share a name."""
    text = "id,kind,latitude,longitude,misc,misc\nh,house,39.75,-105.2,1,2\n"
    assert "columns not used: misc" in remarks(tmp_path, assets=text)


def test_empty_rows_at_the_end(tmp_path: Path) -> None:
    """Rows that are formatted but blank, or hold only separators, are no rows."""
    assert len(good(tmp_path, assets=ASSETS + ",,,,,,\n \n,,\n").assets) == 3
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.append(HEAD)
    page.append(HOUSE)
    page["A5000"].number_format = "0.00"
    page["B5000"] = "  "
    assert len(good(tmp_path, job=XLSX_JOB, a_xlsx=saved(book)).assets) == 1


@pytest.mark.parametrize("is_1904", [False, True])
def test_both_date_systems(tmp_path: Path, is_1904: bool) -> None:
    """A day number is the same day whether the workbook counts from 1900 or from 1904.

    ECMA-376 part 1, 18.17.4.1: 1904-01-01 is day 0 of its system, 1462 days after day 0 of 1900's.
    """
    book = openpyxl.Workbook()
    first_day = 46248 - 1462 if is_1904 else 46248  # 2026-08-14, by the standard's count
    if is_1904:
        book.epoch = CALENDAR_MAC_1904
    page = book.worksheets[0]
    names = ["time", "air_temperature [C]", "relative_humidity [%]", "wind_speed [m/s]"]
    page.append([*names, "cloud_cover [%]"])
    for hour in range(30):
        page.append([first_day + hour / 24, 25.0, 30, 4, 0])
        page.cell(hour + 2, 1).number_format = "yyyy-mm-dd hh:mm"
    job = good(tmp_path, job=JOB.replace("weather.csv", "w.xlsx"), w_xlsx=saved(book))
    assert job.weather.time_s.tolist() == good(tmp_path).weather.time_s.tolist()


def test_a_day_number_without_a_date_format_is_refused(tmp_path: Path) -> None:
    """46248.5 in a time column could be anything."""
    rows: list[list[Any]] = [
        ["time", "air_temperature [C]", "relative_humidity [%]", "wind_speed [m/s]", "cloud_cover"]
    ]
    rows += [[46248 + hour / 24, 25.0, 30, 4, 0] for hour in range(30)]
    found = messages(tmp_path, job=JOB.replace("weather.csv", "w.xlsx"), w_xlsx=book_of(*rows))
    assert "time: wanted a date and time" in found[0]
    assert "got 46248 (w.xlsx, row 2)" in found[0]


def test_a_formula_never_reckoned_is_no_blank(tmp_path: Path) -> None:
    """A formula without its result would pass for a blank, and a pole for one that is released."""
    content = book_of([*HEAD, "released"], [*HOUSE, '=IF(1=1,"no","yes")'])
    (message,) = messages(tmp_path, job=XLSX_JOB, a_xlsx=content)
    assert message.startswith("cell: wanted the result of a formula, got '=IF(1=1,")
    assert "(a.xlsx, row 2); open it in a spreadsheet and save it" in message


def test_an_array_formula_never_reckoned_is_no_blank(tmp_path: Path) -> None:
    """So it is with a formula over a range (ECMA-376 part 1, 18.3.1.40: ``t="array"``)."""
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.append([*HEAD, "released"])
    page.append(HOUSE)
    page["E2"] = ArrayFormula("E2", '=IF(1=1,"no","yes")')
    (message,) = messages(tmp_path, job=XLSX_JOB, a_xlsx=saved(book))
    assert message.startswith("cell: wanted the result of a formula, got '=IF(1=1,")


def test_a_spreadsheet_error_is_named(tmp_path: Path) -> None:
    """#N/A is no number."""
    content = book_of([*HEAD, "eave_height_m"], [*HOUSE, "#N/A"])
    assert "got '#N/A' (a.xlsx, row 2)" in messages(tmp_path, job=XLSX_JOB, a_xlsx=content)[0]


def test_a_workbook_that_lies_about_its_size(tmp_path: Path) -> None:
    """Some programs write that a sheet is one cell; its rows are read all the same."""
    import re
    import zipfile

    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(book_of(HEAD, HOUSE))) as book,
        zipfile.ZipFile(out, "w") as made,
    ):
        for part in book.infolist():
            text = book.read(part)
            text = re.sub(rb'<dimension ref="[^"]*"', b'<dimension ref="A1"', text)
            made.writestr(part.filename, text)
    assert len(good(tmp_path, job=XLSX_JOB, a_xlsx=out.getvalue()).assets) == 1


def test_a_receivers_own_gpx(tmp_path: Path) -> None:
    """Waypoints with a name and nothing else become assets by the job's defaults."""
    gpx = (
        '<?xml version="1.0"?><gpx version="1.1" creator="x" '
        'xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="39.75" lon="-105.2"><ele>1700</ele>'
        "<name>Old cabin</name><desc>tin roof</desc></wpt></gpx>"
    )
    job_text = JOB.replace('"assets.csv"', '"a.gpx"\ndefaults = { kind = "house" }')
    asset = good(tmp_path, job=job_text, a_gpx=gpx).assets[0]
    assert (asset.name, asset.note, asset.kind) == ("Old cabin", "tin roof", "house")
    both = gpx.replace("</gpx>", "<trk><trkseg/></trk></gpx>")
    found = messages(tmp_path, job=job_text, a_gpx=both)
    assert "layer: wanted one of waypoints, tracks, got nothing (a.gpx)" in found[0]
    bomb = gpx.replace("<gpx", '<!DOCTYPE gpx [<!ENTITY a "aaaa">]><gpx')
    assert "one with a document type" in messages(tmp_path, job=job_text, a_gpx=bomb)[0]


def test_a_line_in_a_table(tmp_path: Path) -> None:
    """A column of well-known text is a line's track; a bad one names its row."""
    text = 'id,purpose,width,track\nl1,burn line,3 m,"LINESTRING (-105.2 39.75, -105.19 39.75)"\n'
    job_text = JOB + '\n[lines]\nfile = "l.csv"\n'
    (line,) = good(tmp_path, job=job_text, l_csv=text).lines
    assert line.purpose is LinePurpose.BURN
    assert line.length_m == pytest.approx(857, abs=2)  # 0.01 deg at this latitude (Geod)
    found = messages(tmp_path, job=job_text, l_csv=text.replace("39.75, -105.19", "39.75; -105.19"))
    assert found[0].startswith("track: wanted well-known text")
    assert "l.csv, row 2" in found[0]


def test_a_trial_added_to_a_workbook_is_no_formula() -> None:
    """A note that begins as a formula is kept as text in a new file and in an old one."""
    values = {"id": "=1+1", "ratio": "1 %", "hardness": "100 ppm", "funnel": "30 s"}
    content = with_row(None, "t.xlsx", values)
    content = with_row(content, "t.xlsx", {**values, "id": "@x"})
    page = openpyxl.load_workbook(io.BytesIO(content)).worksheets[0]
    (column,) = [own for own in page.iter_cols() if own[0].value == "id"]
    assert [cell.value for cell in column] == ["id", "'=1+1", "'@x"]
    assert {cell.data_type for cell in column} == {"s"}
    assert b"'=1+1" in with_row(None, "t.csv", values)


def test_a_key_of_very_many_parts(tmp_path: Path) -> None:
    """Such a key would be read for hours; it is refused at once."""
    began = datetime.now()
    (message,) = messages(tmp_path, job=JOB + "a" + ".a" * 400_000 + " = 1\n")
    assert "keys of a few parts" in message
    assert datetime.now() - began < timedelta(seconds=20)


def test_a_guard_of_another_program_is_taken_off(tmp_path: Path) -> None:
    """An apostrophe before a formula, as safe tables have it, is not part of the name."""
    path = write_job(tmp_path, assets=ASSETS.replace("First house", "'=house"))
    job, _ = read_job(path)
    assert job is not None
    assert job.assets[0].name == "=house"


@pytest.mark.parametrize("style", ["tmy3", "epw", "hourly table"])
def test_a_file_of_a_mark_alone(tmp_path: Path, style: str) -> None:
    """A byte order mark with nothing after it is refused as any empty file (found by fuzzing)."""
    job = JOB.replace('"weather.csv"', f'"weather.csv"\nformat = "{style}"')
    (message,) = messages(tmp_path, job=job, weather=b"\xef\xbb\xbf")
    assert message.startswith("[weather] file: wanted ")
