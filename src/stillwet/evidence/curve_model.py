"""The curve with all its unknowns: from standard normal deviates to predicted readings.

The unknowns are the numbers of ``physics.rheology`` for one product, the error each published
relation makes on it, and how much this crew's readings scatter. Arrays have one row a draw (M) and
one column a mix (B) or reading (N).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from stillwet.evidence.prior import Priors, make_prior, prior_of
from stillwet.evidence.readings import (
    ERRORS,
    FUNNEL_RATE_1_S,
    MIX_DENSITY_KG_M3,
    Method,
    Mixes,
    Points,
)
from stillwet.physics import cling, funnel, rheology
from stillwet.physics.product_types import ProductType

Array = NDArray[np.float64]

TAILS = 4.0  # degrees of freedom of a reading's error: one in fifty lies beyond 3.7 scatters
SCATTER = (0.5, 1.0, 2.0)  # this crew's scatter over the usual one: 5, 50 and 95 % points
LEAST_EXCESS = 0.05  # of the label's middle: no threshold is taken to lie closer below it


@dataclass(frozen=True, eq=False)
class CurveMembers:
    """Members of the posterior, each array (M,): the numbers of ``physics`` by their names there.

    A member's numbers belong together: never mix those of two members.
    """

    yield_coefficient_pa: Array
    yield_threshold: Array
    yield_exponent: Array
    consistency_pa_s: Array  # at the threshold
    consistency_exponent: Array
    flow_index: Array
    hardness_half_kg_m3: Array
    hardness_exponent: Array
    temperature_slope_per_k: Array
    hydration_time_s: Array
    adhesion_stress_pa: Array

    def at(self, rows: NDArray[np.int64]) -> CurveMembers:
        """Some of the members."""
        return CurveMembers(*(getattr(self, field.name)[rows] for field in fields(self)))


@dataclass(frozen=True, eq=False)
class CurveModel:
    """One product's unknowns, in a fixed order, and the ways of reading that were used."""

    kind: ProductType
    priors: Priors  # of the curve's numbers, then of this crew's scatter
    reference_ratio: float
    methods: tuple[Method, ...]

    @property
    def size(self) -> int:
        """How many unknowns there are: the curve's, one scatter, one error a relation."""
        return len(self.priors) + len(self.methods)

    @property
    def scatter_place(self) -> int:
        """Where the scatter stands among the deviates."""
        return len(self.priors) - 1

    def numbers(self, values: Array) -> tuple[CurveMembers, Array]:
        """The curve's numbers (M,) and this crew's scatter over the usual one (M,).

        From the priors' values (M, P), in their order.
        """
        columns = values.T
        reference, threshold, exponent = columns[:3]
        excess = np.maximum(self.reference_ratio - threshold, LEAST_EXCESS * self.reference_ratio)
        coefficient = reference / excess**exponent
        return CurveMembers(coefficient, threshold, exponent, *columns[3:-1]), columns[-1]

    def members(self, deviates: Array) -> CurveMembers:
        """The curve's numbers (M,) at deviates (M, size)."""
        return self.numbers(self.priors.values(deviates[:, : len(self.priors)]))[0]

    def relation_columns(self, methods: Sequence[Method]) -> tuple[Array, NDArray[np.int64]]:
        """Standard deviation (N,) of each reading's relation, and its column among the deviates."""
        column = [len(self.priors) + self.methods.index(method) for method in methods]
        size = [ERRORS[method].relation for method in methods]
        return np.array(size), np.array(column, dtype=np.int64)

    def relation_errors(self, deviates: Array, methods: Sequence[Method]) -> Array:
        """Logarithm (M, N) of what each reading's relation makes of this product over the truth."""
        size, column = self.relation_columns(methods)
        return np.asarray(deviates[:, column] * size)


def make_model(kind: ProductType, methods: tuple[Method, ...]) -> CurveModel:
    """The unknowns of a product of this type, read in these ways.

    The table's interval of the yield coefficient is taken as that of the yield stress in the middle
    of the label range in soft water. Coefficient, threshold and exponent drawn on their own would
    make that stress vary three hundred-fold, which nobody believes; the coefficient's very unit
    depends on the exponent.
    """
    middle = 0.5 * (kind.ratio_low.median + kind.ratio_high.median)
    coefficient = kind.yield_coefficient_pa
    shape = (middle - kind.yield_threshold.median) ** kind.yield_exponent.median
    reference = make_prior(
        "yield stress at the middle of the label",
        "Pa",
        median=coefficient.median * shape,
        low=coefficient.low * shape,
        high=coefficient.high * shape,
        is_log=True,
    )
    calm, middling, wild = SCATTER
    priors = Priors(
        (
            reference,
            prior_of("yield_threshold", kind.yield_threshold),
            prior_of("yield_exponent", kind.yield_exponent),
            prior_of("consistency_pa_s", kind.consistency_pa_s),
            prior_of("consistency_exponent", kind.consistency_exponent),
            prior_of("flow_index", kind.flow_index, highest=1.0),
            prior_of("hardness_half_kg_m3", kind.hardness_half_kg_m3),
            prior_of("hardness_exponent", kind.hardness_exponent, is_log=False),
            prior_of("temperature_slope_per_k", kind.temperature_slope_per_k, is_log=False),
            prior_of("hydration_time_s", kind.hydration_time_s),
            prior_of("adhesion_stress_pa", kind.adhesion_stress_pa),
            make_prior("scatter", "-", median=middling, low=calm, high=wild, is_log=True),
        )
    )
    return CurveModel(kind, priors, middle, methods)


