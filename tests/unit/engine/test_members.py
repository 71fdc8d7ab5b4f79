"""The members: drawn the same by the same seed, spread as their bases say."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from job_fixture import make_job, make_practice, make_product
from stillwet.domain.basis import Basis, BasisKind
from stillwet.engine.members import (
    CAUSES,
    DRAWS,
    FLUX_LOG_SD,
    columns_of,
    draw_members,
    growing_sd,
    members_from,
)

MANY = make_job(members=4096)


def test_same_seed_same_bits_other_seed_other_members() -> None:
    """Two draws of one job are equal to the bit; another seed gives another draw."""
    first, again = draw_members(make_job()), draw_members(make_job())
    np.testing.assert_array_equal(first.uniform, again.uniform)
    np.testing.assert_array_equal(first.yield_factor, again.yield_factor)
    assert not np.array_equal(first.uniform, draw_members(make_job(seed=2)).uniform)


def test_number_of_members_is_the_jobs_own() -> None:
    """Also when it is no power of 2."""
    assert draw_members(make_job(members=100)).count == 100


def test_causes_take_every_column_once() -> None:
    """The causes' columns are the draw's columns, each one's own."""
    taken = [column for cause in CAUSES for column in range(DRAWS)[columns_of(cause)]]
    assert taken == list(range(DRAWS))


def test_shares_are_triangular_over_the_stated_interval() -> None:
    """Water efficiency 0.7 in 0.5 to 1: inside it, mean (a + b + c)/3, variance after the textbook
    (a^2 + b^2 + c^2 - ab - ac - bc)/18.
    """
    drawn = draw_members(MANY).water_efficiency
    a, b, c = 0.5, 1.0, 0.7
    assert a <= drawn.min() < drawn.max() <= b
    assert drawn.mean() == pytest.approx((a + b + c) / 3, abs=1e-3)
    variance = (a * a + b * b + c * c - a * b - a * c - b * c) / 18
    assert drawn.var() == pytest.approx(variance, rel=0.01)


def test_transfer_efficiency_is_told_as_coat_over_plan() -> None:
    """0.75 planned, 0.5 to 0.95 drawn: coats from two thirds of the plan to 1.27 of it."""
    drawn = draw_members(MANY).coat_factor
    assert 0.5 / 0.75 <= drawn.min() < 0.7
    assert 1.24 < drawn.max() <= 0.95 / 0.75


def test_a_number_without_an_interval_does_not_spread() -> None:
    """Given numbers stay as given, in every member."""
    job = make_job(practice=make_practice(basis={}), product=make_product(basis={}))
    drawn = draw_members(job)
    for values, given in (
        (drawn.drying_exponent, 0.75),
        (drawn.water_efficiency, 0.7),
        (drawn.coat_factor, 1.0),
        (drawn.coat_variation, 0.35),
        (drawn.yield_factor, 1.0),
    ):
        assert (values == given).all()


def test_a_mode_at_the_edge_or_outside_stays_inside_the_interval() -> None:
    """A stated 0.9 with an interval of 0.5 to 0.8 draws inside the interval."""
    basis = {"water_efficiency": Basis(BasisKind.TRIAL, "test", 0.5, 0.8)}
    job = replace(MANY, practice=make_practice(water_efficiency=0.9, basis=basis))
    drawn = draw_members(job).water_efficiency
    assert 0.5 <= drawn.min() < drawn.max() <= 0.8


def test_yield_stress_has_its_interval_as_tenth_and_ninetieth_percent() -> None:
    """4e4 to 6e4 about 5e4: a tenth of the members below 0.8, a tenth above 1.2, half below 1."""
    drawn = draw_members(MANY).yield_factor
    found = np.quantile(drawn, [0.1, 0.5, 0.9])
    assert found == pytest.approx([0.8, 1.0, 1.2], abs=5e-3)


def test_a_weak_product_spreads_as_a_strong_one_does() -> None:
    """0.4 to 1.6 about 0.8, as of clay: a tenth of the members below half, a tenth above twice."""
    basis = {"yield_coefficient": Basis(BasisKind.UNTESTED, "test", 0.4, 1.6)}
    clay = replace(MANY.product, yield_coefficient_pa=0.8, basis=basis)
    drawn = draw_members(replace(MANY, product=clay)).yield_factor
    assert np.quantile(drawn, [0.1, 0.5, 0.9]) == pytest.approx([0.5, 1.0, 2.0], abs=0.02)


def test_flux_scatters_by_its_logarithm() -> None:
    """Median 1, and the stated standard deviation of the logarithm."""
    drawn = np.log(draw_members(MANY).flux_factor)
    assert np.median(drawn) == pytest.approx(0.0, abs=2e-3)
    assert drawn.std() == pytest.approx(FLUX_LOG_SD, rel=0.01)


def test_draws_at_the_very_edge_stay_finite() -> None:
    """A uniform draw of exactly 0 or 1 gives finite numbers."""
    edge = np.vstack([np.zeros(DRAWS), np.ones(DRAWS)])
    members = members_from(make_job(), edge)
    for cause in CAUSES:
        assert np.isfinite(members.normal(cause)).all()
    assert np.isfinite(members.flux_factor).all()


def test_ensemble_members_are_shared_evenly() -> None:
    """128 members over an ensemble of 8 take each 16 times, and over 1 always the first."""
    members = draw_members(make_job(members=128))
    counts = np.bincount(members.forecast_member(8), minlength=8)
    assert counts.tolist() == [16] * 8
    assert not members.forecast_member(1).any()


def test_forecast_error_grows_to_three_days() -> None:
    """1 at the first hour, 3 at 24 h: 2 at 12 h, 7 at 72 h and no more after."""
    lead = np.array([0.0, 12.0, 24.0, 72.0, 200.0])
    assert growing_sd((1.0, 3.0), lead).tolist() == pytest.approx([1.0, 2.0, 3.0, 7.0, 7.0])


def test_normal_deviates_are_standard() -> None:
    """Mean 0, variance 1, for a cause of several columns too."""
    deviates = draw_members(MANY).normal("wind")
    assert deviates.shape[0] == 4096
    assert deviates.mean(axis=0) == pytest.approx(np.zeros(deviates.shape[1]), abs=5e-3)
    assert deviates.std(axis=0) == pytest.approx(np.ones(deviates.shape[1]), abs=0.01)
    assert math.isfinite(float(np.abs(deviates).max()))
