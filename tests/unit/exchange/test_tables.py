"""CSV and spreadsheets as people save them, and what a row turns into."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

from job_folder import ASSETS, JOB, good, messages
from stillwet.domain.assets import Shading
from stillwet.domain.basis import BasisKind
from stillwet.domain.products import RatioBasis

SHEET: list[object] = ["id", "kind", "latitude", "longitude", "eave height [ft]", "released"]


def workbook(*rows: list[object]) -> bytes:
    """An .xlsx file of one sheet."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _assets_from(name: str) -> str:
    return JOB.replace("assets.csv", name)


def test_units_may_be_mixed_within_a_column(tmp_path: Path) -> None:
    """A label in a cell wins over the column's: 9 ft, 3 m and 120 in stand side by side."""
    text = ASSETS.replace("-105.2010,14,", "-105.2010,3 m,").replace("2015,12,", "2015,120 in,")
    heights = [asset.eave_height_m for asset in good(tmp_path, assets=text).assets]
    assert heights == pytest.approx([2.7432, 3.0, 3.048])


@pytest.mark.parametrize("header", ["eave_height_ft", "Eave height [ft]", "eave-height (ft)"])
def test_ways_to_label_a_column(tmp_path: Path, header: str) -> None:
    """A unit in brackets, in parentheses or after an underscore."""
    asset = good(tmp_path, assets=ASSETS.replace("eave height [ft]", header)).assets[0]
    assert asset.eave_height_m == pytest.approx(9 * 0.3048)


def test_mapped_columns(tmp_path: Path) -> None:
    """Other people's headers are mapped in the job, with the unit they lack."""
    mapping = 'columns = { id = "ref", eave_height = { column = "eave", unit = "ft" } }'
    text = ASSETS.replace("id,", "ref,", 1).replace("eave height [ft]", "eave")
    job = good(tmp_path, job=JOB.replace('"assets.csv"', f'"assets.csv"\n{mapping}'), assets=text)
    assert job.assets[0].id == "h1"
    assert job.assets[0].eave_height_m == pytest.approx(2.7432)


def test_a_mapping_to_a_column_that_is_not_there(tmp_path: Path) -> None:
    """The nearest column is proposed."""
    job = JOB.replace('"assets.csv"', '"assets.csv"\ncolumns = { value = "valu" }')
    (message,) = messages(tmp_path, job=job)
    assert message.startswith("value: wanted ")
    assert "got 'valu' (assets.csv); did you mean \"value\"?" in message


def test_semicolons_decimal_commas_and_a_byte_order_mark(tmp_path: Path) -> None:
    """A spreadsheet of a country with decimal commas reads as any other."""
    text = (
        "id;kind;latitude;longitude;eave height [m];note\n"
        "h1;house;39,75;-105,2;2,75;one, two\n"
        "h2;house;39,751;-105,2;2,75 m;\n"
    )
    assets = good(tmp_path, assets="\ufeff" + text).assets
    assert [asset.eave_height_m for asset in assets] == [2.75, 2.75]
    assert assets[0].note == "one, two"


def test_windows_text(tmp_path: Path) -> None:
    """A name with an accent in Windows-1252 bytes is read as typed."""
    text = ASSETS.replace("Red barn", "Señal").encode("cp1252")
    assert good(tmp_path, assets=text).assets[1].name == "Señal"


def test_a_spreadsheet_with_numbers_and_flags(tmp_path: Path) -> None:
    """Numbers, yes/no and ids typed as numbers come over from .xlsx."""
    content = workbook(
        SHEET, [12, "house", 39.75, -105.2, 9, True], [13.0, "tower", 39.751, -105.2, "3 m", "no"]
    )
    assets = good(tmp_path, job=_assets_from("a.xlsx"), a_xlsx=content).assets
    assert [(asset.id, asset.released) for asset in assets] == [("12", True), ("13", False)]
    assert assets[0].eave_height_m == pytest.approx(2.7432)


def test_a_spreadsheet_that_is_none(tmp_path: Path) -> None:
    """A file of another kind with the ending .xlsx is refused."""
    assert messages(tmp_path, job=_assets_from("a.xlsx"), a_xlsx="id,kind\n") == [
        "[assets] file: wanted an .xlsx workbook, got something else (a.xlsx)"
    ]


def test_dates_of_a_spreadsheet_are_times(tmp_path: Path) -> None:
    """Weather in .xlsx with date cells covers the same hours as its CSV twin."""
    from datetime import datetime, timedelta

    start = datetime(2026, 8, 14)
    rows: list[list[object]] = [["time", "air_temperature [C]", "relative_humidity [%]"]]
    rows[0] += ["wind_speed [m/s]", "cloud_cover [%]"]
    rows += [[start + timedelta(hours=hour), 25.0, 30, 4, 0] for hour in range(30)]
    job = good(tmp_path, job=JOB.replace("weather.csv", "w.xlsx"), w_xlsx=workbook(*rows))
    twin = good(tmp_path)
    assert job.weather.time_s.tolist() == twin.weather.time_s.tolist()
    assert job.weather.air_temperature_k[0] == pytest.approx(298.15)


