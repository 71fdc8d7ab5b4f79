"""Hourly tables, typical years and gridpoint forecasts become the same hourly record."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from job_folder import JOB, faults, good, messages, packaged, weather_lines
from stillwet.domain.basis import BasisKind
from stillwet.domain.weather import Weather
from stillwet.exchange.clock import Clock, read_time, read_zone
from stillwet.exchange.weather_series import standard_pressure_ashrae

WEATHER = JOB[JOB.index("[weather]") : JOB.index("[fire]")]


def _job(weather: str, day: str = "2026-08-14") -> str:
    return JOB.replace(WEATHER, weather + "\n").replace("2026-08-14", day)


def _at(weather: Weather, *moment: int) -> int:
    """The index of a moment in UTC."""
    (index,) = np.flatnonzero(weather.time_s == datetime(*moment, tzinfo=UTC).timestamp())  # type: ignore[arg-type,misc]
    return int(index)


# --- hourly tables ---


def test_units_of_an_hourly_table(tmp_path: Path) -> None:
    """70 F is 294.26 K, 8.5 mph is 3.80 m/s (NIST SP 811), midnight of UTC-6 is 06:00 UTC."""
    weather = good(tmp_path).weather
    assert weather.air_temperature_k[0] == pytest.approx(294.261, abs=1e-3)
    assert weather.relative_humidity[0] == pytest.approx(0.30)
    assert weather.wind_speed_m_s[0] == pytest.approx(3.7998, abs=1e-4)
    assert weather.wind_height_m == pytest.approx(6.096)
    assert weather.time_s[0] == datetime(2026, 8, 14, 6, tzinfo=UTC).timestamp()
    assert np.isnan(weather.ghi_w_m2).all()
    assert weather.pressure_pa[0] == standard_pressure_ashrae(elevation_m=5700 * 0.3048)
    assert weather.basis["pressure"].kind is BasisKind.PUBLISHED


def test_pressure_agrees_with_the_one_the_physics_uses(tmp_path: Path) -> None:
    """The reader's pressure and the drying model's are one published formula."""
    from stillwet.physics.air import pressure_at_elevation

    for elevation_m in (0.0, 1737.36, 4000.0):
        assert standard_pressure_ashrae(elevation_m=elevation_m) == pytest.approx(
            float(pressure_at_elevation(elevation_m=elevation_m)), rel=1e-9
        )


def test_neither_cloud_nor_sun(tmp_path: Path) -> None:
    """One of the two is needed for the sun."""
    lines = [line.rpartition(",")[0] for line in weather_lines()]
    assert messages(tmp_path, weather="\n".join(lines)) == [
        "cloud_cover: wanted cloud_cover, or all of ghi, dni and dhi, got neither (weather.csv)"
    ]


def test_irradiance_says_which_hour_it_is_the_mean_of(tmp_path: Path) -> None:
    """Means of the hour after the stamp stand half an hour later; unsaid, half an hour before."""
    head = weather_lines()[0] + ",ghi [W/m2],dni [W/m2],dhi [W/m2]"
    text = "\n".join([head, *(line + ",500,400,200" for line in weather_lines()[1:])])
    said = JOB.replace('"20 ft"', '"20 ft"\nirradiance_over = "hour after"')
    assert good(tmp_path, job=said, weather=text).weather.sun_shift_s == 1800.0
    unsaid = good(tmp_path, weather=text).weather
    assert unsaid.sun_shift_s == -1800.0
    assert unsaid.basis["sun_shift"].kind is BasisKind.UNTESTED
    assert unsaid.dni_w_m2[0] == 400.0


def test_a_wind_height_must_be_said(tmp_path: Path) -> None:
    """10 m and 20 ft differ: nothing is guessed."""
    assert messages(tmp_path, job=JOB.replace('wind_height = "20 ft"\n', "")) == [
        "wind_height: wanted a value, since the file has none, got nothing "
        '(job.toml, [weather]); "20 ft" or "10 m"'
    ]


def _autumn(hours: list[str]) -> str:
    return "\n".join([weather_lines()[0], *(f"{hour},50,30,8.5,10" for hour in hours)])


def _autumn_job(zone: str) -> str:
    job = JOB.replace('time_zone = "UTC-06:00"', f'time_zone = "{zone}"')
    return job.replace("2026-08-14", "2026-11-01").replace("T16:30", "T15:30")


AUTUMN = [f"2026-11-01 {hour:02d}:00" for hour in (0, 1, 1, *range(2, 24))]


def test_the_hour_that_the_end_of_summer_time_repeats(tmp_path: Path) -> None:
    """01:00 comes twice on 1 November 2026 in Denver: 07:00 and 08:00 UTC, no gap, no double."""
    weather = good(tmp_path, job=_autumn_job("America/Denver"), weather=_autumn(AUTUMN)).weather
    assert np.diff(weather.time_s) == pytest.approx(3600.0)
    assert weather.time_s[1] == datetime(2026, 11, 1, 7, tzinfo=UTC).timestamp()


def test_a_repeated_hour_in_standard_time_is_a_double(tmp_path: Path) -> None:
    """The same file said to keep one shift all year has 01:00 twice: refused."""
    (message,) = messages(tmp_path, job=_autumn_job("UTC-07:00"), weather=_autumn(AUTUMN))
    assert "got 2026-11-01 01:00 MST twice" in message
    assert "rows 3 and 4" in message


def test_the_hour_that_summer_time_skips(tmp_path: Path) -> None:
    """02:30 on 8 March 2026 never was in Denver."""
    from stillwet.errors import StillwetError

    clock = read_zone("America/Denver", field="z", place="p")
    with pytest.raises(StillwetError, match="which the change to summer time skips"):
        read_time("2026-03-08 02:30", clock, field="time", place="w.csv, row 4")
    with pytest.raises(StillwetError, match="repeated by the change from summer time"):
        read_time("2026-11-01 01:30", clock, field="start", place="job.toml")
    assert read_time("2026-11-01 01:30-06:00", clock, field="t", place="p") == 1793518200.0


@pytest.mark.parametrize(
    ("text", "name"), [("UTC-7", "UTC-07:00"), ("utc+5:30", "UTC+05:30"), ("UTC", "UTC+00:00")]
)
def test_fixed_shifts_have_one_name(text: str, name: str) -> None:
    """However a fixed shift is written, the plan sees it in one form."""
    assert read_zone(text, field="z", place="p").name == name


@pytest.mark.parametrize("text", ["America", "../etc", "UTC+19", "America/Dever", 7, None])
def test_no_time_zone(text: object) -> None:
    """A folder of zones, a path, a shift that nowhere has or a slip of the pen is no zone."""
    from stillwet.errors import StillwetError

    with pytest.raises(StillwetError, match="z: wanted an IANA time zone"):
        read_zone(text, field="z", place="p")


@pytest.mark.parametrize(
    ("text", "utc"),
    [
        ("2026-08-14T15:00-06:00", datetime(2026, 8, 14, 21, tzinfo=UTC)),
        ("2026-08-14 15:00 -0600", datetime(2026, 8, 14, 21, tzinfo=UTC)),
        ("2026-08-14T21:00:00Z", datetime(2026, 8, 14, 21, tzinfo=UTC)),
        ("2026-08-14 9:00+05:30", datetime(2026, 8, 14, 3, 30, tzinfo=UTC)),
    ],
)
def test_ways_to_write_a_time(text: str, utc: datetime) -> None:
    """ISO 8601 with its zone, in the ways people write it."""
    assert read_time(text, Clock(None), field="t", place="p") == utc.timestamp()


@pytest.mark.parametrize("text", ["8/14/2026 15:00", "2026-08-14", "noon", "", 20260814, None])
def test_other_ways_to_write_a_time_are_refused(text: object) -> None:
    """A day and month that could be swapped, a date alone or a word is no time."""
    from stillwet.errors import StillwetError

    with pytest.raises(StillwetError, match='t: wanted a date and time such as "2026-08-14T15:00'):
        read_time(text, Clock(None), field="t", place="p")


# --- typical years ---


@pytest.fixture(scope="module")
def tmy3() -> bytes:
    """Sand Point, Alaska: a real TMY3 year (public domain, shipped with pvlib)."""
    return packaged("pvlib", "data", "703165TY.csv")


TMY3_JOB = _job('[weather]\nfile = "w.csv"\nformat = "tmy3"\n')


def test_tmy3_rows_stand_at_their_hours(tmp_path: Path, tmy3: bytes) -> None:
    """Row 08/14 14:00 of the file, read here by column name, is 23:00 UTC (zone -9)."""
    weather = good(tmp_path, job=TMY3_JOB, w_csv=tmy3).weather
    rows = csv.DictReader(tmy3.decode().splitlines()[1:])
    row = next(
        r
        for r in rows
        if r["Date (MM/DD/YYYY)"].startswith("08/14") and r["Time (HH:MM)"] == "14:00"
    )
    index = _at(weather, 2026, 8, 14, 23)
    assert weather.air_temperature_k[index] == pytest.approx(float(row["Dry-bulb (C)"]) + 273.15)
    assert weather.relative_humidity[index] == pytest.approx(float(row["RHum (%)"]) / 100)
    assert weather.wind_speed_m_s[index] == float(row["Wspd (m/s)"])
    assert weather.pressure_pa[index] == pytest.approx(float(row["Pressure (mbar)"]) * 100)
    assert weather.ghi_w_m2[index] == float(row["GHI (W/m^2)"])
    assert (weather.latitude_deg, weather.elevation_m) == (55.317, 7.0)
    assert weather.sun_shift_s == -1800.0
    assert weather.time_zone == "UTC-09:00"


def test_a_typical_year_is_cut_to_the_job_and_said(tmp_path: Path, tmy3: bytes) -> None:
    """A year is cut to the hours around the job, and the reader is told it is no forecast."""
    job = good(tmp_path, job=TMY3_JOB, w_csv=tmy3)
    assert job.weather.hours < 24 * 4
    assert any("It is for practice, not a forecast" in remark for remark in job.remarks)
    assert job.weather.basis["wind_height"].kind is BasisKind.UNTESTED


def test_a_typical_year_goes_on_over_new_year(tmp_path: Path, tmy3: bytes) -> None:
    """A job on the last night of the year runs into the first hours of the file again."""
    text = _job('[weather]\nfile = "w.csv"\nformat = "tmy3"\n', "2026-12-31")
    text = text.replace("2026-12-31T16:30-06:00", "2027-01-01T06:00-06:00")
    weather = good(tmp_path, job=text, w_csv=tmy3).weather
    assert np.diff(weather.time_s) == pytest.approx(3600.0)
    assert weather.air_temperature_k[_at(weather, 2027, 1, 1, 10)] == pytest.approx(4.0 + 273.15)


def test_a_typical_year_has_no_leap_day(tmp_path: Path, tmy3: bytes) -> None:
    """29 February 2028 is a gap: refused rather than made up."""
    text = _job('[weather]\nfile = "w.csv"\nformat = "tmy3"\n', "2028-02-29")
    (message,) = messages(tmp_path, job=text, w_csv=tmy3)
    assert "got a gap of 25 h" in message


def test_a_cut_tmy3_file_is_refused(tmp_path: Path, tmy3: bytes) -> None:
    """Half a file and a file of another kind are told apart."""
    half = b"\n".join(tmy3.splitlines()[:4000])
    (problem,) = faults(tmp_path, job=TMY3_JOB, w_csv=half)
    assert (problem.wanted, problem.got) == ("a typical year of 8760 hours", "3998 hours")
    (message,) = messages(tmp_path, job=TMY3_JOB, w_csv="a,b\n1,2\n")
    assert message == "[weather] file: wanted a TMY3 file, got something else (w.csv)"


def test_a_shuffled_typical_year_is_refused(tmp_path: Path, tmy3: bytes) -> None:
    """Two rows that changed places are found by the hour they stand in."""
    lines = tmy3.splitlines()
    lines[1000], lines[1001] = lines[1001], lines[1000]
    (problem,) = faults(tmp_path, job=TMY3_JOB, w_csv=b"\n".join(lines))
    assert problem.wanted == "every hour of a year in its order"
    assert problem.got == "02-11 16:00 in hour 999 of the file"


def epw(cell: Callable[[int], dict[int, str]]) -> str:
    """An EPW file as the format's documentation lays it out: 8 header lines, 8760 rows of 35."""
    head = ["LOCATION,Alder Bend,CO,USA,invented,000000,39.75,-105.20,-7.0,1737.0"]
    head += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
    head += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,invented", "COMMENTS 2,"]
    head += ["DATA PERIODS,1,1,Data,Sunday,1/1,12/31"]
    first = datetime(2001, 1, 1)
    rows = []
    for hour in range(8760):
        day = first + timedelta(hours=hour)
        values = [str(day.year), str(day.month), str(day.day), str(day.hour + 1), "60", "E0"]
        values += ["20.0", "5.0", "30", "82500", "0", "0", "300", "500", "600", "100"]
        values += ["0", "0", "0", "0", "225", "4.0", "2", "1", "20.0", "77777", "9", "999999999"]
        values += ["10", "0.1", "0", "88", "0.2", "0.0", "1.0"]
        for index, text in cell(hour).items():
            values[index] = text
        rows.append(",".join(values))
    return "\n".join([*head, *rows]) + "\n"


