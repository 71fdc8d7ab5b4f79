"""What a person gets for each usual mistake: field, wanted, got, file and row, all at once."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from job_folder import ASSETS, JOB, faults, messages, weather_lines
from stillwet.exchange.findings import MOST_SHOWN


def _weather(change: dict[int, str]) -> str:
    """The weather file with some rows (counted as a spreadsheet counts them) replaced."""
    lines = weather_lines()
    for row, text in change.items():
        lines[row - 1] = text
    return "\n".join(lines)


def test_missing_column_names_the_field_and_the_columns_there_are(tmp_path: Path) -> None:
    """A weather file without wind is refused once, naming the column and what the file has."""
    header = "time,air_temperature_F,relative_humidity_%,gusts,cloud_cover_%"
    assert messages(tmp_path, weather=_weather({1: header})) == [
        "wind_speed: wanted a column of this name, got 'columns time, air_temperature_F, "
        "relative_humidity_%, gusts, cloud_cover_%' (weather.csv); name the column, or map it "
        'with columns = { wind_speed = "your column" }'
    ]


def test_missing_kind_column_is_said_once_not_in_every_row(tmp_path: Path) -> None:
    """An asset list without kinds is one fault, however many rows it has."""
    text = ASSETS.replace(",kind,", ",sort,")
    (message,) = messages(tmp_path, assets=text)
    assert message.startswith("kind: wanted a column of this name, got 'columns id, name, sort")
    assert 'defaults = { kind = "house" }' in message


def test_wrong_unit_in_a_header(tmp_path: Path) -> None:
    """A column of temperature labelled as a speed is refused with the units that would do."""
    (message,) = messages(
        tmp_path,
        weather=_weather({1: weather_lines()[0].replace("_temperature_F", "_temperature [mph]")}),
    )
    assert (
        "air_temperature: wanted a unit of temperature (k, c, degc, f, degf), got 'mph'" in message
    )
    assert "weather.csv" in message


def test_wrong_unit_in_a_cell(tmp_path: Path) -> None:
    """An eave height in gallons is refused in its row."""
    text = ASSETS.replace("-105.2010,14,60", "-105.2010,14 gal,60")
    (problem,) = faults(tmp_path, assets=text)
    assert (problem.field, problem.got, problem.place) == (
        "eave_height",
        "'gal'",
        "assets.csv, row 3",
    )
    assert problem.wanted.startswith("a unit of length (m, mm")


def test_a_number_without_any_unit_is_refused(tmp_path: Path) -> None:
    """A bare height is how feet become metres: it is refused, with how to write it."""
    text = ASSETS.replace("eave height [ft]", "eave_height")
    found = messages(tmp_path, assets=text)
    assert len(found) == 3
    assert found[0].startswith("eave_height: wanted a unit after the number (m, mm")
    assert "got '9' (assets.csv, row 2)" in found[0]


def test_humidity_of_140_percent(tmp_path: Path) -> None:
    """Humidity of 140 % is outside what air can hold."""
    text = _weather({17: "2026-08-14 15:00,85,140,8.5,10"})
    assert messages(tmp_path, weather=text) == [
        "relative_humidity: wanted 0 to 100 %, got 140 % (weather.csv, row 17); "
        "is it in another unit?"
    ]


@pytest.mark.parametrize("text", ["NaN", "", "n/a"])
def test_a_missing_number_in_the_weather(tmp_path: Path, text: str) -> None:
    """NaN, a blank and n/a are the same fault: an hour without a number."""
    got = "nothing" if not text else f"'{text}', a missing value"
    found = messages(tmp_path, weather=_weather({9: f"2026-08-14 07:00,{text},30,8.5,10"}))
    assert found == [
        f"air_temperature: wanted a number in every hour, got {got} (weather.csv, row 9); "
        "fill the hour from another source"
    ]


def test_a_sentinel_for_missing_is_out_of_bounds(tmp_path: Path) -> None:
    """-9999 for a missing wind is caught by the bounds of the column."""
    (message,) = messages(tmp_path, weather=_weather({9: "2026-08-14 07:00,77,30,-9999,10"}))
    assert message.startswith(
        "wind_speed: wanted 0 to 134.2 mph, got -9999 mph (weather.csv, row 9)"
    )


def test_a_gap_in_the_hours(tmp_path: Path) -> None:
    """A missing hour is named with the rows it lies between and both times."""
    lines = weather_lines()
    del lines[10:12]  # 09:00 and 10:00
    assert messages(tmp_path, weather="\n".join(lines)) == [
        "time: wanted one row an hour, each an hour after the row before, got a gap of 3 h from "
        "2026-08-14 08:00 MDT to 2026-08-14 11:00 MDT (weather.csv, rows 10 and 11)"
    ]


def test_a_doubled_hour(tmp_path: Path) -> None:
    """The same hour twice is named with both rows."""
    lines = weather_lines()
    lines.insert(11, lines[10])
    (message,) = messages(tmp_path, weather="\n".join(lines))
    assert "got 2026-08-14 09:00 MDT twice (weather.csv, rows 11 and 12)" in message


def test_weather_that_ends_before_the_embers_do(tmp_path: Path) -> None:
    """Weather must run to the latest arrival and the ember period (2 h): both ranges are named."""
    (message,) = messages(tmp_path, weather="\n".join(weather_lines(hours=18)))
    assert message == (
        "time: wanted weather from 2026-08-14 08:00 MDT (start of the job) to 2026-08-14 18:30 MDT "
        "(latest arrival and ember period), got 2026-08-14 00:00 MDT to 2026-08-14 17:00 MDT "
        "(weather.csv (hourly table)); get a longer forecast, or check the dates of the job"
    )


def test_a_footprint_that_crosses_itself(tmp_path: Path) -> None:
    """Two corners in the wrong order: the crossing is given in longitude and latitude."""
    ring = "-105.2 39.75, -105.1998 39.7502, -105.1998 39.75, -105.2 39.7502, -105.2 39.75"
    text = f'id,kind,footprint\nh1,house,"POLYGON(({ring}))"\n'
    (problem,) = faults(tmp_path, assets=text)
    assert problem.field == "footprint"
    assert problem.wanted == "a ring that does not cross itself"
    assert problem.got == "it crosses itself at -105.1999 39.7501"
    assert problem.place == "assets.csv, row 2"


def test_an_unknown_kind_lists_the_kinds_and_the_nearest(tmp_path: Path) -> None:
    """A misspelt kind names those there are, and the likeliest."""
    (message,) = messages(tmp_path, assets=ASSETS.replace(",barn,", ",bran,"))
    assert "kind: wanted one of house, barn, shed" in message
    assert "got 'bran' (assets.csv, row 3); did you mean \"barn\"?" in message


def test_a_negative_value(tmp_path: Path) -> None:
    """A height below nothing is refused with the bounds."""
    (message,) = messages(tmp_path, assets=ASSETS.replace("-105.2010,14,60", "-105.2010,-14,60"))
    assert message == "eave_height: wanted 0.164 to 984.3 ft, got -14 ft (assets.csv, row 3)"


def test_an_empty_file(tmp_path: Path) -> None:
    """An empty asset list is said to be empty."""
    assert messages(tmp_path, assets=b"") == [
        "[assets] file: wanted a file with something in it, got an empty file (assets.csv)"
    ]


def test_a_file_with_only_a_header(tmp_path: Path) -> None:
    """A header without rows is no list."""
    assert messages(tmp_path, assets="id,kind\n") == [
        "[assets] file: wanted at least one row below the header, got none (assets.csv)"
    ]


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    """A file that is not there and one that is a folder are both said, together."""
    (tmp_path / "crews.toml").mkdir()
    job = JOB.replace("assets.csv", "houses.csv") + '\n[crews]\nfile = "crews.toml"\n'
    assert messages(tmp_path, job=job)[:2] == [
        "[assets] file: wanted a file, got no such file (houses.csv); give the path from the "
        "folder of the job file",
        "[crews] file: wanted a file, got a folder (crews.toml)",
    ]


@pytest.mark.parametrize("name", ["assets", "weather", "job"])
def test_two_megabytes_of_binary(tmp_path: Path, name: str) -> None:
    """Any text file that is really binary is named as such, in one line."""
    noise = os.urandom(2_000_000)
    found = messages(tmp_path, **{name: noise})
    assert len(found) == 1
    assert "wanted UTF-8, UTF-16 or Windows-1252 text, got a binary file" in found[0]


def test_a_wrong_encoding(tmp_path: Path) -> None:
    """UTF-16 that breaks off in the middle of a character is named with what to do."""
    assert messages(tmp_path, assets=ASSETS.encode("utf-16")[:-1]) == [
        "[assets] file: wanted UTF-8, UTF-16 or Windows-1252 text, got broken UTF-16 (assets.csv); "
        "save it again as UTF-8"
    ]


def test_a_byte_that_no_accepted_encoding_has(tmp_path: Path) -> None:
    """0x81 is not Windows-1252 and, alone, not UTF-8."""
    (message,) = messages(tmp_path, assets=ASSETS.encode().replace(b"Red", b"R\x81d"))
    assert "got byte 0x81, which is neither (assets.csv)" in message


def test_a_duplicate_id_names_both_rows(tmp_path: Path) -> None:
    """An id twice names both of its rows."""
    assert messages(tmp_path, assets=ASSETS.replace("b1,", "h1,")) == [
        "id: wanted each asset id once, got 'h1' 2 times (assets.csv, row 2 and assets.csv, row 3)"
    ]


def test_a_time_without_zone(tmp_path: Path) -> None:
    """With no zone anywhere, a time of the fire is refused; the missing job zone is said too."""
    job = JOB.replace('time_zone = "America/Denver"\n', "").replace("15:00-06:00", "15:00")
    found = messages(tmp_path, job=job)
    assert found[0].startswith("time_zone: wanted an IANA time zone")
    assert (
        "arrival_from: wanted a time with its zone, got '2026-08-14T15:00', a time without zone "
        '(job.toml, [fire]); write "-06:00" after it, or give time_zone' in found
    )


def test_unreadable_toml_names_the_line(tmp_path: Path) -> None:
    """A slip in the job file is found by its line."""
    found = messages(tmp_path, job=JOB.replace('name = "Alder Bend"', 'name = "Alder Bend'))
    assert len(found) == 1
    assert found[0].startswith("job file: wanted a TOML file, got ")
    assert found[0].endswith("(job.toml, line 3)")


def test_unknown_keys_get_the_nearest_name(tmp_path: Path) -> None:
    """A misspelt key is not passed over."""
    job = JOB.replace('from = "SW"', 'from = "SW"\nflame_lenght = "8 ft"') + "\n[practise]\n"
    found = messages(tmp_path, job=job)
    assert any(
        "got 'flame_lenght' (job.toml, [fire]); did you mean \"flame_length\"?" in m for m in found
    )
    assert any("got 'practise' (job.toml); did you mean \"practice\"?" in m for m in found)


def test_a_misspelt_column_is_not_passed_over(tmp_path: Path) -> None:
    """A header that is nearly a field's name would silently become a default: it is refused."""
    (message,) = messages(tmp_path, assets=ASSETS.replace("eave height [ft]", "eave_hieght [ft]"))
    assert "got 'eave_hieght [ft]' (assets.csv)" in message
    assert 'did you mean "eave_height"?' in message


