"""Trials from tables: readings in SI whatever the units; every bad trial gets its own answer."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

from stillwet.domain.products import RatioBasis
from stillwet.domain.trials import (
    Coupon,
    DryingSeries,
    Funnel,
    Slump,
    Spread,
    Trial,
    TrialRecord,
    Viscosity,
    YieldEstimate,
)
from stillwet.errors import StillwetError
from stillwet.exchange.trial_rows import with_row
from stillwet.exchange.trials import read_trials

HEAD = "ratio [%],hardness [ppm],age [min],coat [in]"
POWDER = "clay"
DRY_HEAD = "series,when,ratio,coat,air_temperature,relative_humidity,wind_speed,sun"


def read(
    folder: Path, text: str, kind: str | None = None
) -> tuple[tuple[TrialRecord, ...] | None, tuple[str, ...], str]:
    """Records, remarks and the problems as a person reads them."""
    path = folder / "t.csv"
    path.write_text(text, encoding="utf-8")
    found, remarks, problems = read_trials(path, kind=kind)
    return found, remarks, "\n".join(map(str, problems))


def good(folder: Path, text: str, kind: str | None = None) -> list[Trial]:
    """The mixes of a sound table."""
    found, _, told = read(folder, text, kind)
    assert found is not None, told
    return [one for one in found if isinstance(one, Trial)]


def told(folder: Path, text: str, kind: str | None = None) -> str:
    """The problems of a table that must be refused."""
    found, _, problems = read(folder, text, kind)
    assert found is None
    return problems


def test_us_and_metric_rows_give_the_same_trial(tmp_path: Path) -> None:
    """The same board in inches and millimetres, degrees F and C, grains and mg/L."""
    text = (
        "ratio,hardness,water_temperature,age,coat,tilt\n"
        "1 %,7 gpg,68 F,20 min,3/16 in,75 deg\n"
        "0.01 fraction,119.83 mg/L,20 C,1200 s,4.7625 mm,75\n"
    )
    us, metric = good(tmp_path, text)
    assert metric.ratio == pytest.approx(us.ratio)
    assert metric.hardness_kg_m3 == pytest.approx(us.hardness_kg_m3, rel=1e-3)
    assert metric.water_temperature_k == pytest.approx(us.water_temperature_k)
    assert metric.age_s == us.age_s == 1200.0
    (one,), (other,) = us.readings, metric.readings
    assert isinstance(one, Coupon)
    assert isinstance(other, Coupon)
    assert other.coat_kg_m2 == pytest.approx(one.coat_kg_m2)
    assert one.tilt_deg == other.tilt_deg == 75.0


def test_every_way_of_reading_is_read(tmp_path: Path) -> None:
    """One mix with all of them; inch, litre, cP and seconds by their definitions."""
    text = (
        "id,ratio,hardness,age,coat,slid,slump,cylinder_height,spread_diameter,spread_volume,"
        "viscosity,spindle,funnel,yield_stress\n"
        "a,1 %,100 ppm,1 h,5 mm,no,1 in,8 cm,8 in,1 L,2500 cP,3,80 s,40 Pa\n"
    )
    (trial,) = good(tmp_path, text)
    found = {type(one): one for one in trial.readings}
    assert found[YieldEstimate] == YieldEstimate(40.0)
    assert found[Slump] == Slump(0.0254, 0.08)
    assert found[Spread] == Spread(0.2032, 1e-3)
    assert found[Coupon] == Coupon(5.0, 90.0, slid=False)
    assert found[Viscosity] == Viscosity(2.5, 3)
    assert found[Funnel] == Funnel(80.0, 0.946352946e-3)


def test_a_workbook_reads_as_the_table_does(tmp_path: Path) -> None:
    """XLSX with units in the header: the same trial."""
    book = openpyxl.Workbook()
    for line in ([*HEAD.split(",")], [1, 120, 20, 0.1875]):
        book.worksheets[0].append(line)
    content = io.BytesIO()
    book.save(content)
    (tmp_path / "t.xlsx").write_bytes(content.getvalue())
    found, _, problems = read_trials(tmp_path / "t.xlsx")
    assert problems == ()
    (text,) = good(tmp_path, f"{HEAD}\n1,120,20,0.1875\n")
    assert found == (text,)


def test_powders_are_by_mass_where_nothing_is_said(tmp_path: Path) -> None:
    """The basis is the type's usual one."""
    (trial,) = good(tmp_path, f"{HEAD}\n5,120,400,0.1\n", POWDER)
    assert trial.ratio_basis is RatioBasis.MASS


