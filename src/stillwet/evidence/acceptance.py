"""When a fit may stand in for a default, and the product that comes of it.

The rule is stated in docs/decisions (trials): a fit is taken when it rests on enough readings, fits
them, is not carried by odd ones, and says clearly more than the default did. What a label or a user
gave is never replaced.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.products import CurveDraw, Product
from stillwet.domain.trial_report import Ruling
from stillwet.evidence.curve_fit import CurveFit, Water, posterior_members, yields_at
from stillwet.evidence.curve_model import CurveMembers
from stillwet.evidence.drying_fit import DryingFit
from stillwet.evidence.peak import find_peak
from stillwet.physics import rheology
from stillwet.physics.product_types import ProductType

Array = NDArray[np.float64]

LEAST_READINGS = 5
LEAST_RATIOS = 3
LEAST_WEIGHINGS = 4
LEAST_PREDICTIVE = 0.01  # chance that the model's own readings would lie as far off
MOST_ODD = 0.25  # of the readings
NARROWER = 0.7  # of the default's 90 % band, on a logarithmic scale for stresses
HALF_GONE = 0.5  # of the water: before that every exponent looks alike
# The yield stresses that keep 1/8 and 1/4 in on a wall: the band is told there, where it matters.
WORKING_PA = (31.0, 62.0)
DRAWS = 64  # curves handed on to the mix window: its 5 and 95 % points ask for no more
_STRESS_FLOOR_PA = 1.0
_PULL = 0.1  # towards the posterior medians, in scatters: settles what the curve leaves open

CURVE_FIELDS = ("yield_coefficient", "yield_threshold", "yield_exponent", "hardness_half")
DRYING_FIELDS = ("drying_exponent",)


@dataclass(frozen=True, slots=True)
class Numbers:
    """Numbers for a product by field: value, and its 90 % interval."""

    fields: dict[str, tuple[float, float, float]]


def judge_curve(fit: CurveFit, product: Product, waters: Sequence[Water]) -> tuple[Ruling, Numbers]:
    """Whether the fitted curve replaces this product's, and the numbers that would.

    ``waters`` are those the job mixes with; the hardest counts.
    """
    ratios = len(set(fit.read.mixes.ratio.tolist()))
    numbers = stand_in(fit.members, fit.model.kind, product, waters)
    low, high = numbers.fields["yield_coefficient"][1:]
    rests_on = (
        f"{_count(fit.count, 'reading')} at {_count(ratios, 'ratio')}, "
        f"{_count(int(fit.odd.sum()), 'odd one')}"
    )
    against = [
        *_too_few(fit.count, LEAST_READINGS, "reading"),
        *_too_few(ratios, LEAST_RATIOS, "different ratio"),
        *_too_odd(int(fit.odd.sum()), fit.count),
        *_given_by_user(product, CURVE_FIELDS),
    ]
    if not fit.draws.is_sound:
        against.append("the sampler did not settle: run it with another seed")
    if fit.predictive < LEAST_PREDICTIVE:
        against.append("the readings contradict each other more than the model allows")
    against += _not_narrower(product, "yield_coefficient", low, high, is_log=True)
    return Ruling("yield stress", rests_on, tuple(against)), numbers


def judge_drying(fit: DryingFit, product: Product) -> tuple[Ruling, Numbers]:
    """Whether the fitted drying exponent replaces this product's, and the numbers that would."""
    gone = 100.0 * (1.0 - fit.least_left)
    rests_on = (
        f"{_count(len(fit.series), 'coat')} weighed {_count(fit.count, 'time')} while drying, "
        f"{gone:.0f} % of the water gone at the end"
    )
    against = [
        *_too_few(fit.count, LEAST_WEIGHINGS, "weighing"),
        *_too_odd(fit.odd, fit.count),
        *_given_by_user(product, DRYING_FIELDS),
    ]
    if fit.least_left > HALF_GONE:
        against.append("no coat was weighed until half its water was gone")
    against += _not_narrower(product, "drying_exponent", fit.low, fit.high, is_log=False)
    numbers = Numbers({"drying_exponent": (fit.median, fit.low, fit.high)})
    return Ruling("drying exponent", rests_on, tuple(against)), numbers


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")


def _too_few(count: int, least: int, noun: str) -> list[str]:
    return [] if count >= least else [f"{_count(count, noun)}, and at least {least} are wanted"]


def _too_odd(odd: int, count: int) -> list[str]:
    if odd <= MOST_ODD * count:
        return []
    return [f"{odd} of {count} readings lie far off the curve: look at them first"]


def _given_by_user(product: Product, names: Sequence[str]) -> list[str]:
    """What somebody gave in the job file stands above any fit."""
    told = [
        name
        for name in names
        if name in product.basis and product.basis[name].kind is BasisKind.GIVEN
    ]
    return [f"the job gives {', '.join(told).replace('_', ' ')} itself"] if told else []


def _not_narrower(
    product: Product, name: str, low: float, high: float, *, is_log: bool
) -> list[str]:
    """The band must be clearly narrower than the default's."""
    basis = product.basis.get(name)
    if basis is None or basis.low is None or basis.high is None:
        return []
    if is_log and low <= 0.0:
        return ["some mixes that are still possible would not hold at all"]
    ends = (basis.low, basis.high, low, high)
    was_low, was_high, low, high = (math.log(end) for end in ends) if is_log else ends
    if high - low <= NARROWER * (was_high - was_low):
        return []
    share = 100.0 * (high - low) / (was_high - was_low)
    limit = f"{100.0 * NARROWER:.0f} % is the limit"
    return [f"its 90 % band is {share:.0f} % as wide as the default's, and {limit}"]