def test_defaults_by_kind_carry_their_interval(tmp_path: Path) -> None:
    """What the list does not say is an untested default with an interval around it."""
    asset = good(tmp_path).assets[0]
    basis = asset.basis["sheltering"]
    assert basis.kind is BasisKind.UNTESTED
    assert basis.low is not None
    assert basis.high is not None
    assert basis.low <= asset.sheltering <= basis.high
    assert asset.basis["material"].instead
    assert asset.basis["eave_height"].source == "assets.csv, row 2"
    assert asset.shading is Shading.OPEN


def test_bare_footprints_read_with_the_jobs_defaults(tmp_path: Path) -> None:
    """Positions alone become assets; each is called by its row, and that is said."""
    job = good(
        tmp_path,
        job=JOB.replace(
            '"assets.csv"', '"assets.csv"\ndefaults = { kind = "shed", eave_height = "7 ft" }'
        ),
        assets="latitude,longitude\n39.75,-105.2\n39.751,-105.2\n",
    )
    assert [(asset.id, asset.kind) for asset in job.assets] == [
        ("row-2", "shed"),
        ("row-3", "shed"),
    ]
    assert job.assets[0].basis["eave_height"].source == "job.toml, [assets] defaults"
    assert "2 without id, called by their row, such as row-2 (assets.csv, row 2)" in job.remarks


def test_an_asset_has_its_own_fire_over_the_jobs(tmp_path: Path) -> None:
    """Columns of the list override [fire]; what neither says is the named fire's own."""
    text = (
        "id,kind,latitude,longitude,exposure,arrival_to,setback,fire_from\n"
        "h1,house,39.75,-105.2,burning neighbour,2026-08-14T17:00-06:00,6 m,\n"
        "h2,house,39.751,-105.2,,,,N\n"
    )
    first, second = (asset.fire for asset in good(tmp_path, assets=text).assets)
    assert first.name == "burning neighbour"
    assert first.setback_m == 6.0
    assert first.arrival_to_s - second.arrival_to_s == 1800.0
    assert (first.bearing_deg, second.bearing_deg) == (225.0, 0.0)
    assert second.name == "brush fire"
    assert second.basis["setback"].kind is not BasisKind.GIVEN
    assert second.basis["bearing"].source == "assets.csv, row 3"


def test_roof_pitch_as_rise_in_run(tmp_path: Path) -> None:
    """6/12 is 26.57 degrees (carpenter's tables)."""
    text = ASSETS.replace(",value", ",roof_pitch").replace(",9,100", ",9,6/12")
    text = text.replace(",14,60", ",14,22 deg").replace(",12,5", ",12,")
    pitches = [asset.roof_pitch_deg for asset in good(tmp_path, assets=text).assets]
    assert pitches == pytest.approx([26.57, 22.0, 0.0], abs=0.01)


def test_columns_not_used_are_said(tmp_path: Path) -> None:
    """A column that means nothing here is left, and that is said."""
    job = good(tmp_path, assets=ASSETS.replace(",value", ",colour"))
    assert "assets.csv: columns not used: colour" in job.remarks


def test_product_takes_its_type_for_what_the_label_leaves_out(tmp_path: Path) -> None:
    """Label numbers are given; yield and drying numbers are the type's, with intervals."""
    product = good(tmp_path).product
    assert (product.ratio_low, product.ratio_high) == pytest.approx((0.005, 0.02))
    assert product.ratio_basis is RatioBasis.VOLUME
    assert product.pack_m3 == pytest.approx(5 * 3.785411784e-3)
    assert product.basis["ratio_low"].kind is BasisKind.GIVEN
    assert product.basis["drying_exponent"].kind is BasisKind.UNTESTED
    low, high = product.basis["yield_coefficient"].low, product.basis["yield_coefficient"].high
    assert low is not None
    assert high is not None
    assert low < product.yield_coefficient_pa < high


def test_a_pack_by_mass_is_a_volume_by_density(tmp_path: Path) -> None:
    """50 lb at 0.7 g/cm3 fill 32.4 litres."""
    job = JOB.replace('pack = "5 gal"', 'pack = "50 lb"\ndensity = "0.7 g/cm3"')
    assert good(tmp_path, job=job).product.pack_m3 == pytest.approx(50 * 0.45359237 / 700)


def test_a_product_list_needs_a_choice(tmp_path: Path) -> None:
    """Of two products in a file the job names one."""
    body = JOB[JOB.index("[product]") + 9 : JOB.index("[[crew]]")]
    text = "[[product]]" + body + "[[product]]" + body.replace('"clear"', '"thick"')
    job = JOB.replace("[product]" + body, '[product]\nfile = "p.toml"\nuse = "thick"\n')
    assert good(tmp_path, job=job, p_toml=text).product.id == "thick"
    found = messages(tmp_path, job=job.replace('"thick"', '"thin"'), p_toml=text)
    assert found[0].startswith("product: wanted use = one of the products clear, thick, got 'thin'")


