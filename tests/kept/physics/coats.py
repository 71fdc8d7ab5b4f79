"""The coat: how a mix flows and clings, how it dries, how a field reading tells."""

from __future__ import annotations

from typing import Any

import numpy as np

from kept.keeping import Groups
from kept.physics.drawing import at, every, log, many, to
from stillwet.physics import cling, coat, funnel, product_types, rheology

SHARE, INDEX, DENSITY = to(0.0, 1.0), to(0.3, 1.0), to(990.0, 1060.0)
YIELD, CONSISTENCY, TILT = log(0.5, 600.0), log(0.05, 40.0), to(5.0, 90.0)
ADHESION: dict[str, Any] = {"adhesion_stress_pa": 90.0}

_COAT = {
    "share_left": many(
        coat.share_left,
        drying_share=to(0.0, 2.0),
        exponent=every(0.0, 0.5, 0.9, 1.0 - 1e-10, 1.0),
        edges=[{"drying_share": -0.5}],
    ),
    "drying_share_until": many(
        coat.drying_share_until,
        share=SHARE,
        exponent=every(0.0, 0.5, 0.9, 1.0 - 1e-10, 1.0),
        edges=[{"share": 0.0}, {"share": 1.5}, {"share": -1.0}],
    ),
    "coat_left": many(
        coat.coat_left,
        coat_kg_m2=to(0.5, 6.0),
        drying_kg_m2=to(0.0, 4.0),
        exponent=every(0.0, 0.6, 1.0),
        edges=[{"coat_kg_m2": 0.0}, {"drying_kg_m2": -1.0}],
    ),
    "coat_left_from": many(
        coat.coat_left_from,
        water_kg_m2=to(0.1, 5.0),
        coat_kg_m2=to(2.0, 6.0),
        drying_kg_m2=to(0.0, 3.0),
        exponent=every(0.0, 0.6, 1.0),
        edges=[{"coat_kg_m2": 0.0}, {"water_kg_m2": 9.0}, {"drying_kg_m2": -1.0}],
    ),
    "drying_until": many(
        coat.drying_until,
        coat_kg_m2=to(0.5, 6.0),
        target_kg_m2=to(0.0, 3.0),
        exponent=every(0.0, 0.6, 1.0),
        edges=[{"coat_kg_m2": 0.0}, {"target_kg_m2": 0.0}, {"target_kg_m2": 9.0}],
    ),
    "coat_needed": many(
        coat.coat_needed,
        target_kg_m2=to(0.1, 3.0),
        drying_kg_m2=to(0.0, 5.0),
        exponent=every(0.0, 0.6, 1.0),
        edges=[{"target_kg_m2": 0.0}, {"drying_kg_m2": 0.0}, {"target_kg_m2": -1.0}],
    ),
    "thinnest_tenth_factor": many(coat.thinnest_tenth_factor, coat_variation=to(0.0, 0.8)),
}

_CLING = {
    "defaults": lambda: [
        cling.ADHESION_STRESS_PA,
        cling.ADHESION_EXPONENT,
        cling.FLAT_DEPTH_M,
        cling.LEAF_WATER_KG_M2,
    ],
    "clinging_stress": many(
        cling.clinging_stress,
        yield_pa=YIELD,
        edges=[ADHESION | {"yield_pa": 300.0}, {"adhesion_exponent": 2.5, "yield_pa": 300.0}],
    ),
    "downhill_share": many(cling.downhill_share, tilt_deg=to(-20.0, 150.0)),
    "cling_limit": many(
        cling.cling_limit,
        yield_pa=YIELD,
        tilt_deg=TILT,
        density_kg_m3=DENSITY,
        safety=to(1.0, 2.0),
        edges=[
            {"tilt_deg": 0.0},
            ADHESION | {"yield_pa": 300.0},
            {"adhesion_exponent": 2.5, "yield_pa": 300.0, "tilt_deg": 90.0},
        ],
    ),
    "yield_needed": many(
        cling.yield_needed,
        coat_kg_m2=to(0.5, 15.0),
        tilt_deg=TILT,
        density_kg_m3=DENSITY,
        safety=to(1.0, 2.0),
        edges=[
            {"coat_kg_m2": 24.0, "tilt_deg": 5.0},
            {"coat_kg_m2": 30.0, "tilt_deg": 5.0},
            ADHESION | {"coat_kg_m2": 7.0, "tilt_deg": 90.0},
        ],
    ),
    "yield_most": many(
        cling.yield_most,
        coat_kg_m2=to(0.5, 15.0),
        tilt_deg=TILT,
        safety=to(1.0, 2.0),
        edges=[{"tilt_deg": 0.0}, ADHESION, {"adhesion_exponent": 2.5}],
    ),
    "leaf_retention": many(
        cling.leaf_retention,
        yield_pa=YIELD,
        blade_width_m=log(0.001, 0.1),
        density_kg_m3=DENSITY,
        edges=[{"yield_pa": 0.0}, {"safety": 1.0}, {"yield_pa": 0.0, "water_kg_m2": 0.3}],
    ),
    "foliage_retention": many(
        cling.foliage_retention,
        leaf_area_index=to(0.5, 6.0),
        wetted_share=SHARE,
        leaf_retention_kg_m2=to(0.2, 3.0),
    ),
}

