"""One file of trials, whole: fits, whether they replace defaults, and what to try next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import fmean

import numpy as np

from stillwet.constants import GRAVITY
from stillwet.domain.products import Product
from stillwet.domain.trial_report import (
    Band,
    CurveReport,
    DryingReport,
    FittedNumber,
    LowestRatio,
    NextTrial,
    OddReading,
    TrialReport,
    YieldAt,
)
from stillwet.domain.trials import TrialRecord, drying, mixes
from stillwet.evidence.acceptance import (
    CURVE_FIELDS,
    Numbers,
    draws_of,
    judge_curve,
    judge_drying,
    with_numbers,
)
from stillwet.evidence.curve_fit import CurveFit, Water, fit_curve, lowest_working_ratio, yields_at
from stillwet.evidence.drying_fit import DryingFit, fit_drying
from stillwet.evidence.next_trial import (
    Proposal,
    Question,
    attempts_of,
    belief_before,
    belief_of,
    rank_trials,
    reason_for,
)
from stillwet.evidence.readings import Method
from stillwet.evidence.written import number_of, reading_of, tool_of
from stillwet.physics import rheology
from stillwet.physics.product_types import ProductType, product_type

MOST_OVER_LABEL = 1.5  # times the label's upper end: nobody mixes more
SIMPLE = (Method.COUPON, Method.SLUMP, Method.FUNNEL)  # what a board, a pipe and a funnel can do
_WELL_SWOLLEN = 0.95
_MIDDLING_KG_M3 = 0.1  # hardness asked about where no water was named
_SHOWN = 3  # proposals
_YIELD_RATIOS = 5
_UNITS = {
    "yield_coefficient": "Pa",
    "yield_threshold": "fraction",
    "yield_exponent": "",
    "hardness_half": "kg/m3",
}
_OF_PRODUCT = {
    "yield_coefficient": "yield_coefficient_pa",
    "yield_threshold": "yield_threshold",
    "yield_exponent": "yield_exponent",
    "hardness_half": "hardness_half_kg_m3",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a product's trials: the coat to keep on a wall, and the waters mixed with.

    Without waters those of the trials are taken.
    """

    coat_kg_m2: float
    safety: float
    waters: tuple[Water, ...] = ()

    @property
    def stress_pa(self) -> float:
        """Yield stress that keeps the coat on a wall, safety included."""
        return self.coat_kg_m2 * GRAVITY * self.safety


@dataclass(frozen=True, eq=False)
class Fitted:
    """The fits of one product's trials; None where there was nothing to fit."""

    curve: CurveFit | None
    drying: DryingFit | None


def fit_all(records: Sequence[TrialRecord], kind: ProductType, *, seed: int) -> Fitted:
    """Fit what there is."""
    tried, dried = mixes(records), drying(records)
    return Fitted(
        curve=fit_curve(tried, kind, seed=seed) if tried else None,
        drying=fit_drying(dried, kind) if dried else None,
    )


def report_on(
    records: Sequence[TrialRecord],
    product: Product,
    asked: Asked,
    *,
    source: str,
    seed: int,
    propose: bool,
) -> TrialReport:
    """What these trials of one product say; with ``propose`` also what to try next.

    Without any record it tells what to begin with.
    """
    fitted = fit_all(records, product_type(name=product.product_type), seed=seed)
    return report_of(fitted, records, product, asked, source=source, seed=seed, propose=propose)


def report_of(
    fitted: Fitted,
    records: Sequence[TrialRecord],
    product: Product,
    asked: Asked,
    *,
    source: str,
    seed: int,
    propose: bool,
) -> TrialReport:
    """The same from fits that are there already."""
    kind = product_type(name=product.product_type)
    waters = asked.waters or waters_of(records)
    return TrialReport(
        source=source,
        product_name=product.name,
        product_type=kind.name,
        ratio_basis=product.ratio_basis.value,
        label=(product.ratio_low, product.ratio_high),
        coat_kg_m2=asked.coat_kg_m2,
        safety=asked.safety,
        stress_pa=asked.stress_pa,
        curve=_curve_report(fitted.curve, records, product, asked, waters),
        drying=_drying_report(fitted.drying, product),
        proposals=_proposals(fitted.curve, records, product, asked, waters, seed)
        if propose
        else (),
    )


def accept(
    product: Product,
    records: Sequence[TrialRecord],
    waters: Sequence[Water],
    *,
    source: str,
    seed: int,
) -> tuple[Product, tuple[str, ...]]:
    """The product with every default that its trials replace, and what to tell of each fit."""
    kind = product_type(name=product.product_type)
    fitted = fit_all(records, kind, seed=seed)
    told: list[str] = []
    found = product
    if fitted.curve is not None:
        ruling, numbers = judge_curve(fitted.curve, product, waters or waters_of(records))
        told.append(f"{product.name}: {ruling.words}")
        if ruling.is_accepted:
            found = with_numbers(found, numbers, f"{source}: {ruling.rests_on}")
            found = replace(found, curves=draws_of(fitted.curve, seed=seed))
    if fitted.drying is not None:
        ruling, numbers = judge_drying(fitted.drying, product)
        told.append(f"{product.name}: {ruling.words}")
        if ruling.is_accepted:
            found = with_numbers(found, numbers, f"{source}: {ruling.rests_on}")
    return found, tuple(told)