@pytest.mark.parametrize(
    ("text", "kind", "answer"),
    [
        (f"{HEAD}\n1,120,0,0.2\n", None, "age: wanted 0.01667 to 14400 min, got 0 min"),
        ("ratio,hardness,age,funnel\n1 %,0 ppm,1 h,0 s\n", None, "funnel: wanted 20 to 3600 s"),
        (f"{HEAD}\n120,120,20,0.2\n", None, "ratio: wanted 0.001 to 50 %, got 120 %"),
        (f"{HEAD}\n0,120,20,0.2\n", None, "ratio: wanted 0.001 to 50 %, got 0 %"),
        (f"{HEAD},ratio_basis\n5,120,20,0.2,volume\n", POWDER, "wanted mass, for a powder"),
        (
            "ratio,hardness,age,coat\n500 mL,0 ppm,1 h,1 mm\n",
            POWDER,
            "percent of the finished mix, got '500 mL' (t.csv, row 2); weigh a powder",
        ),
        (
            "ratio,hardness,age,coat\n1 %,0 ppm,1 h,1 mm\n1 %,0 ppm,1 h,5\n",
            None,
            "coat: wanted a unit after the number",
        ),
        (
            f"{HEAD},ratio_basis\n1,0,20,0.1,volume\n1,0,20,0.1,mass\n",
            None,
            "ratio_basis: wanted one basis for all trials of the product",
        ),
        ("ratio,hardness,age,coat\n2 oz,0 ppm,1 h,1 mm\n", POWDER, "a unit of fraction"),
        ("ratio,hardness,age\n1 %,0 ppm,1 h\n", None, "readings: wanted at least one reading"),
        ("ratio,hardness,age,slump\n1 %,0 ppm,1 h,1 in\n", None, "cylinder_height: wanted a value"),
        (
            "ratio,hardness,age,slump,cylinder_height\n1 %,0 ppm,1 h,4 in,3 in\n",
            None,
            "slump: wanted 0 to 0.0762 m (the cylinder's height), got 0.1016 (t.csv, row 2)",
        ),
        ("id,ratio,hardness,age,coat\na,1 %,0 ppm,1 h,1 mm\na,1 %,0 ppm,1 h,2 mm\n", None, "'a'"),
        ("ratio,hardness,age,coat\n", None, "wanted at least one row below the header"),
    ],
)
def test_a_bad_mix_gets_a_clear_answer(
    tmp_path: Path, text: str, kind: str | None, answer: str
) -> None:
    """Field, what was wanted, what stood there, and the row."""
    found = told(tmp_path, text, kind)
    assert answer in found
    assert "t.csv" in found


def test_every_bad_row_is_told_at_once(tmp_path: Path) -> None:
    """Three faults in three rows: three answers, each with its row."""
    found = told(tmp_path, f"{HEAD}\n120,120,20,0.2\n1,120,0,0.2\n1,120,20,200\n")
    assert [row for row in ("row 2", "row 3", "row 4") if row in found] == [
        "row 2",
        "row 3",
        "row 4",
    ]


def test_rows_that_are_all_equal_are_pointed_at(tmp_path: Path) -> None:
    """Copies count as trials of their own, so the reader is told to look."""
    found, remarks, _ = read(tmp_path, f"{HEAD}\n1,120,20,0.2\n1,120,20,0.2\n")
    assert found is not None
    assert len(found) == 2
    assert any("the same mix with the same readings" in remark for remark in remarks)