AUGUST_14 = (datetime(2001, 8, 14) - datetime(2001, 1, 1)).days * 24


def test_epw_hour_15_ends_at_15_local_standard_time(tmp_path: Path) -> None:
    """Hour 15 of 14 August is 15:00 at UTC-7, 22:00 UTC; its irradiance is of the hour before."""
    text = epw(lambda hour: {6: "36.5", 8: "9"} if hour == AUGUST_14 + 14 else {})
    job = _job('[weather]\nfile = "w.epw"\nwind_height = "10 m"\n')
    weather = good(tmp_path, job=job, w_epw=text).weather
    index = _at(weather, 2026, 8, 14, 22)
    assert weather.air_temperature_k[index] == pytest.approx(309.65)
    assert weather.relative_humidity[index] == pytest.approx(0.09)
    assert weather.air_temperature_k[index - 1] == pytest.approx(293.15)
    assert weather.sun_shift_s == -1800.0
    assert weather.cloud_cover[index] == pytest.approx(0.2)
    assert (weather.latitude_deg, weather.elevation_m) == (39.75, 1737.0)
    assert weather.basis["wind_height"].kind is BasisKind.GIVEN


def test_epw_missing_temperature_in_the_job_is_refused(tmp_path: Path) -> None:
    """99.9 is the format's word for missing: never 99.9 degrees."""
    text = epw(lambda hour: {6: "99.9"} if hour == AUGUST_14 + 14 else {})
    (message,) = messages(tmp_path, job=_job('[weather]\nfile = "w.epw"\n'), w_epw=text)
    assert message == (
        "air_temperature: wanted 213.15 to 333.15 K, got a missing value at 2026-08-14 22:00 UTC "
        "(w.epw)"
    )


