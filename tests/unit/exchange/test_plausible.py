"""What cannot be true together is refused: a missing minus, humidity as a share, far crews."""

from __future__ import annotations

from pathlib import Path

import pytest

from job_folder import ASSETS, JOB, good, messages, weather_lines

MIRRORED = "is a minus missing, or are latitude and longitude swapped?"


def _weather(humidity: str, wind: str) -> str:
    header, *rows = weather_lines()
    cells = [row.split(",") for row in rows]
    return "\n".join([header, *(f"{c[0]},{c[1]},{humidity},{wind},{c[4]}" for c in cells)])


def test_assets_on_the_other_side_of_the_equator_from_their_time_zone(tmp_path: Path) -> None:
    """A latitude without its minus would put the sun on the wrong walls: it is refused."""
    found = messages(tmp_path, assets=ASSETS.replace("39.75", "-39.75"))
    assert found[0].startswith(
        "position: wanted assets in America/Denver, got -39.75, -105.20 (latitude, longitude) "
        "(assets.csv, row 2); " + MIRRORED
    )
    assert 'give time_zone as a shift, such as "UTC+11:00"' in found[0]


def test_assets_on_the_other_side_of_the_earth_from_their_time_zone(tmp_path: Path) -> None:
    """A longitude without its minus stays in its hemisphere, but is 8000 km from its zone."""
    found = messages(tmp_path, assets=ASSETS.replace("-105.", "105."))
    assert "wanted assets in America/Denver, got 39.75, 105.20" in found[0]


@pytest.mark.parametrize(
    "zone", ["UTC-06:00", "America/Los_Angeles", "America/Winnipeg", "UTC+00:00"]
)
def test_a_zone_nearby_or_without_a_place_is_taken(tmp_path: Path, zone: str) -> None:
    """A neighbouring zone may be a crew's home, and a plain shift has no place."""
    assert good(tmp_path, job=JOB.replace("America/Denver", zone)).time_zone == zone


def test_a_crew_and_a_water_point_far_from_the_assets(tmp_path: Path) -> None:
    """Both would have been driven to: 4 degrees of latitude are 444 km (111 km each)."""
    job = JOB.replace("latitude = 39.751", "latitude = 43.751")
    job = job.replace('id = "e1"', 'id = "e1"\nlatitude = 39.75\nlongitude = -109.2')
    crew, water = messages(tmp_path, job=job)
    assert crew.startswith("position: wanted a place within 150 km of the assets, got 34")
    assert crew.endswith("(crew e1); " + MIRRORED)
    assert "got 44" in water
    assert "(water point w1)" in water


def test_weather_of_another_climate_is_refused_and_of_the_next_town_told(tmp_path: Path) -> None:
    """One degree of latitude away is told, the other hemisphere refused."""
    near = good(tmp_path, job=JOB.replace("latitude = 39.75\n", "latitude = 40.75\n", 1))
    assert any("the weather is that of a place 111 km away" in told for told in near.remarks)
    (far,) = messages(tmp_path, job=JOB.replace("latitude = 39.75\n", "latitude = -39.75\n", 1))
    assert far.startswith(
        "latitude: wanted weather of a place on the assets' side of the earth, got 8"
    )


def test_humidity_as_a_share_in_a_column_of_percent(tmp_path: Path) -> None:
    """0.3 in a column of percent is 30 %, not 0.3 %: no air is that dry all day."""
    (found,) = messages(tmp_path, weather=_weather("0.3", "8"))
    assert found == (
        "relative_humidity: wanted an hour with at least 2 % relative humidity, got 0.3 % at most "
        '(weather.csv (hourly table)); if the column holds shares of 1, give unit = "fraction"'
    )


def test_a_wind_of_hurricane_force_is_told(tmp_path: Path) -> None:
    """100 mph for a whole hour may be true, but is likelier km/h or knots under a wrong header."""
    job = good(tmp_path, weather=_weather("30", "100"))
    assert any("the wind reaches 45 m/s (161 km/h) for a whole hour" in one for one in job.remarks)


def test_a_table_that_places_nothing_is_one_problem(tmp_path: Path) -> None:
    """Headers that are not ours are told once, with how to map them, not row by row."""
    text = ASSETS.replace("latitude", "Lat").replace("longitude", "Lon")
    (found,) = [one for one in messages(tmp_path, assets=text) if one.startswith("position")]
    assert "got 'columns id, name, kind, Lat, Lon" in found
    assert 'columns = { latitude = "your column", longitude = "your column" }' in found


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"750 gal"', "3000", 'write it as "3000 gal" or "3000 L"'),
        ('"30 gal/min"', '"40"', 'write it as "40 gal/min" or "40 L/min"'),
        ('"America/Denver"', '"Tasmania"', 'did you mean "Australia/Tasmania"?'),
        ('"2026-08-14T08:00-06:00"', '"14/8/2026 08:00"', "year first, then month, then day"),
    ],
)
def test_the_next_step_is_one_that_helps(tmp_path: Path, old: str, new: str, told: str) -> None:
    """Each usual slip of the pen is told with what to write instead."""
    assert told in "\n".join(messages(tmp_path, job=JOB.replace(old, new, 1)))


def test_german_and_french_degrees_of_hardness(tmp_path: Path) -> None:
    """A German degree is 10 mg/L CaO (17.8 as CaCO3), a French one 10 mg/L (from memory)."""
    for text, wanted in (("10 dH", 0.178), ("10 fH", 0.1)):
        job = good(tmp_path, job=JOB + f'hardness = "{text}"\n')
        assert job.water_points[0].hardness_kg_m3 == pytest.approx(wanted, rel=5e-3)
