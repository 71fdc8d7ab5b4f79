"""What the proportioner delivers, how sure that is, and what numbers are refused or searched."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from kept.keeping import Groups
from kept.physics.drawing import COUNT, at, each, many, seeded, to
from stillwet.errors import StillwetError
from stillwet.physics import guards, proportioning, roots, uncertainty

_AMOUNT = to(0.5, 2.0)

_CHECKS = np.arange(COUNT, dtype=np.float64)

_PROPORTIONING = {
    "published": lambda: [
        proportioning.WATER_READS_HIGH_INTERVAL,
        proportioning.REFRACTOMETER_POINTS,
        proportioning.CONDUCTIVITY_POINTS,
    ],
    "ratio_of_parts": many(
        proportioning.ratio_of_parts, concentrate_parts=_AMOUNT, water_parts=to(30.0, 300.0)
    ),
    "ratio_from_draw": many(
        proportioning.ratio_from_draw,
        drawn_m3=to(1e-4, 1e-3),
        seconds=to(20.0, 120.0),
        mix_flow_m3_s=to(5e-4, 5e-3),
    ),
    "ratio_from_levels": many(
        proportioning.ratio_from_levels, drawn_m3=to(0.001, 0.02), water_used_m3=to(0.2, 2.0)
    ),
    "ratio_from_mass": many(
        proportioning.ratio_from_mass,
        drawn_kg=_AMOUNT,
        concentrate_density_kg_m3=to(990.0, 1200.0),
        mix_m3=to(0.05, 0.5),
    ),
    "ratio_by_mass": many(proportioning.ratio_by_mass, drawn_kg=_AMOUNT, water_kg=to(30.0, 300.0)),
    "ratio_from_flows": many(
        proportioning.ratio_from_flows, concentrate_m3_s=to(1e-5, 1e-4), mix_m3_s=to(1e-3, 1e-2)
    ),
    "ratio_from_density": many(
        proportioning.ratio_from_density,
        mix_kg_m3=to(998.5, 1003.0),
        water_kg_m3=to(996.0, 998.0),
        concentrate_kg_m3=to(1050.0, 1200.0),
    ),
    "mix_density": many(
        proportioning.mix_density,
        ratio=to(0.0, 0.05),
        water_kg_m3=to(996.0, 998.0),
        concentrate_kg_m3=to(1050.0, 1200.0),
    ),
    "ratio_corrected_for_water": many(
        proportioning.ratio_corrected_for_water,
        ratio=to(0.0, 0.05),
        edges=[{"reads_high": 1.6}],
    ),
    "dial_setting": many(
        proportioning.dial_setting,
        wanted=to(0.005, 0.03),
        set_ratio=to(0.005, 0.03),
        delivered=to(0.005, 0.03),
    ),
    "foam_tolerance": at(
        proportioning.foam_tolerance,
        *({"rated": rated} for rated in (0.002, 0.0099, 0.01, 0.03, 0.0333, 0.034, 0.06)),
    ),
    "judge": at(
        proportioning.judge,
        *(
            {"ratio": ratio, "uncertainty": 0.0005, "window": (0.009, 0.011), **more}
            for ratio in (0.007, 0.0089, 0.0095, 0.01, 0.0105, 0.0112, 0.013)
            for more in ({}, {"confidence": 0.6}, {"degrees_of_freedom": 4.0})
        ),
        *(
            {"ratio": ratio, "uncertainty": 0.0, "window": (0.009, 0.011)}
            for ratio in (0.009, 0.011)
        ),
    ),
    "can_judge": at(
        proportioning.can_judge,
        *(
            {"uncertainty": doubt, "window": (0.009, 0.011), **more}
            for doubt in (0.0, 0.0004, 0.00051, 0.00052, 0.0011, 0.002)
            for more in ({}, {"confidence": 0.6})
        ),
    ),
    "drift_cusum": lambda: [
        proportioning.drift_cusum(
            values=np.asarray(10.0 + moved * _CHECKS + np.sin(_CHECKS), dtype=np.float64),
            target=10.0,
            deviation=0.8,
            **more,
        )
        for moved in (-0.3, -0.01, 0.0, 0.3)
        for more in ({}, {"allowance": 0.25, "limit": 3.0})
    ],
}


def _root(target: Any, low: Any) -> object:
    return roots.rising_root(function=lambda x: x / (1.0 + x), target=target, low=low)


_ROOTS = {
    "rising_root": lambda: [
        _root(0.5, 1e-3),
        _root(np.array([0.1, 0.5, 0.99, 1.0, 2.0]), 1e-6),
        _root(np.array([0.3, 0.6]), np.array([[1e-3], [0.4]])),
        roots.rising_root(function=np.log, target=np.array([1.0, 1e3]), low=0.5),
    ],
}


def _guarded(value: Any, **more: Any) -> str:
    guards.need_within("wind", value, 0.0, 60.0, "m/s", **more)
    return "passed"


_GUARDS = {
    "need_within": at(
        _guarded,
        *({"value": value} for value in (0.0, 60.0, -1e-9, 60.1, float("nan"), float("inf"))),
        {"value": np.array([1.0, 2.0, 61.0, 62.0])},
        {"value": np.array([[1.0, 2.0], [np.nan, 3.0]]), "hint": "is it in km/h?"},
        {"value": np.array([1.0, 2.0])},
    ),
    "as_given": lambda: [guards.as_given(value) for value in (1, np.float64(2.0), np.array([3.0]))],
    "outside": lambda: [
        guards.outside("far", value, 1.0, 2.0)
        for value in (0.9, 1.0, 1.5, 2.0, 2.1, np.array([1.5, 2.5]), np.array([1.5, 1.6]))
    ],
}


def _scatter() -> dict[str, Any]:
    random = seeded("scatter")
    x = np.linspace(0.0, 9.0, COUNT)
    return {
        "x": x + 0.2 * random.random(COUNT),
        "y": 1.5 + 0.7 * x + 0.3 * random.random(COUNT),
    }


def _york(**more: Any) -> object:
    line = uncertainty.fit_line_york(
        **_scatter(),
        x_uncertainty=np.linspace(0.05, 0.2, COUNT),
        y_uncertainty=np.linspace(0.3, 0.1, COUNT),
        **more,
    )
    return [line, line.at(4.0), line.x_of(5.0), line.uncertainty_of_x(5.0, 0.2)]


def _few_points(count: int) -> object:
    x = np.array([1.0, 2.0, 3.5])[:count]
    try:
        return uncertainty.fit_line_york(x=x, y=x**2, x_uncertainty=0.1 * x, y_uncertainty=0.2 * x)
    except StillwetError as error:
        return str(error)


def _reckoned(x: float, y: float, z: float) -> float:
    return x * y**2 / z


def _kragten(**more: Any) -> object:
    return uncertainty.propagate_kragten(
        function=_reckoned,
        values={"x": 2.0, "y": 1.5, "z": 4.0},
        uncertainties={"x": 0.1, "y": 0.05},
        **more,
    )


_UNCERTAINTY = {
    "propagate_kragten": lambda: [
        _kragten(),
        _kragten(correlation={("x", "y"): 0.6}),
        _kragten(correlation={("x", "y"): -0.999, ("y", "x"): -0.999}),
    ],
    "coverage_factor": each(
        uncertainty.coverage_factor,
        confidence=to(0.5, 0.99),
        edges=[{"degrees_of_freedom": freedom} for freedom in (2.0, 10.0, math.inf)],
    ),
    "rectangular": each(uncertainty.rectangular, half_width=to(0.1, 3.0)),
    "fit_line_york": lambda: [_york(), _york(correlation=0.4), _few_points(3), _few_points(2)],
    "fit_slope_deming": lambda: [
        uncertainty.fit_slope_deming(**_scatter()),
        uncertainty.fit_slope_deming(**_scatter(), variance_ratio=3.0),
    ],
}

GROUPS: Groups = {
    "proportioning": _PROPORTIONING,
    "roots": _ROOTS,
    "guards": _GUARDS,
    "uncertainty": _UNCERTAINTY,
}
