"""The stated rule: when a fit takes a default's place, and what the plan then reckons with."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.products import Product, RatioBasis
from stillwet.domain.trials import Trial, YieldEstimate
from stillwet.evidence.acceptance import DRAWS, draws_of, judge_curve, judge_drying, with_numbers
from stillwet.evidence.curve_fit import CurveFit, Water, fit_curve, yields_at
from stillwet.evidence.drying_fit import fit_drying
from stillwet.evidence.trial_report import accept
from stillwet.exchange.products import type_defaults
from stillwet.physics.product_types import product_type
from stillwet.physics.rheology import yield_stress
from trial_fixture import made_series, plain_trial

KIND = product_type(name="superabsorbent_dispersion")
WATERS = (Water(0.05, 294.15), Water(0.15, 288.15))
PRODUCT = Product(
    id="p",
    name="Clear gel",
    product_type=KIND.id,
    ratio_basis=RatioBasis.VOLUME,
    ratio_low=0.005,
    ratio_high=0.02,
    density_kg_m3=1030.0,
    yield_coefficient_pa=25e3,
    yield_threshold=0.0025,
    yield_exponent=1.2,
    hardness_half_kg_m3=0.1,
    drying_exponent=0.75,
    pack_m3=0.02,
    cost_per_pack=0.0,
    basis={name: default.basis for name, default in type_defaults(KIND.id).items()},
)
RATIOS = (0.006, 0.009, 0.012, 0.015, 0.018)


def trials(count: int = 10, ratios: tuple[float, ...] = RATIOS, scale: float = 1.0) -> list[Trial]:
    """Readings of a gel a good deal stiffer than the default, in two waters, 5 % apart."""
    random = np.random.default_rng(7)
    found = []
    for place in range(count):
        ratio, hardness = ratios[place % len(ratios)], WATERS[place % 2].hardness_kg_m3
        swollen = ratio / (1.0 + hardness / 0.12)
        stress = scale * 60e3 * max(swollen - 0.002, 1e-4) ** 1.2 * random.lognormal(0.0, 0.05)
        found.append(plain_trial(f"t{place}", ratio, YieldEstimate(stress), hardness=hardness))
    return found


def fit(made: list[Trial]) -> CurveFit:
    """A fit of them."""
    return fit_curve(made, KIND, seed=1, points=512)


def test_enough_sound_readings_are_taken() -> None:
    """Ten readings at five ratios in two waters: nothing speaks against them."""
    ruling, numbers = judge_curve(fit(trials()), PRODUCT, WATERS)
    assert ruling.is_accepted, ruling.against
    assert ruling.words.startswith("Yield stress from trials (10 readings at 5 ratios, 0 odd ones)")
    made = with_numbers(PRODUCT, numbers, "trials.csv")
    basis = made.basis["yield_coefficient"]
    assert basis.kind is BasisKind.TRIAL
    assert basis.low is not None
    assert basis.high is not None
    assert basis.low < made.yield_coefficient_pa < basis.high
    assert made.basis["drying_exponent"] == PRODUCT.basis["drying_exponent"]


def test_the_plan_curve_stands_in_the_middle_of_the_posterior() -> None:
    """Over the label and in both waters the plan's curve is within a tenth of the median stress."""
    found = fit(trials())
    made = with_numbers(PRODUCT, judge_curve(found, PRODUCT, WATERS)[1], "trials.csv")
    ratios = np.linspace(0.008, 0.02, 7)
    for water in WATERS:
        plan = yield_stress(
            ratio=ratios,
            coefficient_pa=made.yield_coefficient_pa,
            threshold=made.yield_threshold,
            exponent=made.yield_exponent,
            hardness_kg_m3=water.hardness_kg_m3,
            hardness_half_kg_m3=made.hardness_half_kg_m3,
            temperature_k=water.temperature_k,
            hardness_exponent=KIND.hardness_exponent.median,
            temperature_slope_per_k=KIND.temperature_slope_per_k.median,
        )
        median = np.median(yields_at(found.members, ratios, water), axis=0)
        np.testing.assert_allclose(plan, median, rtol=0.1, atol=1.0)


@pytest.mark.parametrize(
    ("made", "reason"),
    [
        (trials(1), "1 reading, and at least 5 are wanted"),
        (trials(8, ratios=(0.012,)), "1 different ratio, and at least 3 are wanted"),
        (trials(2), "2 readings, and at least 5 are wanted"),
    ],
)
def test_too_little_is_not_taken(made: list[Trial], reason: str) -> None:
    """One point, or all at one ratio: the default stays, and the plan would say why."""
    ruling, _ = judge_curve(fit(made), PRODUCT, WATERS)
    assert not ruling.is_accepted
    assert reason in ruling.against
    assert "stays as it was" in ruling.words