def test_epw_missing_rain_is_not_no_rain(tmp_path: Path) -> None:
    """A rain column with holes is left out, and that is said."""
    text = epw(lambda hour: {33: "999"} if hour % 7 == 0 else {})
    job = good(tmp_path, job=_job('[weather]\nfile = "w.epw"\n'), w_epw=text)
    assert any("precipitation is missing in 1252 hours" in remark for remark in job.remarks)


# --- gridpoint forecast ---


def gridpoint(**layers: Any) -> str:
    """A gridpoint forecast as the public weather service writes it, with some layers replaced."""

    def layer(unit: str, *values: tuple[str, Any]) -> dict[str, Any]:
        rows = [{"validTime": time, "value": value} for time, value in values]
        return {"uom": f"wmoUnit:{unit}", "values": rows}

    start = "2026-08-14T06:00:00+00:00"
    properties: dict[str, Any] = {
        "updateTime": "2026-08-14T05:12:00+00:00",
        "elevation": {"unitCode": "wmoUnit:m", "value": 1737.0},
        "temperature": layer(
            "degC", (f"{start}/PT3H", 25.0), ("2026-08-14T09:00:00+00:00/P1D", 30.0)
        ),
        "relativeHumidity": layer("percent", (f"{start}/P2D", 30)),
        "windSpeed": layer("km_h-1", (f"{start}/P2DT6H", 18.0)),
        "windDirection": layer("degree_(angle)", (f"{start}/PT6H", 230)),
        "skyCover": layer("percent", (f"{start}/P2D", 40)),
        "quantitativePrecipitation": layer("mm", (f"{start}/PT6H", 3.0)),
    }
    properties.update(
        {
            name: layer(*value) if isinstance(value, tuple) else value
            for name, value in layers.items()
        }
    )
    corner = [
        [-105.22, 39.74],
        [-105.18, 39.74],
        [-105.18, 39.76],
        [-105.22, 39.76],
        [-105.22, 39.74],
    ]
    geometry = {"type": "Polygon", "coordinates": [corner]}
    return json.dumps({"type": "Feature", "geometry": geometry, "properties": properties})


