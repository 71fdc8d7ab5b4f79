"""The page about the job file is true: its example reads, and it names every key and word."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from stillwet.exchange.assets import ASSET_COLUMNS
from stillwet.exchange.crews import CREW_COLUMNS, DEPOT_COLUMNS, WATER_COLUMNS
from stillwet.exchange.fire import FIRE_QUANTITIES
from stillwet.exchange.job_file import TOP_KEYS, read_job
from stillwet.exchange.line_fields import LINE_COLUMNS
from stillwet.exchange.local import LOCAL_KEYS, WELL_COLUMNS, WELL_KINDS
from stillwet.exchange.products import PRODUCT_KEYS
from stillwet.exchange.roads import ROAD_COLUMNS
from stillwet.exchange.weather_section import WEATHER_KEYS
from stillwet.exchange.weather_table import WEATHER_COLUMNS
from stillwet.tables import load_table
from stillwet.units import to_si

PAGE = Path(__file__).parents[3] / "docs" / "how-to" / "job_file.md"


@pytest.fixture(scope="module")
def page() -> str:
    """The page's text."""
    return PAGE.read_text(encoding="utf-8")


def test_the_example_reads(page: str, tmp_path: Path) -> None:
    """The three blocks of the page make a job without problems."""
    blocks = re.findall(r'```\w+ title="([^"]+)"\n(.*?)```', page, re.DOTALL)
    assert [name for name, _ in blocks] == ["job.toml", "assets.csv", "weather.csv"]
    for name, text in blocks:
        (tmp_path / name).write_text(text, encoding="utf-8")
    job, problems = read_job(tmp_path / "job.toml")
    assert problems == ()
    assert job is not None
    assert [asset.kind for asset in job.assets] == ["house", "barn", "pole"]
    assert job.assets[2].fire.setback_m == 0.0


def test_every_key_is_named(page: str) -> None:
    """Each key that the readers take stands on the page."""
    keys = {
        *ASSET_COLUMNS.names,
        *CREW_COLUMNS.names,
        *WATER_COLUMNS.names,
        *DEPOT_COLUMNS.names,
        *ROAD_COLUMNS.names,
        *LINE_COLUMNS.names,
        *WEATHER_COLUMNS.names,
        *WEATHER_KEYS,
        *PRODUCT_KEYS,
        *LOCAL_KEYS,
        *WELL_COLUMNS.names,
        *WELL_KINDS,
        *FIRE_QUANTITIES,
        *load_table("practice")["practice"],
        *load_table("practice")["uncertainty"],
    }
    prose = re.sub(r"```.*?```", "", page, flags=re.DOTALL)
    words = set(re.findall(r"[a-z0-9_]+", " ".join(re.findall(r"`([^`]+)`", prose))))
    assert keys - words == set()
    assert [key for key in TOP_KEYS if f"[{key}]" not in page] == []


@pytest.mark.parametrize("table", ["kinds", "materials", "exposures", "product_types"])
def test_every_word_is_named(page: str, table: str) -> None:
    """Each kind, material, named fire and product type stands on the page."""
    rows = load_table(table)
    words = rows["kind"] if table == "kinds" else rows
    assert [word for word in words if f"`{word}`" not in page] == []


def test_the_defaults_on_the_page_are_those_of_the_table(page: str) -> None:
    """Every default and interval printed on the page is that of data/practice.toml."""
    rows = re.findall(
        r"^\| `(\w+)` \| ([\d.]+) ?(\w*) \| ([\d.]+) to ([\d.]+) ?\w* \|$", page, re.M
    )
    table = load_table("practice")["practice"]
    assert {name for name, *_ in rows} == set(table)
    for name, value, unit, low, high in rows:
        entry = table[name]
        printed = [float(number) for number in (value, low, high)]
        stored = [entry["value"], entry["low"], entry["high"]]
        if unit:
            dimension = "time" if unit in {"h", "min"} else "length"
            printed = [to_si(number, unit, dimension=dimension) for number in printed]
            stored = [to_si(number, entry["unit"], dimension=dimension) for number in stored]
        assert printed == pytest.approx(stored), name
