"""The fast pair, hourly balance and falling-rate coat, beside the film that stores heat.

Weather: the real year that ships with pvlib (Greensboro NC, see `greensboro`). Four walls of 2.5 m,
1.5 m above ground. The figures of docs/explanation/drying_check.md come from here: run
``python tests/unit/physics/fast_against_transient.py`` to print them.
"""

from __future__ import annotations

import numpy as np
import pytest

from .fast_against_transient import Comparison, coats_through, compare_demand, six_hour_gaps
from .greensboro import read_month

JULY = 7
LIMIT = 0.15


@pytest.fixture(scope="module")
def july() -> Comparison:
    """Every hour of July, the film kept wet."""
    return compare_demand(read_month(JULY))


def test_daylight_of_july_sums_to_the_same_on_all_four_walls(july: Comparison) -> None:
    """Over all daylight hours of the month each wall's demand is the film's within 1.5 %."""
    fast, film = (x[:, july.is_day].sum(axis=1) for x in (july.fast_mm_h, july.film_mm_h))
    np.testing.assert_allclose(fast, film, rtol=0.015)


def test_daylight_hours_of_july_scatter_less_than_the_limit(july: Comparison) -> None:
    """Hour by hour the difference's root mean square is under 15 % of the mean, on each wall."""
    gap = (july.fast_mm_h - july.film_mm_h)[:, july.is_day]
    mean = july.film_mm_h[:, july.is_day].mean(axis=1)
    assert (np.sqrt((gap**2).mean(axis=1)) < LIMIT * mean).all()


def test_any_six_daylight_hours_of_july_agree_within_the_limit(july: Comparison) -> None:
    """Every run of six daylight hours, every wall: the sums differ by less than 15 %."""
    gaps = six_hour_gaps(july)
    assert gaps.size > 1000
    assert gaps.max() < LIMIT


@pytest.mark.parametrize("exponent", [0.5, 0.75, 1.0])
def test_coats_laid_in_july_keep_the_water_the_film_keeps(exponent: float) -> None:
    """2 mm coats laid through July's daylight, followed 10 h: within 5 % of the coat."""
    fast, film = coats_through(read_month(JULY), exponent=exponent, every=40)
    assert np.abs(fast - film).max() < 0.05


@pytest.mark.slow
@pytest.mark.parametrize("month", [1, 4, 10])
def test_other_months_scatter_less_than_the_limit_too(month: int) -> None:
    """January, April and October: sums within 3 %, hourly scatter under 15 % of the mean."""
    found = compare_demand(read_month(month))
    fast, film = found.fast_mm_h[:, found.is_day], found.film_mm_h[:, found.is_day]
    np.testing.assert_allclose(fast.sum(axis=1), film.sum(axis=1), rtol=0.03)
    assert (np.sqrt(((fast - film) ** 2).mean(axis=1)) < LIMIT * film.mean(axis=1)).all()


@pytest.mark.slow
@pytest.mark.parametrize("exponent", [0.5, 0.75, 1.0])
def test_coat_laid_at_every_daylight_hour_of_july(exponent: float) -> None:
    """A coat laid at each daylight hour of the month: within 5 % of the coat at any hour."""
    fast, film = coats_through(read_month(JULY), exponent=exponent, every=1)
    assert np.abs(fast - film).max() < 0.05


def test_a_coat_that_dries_under_a_skin_is_gone_sooner_than_the_fast_pair_says() -> None:
    """With a skin the face warms as it dries: the fast pair with the same n keeps up to 20 % of the
    coat too much, the known limit of the model, and on average more than 3 %.
    """
    fast, film = coats_through(read_month(JULY), exponent=0.75, every=40, skin=True)
    assert (fast - film).mean() > 0.03
    assert (fast - film).max() < 0.20