def test_crews_and_water_from_tables(tmp_path: Path) -> None:
    """Crews and water points may be CSV lists with labelled columns."""
    job = JOB[: JOB.index("[[crew]]")]
    job += '[crews]\nfile = "c.csv"\n[water]\nfile = "w.csv"\n'
    job_read = good(
        tmp_path,
        job=job,
        c_csv="id,tank [gal],spray_flow_gpm,people,reserve_gal\ne1,500,30,3,80\n",
        w_csv="id,latitude,longitude,fill_flow_gpm,hardness [ppm]\nw1,39.751,-105.2,250,90\n",
    )
    (crew,), (point,) = job_read.crews, job_read.water_points
    assert crew.tank_m3 == pytest.approx(500 * 3.785411784e-3)
    assert crew.usable_m3 == pytest.approx(420 * 3.785411784e-3)
    assert crew.people == 3
    assert crew.basis["setup"].kind is BasisKind.UNTESTED
    assert point.hardness_kg_m3 == pytest.approx(0.09)
    assert point.fill_flow_m3_s == pytest.approx(250 * 3.785411784e-3 / 60)


def test_two_crews_of_one_id(tmp_path: Path) -> None:
    """A copied crew is found."""
    crew = JOB[JOB.index("[[crew]]") : JOB.index("[[water_point]]")]
    assert messages(tmp_path, job=JOB.replace(crew, crew + crew)) == [
        "id: wanted each crew id once, got 'e1' 2 times "
        "(job.toml, [[crew]] 1 and job.toml, [[crew]] 2)"
    ]


def test_two_crews_of_one_id_behind_a_faulty_one(tmp_path: Path) -> None:
    """The places told are those of the two, whatever else is wrong before them."""
    crew = JOB[JOB.index("[[crew]]") : JOB.index("[[water_point]]")]
    faulty = crew.replace('"e1"', '"e0"').replace('"750 gal"', '"750 gal"\nreserve = "800 gal"')
    found = messages(tmp_path, job=JOB.replace(crew, faulty + crew + crew))
    assert found[-1].endswith("(job.toml, [[crew]] 2 and job.toml, [[crew]] 3)")


def test_a_job_without_crews_is_refused(tmp_path: Path) -> None:
    """Nobody to spray: said in words."""
    job = JOB.replace(JOB[JOB.index("[[crew]]") : JOB.index("[[water_point]]")], "")
    assert messages(tmp_path, job=job) == [
        "crews: wanted at least one [[crew]], or [crews] with a file, got none (job.toml)"
    ]


def test_practice_and_uncertainty_over_the_defaults(tmp_path: Path) -> None:
    """Local practice is given, the rest stays an untested default; 4 F of spread are 2.2 K."""
    more = """
[practice]
egress_lead = "1 h"
thinnest_coat = "1/8 in"
transfer_efficiency = 0.6
[uncertainty]
temperature = ["1 C", "4 F"]
humidity = ["3 %", "8 %"]
wind = [0.1, 0.3]
"""
    job = good(tmp_path, job=JOB + more)
    assert job.practice.egress_lead_s == 3600
    assert job.practice.thinnest_coat_kg_m2 == pytest.approx(3.175)
    assert job.practice.basis["thinnest_coat"].kind is BasisKind.GIVEN
    assert job.practice.basis["water_efficiency"].kind is BasisKind.UNTESTED
    assert job.uncertainty.temperature_k == pytest.approx((1.0, 20 / 9))
    assert job.uncertainty.humidity == pytest.approx((0.03, 0.08))
    assert job.uncertainty.wind_log == (0.1, 0.3)


def test_stated_defaults_of_practice(tmp_path: Path) -> None:
    """The defaults and intervals that the method states, untouched by a job that says nothing."""
    practice = good(tmp_path).practice
    stated = {
        "transfer_efficiency": (practice.transfer_efficiency, 0.75, 0.5, 0.95),
        "coat_variation": (practice.coat_variation, 0.35, 0.2, 0.6),
        "cling_safety": (practice.cling_safety, 1.5, 1.2, 2.5),
        "ember_reserve": (practice.ember_reserve_kg_m2, 0.5, 0.2, 1.0),
        "ember_period": (practice.ember_period_s, 7200.0, 1800.0, 28800.0),
        "water_efficiency": (practice.water_efficiency, 0.7, 0.5, 1.0),
    }
    for name, (value, wanted, low, high) in stated.items():
        basis = practice.basis[name]
        assert (value, basis.low, basis.high) == pytest.approx((wanted, low, high)), name
        assert basis.kind is BasisKind.UNTESTED


def test_the_hash_covers_every_file(tmp_path: Path) -> None:
    """Two readings give one hash; a byte more in any file gives another."""
    first = good(tmp_path)
    assert good(tmp_path).input_hash == first.input_hash
    assert first.sources == ("job.toml", "assets.csv", "weather.csv")
    assert good(tmp_path, assets=ASSETS + "\n").input_hash != first.input_hash
    assert good(tmp_path, job=JOB + "\n").input_hash != first.input_hash