def stand_in(
    members: CurveMembers, kind: ProductType, product: Product, waters: Sequence[Water]
) -> Numbers:
    """The one curve that stands for the posterior in a plan, and its band.

    A plan reckons with one curve and a factor on it. The curve is the one of the plan's own form,
    with the type's water exponent and warmth, that lies closest to the posterior median of the
    yield stress over the label in the job's waters (least squares of its logarithm, weighted by how
    sure it is). The factor's band is the widest that the members show at the two working stresses
    in the hardest water; that of the other numbers is the members' own.
    """
    ratios = np.linspace(product.ratio_low, product.ratio_high, 12)
    logs = [np.log(yields_at(members, ratios, water) + _STRESS_FLOOR_PA) for water in waters]
    middle = np.concatenate([np.median(each, axis=0) for each in logs])
    spread = np.concatenate([np.maximum(each.std(axis=0), 0.05) for each in logs])
    own = (
        members.yield_coefficient_pa,
        members.yield_threshold,
        members.yield_exponent,
        members.hardness_half_kg_m3,
    )
    start = np.array([float(np.log(np.median(each))) for each in own])

    def misfits(points: Array) -> Array:
        curve = [
            np.log(_plain_yields(np.exp(points), kind, ratios, water) + _STRESS_FLOOR_PA)
            for water in waters
        ]
        off = (np.concatenate(curve, axis=1) - middle) / spread
        return np.concatenate([off, _PULL * (points - start)], axis=1)

    found = np.exp(find_peak(misfits, start, tolerance=1e-8).point)
    hardest = max(waters, key=lambda water: water.hardness_kg_m3)
    low, high = _factor_band(members, found, kind, product, hardest)
    bands = [np.quantile(each, (0.05, 0.95)) for each in own[1:]]
    fields = {"yield_coefficient": (float(found[0]), found[0] * low, found[0] * high)}
    for name, value, band in zip(CURVE_FIELDS[1:], found[1:], bands, strict=True):
        fields[name] = (
            float(value),
            float(min(band[0], value)),
            float(max(band[1], value)),
        )
    return Numbers(fields)


def _plain_yields(numbers: Array, kind: ProductType, ratios: Array, water: Water) -> Array:
    """Yield stress (P, R) as a plan reckons it, from the four numbers (P, 4)."""
    coefficient, threshold, exponent, half = (numbers[:, [place]] for place in range(4))
    return np.asarray(
        rheology.yield_stress(
            ratio=ratios,
            coefficient_pa=coefficient,
            threshold=threshold,
            exponent=exponent,
            hardness_half_kg_m3=half,
            **_shared(kind, water),
        )
    )


def _shared(kind: ProductType, water: Water) -> dict[str, float]:
    """What a plan takes from the type, and the water."""
    return {
        "hardness_kg_m3": water.hardness_kg_m3,
        "temperature_k": water.temperature_k,
        "age_s": water.age_s,
        "hardness_exponent": kind.hardness_exponent.median,
        "temperature_slope_per_k": kind.temperature_slope_per_k.median,
        "hydration_time_s": kind.hydration_time_s.median,
    }


def _factor_band(
    members: CurveMembers, numbers: Array, kind: ProductType, product: Product, water: Water
) -> tuple[float, float]:
    """5 and 95 % points of member over stand-in, the widest at the working stresses."""
    coefficient, threshold, exponent, half = numbers
    working = rheology.ratio_for_yield(
        yield_pa=np.array(WORKING_PA),
        coefficient_pa=coefficient,
        threshold=threshold,
        exponent=exponent,
        hardness_half_kg_m3=half,
        **_shared(kind, water),
    )
    ratios = np.clip(working, product.ratio_low, product.ratio_high)
    plain = _plain_yields(numbers[None, :], kind, ratios, water)[0]
    if not np.all(plain > 0.0):
        return 0.0, math.inf
    low, high = np.quantile(yields_at(members, ratios, water) / plain, (0.05, 0.95), axis=0)
    return float(min(low.min(), 1.0)), float(max(high.max(), 1.0))


def with_numbers(product: Product, numbers: Numbers, source: str) -> Product:
    """The product with these numbers, each with the basis "trial" and its interval."""
    suffixes = {"yield_coefficient": "_pa", "hardness_half": "_kg_m3"}
    values: dict[str, Any] = {
        name + suffixes.get(name, ""): three[0] for name, three in numbers.fields.items()
    }
    basis = dict(product.basis) | {
        name: Basis(BasisKind.TRIAL, source, low, high)
        for name, (_, low, high) in numbers.fields.items()
    }
    return replace(product, basis=basis, **values)


def draws_of(fit: CurveFit, *, seed: int) -> tuple[CurveDraw, ...]:
    """Equally likely curves of the posterior, for the mix window; the same seed, the same."""
    one = posterior_members(fit, DRAWS, seed)
    columns = zip(
        one.yield_coefficient_pa,
        one.yield_threshold,
        one.yield_exponent,
        one.hardness_half_kg_m3,
        one.hardness_exponent,
        one.temperature_slope_per_k,
        one.hydration_time_s,
        one.consistency_pa_s,
        one.consistency_exponent,
        one.flow_index,
        one.adhesion_stress_pa,
        strict=True,
    )
    return tuple(CurveDraw(*(float(value) for value in row)) for row in columns)