GRID_JOB = _job('[weather]\nfile = "g.json"\n')


def test_gridpoint_values_hold_over_their_stretch(tmp_path: Path) -> None:
    """A value valid for 3 h stands in 3 hours; 3 mm over 6 h are 0.5 mm in each hour."""
    weather = good(tmp_path, job=GRID_JOB, g_json=gridpoint()).weather
    assert weather.hours == 27  # 06:00 of the first day to 08:00 of the next: all layers' overlap
    assert weather.air_temperature_k[:4] == pytest.approx([298.15, 298.15, 298.15, 303.15])
    assert weather.precipitation_kg_m2[:7] == pytest.approx([0.5] * 6 + [0.0])
    assert weather.precipitation_kg_m2.sum() == pytest.approx(3.0)
    assert weather.wind_speed_m_s[0] == pytest.approx(5.0)
    assert weather.wind_direction_deg[0] == 230.0
    assert np.isnan(weather.wind_direction_deg[6])
    assert weather.cloud_cover[0] == pytest.approx(0.4)
    assert weather.wind_height_m == 10.0
    assert (weather.longitude_deg, weather.latitude_deg) == pytest.approx((-105.2, 39.75))
    assert weather.issued_s == datetime(2026, 8, 14, 5, 12, tzinfo=UTC).timestamp()


