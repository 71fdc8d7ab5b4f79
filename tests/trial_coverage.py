"""How often the fit's 90 % bands hold the truth, on made-up products and crews."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from made_up_trials import attempts_over_label, draw_truth, take_reading
from stillwet.evidence.curve_fit import Water, fit_curve, lowest_working_ratio, yields_at
from stillwet.evidence.readings import Method
from stillwet.physics.product_types import product_type, product_type_names

METHODS = (Method.COUPON, Method.SLUMP, Method.FUNNEL)
WATERS = (0.05, 0.2)
TEMPERATURE_K = 294.15
AGE_S = 4 * 3600.0
ASKED = Water(0.2, TEMPERATURE_K)
STRESS_PA = 1.5 * 31.0
POINTS = 256
TRIALS = 8


@dataclass(frozen=True, slots=True)
class Held:
    """Whether the truth lay in the 90 % band: of the yield stress at mid-label in the harder water,
    of the lowest ratio that keeps 1/8 in on a wall there, and whether the draws were sound.
    """

    stress: bool
    ratio: bool
    is_sound: bool


def held_for(name: str, seed: int) -> Held:
    """One made-up product of a type, eight trials of it, and the fit's bands."""
    kind = product_type(name=name)
    # Each type its own seeds: the same deviates would make the four tests one.
    seed += 100_000 * product_type_names().index(name)
    truth = draw_truth(kind, seed=seed)
    attempts = attempts_over_label(
        kind,
        count=TRIALS,
        methods=METHODS,
        hardness_kg_m3=WATERS,
        seconds_old=AGE_S,
        temperature_k=TEMPERATURE_K,
    )
    trials = [
        take_reading(truth, attempt, name=f"t{place}", seed=10_000_000 + 100 * seed + place)
        for place, attempt in enumerate(attempts)
    ]
    fit = fit_curve(trials, kind, seed=seed, points=POINTS)
    middle = np.array([truth.model.reference_ratio])
    most = 3.0 * kind.ratio_high.median
    asked = {"stress_pa": STRESS_PA, "most": most}
    return Held(
        stress=_holds(
            yields_at(fit.members, middle, ASKED)[:, 0],
            float(yields_at(truth.members, middle, ASKED)[0, 0]),
        ),
        ratio=_holds(
            lowest_working_ratio(fit.members, ASKED, **asked),
            float(lowest_working_ratio(truth.members, ASKED, **asked)[0]),
        ),
        is_sound=fit.draws.is_sound,
    )


def _holds(draws: np.ndarray, truth: float) -> bool:
    low, high = np.quantile(draws, (0.05, 0.95))
    return bool(low <= truth <= high)
