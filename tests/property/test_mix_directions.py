"""Directions and dimensions of the mix models, over random inputs."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwet.physics import cling, funnel, pipeflow, rheology
from stillwet.physics.product_types import ProductType, product_type, product_type_names

KINDS = st.sampled_from([product_type(name=name) for name in product_type_names()])
SUPERABSORBENTS = st.sampled_from(
    [product_type(name=name) for name in ("superabsorbent_dispersion", "dry_superabsorbent")]
)
SHARES = st.floats(1e-4, 0.2)
HARDNESS = st.floats(0.0, 1.0)
GROWTH = st.floats(1.0, 3.0)
WARM = st.floats(275.0, 313.0)
AGES = st.floats(1.0, 1e5)


def _stress(
    kind: ProductType, ratio: float, hardness: float, temperature_k: float, age_s: float
) -> float:
    return float(
        rheology.yield_stress(
            ratio=ratio,
            coefficient_pa=kind.yield_coefficient_pa.median,
            threshold=kind.yield_threshold.median,
            exponent=kind.yield_exponent.median,
            hardness_kg_m3=hardness,
            hardness_half_kg_m3=kind.hardness_half_kg_m3.median,
            hardness_exponent=kind.hardness_exponent.median,
            temperature_k=temperature_k,
            age_s=age_s,
            hydration_time_s=kind.hydration_time_s.median,
            temperature_slope_per_k=kind.temperature_slope_per_k.median,
        )
    )


@given(KINDS, SHARES, GROWTH, HARDNESS, WARM, AGES)
def test_richer_and_older_never_lower_the_yield_stress(
    kind: ProductType,
    ratio: float,
    growth: float,
    hardness: float,
    temperature_k: float,
    age_s: float,
) -> None:
    """More concentrate, or more time to swell, never thins a mix of any type."""
    base = _stress(kind, ratio, hardness, temperature_k, age_s)
    assert _stress(kind, ratio * growth, hardness, temperature_k, age_s) >= base
    assert _stress(kind, ratio, hardness, temperature_k, age_s * growth) >= base


@given(SUPERABSORBENTS, SHARES, HARDNESS, GROWTH)
def test_harder_water_never_stiffens_a_superabsorbent(
    kind: ProductType, ratio: float, hardness: float, growth: float
) -> None:
    """Direction of the published pair, everywhere."""
    base = _stress(kind, ratio, hardness, 294.15, np.inf)
    assert _stress(kind, ratio, hardness * growth, 294.15, np.inf) <= base


@given(KINDS, SHARES, GROWTH, st.floats(1.0, 1000.0))
def test_richer_never_lowers_viscosity(
    kind: ProductType, ratio: float, growth: float, rate: float
) -> None:
    """At working shear rates the apparent viscosity never falls with the effective ratio."""
    ratios = np.array([ratio, ratio * growth])
    threshold = kind.yield_threshold.median
    viscosity = np.asarray(
        rheology.apparent_viscosity(
            shear_rate_1_s=rate,
            yield_pa=rheology.yield_stress_of_effective_ratio(
                ratio=ratios,
                coefficient_pa=kind.yield_coefficient_pa.median,
                threshold=threshold,
                exponent=kind.yield_exponent.median,
            ),
            consistency_pa_s=rheology.consistency(
                ratio=ratios,
                coefficient_pa_s=kind.consistency_pa_s.median,
                exponent=kind.consistency_exponent.median,
                threshold=threshold,
            ),
            index=rheology.flow_index(
                ratio=ratios, index_gel=kind.flow_index.median, threshold=threshold
            ),
        )
    )
    assert viscosity[1] >= viscosity[0] * (1.0 - 1e-12)


@given(st.floats(0.0, 150.0), GROWTH, st.floats(1.0, 90.0), st.floats(1.0, 3.0))
def test_steeper_and_safer_never_keep_more(
    yield_pa: float, growth: float, tilt_deg: float, safety: float
) -> None:
    """A steeper face or a larger safety never keeps more; a stiffer mix that wets never less."""
    face = {"density_kg_m3": 1000.0}
    base = cling.cling_limit(yield_pa=yield_pa, tilt_deg=tilt_deg, safety=safety, **face)
    steeper = min(90.0, tilt_deg * growth)
    stiffer = min(cling.ADHESION_STRESS_PA, yield_pa * growth)
    assert cling.cling_limit(yield_pa=yield_pa, tilt_deg=steeper, safety=safety, **face) <= base
    assert (
        cling.cling_limit(yield_pa=yield_pa, tilt_deg=tilt_deg, safety=safety * growth, **face)
        <= base
    )
    assert cling.cling_limit(yield_pa=stiffer, tilt_deg=tilt_deg, safety=safety, **face) >= base


FLOWS = st.floats(1e-5, 2e-2)
YIELDS = st.floats(0.0, 100.0)
CONSISTENCIES = st.floats(0.01, 30.0)
INDICES = st.floats(0.3, 1.0)
SCALES = st.floats(0.1, 10.0)


@settings(max_examples=40, deadline=None)
@given(FLOWS, GROWTH, YIELDS, CONSISTENCIES, INDICES)
def test_more_flow_longer_or_narrower_hose_never_lose_less(
    flow: float, growth: float, yield_pa: float, consistency: float, index: float
) -> None:
    """Pressure drop rises with flow and length, and falls with bore."""
    gel = {
        "yield_pa": yield_pa,
        "consistency_pa_s": consistency,
        "index": index,
        "density_kg_m3": 1000.0,
    }
    flows = flow * np.array([1.0, growth, 1.0, 1.0])
    lengths = 30.0 * np.array([1.0, 1.0, growth, 1.0])
    bores = 0.038 * np.array([1.0, 1.0, 1.0, growth])
    drop = np.asarray(
        pipeflow.pressure_drop_herschel_bulkley(
            flow_m3_s=flows, length_m=lengths, diameter_m=bores, **gel
        )
    )
    slack = 1e-9 * drop[0]
    assert drop[1] >= drop[0] - slack
    assert drop[2] >= drop[0] - slack
    assert drop[3] <= drop[0] + slack


@settings(max_examples=40, deadline=None)
@given(FLOWS, YIELDS, CONSISTENCIES, INDICES, SCALES, SCALES, SCALES)
def test_pressure_drop_does_not_know_our_units(
    flow: float,
    yield_pa: float,
    consistency: float,
    index: float,
    mass: float,
    length: float,
    time: float,
) -> None:
    """Rescaling kilogram, metre and second rescales the answer as a pressure, in every regime."""
    pressure = mass / (length * time**2)
    drops = [
        float(
            pipeflow.pressure_drop_herschel_bulkley(
                flow_m3_s=flow * length**3 / time * s + flow * (1 - s),
                length_m=30.0 * (length * s + 1 - s),
                diameter_m=0.038 * (length * s + 1 - s),
                density_kg_m3=1000.0 * (mass / length**3 * s + 1 - s),
                yield_pa=yield_pa * (pressure * s + 1 - s),
                consistency_pa_s=consistency * (pressure * time**index * s + 1 - s),
                index=index,
            )
        )
        for s in (0, 1)
    ]
    assert np.isclose(drops[1], drops[0] * pressure, rtol=1e-6)


@given(st.floats(0.001, 0.012), GROWTH, st.floats(5.0, 90.0), YIELDS)
def test_a_thicker_coat_never_sloughs_later(
    thickness: float, growth: float, tilt_deg: float, yield_pa: float
) -> None:
    """Surface speed never falls with thickness."""
    speed = np.asarray(
        funnel.film_surface_speed(
            thickness_m=thickness * np.array([1.0, growth]),
            tilt_deg=tilt_deg,
            density_kg_m3=1000.0,
            yield_pa=yield_pa,
            consistency_pa_s=8.0,
            index=0.4,
        )
    )
    assert speed[1] >= speed[0]