def test_gridpoint_faults_come_together(tmp_path: Path) -> None:
    """A unit of another kind, a null, a missing layer and a bad interval, all in one list."""
    start = "2026-08-14T06:00:00+00:00"
    text = gridpoint(
        temperature=("km_h-1", (f"{start}/P2D", 30.0)),
        relativeHumidity=(
            "percent",
            (f"{start}/P1D", None),
            ("2026-08-15T06:00:00+00:00/P1D", 140),
        ),
        windSpeed={},
        skyCover=("percent", (f"{start}/P", 40)),
    )
    found = messages(tmp_path, job=GRID_JOB, g_json=text)
    assert found == [
        'temperature uom: wanted a unit of temperature such as "wmoUnit:degC", got '
        "'wmoUnit:km_h-1' (g.json)",
        "relative_humidity: wanted a number, got null (g.json, relativeHumidity value 1)",
        "relative_humidity: wanted 0 to 100 percent, got 140 percent "
        "(g.json, relativeHumidity value 2); is it in another unit?",
        "windSpeed: wanted values by hour, got none (g.json)",
        'validTime: wanted an interval such as "2026-08-14T06:00:00+00:00/PT3H", whole hours, got '
        "'2026-08-14T06:00:00+00:00/P' (g.json, skyCover value 1)",
    ]