def strength_of(members: CurveMembers, mixes: Mixes) -> Array:
    """Effective ratio over ratio (M, W): what is left of a mix in each water at its age."""
    return np.asarray(
        rheology.effective_ratio(
            ratio=1.0,
            hardness_kg_m3=mixes.hardness_kg_m3,
            temperature_k=mixes.temperature_k,
            age_s=mixes.age_s,
            hardness_half_kg_m3=members.hardness_half_kg_m3[:, None],
            hardness_exponent=members.hardness_exponent[:, None],
            hydration_time_s=members.hydration_time_s[:, None],
        )
    )


def yield_of(members: CurveMembers, mixes: Mixes, effective: Array) -> Array:
    """Yield stress (M, B) [Pa] at effective ratios (M, B)."""
    soft = rheology.yield_stress_of_effective_ratio(
        ratio=effective,
        coefficient_pa=members.yield_coefficient_pa[:, None],
        threshold=members.yield_threshold[:, None],
        exponent=members.yield_exponent[:, None],
    )
    warm = rheology.warming_factor(
        temperature_k=mixes.temperature_k, slope_per_k=members.temperature_slope_per_k[:, None]
    )
    return np.asarray(soft * np.asarray(warm)[:, mixes.water])


def flow_of(members: CurveMembers, mixes: Mixes, effective: Array) -> tuple[Array, Array]:
    """Consistency [Pa s^n] and flow index, both (M, B), at effective ratios (M, B)."""
    threshold = members.yield_threshold[:, None]
    consistency = rheology.consistency(
        ratio=effective,
        coefficient_pa_s=members.consistency_pa_s[:, None],
        exponent=members.consistency_exponent[:, None],
        threshold=threshold,
        temperature_k=mixes.temperature_k[mixes.water],
    )
    index = rheology.flow_index(
        ratio=effective, index_gel=members.flow_index[:, None], threshold=threshold
    )
    return np.asarray(consistency), np.asarray(index)


def predicted(members: CurveMembers, read: Points, strength: Array) -> Array:
    """What each reading should be (M, N), in its own unit and without errors.

    ``strength`` (M, W) as from ``strength_of``.
    """
    mixes = read.mixes
    effective = mixes.ratio * strength[:, mixes.water]
    yields = yield_of(members, mixes, effective)
    found: Array = yields[:, read.mix_of]
    if Method.COUPON in read.methods:
        place = read.places[Method.COUPON]
        found[:, place] = _clinging(members, found[:, place])
    flowing = [method for method in read.methods if method in _FLOWING]
    if not flowing:
        return found
    thick, index = flow_of(members, mixes, effective)
    for method in flowing:
        place = read.places[method]
        mix = read.mix_of[place]
        found[:, place] = _flowing(
            members, read, method, yields[:, mix], thick[:, mix], index[:, mix]
        )
    return found


_FLOWING = (Method.SLOUGH, Method.SPINDLE, Method.FUNNEL)  # readings that see more than the yield


def _clinging(members: CurveMembers, yields: Array) -> Array:
    return np.asarray(
        cling.clinging_stress(
            yield_pa=yields, adhesion_stress_pa=members.adhesion_stress_pa[:, None]
        )
    )


def _flowing(
    members: CurveMembers, read: Points, method: Method, yields: Array, thick: Array, index: Array
) -> Array:
    """Spindle or funnel viscosity, or the stress of a coat that slid within its time."""
    if method is Method.SPINDLE:
        return np.asarray(
            funnel.spindle_viscosity(
                yield_pa=yields,
                consistency_pa_s=thick,
                index=index,
                revolutions_per_min=read.column(method, "revolutions_per_min"),
            )
        )
    if method is Method.FUNNEL:
        return np.asarray(
            rheology.apparent_viscosity(
                shear_rate_1_s=FUNNEL_RATE_1_S,
                yield_pa=yields,
                consistency_pa_s=thick,
                index=index,
            )
        )
    tilt = read.column(method, "tilt_deg")
    sheared = funnel.sheared_thickness(
        surface_speed_m_s=read.column(method, "slide_speed_m_s"),
        tilt_deg=tilt,
        density_kg_m3=MIX_DENSITY_KG_M3,
        consistency_pa_s=thick,
        index=index,
    )
    flowing = funnel.yield_from_tilt(coat_kg_m2=MIX_DENSITY_KG_M3 * sheared, tilt_deg=tilt)
    return np.asarray(_clinging(members, yields) + flowing)