def drying(*rows: str) -> str:
    """A table of one coat's weighings."""
    return "\n".join((DRY_HEAD, *(f"c1,2026-06-01 {row}" for row in rows))) + "\n"


AIR = "90 F,20 %,8 mph,0 W/m2"


def test_a_drying_coat_is_put_in_order_of_time(tmp_path: Path) -> None:
    """Rows of one series become one coat, whatever their order."""
    text = drying(f"11:00,1 %,2 mm,{AIR}", f"10:00,1 %,3 mm,{AIR}")
    found, _, _ = read(tmp_path, text)
    assert found is not None
    (coat,) = found
    assert isinstance(coat, DryingSeries)
    assert [look.mass_kg_m2 for look in coat.weighings] == pytest.approx([3.0, 2.0])
    assert coat.weighings[1].when_s - coat.weighings[0].when_s == 3600.0


def test_weights_are_taken_off_their_board(tmp_path: Path) -> None:
    """600 g on a board of 240 g and 0.12 m2 is 3 mm; a board heavier than both is refused."""
    head = DRY_HEAD.replace("coat", "weight,board_weight,coupon_area")
    rows = [
        f"c1,2026-06-01 {hour}:00,1 %,{grams} g,240 g,0.12 m2,{AIR}"
        for hour, grams in ((10, 600), (11, 480))
    ]
    found, _, problems = read(tmp_path, "\n".join((head, *rows)) + "\n")
    assert found is not None, problems
    assert isinstance(found[0], DryingSeries)
    assert found[0].weighings[0].mass_kg_m2 == pytest.approx(3.0)
    bad = "\n".join((head, *(row.replace("480 g", "100 g") for row in rows))) + "\n"
    assert "weight: wanted at least the board's own, got 0.1 kg" in told(tmp_path, bad)


@pytest.mark.parametrize(
    ("rows", "answer"),
    [
        ((f"10:00,1 %,3 mm,{AIR}",), "series: wanted at least 2 weighings, got 1"),
        (
            (f"10:00,1 %,3 mm,{AIR}", f"10:00,1 %,2 mm,{AIR}"),
            "when: wanted each weighing later than the last",
        ),
        (
            (f"10:00,1 %,0 mm,{AIR}", f"11:00,1 %,0 mm,{AIR}"),
            "coat: wanted a wet coat at first, got nothing",
        ),
    ],
)
def test_a_bad_drying_coat_gets_a_clear_answer(
    tmp_path: Path, rows: tuple[str, ...], answer: str
) -> None:
    """One weighing, no time between two, or nothing on the board."""
    assert answer in told(tmp_path, drying(*rows))


def test_a_row_goes_into_the_columns_that_are_there(tmp_path: Path) -> None:
    """Other rows stay as they were to the byte; a field without a column gets one at the end."""
    old = f"{HEAD}\r\n1,120,20,0.2\r\n".encode()
    new = with_row(old, "t.csv", {"ratio": "2 %", "age": "5 min", "funnel": "70 s"})
    assert new == f"{HEAD},funnel\r\n1,120,20,0.2\r\n2 %,,5 min,,70 s\r\n".encode()
    with pytest.raises(StillwetError, match="field: wanted one of"):
        with_row(old, "t.csv", {"cote": "2 mm"})


def test_a_row_goes_into_a_workbook(tmp_path: Path) -> None:
    """A new workbook, then a second row with a new column; both read back."""
    base = {"ratio": "1 %", "hardness": "50 ppm", "age": "1 h"}
    book = with_row(None, "t.xlsx", base | {"coat": "4 mm"})
    book = with_row(book, "t.xlsx", base | {"funnel": "70 s"})
    (tmp_path / "t.xlsx").write_bytes(book)
    found, _, problems = read_trials(tmp_path / "t.xlsx")
    assert found is not None, problems
    readings = [one.readings[0] for one in found if isinstance(one, Trial)]
    assert isinstance(readings[0], Coupon)
    assert readings[1] == Funnel(70.0, 0.946352946e-3)


