"""The posterior of a flow curve: its sums, its sampler, and what it does with odd readings."""

from __future__ import annotations

import numpy as np
import pytest

from made_up_trials import attempts_over_label, draw_truth, take_reading
from stillwet.domain.trials import Coupon, Trial, YieldEstimate
from stillwet.errors import StillwetError
from stillwet.evidence.curve_fit import (
    CurveFit,
    Water,
    fit_curve,
    lowest_working_ratio,
    posterior_members,
    yields_at,
)
from stillwet.evidence.curve_model import make_model
from stillwet.evidence.kernel import densities_of
from stillwet.evidence.likelihood import Likelihood
from stillwet.evidence.readings import Method, points_of
from stillwet.evidence.sampling import sample
from stillwet.physics.product_types import product_type, product_type_names
from trial_fixture import plain_trial

SOFT = Water(0.05, 294.15)


def made_trials(name: str, count: int, seed: int) -> list[Trial]:
    """Readings of every kind on a made-up product."""
    kind = product_type(name=name)
    truth = draw_truth(kind, seed=seed)
    attempts = attempts_over_label(
        kind,
        count=count,
        methods=tuple(Method),
        hardness_kg_m3=(0.05, 0.2),
        seconds_old=4 * 3600.0,
    )
    return [
        take_reading(truth, attempt, name=f"t{place}", seed=seed + place)
        for place, attempt in enumerate(attempts)
    ]


@pytest.mark.parametrize("name", product_type_names())
def test_the_compiled_sums_are_the_plain_ones(name: str) -> None:
    """The compiled density differs from the plain arrays' by rounding alone, bounds included."""
    trials = made_trials(name, 14, seed=11)
    stood = Coupon(2.0, 60.0, slid=False)
    trials.append(plain_trial("stood", 0.02, stood, YieldEstimate(0.0)))
    read = points_of(trials)
    likelihood = Likelihood(make_model(product_type(name=name), read.methods), read)
    deviates = np.random.default_rng(5).standard_normal((200, likelihood.model.size))
    places = likelihood.ridge.places(deviates)
    prior, likely = densities_of(likelihood)(places)
    plain = likelihood.log_density(places)
    np.testing.assert_allclose(prior + likely - plain[0], plain - plain[0], atol=1e-7, rtol=1e-9)


@pytest.mark.parametrize("name", product_type_names())
def test_places_unfold_to_the_deviates_they_were_made_of(name: str) -> None:
    """The sampler's places are another way to write the unknowns, and lose nothing."""
    read = points_of(made_trials(name, 4, seed=2))
    likelihood = Likelihood(make_model(product_type(name=name), read.methods), read)
    deviates = np.random.default_rng(1).standard_normal((100, likelihood.model.size))
    back = likelihood.ridge.unfold(likelihood.ridge.places(deviates))[0]
    np.testing.assert_allclose(back, deviates, atol=1e-6)


def test_draws_are_those_of_brute_force() -> None:
    """With two readings, quantiles agree with two million draws of the prior, each by its weight.

    The reading leaves long tails: a sampler that starts at the likeliest point missed a third.
    """
    kind = product_type(name="superabsorbent_dispersion")
    read = points_of(made_trials("superabsorbent_dispersion", 2, seed=40003))
    likelihood = Likelihood(make_model(kind, read.methods), read)
    densities = densities_of(likelihood)
    random = np.random.default_rng(3)
    values, weights = [], []
    for _ in range(10):
        places = likelihood.ridge.places(random.standard_normal((40_000, likelihood.model.size)))
        values.append(likelihood.ridge.unfold(places)[1][:, :3])
        weights.append(densities(places)[1])
    prior, weight = np.concatenate(values), np.exp(np.concatenate(weights))
    start = likelihood.ridge.places(random.standard_normal((2048, likelihood.model.size)))
    draws = sample(densities, start, seed=1)
    found = likelihood.ridge.unfold(draws.points)[1][:, :3]
    assert draws.is_sound
    for column in range(3):
        for at in (0.05, 0.5, 0.95):
            value = float(np.quantile(found[:, column], at))
            share = float(weight[prior[:, column] <= value].sum() / weight.sum())
            assert share == pytest.approx(at, abs=0.03)


