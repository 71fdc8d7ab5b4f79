"""What ``import stillwet`` offers: few names, quickly, and the same answers as the commands."""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

import stillwet
from stillwet import library
from stillwet.cli.group import run
from stillwet.domain.job import Job
from stillwet.domain.plan import Plan
from stillwet.errors import StillwetError

NOW = "2030-08-14T06:00-06:00"


@cache
def _job() -> Job:
    return stillwet.demo_job()


@cache
def _plan() -> Plan:
    return stillwet.make_plan(_job(), now=NOW)


def test_about_a_dozen_names_each_there_and_described() -> None:
    """Every public name is in the library (or is the error), with words of its own."""
    assert 10 <= len(stillwet.__all__) <= 15
    assert set(stillwet.__all__) <= set(dir(stillwet))
    for name in stillwet.__all__:
        assert getattr(stillwet, name).__doc__
        assert getattr(stillwet, name) is getattr(library, name)
    with pytest.raises(AttributeError, match="has no attribute 'make_plans'"):
        getattr(stillwet, "make_plans")  # noqa: B009 (a name that mypy would refuse)


def test_import_loads_nothing_heavy() -> None:
    """``import stillwet`` loads no library of numbers, and no room of the house but two."""
    code = "import sys, stillwet; dir(stillwet); print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert loaded.isdisjoint({"numpy", "pandas", "numba", "click", "xarray", "stillwet.library"})


def test_text_is_what_the_command_prints(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """The plan and the demand of the demo as text are those of the command line."""
    assert run(["demo", "--out", str(tmp_path / "demo"), "--quiet"]) == 0
    assert capsys.readouterr().out.rstrip("\n") == stillwet.to_text(_plan())
    assert run(["demand", str(tmp_path / "demo" / "job" / "job.toml"), "--units", "metric"]) == 0
    shown = stillwet.to_text(stillwet.drying_demand(_job()), units="metric")
    assert capsys.readouterr().out.rstrip("\n") == shown


def test_frame_of_a_plan_has_a_row_a_face() -> None:
    """Rows are the faces in the plan's order; moments know the job's zone and are the plan's."""
    frame = stillwet.to_frame(_plan())
    faces = [face for asset in _plan().assets for face in asset.surfaces]
    assert list(frame["coat_mm"]) == [face.coat_kg_m2 for face in faces]
    assert str(cast(Any, frame["lay_time"].dtype).tz) == _plan().time_zone
    until = [face.hold_until_90_s for face in faces]
    for stamp, wanted in zip(frame["hold_until_90"], until, strict=True):
        assert pd.isna(stamp) if wanted is None else abs(stamp.timestamp() - wanted) <= 1.0
    assert not np.isinf(frame.select_dtypes("number").to_numpy()).any()


def test_demand_as_frame_and_dataset_agree() -> None:
    """The same rates in mm/h, by local time and by UTC; a dry afternoon pulls more than a night."""
    demand = stillwet.drying_demand(_job())
    frame, dataset = stillwet.to_frame(demand), stillwet.to_dataset(demand)
    assert np.array_equal(frame.to_numpy().T, dataset["drying_demand"].to_numpy())
    local = pd.DatetimeIndex(frame.index)
    assert list(local.tz_convert(None)) == list(pd.DatetimeIndex(dataset["time"].to_numpy()))
    assert dataset["drying_demand"].attrs["units"] == "kg m-2 h-1"
    day = frame.loc["2030-08-14"]
    assert (day.loc["2030-08-14 14:00":"2030-08-14 15:00"].min() > day.iloc[3]).all()


@pytest.mark.parametrize("kind", ["frame", "dataset"])
def test_weather_goes_out_and_in_unchanged(kind: str) -> None:
    """A job under its own weather, taken out and put back, has the same hours and the same plan."""
    job = _job()
    out = stillwet.to_frame(job.weather) if kind == "frame" else stillwet.to_dataset(job.weather)
    again = stillwet.with_weather(job, out)
    for name in ("time_s", "air_temperature_k", "wind_speed_m_s", "cloud_cover", "pressure_pa"):
        assert np.allclose(getattr(again.weather, name), getattr(job.weather, name), rtol=1e-12)
    assert again.input_hash != job.input_hash
    verdicts = [asset.verdict for asset in stillwet.make_plan(again, now=NOW).assets]
    assert verdicts == [asset.verdict for asset in _plan().assets]


def test_units_are_those_of_the_columns_names() -> None:
    """Fahrenheit, mph and percent in a frame are the kelvin, m/s and fraction of the record."""
    own = stillwet.to_frame(_job().weather)
    frame = pd.DataFrame(
        {
            "air_temperature (F)": (own["air_temperature_k"] - 273.15) * 1.8 + 32.0,
            "wind_speed_mph": own["wind_speed_m_s"] / 0.44704,
            "relative_humidity (%)": own["relative_humidity_fraction"] * 100.0,
            "wind_direction": own["wind_direction"],
            "cloud_cover (%)": own["cloud_cover_fraction"] * 100.0,
        }
    )
    again = stillwet.with_weather(_job(), frame).weather
    for name in ("air_temperature_k", "wind_speed_m_s", "relative_humidity"):
        assert np.allclose(getattr(again, name), getattr(_job().weather, name), rtol=1e-9)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda frame: frame.tz_localize(None), "time: wanted a time index with a zone, got"),
        (lambda frame: frame.iloc[:5], "time: wanted weather from 2030-08-14 09:00"),
        (lambda frame: frame.assign(air_temperature_k=500.0), "got 500.0 k (the frame, row 2)"),
        (lambda frame: frame.drop(columns="wind_speed_m_s"), "wind_speed"),
        (lambda frame: frame.drop(frame.index[7]), "one row an hour"),
    ],
)
def test_bad_weather_is_told(change: Any, told: str) -> None:
    """No zone, too short, out of bounds, a column or an hour missing: each told by name."""
    with pytest.raises(StillwetError) as caught:
        stillwet.with_weather(_job(), change(stillwet.to_frame(_job().weather)))
    assert told in str(caught.value)


