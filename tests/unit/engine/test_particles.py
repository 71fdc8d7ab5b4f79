"""The particle filter: posteriors known in closed form, and systematic drawing."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from stillwet.engine.particles import evenly_drawn, filter_particles

Array = NDArray[np.float64]
ONE = np.ones(1)


def test_no_evidence_leaves_the_prior() -> None:
    """Standard normals in every direction, independent, and members by their weights; one step."""
    weights = np.array([1.0, 3.0, 0.0, 4.0])
    found = filter_particles(
        lambda normal, _: np.zeros(len(normal)), dimensions=3, member_weights=weights, seed=4
    )
    assert found.steps == 1
    assert found.normal.shape == (1024, 3)
    for column in found.normal.T:
        assert stats.kstest(column, "norm").pvalue > 1e-3
    assert np.corrcoef(found.normal.T) == pytest.approx(np.eye(3), abs=0.12)
    shares = np.bincount(found.member, minlength=4) / found.member.size
    assert shares == pytest.approx(weights / 8.0, abs=0.05)
    assert shares[2] == 0.0


@pytest.mark.parametrize(("seen", "sd"), [(0.5, 1.0), (-2.0, 0.5), (3.0, 0.1)])
def test_one_look_at_a_normal_is_bayes(seen: float, sd: float) -> None:
    """Normal prior, normal error: the posterior's mean and spread are those of any textbook
    (Gelman and others, Bayesian Data Analysis, 3rd ed., eq. 2.9 and 2.10); what is not seen stays.
    """
    mean, spread = seen / (1.0 + sd**2), sd / np.sqrt(1.0 + sd**2)
    found = filter_particles(
        lambda normal, _: -0.5 * ((normal[:, 0] - seen) / sd) ** 2,
        dimensions=2,
        member_weights=ONE,
        seed=11,
    )
    first, other = found.normal.T
    assert first.mean() == pytest.approx(mean, abs=0.15 * spread)
    assert first.std() == pytest.approx(spread, rel=0.12)
    assert other.mean() == pytest.approx(0.0, abs=0.15)
    assert other.std() == pytest.approx(1.0, rel=0.12)
    assert len(np.unique(first)) > 700  # moved apart again after the drawing
    assert found.steps > 1 if sd < 1.0 else found.steps >= 1


def test_members_are_weighed_by_bayes() -> None:
    """Two members of the weather, even before, one three times as likely after: three in four."""
    found = filter_particles(
        lambda normal, member: np.where(member == 1, np.log(3.0), 0.0) + 0.0 * normal[:, 0],
        dimensions=1,
        member_weights=np.array([0.5, 0.5]),
        seed=3,
    )
    assert (found.member == 1).mean() == pytest.approx(0.75, abs=0.06)


def test_the_same_seed_gives_the_same_cases() -> None:
    """And another seed others."""

    def cases(seed: int) -> Array:
        return filter_particles(
            lambda normal, _: -(normal[:, 0] ** 2), dimensions=1, member_weights=ONE, seed=seed
        ).normal

    assert np.array_equal(cases(5), cases(5))
    assert not np.array_equal(cases(5), cases(6))


def test_each_is_drawn_as_often_as_its_weight_says_to_within_one() -> None:
    """Systematic drawing (Kitagawa 1996): floor or ceiling of the count, whatever the sum is."""
    random = np.random.default_rng(2)
    for _ in range(50):
        weights = random.random(7) * 30.0
        wanted = 40 * weights / weights.sum()
        counts = np.bincount(evenly_drawn(weights, 40, random), minlength=7)
        assert counts.sum() == 40
        assert (counts >= np.floor(wanted)).all()
        assert (counts <= np.ceil(wanted)).all()


def test_even_drawing_favours_nobody() -> None:
    """Over many draws each comes up as often as its weight, the first and the last as well."""
    random = np.random.default_rng(8)
    weights = np.array([0.3, 0.5, 1.7, 0.5])
    counts = sum(np.bincount(evenly_drawn(weights, 1, random), minlength=4) for _ in range(4000))
    assert np.asarray(counts) / 4000 == pytest.approx(weights / 3.0, abs=0.03)