def test_a_gap_between_gridpoint_values(tmp_path: Path) -> None:
    """Two stretches that do not meet leave hours without a value: refused."""
    text = gridpoint(
        temperature=(
            "degC",
            ("2026-08-14T06:00:00+00:00/PT3H", 25.0),
            ("2026-08-14T12:00:00+00:00/P1D", 30.0),
        )
    )
    (message,) = messages(tmp_path, job=GRID_JOB, g_json=text)
    assert message == (
        "air_temperature: wanted 213.15 to 333.15 K, got a missing value at 2026-08-14 09:00 UTC "
        "and 2 more (g.json)"
    )


def test_an_unknown_weather_format(tmp_path: Path) -> None:
    """A file whose ending says nothing needs its format said."""
    (message,) = messages(tmp_path, job=_job('[weather]\nfile = "w.dat"\n'), w_dat="x")
    assert message.startswith(
        "format: wanted format = one of hourly table, tmy3, epw, gridpoint json, netcdf, got "
        "nothing, for 'w.dat' (job.toml, [weather])"
    )


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ({"geometry": {"type": "Polygon", "coordinates": []}}, "geometry: wanted coordinates"),
        (
            {"geometry": {"type": "LineString", "coordinates": [[1, 2]]}},
            "geometry: wanted the grid cell's polygon",
        ),
        ({"geometry": {"type": "Point", "coordinates": [500, 39]}}, "geometry: wanted longitude"),
    ],
)
def test_a_gridpoint_of_no_place(tmp_path: Path, changes: dict[str, Any], wanted: str) -> None:
    """A cell without corners, or off the earth, has no middle."""
    text = json.dumps(json.loads(gridpoint()) | changes)
    assert messages(tmp_path, job=GRID_JOB, g_json=text)[0].startswith(wanted)


@pytest.mark.parametrize(
    "times",
    [
        ["2026-08-14T06:00:00+00:00/P" + "9" * 5000 + "W"],
        ["9999-08-14T06:00:00+00:00/PT1H"],
    ],
)
def test_a_gridpoint_time_beyond_reason(tmp_path: Path, times: list[str]) -> None:
    """Stretches of thousands of figures and years that no forecast has are refused at once."""
    data = json.loads(gridpoint())
    for layer in ("temperature", "relativeHumidity", "windSpeed", "skyCover"):
        values = data["properties"][layer]["values"]
        values += [{**values[0], "validTime": time} for time in times]
    found = messages(tmp_path, job=GRID_JOB, g_json=json.dumps(data))
    assert found[0].startswith("validTime: wanted an interval such as")


def test_gridpoint_layers_of_other_years(tmp_path: Path) -> None:
    """Two hours a century apart are no forecast of the hours between; it took minutes to say so."""
    data = json.loads(gridpoint())
    for layer in ("temperature", "relativeHumidity", "windSpeed", "skyCover"):
        values = data["properties"][layer]["values"]
        values.append({**values[0], "validTime": "2126-08-14T06:00:00+00:00/PT1H"})
    (message,) = messages(tmp_path, job=GRID_JOB, g_json=json.dumps(data))
    assert message.startswith("validTime: wanted at most 720 hours, got 87")