def test_all_bad_rows_of_all_files_come_together(tmp_path: Path) -> None:
    """One reading finds the faults of the job file, the asset list and the weather."""
    found = faults(
        tmp_path,
        job=JOB.replace('tank = "750 gal"', 'tank = "750"'),
        assets=ASSETS.replace(",barn,", ",bran,").replace("-105.2015,12,5", "-105.2015,tall,x"),
        weather=_weather({3: "2026-08-14 01:00,70,140,8.5,10", 5: "2026-08-14 03:00,x,30,8.5,10"}),
    )
    assert [(problem.field, problem.place) for problem in found] == [
        ("kind", "assets.csv, row 3"),
        ("value", "assets.csv, row 4"),
        ("eave_height", "assets.csv, row 4"),
        ("air_temperature", "weather.csv, row 5"),
        ("relative_humidity", "weather.csv, row 3"),
        ("tank", "job.toml, [[crew]] 1"),
    ]


def test_no_more_than_a_page_of_problems(tmp_path: Path) -> None:
    """A wrong unit in a long file faults every row: 200 are shown and the rest counted."""
    rows = [f"h{n},house,39.75,-105.2,9" for n in range(500)]
    text = "\n".join(["id,kind,latitude,longitude,eave_height", *rows])
    found = faults(tmp_path, assets=text)
    assert len(found) == MOST_SHOWN + 1
    assert found[-1].got == "300 further problems not shown"