_WATER: dict[str, Any] = {
    "hardness_kg_m3": to(0.0, 1.0),
    "hardness_half_kg_m3": to(0.05, 0.4),
    "temperature_k": to(275.15, 313.15),
    "age_s": to(5.0, 300.0),
}
_YIELD_LAW: dict[str, Any] = {
    "coefficient_pa": to(1e4, 1e5),
    "threshold": 0.002,
    "exponent": to(1.0, 2.0),
}
_YIELD_EDGES: list[dict[str, Any]] = [
    {"age_s": np.inf, "temperature_k": rheology.REFERENCE_TEMPERATURE_K},
    {"hydration_time_s": 200.0, "age_s": 60.0},
    {"hardness_exponent": -0.3},
    {"temperature_slope_per_k": 0.012},
]
_FLOW: dict[str, Any] = {"yield_pa": YIELD, "consistency_pa_s": CONSISTENCY, "index": INDEX}

_RHEOLOGY = {
    "water_viscosity_patek": many(rheology.water_viscosity_patek, temperature_k=to(253.15, 383.15)),
    "swelling_of_hard_water": many(
        rheology.swelling_of_hard_water,
        hardness_kg_m3=to(0.0, 1.0),
        hardness_half_kg_m3=to(0.05, 0.4),
        edges=[{"exponent": 0.0}, {"exponent": -0.3}, {"hardness_half_kg_m3": np.inf}],
    ),
    "hydration_time_tanaka": many(
        rheology.hydration_time_tanaka,
        hydration_time_s=to(10.0, 1800.0),
        temperature_k=to(275.15, 313.15),
    ),
    "hydration": many(
        rheology.hydration,
        age_s=to(0.0, 300.0),
        temperature_k=to(275.15, 313.15),
        edges=[{"age_s": np.inf}, {"hydration_time_s": 400.0}],
    ),
    "hydration_wait": many(
        rheology.hydration_wait,
        share=to(0.0, 0.99),
        temperature_k=to(275.15, 313.15),
        edges=[{"hydration_time_s": 400.0}],
    ),
    "effective_ratio": many(
        rheology.effective_ratio, ratio=to(0.0, 0.03), **_WATER, edges=_YIELD_EDGES[:3]
    ),
    "yield_stress_of_effective_ratio": many(
        rheology.yield_stress_of_effective_ratio, ratio=to(0.0, 0.02), **_YIELD_LAW
    ),
    "warming_factor": many(
        rheology.warming_factor, temperature_k=to(275.15, 313.15), slope_per_k=to(0.0, 0.015)
    ),
    "yield_stress": many(
        rheology.yield_stress, ratio=to(0.004, 0.04), **_YIELD_LAW, **_WATER, edges=_YIELD_EDGES
    ),
    "ratio_for_yield": many(
        rheology.ratio_for_yield,
        yield_pa=to(0.0, 200.0),
        **_YIELD_LAW,
        **_WATER,
        edges=[
            *_YIELD_EDGES,
            {"yield_pa": 0.0},
            {"yield_pa": -1.0},
            {"coefficient_pa": 0.0},
            {"age_s": 0.0},
        ],
    ),
    "gel_share": many(
        rheology.gel_share, ratio=to(0.0, 0.02), threshold=0.004, sharpness=to(2.5, 6.0)
    ),
    "consistency": many(
        rheology.consistency,
        ratio=to(0.0, 0.02),
        coefficient_pa_s=to(0.5, 10.0),
        exponent=to(1.0, 2.0),
        threshold=0.004,
        temperature_k=to(275.15, 313.15),
        edges=[{"sharpness": 2.5}, {"temperature_k": rheology.REFERENCE_TEMPERATURE_K}],
    ),
    "flow_index": many(
        rheology.flow_index,
        ratio=to(0.0, 0.02),
        index_gel=INDEX,
        threshold=0.004,
        edges=[{"sharpness": 2.5}],
    ),
    "shear_stress_herschel_bulkley": many(
        rheology.shear_stress_herschel_bulkley, shear_rate_1_s=log(0.01, 1e4), **_FLOW
    ),
    "apparent_viscosity": many(rheology.apparent_viscosity, shear_rate_1_s=log(0.01, 1e4), **_FLOW),
}