def waters_of(records: Sequence[TrialRecord]) -> tuple[Water, ...]:
    """The waters tried, to 1 mg/L, hardest first, each as warm as its trials were on the mean.

    A middling one where none was.
    """
    warmth: dict[float, list[float]] = {}
    for one in mixes(records):
        warmth.setdefault(round(one.hardness_kg_m3, 3), []).append(one.water_temperature_k)
    found = tuple(
        Water(hardness, fmean(warm)) for hardness, warm in sorted(warmth.items(), reverse=True)
    )
    return found or (Water(_MIDDLING_KG_M3),)


def _curve_report(
    fit: CurveFit | None,
    records: Sequence[TrialRecord],
    product: Product,
    asked: Asked,
    waters: Sequence[Water],
) -> CurveReport | None:
    if fit is None:
        return None
    ruling, numbers = judge_curve(fit, product, waters)
    tried = mixes(records)
    return CurveReport(
        readings=fit.count,
        trials=len(tried),
        ratios=len({one.ratio for one in tried}),
        waters=len({one.hardness_kg_m3 for one in tried}),
        crew_scatter=fit.scatter,
        predictive=fit.predictive,
        draws=fit.draws.effective,
        mixed=fit.draws.mixed,
        lowest=tuple(
            _lowest(fit, water, product, asked)
            for water in sorted(waters, key=lambda one: -one.hardness_kg_m3)
        ),
        yields=_yields(fit, product, waters),
        odd=tuple(
            OddReading(point.trial_id, point.method.value, float(off))
            for point, off, odd in zip(fit.read.points, fit.off, fit.odd, strict=True)
            if odd
        ),
        ruling=ruling,
        numbers=_numbers(numbers, product),
    )


def _lowest(fit: CurveFit, water: Water, product: Product, asked: Asked) -> LowestRatio:
    most = MOST_OVER_LABEL * product.ratio_high
    ratios = lowest_working_ratio(fit.members, water, stress_pa=asked.stress_pa, most=most)
    low, median, high = (float(value) for value in fit.quantiles(ratios))
    return LowestRatio(
        hardness_kg_m3=water.hardness_kg_m3,
        temperature_k=water.temperature_k,
        ratio=Band(low, median, high),
        most=most,
        reached=float(np.mean(ratios < most)),
    )


def _yields(fit: CurveFit, product: Product, waters: Sequence[Water]) -> tuple[YieldAt, ...]:
    hardest = max(waters, key=lambda one: one.hardness_kg_m3)
    ratios = np.linspace(product.ratio_low, product.ratio_high, _YIELD_RATIOS)
    bands = fit.quantiles(yields_at(fit.members, ratios, hardest))
    return tuple(
        YieldAt(float(ratio), Band(*(float(value) for value in bands[:, place])))
        for place, ratio in enumerate(ratios)
    )


def _numbers(numbers: Numbers, product: Product) -> tuple[FittedNumber, ...]:
    return tuple(
        FittedNumber(
            name=name,
            unit=_UNITS[name],
            band=Band(numbers.fields[name][1], numbers.fields[name][0], numbers.fields[name][2]),
            default=float(getattr(product, _OF_PRODUCT[name])),
        )
        for name in CURVE_FIELDS
    )


def _drying_report(fit: DryingFit | None, product: Product) -> DryingReport | None:
    if fit is None:
        return None
    low, median, high = fit.default
    return DryingReport(
        coats=tuple(one.id for one in fit.series),
        weighings=fit.count,
        exponent=Band(fit.low, fit.median, fit.high),
        default=Band(low, median, high),
        weather_factors=fit.factors,
        odd=fit.odd,
        ruling=judge_drying(fit, product)[0],
    )


def _proposals(
    fit: CurveFit | None,
    records: Sequence[TrialRecord],
    product: Product,
    asked: Asked,
    waters: Sequence[Water],
    seed: int,
) -> tuple[NextTrial, ...]:
    """The best trials of those this crew can make: its own ways of reading, or the simple ones."""
    kind = product_type(name=product.product_type)
    belief = belief_before(kind, seed=seed) if fit is None else belief_of(fit, seed=seed)
    hardest = max(waters, key=lambda one: one.hardness_kg_m3)
    tried = [(water.hardness_kg_m3, water.temperature_k) for water in waters_of(records)]
    question = Question(hardest, asked.stress_pa, MOST_OVER_LABEL * product.ratio_high)
    age = rheology.hydration_wait(
        share=_WELL_SWOLLEN,
        temperature_k=hardest.temperature_k,
        hydration_time_s=kind.hydration_time_s.median,
    )
    attempts = attempts_of(
        ratios=(product.ratio_low, product.ratio_high),
        waters=sorted({(hardest.hardness_kg_m3, hardest.temperature_k), *tried}),
        methods=SIMPLE if fit is None else fit.read.methods,
        age_s=max(float(age), 1.0),
    )
    ranked = rank_trials(belief, attempts, question, seed=seed)[:_SHOWN]
    return tuple(_next_trial(one, question) for one in ranked)


def _next_trial(one: Proposal, question: Question) -> NextTrial:
    ends = [
        number_of(reading_of(one.attempt.method, value))
        for value in (one.reading_low, one.reading_high)
    ]
    low, high = sorted(value for value, _ in ends)  # a stiffer mix sinks and spreads less
    return NextTrial(
        ratio=one.attempt.ratio,
        hardness_kg_m3=one.attempt.hardness_kg_m3,
        temperature_k=one.attempt.temperature_k,
        age_s=one.attempt.age_s,
        method=one.attempt.method.value,
        reading=(low, high),
        reading_unit=ends[0][1],
        tool=tool_of(one.attempt.method),
        width_now=one.width_now,
        width_expected=one.width,
        reason=reason_for(one, question),
    )
