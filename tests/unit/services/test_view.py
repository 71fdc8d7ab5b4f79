"""Whose units count: those asked for, else the job's own, else US; in the library, too."""

from __future__ import annotations

import pytest

import stillwet
from job_fixture import make_job
from stillwet.errors import StillwetError
from stillwet.services.view import View, units_for


def test_what_is_asked_wins_over_the_job_and_the_job_over_nothing() -> None:
    """All six cases."""
    metric, us = make_job(units="metric"), make_job()
    assert [units_for(asked, metric) for asked in (None, "us", "metric")] == [
        "metric",
        "us",
        "metric",
    ]
    assert [units_for(asked, us) for asked in (None, "us", "metric")] == ["us", "us", "metric"]
    assert (units_for(None), units_for("metric")) == ("us", "metric")


def test_a_view_settles_its_units_by_the_job_and_keeps_the_rest() -> None:
    """Paper and address stay as asked."""
    view = View(paper="a4", address="http://10.0.0.2:8642").of(make_job(units="metric"))
    assert view == View("metric", "a4", "http://10.0.0.2:8642")
    assert View("us").of(make_job(units="metric")).units == "us"


def test_a_job_knows_two_systems() -> None:
    """A third is bad input."""
    with pytest.raises(StillwetError, match="units: wanted us or metric, got 'imperial'"):
        make_job(units="imperial")


def test_the_library_shows_a_jobs_demand_in_its_units() -> None:
    """A metric job's table in mm/h; in inches for whoever asks."""
    demand = stillwet.drying_demand(make_job(units="metric", members=8))
    assert "mm/h" in stillwet.to_text(demand)
    assert "in/h" in stillwet.to_text(demand, units="us")
    assert "mm/h" not in stillwet.to_text(demand, units="us")