NEW = {"id": "new", "ratio": "2 %", "hardness": "50 ppm", "age": "5 min", "funnel": "70 s"}
PLAIN = "id,ratio,hardness,age\na,1 %,50 ppm,20 min\n"


LONGER = "id,ratio,hardness,age,funnel\na,1 %,50 ppm,20 min\nnew,2 %,50 ppm,5 min,70 s\n"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (f"Trials of June\n\n{PLAIN}", f"Trials of June\n\n{LONGER}"),
        (f'"other\nthing",{PLAIN}', f'"other\nthing",{LONGER}'.replace("\nnew", "\n,new")),
        (PLAIN.replace(",", ";"), LONGER.replace(",", ";")),
        (f"Title\n{PLAIN}".replace(",", ";"), f"Title\n{LONGER}".replace(",", ";")),
        (PLAIN.replace("\n", "\r"), LONGER.replace("\n", "\r")),
    ],
)
def test_a_row_leaves_titles_and_quotes_alone(old: str, new: str) -> None:
    """A new column goes behind the header, wherever that stands and whatever separates cells.

    With a title above it the header became a row, and the title was lost.
    """
    assert with_row(old.encode(), "t.csv", NEW).decode() == new


def test_a_new_column_takes_no_cell_without_a_name() -> None:
    """What stands beside a table, under no header, does not become the new column's value."""
    old = f"{PLAIN.strip()},stray\n"
    new = with_row(old.encode(), "t.csv", NEW).decode().splitlines()
    assert new == [
        "id,ratio,hardness,age,,funnel",
        "a,1 %,50 ppm,20 min,stray",
        "new,2 %,50 ppm,5 min,,70 s",
    ]


def test_a_row_goes_under_a_workbooks_title() -> None:
    """The header's row gets the new column, not the title's."""
    book = openpyxl.Workbook()
    for line in (["Trials of June"], *(line.split(",") for line in PLAIN.splitlines())):
        book.worksheets[0].append(line)
    content = io.BytesIO()
    book.save(content)
    longer = openpyxl.load_workbook(io.BytesIO(with_row(content.getvalue(), "t.xlsx", NEW)))
    rows = list(longer.worksheets[0].iter_rows(values_only=True))
    assert rows[0] == ("Trials of June", None, None, None, None)
    assert rows[1] == ("id", "ratio", "hardness", "age", "funnel")
    assert rows[3] == ("new", "2 %", "50 ppm", "5 min", "70 s")


@pytest.mark.parametrize("encoding", ["utf-16", "cp1252", "utf-8-sig"])
def test_a_table_of_another_encoding_gets_a_mark(encoding: str) -> None:
    """A spreadsheet needs the mark to know UTF-8, or the names in the old rows are spoilt."""
    old = PLAIN.replace("a,", "Caf\u00e9,", 1).encode(encoding)
    new = with_row(old, "t.csv", NEW)
    assert new.startswith(b"\xef\xbb\xbf")
    assert "Caf\u00e9,1 %" in new.decode("utf-8-sig")


def test_two_coats_under_one_name(tmp_path: Path) -> None:
    """A later weighing with another ratio is of another coat; the first one's was taken."""
    head = "series,when,ratio,coat,air_temperature,relative_humidity,wind_speed,sun"
    rows = [
        f"s,2026-06-01T1{hour}:00Z,{ratio} %,{3 - hour} mm,20 C,30 %,1 m/s,500 W/m2"
        for hour, ratio in ((0, 1), (1, 2))
    ]
    path = tmp_path / "t.csv"
    path.write_text("\n".join([head, *rows]), "utf-8")
    found, _, problems = read_trials(path)
    assert found is None
    assert [str(one) for one in problems] == [
        "ratio: wanted one ratio for all weighings of s, got '2 %' after another in its first row "
        "(t.csv, row 3)"
    ]