_FUNNEL = {
    "errors": lambda: [
        funnel.FUNNEL_ERROR,
        funnel.SPINDLE_ERROR,
        funnel.SLUMP_ERROR,
        funnel.SPREAD_ERROR,
    ],
    "funnel_is_true": at(
        funnel.funnel_is_true,
        *({"water_seconds": seconds} for seconds in (25.4, 25.5, 26.0, 26.4, 26.5, 26.6)),
    ),
    "viscosity_pitt": many(
        funnel.viscosity_pitt,
        funnel_seconds=to(20.0, 120.0),
        density_kg_m3=DENSITY,
        edges=[{"water_seconds": 28.0, "funnel_seconds": 40.0}],
    ),
    "spindle_shear_rate": many(
        funnel.spindle_shear_rate, revolutions_per_min=to(6.0, 60.0), index=INDEX
    ),
    "spindle_viscosity": many(
        funnel.spindle_viscosity, **_FLOW, edges=[{"revolutions_per_min": 12.0}]
    ),
    "spindle_full_scale": many(
        funnel.spindle_full_scale,
        spring_constant=0.09373,
        spindle_constant=to(6.4, 640.0),
        revolutions_per_min=to(6.0, 60.0),
    ),
    "slump_pashias": many(
        funnel.slump_pashias,
        yield_pa=to(5.0, 600.0),
        density_kg_m3=DENSITY,
        height_m=to(0.05, 0.2),
        edges=[{"yield_pa": 0.0}, {"yield_pa": 5e3}],
    ),
    "yield_from_slump_pashias": many(
        funnel.yield_from_slump_pashias,
        slump_m=to(0.005, 0.045),
        density_kg_m3=DENSITY,
        height_m=to(0.05, 0.2),
    ),
    "yield_from_spread_roussel": many(
        funnel.yield_from_spread_roussel,
        volume_m3=to(2e-4, 2e-3),
        diameter_m=to(0.1, 0.5),
        density_kg_m3=DENSITY,
    ),
    "coat_from_coupon": many(
        funnel.coat_from_coupon,
        wet_kg=to(0.3, 0.5),
        bare_kg=to(0.2, 0.29),
        area_m2=to(0.01, 0.05),
    ),
    "yield_from_tilt": many(funnel.yield_from_tilt, coat_kg_m2=to(0.5, 8.0), tilt_deg=TILT),
    "film_surface_speed": many(
        funnel.film_surface_speed,
        thickness_m=to(0.0005, 0.02),
        tilt_deg=TILT,
        density_kg_m3=DENSITY,
        yield_pa=to(0.0, 40.0),
        consistency_pa_s=CONSISTENCY,
        index=INDEX,
    ),
    "slough_time": many(
        funnel.slough_time,
        surface_speed_m_s=log(1e-6, 0.1),
        edges=[{"surface_speed_m_s": 0.0}, {"slide_m": 0.1}],
    ),
    "sheared_thickness": many(
        funnel.sheared_thickness,
        surface_speed_m_s=log(1e-6, 0.1),
        tilt_deg=TILT,
        density_kg_m3=DENSITY,
        consistency_pa_s=CONSISTENCY,
        index=INDEX,
    ),
}

_PRODUCT_TYPES = {
    "parameter_names": product_types.parameter_names,
    "product_type_names": product_types.product_type_names,
    "product_type": lambda: {
        name: product_types.product_type(name=name) for name in product_types.product_type_names()
    },
    "product_type refused": at(product_types.product_type, {"name": "jelly"}),
    "Parameter.is_untested": lambda: [
        getattr(product_types.product_type(name=name), parameter).is_untested
        for name in product_types.product_type_names()
        for parameter in product_types.parameter_names()
    ],
}

GROUPS: Groups = {
    "coat": _COAT,
    "cling": _CLING,
    "rheology": _RHEOLOGY,
    "funnel": _FUNNEL,
    "product_types": _PRODUCT_TYPES,
}
