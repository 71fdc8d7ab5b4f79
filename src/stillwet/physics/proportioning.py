"""What ratio a proportioner really delivers, how sure that is, and whether it will do.

A mix ratio here is the concentrate's share of the finished mix, by volume unless said otherwise.
Each way of measuring is one short formula; ``uncertainty.propagate_kragten`` puts the error on it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillwet.physics.guards import Numbers
from stillwet.physics.uncertainty import coverage_factor

Array = NDArray[np.float64]

WATER_READS_HIGH = 1.2  # published: a draw test with water reads about 20 % above concentrate
WATER_READS_HIGH_INTERVAL = (1.1, 1.6)  # untested default; a stiff gel concentrate may be worse
REFRACTOMETER_POINTS = 0.003  # published: +-0.3 percentage point, FAA technical note 02-115
CONDUCTIVITY_POINTS = 0.0005  # published: better than 0.05 percentage point, same note


def ratio_of_parts(*, concentrate_parts: Numbers, water_parts: Numbers) -> Numbers:
    """Share of the finished mix [fraction] for "1 to 100" parts: 1/(1 + 100) = 0.990 %.

    Beside ``ratio_from_levels``: the program does not use it.
    """
    concentrate = np.asarray(concentrate_parts, dtype=float)
    return concentrate / (concentrate + water_parts)


def ratio_from_draw(*, drawn_m3: Numbers, seconds: Numbers, mix_flow_m3_s: Numbers) -> Numbers:
    """Ratio [fraction] from a timed draw: concentrate drawn_m3 [m3] in so many seconds [s].

    mix_flow_m3_s [m3/s] is what leaves the nozzle, concentrate included.
    """
    return np.asarray(drawn_m3, dtype=float) / (np.asarray(seconds) * mix_flow_m3_s)


def ratio_from_levels(*, drawn_m3: Numbers, water_used_m3: Numbers) -> Numbers:
    """Ratio [fraction] from two tank levels: concentrate drawn and water used [m3] on one run."""
    drawn = np.asarray(drawn_m3, dtype=float)
    return drawn / (drawn + water_used_m3)


def ratio_from_mass(
    *, drawn_kg: Numbers, concentrate_density_kg_m3: Numbers, mix_m3: Numbers
) -> Numbers:
    """Ratio by volume [fraction] from a weighed concentrate can [kg] and the mix made [m3]."""
    return np.asarray(drawn_kg, dtype=float) / (concentrate_density_kg_m3 * np.asarray(mix_m3))


def ratio_by_mass(*, drawn_kg: Numbers, water_kg: Numbers) -> Numbers:
    """Ratio by mass [fraction] from the powder used up and the water it went into [kg]."""
    powder = np.asarray(drawn_kg, dtype=float)
    return powder / (powder + water_kg)


def ratio_from_flows(*, concentrate_m3_s: Numbers, mix_m3_s: Numbers) -> Numbers:
    """Ratio [fraction] from two flow meters: concentrate, and finished mix [m3/s]."""
    ratio: Numbers = np.asarray(concentrate_m3_s, dtype=float) / np.asarray(mix_m3_s)
    return ratio


def ratio_from_density(
    *, mix_kg_m3: Numbers, water_kg_m3: Numbers, concentrate_kg_m3: Numbers
) -> Numbers:
    """Ratio by volume [fraction] from densities [kg/m3], volumes taken to add up.

    ``r = (rho_mix - rho_water)/(rho_conc - rho_water)``. Known fault: a concentrate close to
    water's density leaves nothing to read; let the uncertainty say so.
    """
    return (np.asarray(mix_kg_m3, dtype=float) - water_kg_m3) / (
        np.asarray(concentrate_kg_m3) - water_kg_m3
    )


def mix_density(*, ratio: Numbers, water_kg_m3: Numbers, concentrate_kg_m3: Numbers) -> Numbers:
    """Density of the mix [kg/m3] at a ratio by volume [fraction], volumes taken to add up."""
    share = np.asarray(ratio, dtype=float)
    return share * concentrate_kg_m3 + (1.0 - share) * water_kg_m3


def ratio_corrected_for_water(*, ratio: Numbers, reads_high: Numbers = WATER_READS_HIGH) -> Numbers:
    """Ratio with concentrate [fraction] from a test in which water stood in for it.

    Water flows more easily, so the test reads about 20 % high (reads_high 1.2, untested 1.1 to
    1.6).
    """
    return np.asarray(ratio, dtype=float) / reads_high


def dial_setting(*, wanted: Numbers, set_ratio: Numbers, delivered: Numbers) -> Numbers:
    """What to set to get ``wanted``, when ``set_ratio`` delivered ``delivered`` [all fractions].

    In proportion, which holds near the setting tried; test again after a large change.
    Beside ``judge``: the program does not use it.
    """
    setting: Numbers = np.asarray(wanted, dtype=float) * set_ratio / np.asarray(delivered)
    return setting


def foam_tolerance(*, rated: float) -> tuple[float, float]:
    """The delivered range that foam practice allows for a rated ratio [fraction]: (low, high).

    Never lean; rich by 30 % of the rated ratio or 1 percentage point, whichever is less, and by 40
    % below 1 %. Published for foam proportioners (NFPA training slides); no such rule was found for
    gel, where running rich is a fault too.
    """
    if rated < 0.01:
        return rated, 1.4 * rated
    return rated, rated + min(0.3 * rated, 0.01)


class Judgement(StrEnum):
    """What a check of the proportioner says."""

    ACCEPT = "accept"
    TOO_LEAN = "too lean"
    TOO_RICH = "too rich"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Check:
    """A judgement with the interval it stands on [fractions]."""

    judgement: Judgement
    low: float
    high: float


def judge(
    *,
    ratio: float,
    uncertainty: float,
    window: tuple[float, float],
    confidence: float = 0.95,
    degrees_of_freedom: float = math.inf,
) -> Check:
    """Accept when the whole interval lies in the window, reject when none of it does.

    Parameters: ratio and its standard uncertainty [fraction]; window (low, high) [fraction];
    confidence of the interval; degrees_of_freedom of the uncertainty. Decision rule of JCGM
    106:2012 with the interval as guard band on both sides; anything else is "cannot tell": measure
    again, or better.
    """
    half = coverage_factor(confidence=confidence, degrees_of_freedom=degrees_of_freedom)
    low, high = ratio - half * uncertainty, ratio + half * uncertainty
    if window[0] <= low and high <= window[1]:
        return Check(Judgement.ACCEPT, low, high)
    if high < window[0]:
        return Check(Judgement.TOO_LEAN, low, high)
    if low > window[1]:
        return Check(Judgement.TOO_RICH, low, high)
    return Check(Judgement.CANNOT_TELL, low, high)


def can_judge(*, uncertainty: float, window: tuple[float, float], confidence: float = 0.95) -> bool:
    """True when a method this uncertain could ever accept: its interval fits into the window.

    A refractometer good to 0.3 point cannot judge a 1 % mix.
    """
    return 2.0 * coverage_factor(confidence=confidence) * uncertainty <= window[1] - window[0]


@dataclass(frozen=True, slots=True)
class Drift:
    """Run chart of repeated checks: both sums in standard deviations, and the first alarm."""

    high: Array  # (N,)
    low: Array  # (N,)
    alarm_at: int | None  # index of the first check outside, None while in control
    is_rich: bool  # which side alarmed; False too when there is no alarm


def drift_cusum(
    *,
    values: Array,
    target: float,
    deviation: float,
    allowance: float = 0.5,
    limit: float = 5.0,
) -> Drift:
    """Tabular cumulative sum of checks (N,) against a target, to see a slow drift.

    Parameters: values, target and deviation (standard, of one check) in one unit; allowance and
    limit in deviations. ``C+ = max(0, z - k + C+)``, ``C- = max(0, -z - k + C-)``, alarm above h.
    Page 1954, Biometrika 41:100. With k 0.5 and h 5 a false alarm comes once in some 465 checks and
    a shift of one deviation is found in about 10 (Montgomery, Statistical Quality Control, table
    9.3).
    """
    high, low = np.zeros(values.size), np.zeros(values.size)
    above = below = 0.0
    for i, z in enumerate((values - target) / deviation):
        above = max(0.0, z - allowance + above)
        below = max(0.0, -z - allowance + below)
        high[i], low[i] = above, below
    outside = np.flatnonzero((high > limit) | (low > limit))
    first = int(outside[0]) if outside.size else None
    return Drift(high, low, first, first is not None and bool(high[first] > limit))