def test_swapped_coordinates_are_named(tmp_path: Path) -> None:
    """One asset with latitude and longitude in each other's columns lies far from the rest."""
    text = ASSETS.replace("39.7510,-105.2010", "39.7510,105.2010")
    (problem,) = faults(tmp_path, assets=text)
    assert problem.field == "position"
    assert problem.wanted == "every asset within 150 km of the middle of the job"
    assert problem.place == "assets.csv, row 3"


def test_arrival_that_ends_before_it_starts(tmp_path: Path) -> None:
    """The latest arrival may not be before the earliest."""
    job = JOB.replace("16:30-06:00", "14:30-06:00")
    found = messages(tmp_path, job=job)
    assert found == [
        "arrival_to: wanted a time not before the earliest arrival, got "
        "'2026-08-14T14:30-06:00' (job.toml, [fire])"
    ]


def test_a_mix_ratio_without_percent_is_refused(tmp_path: Path) -> None:
    """0.5 could be half a percent or half the mix: the unit must be said."""
    found = messages(tmp_path, job=JOB.replace('ratio = ["0.5 %", "2 %"]', "ratio = [0.5, 2]"))
    assert found == [
        "ratio_low: wanted a unit after the number (%, fraction), got 0.5 (job.toml, [product]); "
        'write it as "0.5 %"',
        "ratio_high: wanted a unit after the number (%, fraction), got 2 (job.toml, [product]); "
        'write it as "2 %"',
    ]
