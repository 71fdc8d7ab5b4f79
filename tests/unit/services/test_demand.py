"""The drying demand of a job as table, JSON and figure."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from stillwet.errors import StillwetError
from stillwet.services.demand import demand_of_job
from stillwet.services.planning import read_whole_job


def test_one_row_an_hour_of_the_weather(starter_job: Path) -> None:
    """Every hour of the weather file is there, for every facing, and never below zero."""
    found = demand_of_job(starter_job, None)
    job = read_whole_job(starter_job)
    told = json.loads(found.json_text())
    assert len(told["time"]) == job.weather.hours
    assert found.facings.demand_kg_m2_s.shape == (len(found.facings.labels), job.weather.hours)
    assert (found.facings.demand_kg_m2_s >= 0).all()


def test_hot_afternoon_pulls_harder_than_the_night(starter_job: Path) -> None:
    """On every facing the driest, windiest, hottest hour takes more than the coolest, dampest."""
    found = demand_of_job(starter_job, None)
    weather = read_whole_job(starter_job).weather
    hottest = int(weather.air_temperature_k[:24].argmax())
    coolest = int(weather.air_temperature_k[:24].argmin())
    demand = found.facings.demand_kg_m2_s
    assert (demand[:, hottest] > 2 * demand[:, coolest]).all()


@pytest.mark.parametrize(("suffix", "start"), [("svg", b"<svg"), ("PNG", b"\x89PNG")])
def test_figure(starter_job: Path, tmp_path: Path, suffix: str, start: bytes) -> None:
    """The figure is of the kind its name says, alone in its folder."""
    demand_of_job(starter_job, tmp_path / f"drying.{suffix}", units="metric")
    (path,) = tmp_path.iterdir()
    assert start in path.read_bytes()[:200]


def test_figure_of_another_kind_is_refused(starter_job: Path, tmp_path: Path) -> None:
    """A name that ends in neither .svg nor .png is refused, and nothing is written."""
    with pytest.raises(StillwetError, match=r"--out: wanted a file ending in .svg or .png"):
        demand_of_job(starter_job, tmp_path / "drying.gif")
    assert list(tmp_path.iterdir()) == []