def test_a_normal_posterior_is_met() -> None:
    """Ten readings of a normal unknown with known scatter: mean and deviation in closed form."""
    seen = np.random.default_rng(2).standard_normal((10, 3)) * 2.0 + np.array([1.0, -2.0, 0.5])

    def densities(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        off = seen[None] - points[:, None, :]
        return -0.5 * (points**2).sum(1), -0.5 * (off**2).sum((1, 2)) / 4.0

    start = np.random.default_rng(1).standard_normal((2048, 3))
    draws = sample(densities, start, seed=4)
    precision = 1.0 + 10 / 4.0
    np.testing.assert_allclose(
        draws.points.mean(0), seen.sum(0) / 4.0 / precision, atol=4 / np.sqrt(precision * 1000)
    )
    np.testing.assert_allclose(draws.points.std(0), precision**-0.5, rtol=0.06)
    assert draws.is_sound


def test_two_hills_keep_their_share() -> None:
    """Of two separate hills, three to one, the draws find both, in that proportion."""

    def densities(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        x = points[:, 0]
        hills = np.logaddexp(
            np.log(0.75) - 0.5 * ((x - 2.0) / 0.2) ** 2, np.log(0.25) - 0.5 * ((x + 2.0) / 0.2) ** 2
        )
        return -0.5 * (points[:, 1] ** 2), hills - 1e-9 * x**2

    start = np.random.default_rng(1).standard_normal((4096, 2)) * np.array([3.0, 1.0])
    share = float((sample(densities, start, seed=2).points[:, 0] > 0).mean())
    assert share == pytest.approx(0.75, abs=0.05)


def fitted(trials: list[Trial], seed: int = 1) -> CurveFit:
    """A fit with few points, for directions."""
    return fit_curve(trials, product_type(name="superabsorbent_dispersion"), seed=seed, points=256)


def test_the_same_seed_gives_the_same_draws() -> None:
    """Bit for bit."""
    trials = [plain_trial("a", 0.01, YieldEstimate(30.0))]
    one, two = fitted(trials), fitted(trials)
    np.testing.assert_array_equal(one.draws.points, two.draws.points)
    np.testing.assert_array_equal(
        posterior_members(one, 50, 3).yield_exponent, posterior_members(two, 50, 3).yield_exponent
    )


def test_readings_narrow_the_band_and_move_it() -> None:
    """Stiffer readings give stiffer curves; more readings narrower bands."""
    ratio = np.array([0.01])

    def band(trials: list[Trial]) -> np.ndarray:
        return np.asarray(np.quantile(yields_at(fitted(trials).members, ratio, SOFT), (0.05, 0.95)))

    one = band([plain_trial("a", 0.01, YieldEstimate(30.0))])
    stiff = band([plain_trial("a", 0.01, YieldEstimate(120.0))])
    many = band([plain_trial(f"{n}", 0.01, YieldEstimate(30.0)) for n in range(6)])
    assert stiff[0] > one[1]
    assert many[1] / many[0] < one[1] / one[0]


def test_an_odd_reading_is_flagged_and_hardly_pulls() -> None:
    """One reading ten times too high is named, and moves the median by less than a fifth."""
    ratios = (0.006, 0.008, 0.01, 0.012, 0.014, 0.016)
    good = [
        plain_trial(f"t{place}", ratio, YieldEstimate(30.0 * (ratio / 0.01) ** 1.3))
        for place, ratio in enumerate(ratios)
    ]
    bad = [*good[:3], plain_trial("t3", 0.012, YieldEstimate(380.0)), *good[4:]]
    clean, soiled = fitted(good), fitted(bad)
    assert not clean.odd.any()
    assert soiled.odd.tolist() == [False, False, False, True, False, False]
    at = np.array([0.01])
    medians = [np.median(yields_at(fit.members, at, SOFT)) for fit in (clean, soiled)]
    assert medians[1] == pytest.approx(medians[0], rel=0.2)


def test_hard_water_is_learnt_from_one_water_only_as_far_as_the_type_allows() -> None:
    """Readings in soft water leave the stress in hard water open, until hard water is tried."""
    soft = [plain_trial(f"s{n}", r, YieldEstimate(4e3 * r)) for n, r in enumerate((0.008, 0.012))]
    hard = plain_trial("h", 0.012, YieldEstimate(12.0), hardness=0.25)
    at, there = np.array([0.012]), Water(0.25, 294.15)

    def width(trials: list[Trial]) -> float:
        found = yields_at(fitted(trials).members, at, there)
        return float(np.diff(np.quantile(np.log(found + 1.0), (0.05, 0.95)))[0])

    assert width([*soft, hard]) < 0.8 * width(soft)


def test_no_reading_is_refused() -> None:
    """There is nothing to fit."""
    with pytest.raises(StillwetError, match="at least one reading of a mix"):
        fitted([])


def test_the_lowest_ratio_has_the_stress_asked_for() -> None:
    """Each member's yield stress at its own lowest ratio is the one asked for, up to the cap."""
    fit = fitted([plain_trial("a", 0.01, YieldEstimate(30.0))])
    ratios = lowest_working_ratio(fit.members, SOFT, stress_pa=46.0, most=0.05)
    below = ratios < 0.05
    found = np.array(
        [
            yields_at(fit.members.at(np.array([row])), ratios[[row]], SOFT)[0, 0]
            for row in range(0, 200)
            if below[row]
        ]
    )
    np.testing.assert_allclose(found, 46.0, rtol=1e-6)