def test_readings_that_contradict_each_other_are_not_taken() -> None:
    """Half the readings six times the other half: no curve goes through them."""
    made = [*trials(5), *trials(5, scale=6.0)]
    renamed = [replace(trial, id=f"x{place}") for place, trial in enumerate(made)]
    ruling, _ = judge_curve(fit(renamed), PRODUCT, WATERS)
    assert not ruling.is_accepted


def test_what_the_job_gives_stands() -> None:
    """A yield coefficient typed into the job file is never replaced."""
    basis = dict(PRODUCT.basis) | {"yield_coefficient": Basis(BasisKind.GIVEN, "job.toml")}
    ruling, _ = judge_curve(fit(trials()), replace(PRODUCT, basis=basis), WATERS)
    assert "the job gives yield coefficient itself" in ruling.against


def test_a_band_no_narrower_than_the_default_is_not_taken() -> None:
    """Readings in soft water say little of very hard water: the band there stays wide."""
    soft = [trial for trial in trials(20) if trial.hardness_kg_m3 == WATERS[0].hardness_kg_m3]
    ruling, _ = judge_curve(fit(soft), PRODUCT, (Water(1.0, 294.15),))
    assert not ruling.is_accepted
    assert any("band" in one or "hold at all" in one for one in ruling.against)


def test_drying_is_taken_when_half_is_gone_and_not_before() -> None:
    """Two coats followed to the end narrow the exponent; a coat watched for an hour does not."""
    whole = fit_drying([made_series(0.75, seed=s, hours=8.0, noise=0.005) for s in (1, 2)], KIND)
    ruling, numbers = judge_drying(whole, PRODUCT)
    assert ruling.is_accepted, ruling.against
    made = with_numbers(PRODUCT, numbers, "trials.csv")
    assert made.drying_exponent == pytest.approx(0.75, abs=0.1)
    assert made.basis["drying_exponent"].kind is BasisKind.TRIAL
    short, _ = judge_drying(fit_drying([made_series(0.75, seed=1, hours=0.5)], KIND), PRODUCT)
    assert "no coat was weighed until half its water was gone" in short.against


def test_each_fit_is_ruled_on_by_itself() -> None:
    """Drying that is taken beside too few readings that are not: one number changes, both told."""
    coats = [made_series(0.75, seed=s, hours=8.0, noise=0.005) for s in (1, 2)]
    found, told = accept(PRODUCT, [*trials(2), *coats], WATERS, source="trials.csv", seed=1)
    assert found.yield_coefficient_pa == PRODUCT.yield_coefficient_pa
    assert found.basis["drying_exponent"].kind is BasisKind.TRIAL
    assert [word.partition(" ")[0] for word in told] == ["Clear", "Clear"]
    assert "stays as it was in spite of trials" in told[0]
    assert "Drying exponent from trials (2 coats" in told[1]


def test_the_curves_handed_on_are_the_posteriors() -> None:
    """Their stress at 1.2 % in the harder water has the posterior's own median and spread."""
    found = fit(trials())
    water = WATERS[1]
    handed = [
        yield_stress(
            ratio=0.012,
            hardness_kg_m3=water.hardness_kg_m3,
            temperature_k=water.temperature_k,
            coefficient_pa=one.coefficient_pa,
            threshold=one.threshold,
            exponent=one.exponent,
            hardness_half_kg_m3=one.hardness_half_kg_m3,
            hardness_exponent=one.hardness_exponent,
            temperature_slope_per_k=one.temperature_slope_per_k,
        )
        for one in draws_of(found, seed=1)
    ]
    whole = np.log(yields_at(found.members, np.array([0.012]), water)[:, 0])
    assert len(handed) == DRAWS
    logs = np.log(np.array([float(one) for one in handed]))
    # 64 draws: the median to 2.5 of its standard errors, the deviation to 25 %
    assert np.median(logs) == pytest.approx(
        np.median(whole), abs=2.5 * 1.25 * whole.std() / DRAWS**0.5
    )
    assert logs.std() == pytest.approx(whole.std(), rel=0.25)
    assert draws_of(found, seed=1) == draws_of(found, seed=1)


def test_an_accepted_fit_hands_its_curves_on_and_a_refused_one_does_not() -> None:
    """With ten readings the product carries curves; with two it carries none."""
    assert len(accept(PRODUCT, trials(10), WATERS, source="t", seed=1)[0].curves) == DRAWS
    assert accept(PRODUCT, trials(2), WATERS, source="t", seed=1)[0].curves == ()