def test_html_has_table_map_and_cautions() -> None:
    """A plan shows every asset, its picture, and the cautions that go with any plan."""
    html = stillwet.to_html(_plan(), units="metric")
    assert html.count("<tr>") == 1 + len(_plan().assets)
    assert "<svg" in html
    assert "Escape route and safety zone first" in html
    assert html.index("No coat that clings") < html.index("<table>")


def test_html_of_users_words_is_escaped() -> None:
    """An asset's name cannot write into the page."""
    from dataclasses import replace

    asset = replace(_plan().assets[0], name="<script>alert(1)</script>")
    html = stillwet.to_html(replace(_plan(), assets=(asset, *_plan().assets[1:])))
    assert "<script" not in html


@pytest.mark.parametrize("name", ["drying_demand", "make_lines", "mix_window", "suits", "explain"])
def test_every_answer_shows_itself(name: str) -> None:
    """Each answer has text of at most 100 columns, and HTML that holds it."""
    arguments = ("h1",) if name == "explain" else ()
    record = getattr(stillwet, name)(_job(), *arguments)
    text = stillwet.to_text(record)
    assert max(len(line) for line in text.splitlines()) <= 100
    assert "<pre>" in stillwet.to_html(record)


def test_what_is_no_answer_is_told() -> None:
    """Other records are refused by name."""
    with pytest.raises(StillwetError, match="to_frame: wanted a Plan, a Demand or a Weather, got"):
        stillwet.to_frame(cast(Any, _job()))
    with pytest.raises(StillwetError, match="to_text: wanted an answer of this library, got Job"):
        stillwet.to_text(cast(Any, _job()))
