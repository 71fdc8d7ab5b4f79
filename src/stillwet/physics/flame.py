"""The flame of a spreading front: intensity, length, lean, how long it stands, how hot it is.

Intensity is W/m of front throughout. The four length relations are siblings from different fires;
they differ by a factor of two or more above 10 MW/m, so ``flame_length`` gives their spread too.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from stillwet.constants import GRAVITY
from stillwet.physics.guards import Numbers, need_within, outside
from stillwet.tables import load_table
from stillwet.units import from_si, to_si

_KW_M = from_si(1.0, "kw/m")  # published relations take intensity in kW/m
_PER_FOOT = from_si(1.0, "1/ft")
_MINUTE_S = to_si(1.0, "min", dimension="time")

HIGHEST_INTENSITY_W_M = 2e8  # above any fire reported
HIGHEST_WIND_M_S = 60.0
TILT_UNCERTAINTY_DEG = 10.0  # Nelson, Butler & Weise 2012: laboratory and field relations differ
SHALLOW_FRONT = 2.0  # length over depth, Finney & Grumstrup 2023


class FireKind(StrEnum):
    """What burns, as far as the choice of a flame relation goes."""

    SURFACE = "surface"
    SHRUB = "shrub"
    CROWN = "crown"


@dataclass(frozen=True, slots=True)
class FlameLength:
    """A flame length [m], the least and most its siblings give, and what to be wary of."""

    length_m: Numbers
    low_m: Numbers
    high_m: Numbers
    model: str
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Band:
    """A published band of measurements, SI, with its source."""

    low: float
    high: float
    source: str


def fireline_intensity_byram(
    *, heat_yield_j_kg: Numbers, fuel_consumed_kg_m2: Numbers, spread_rate_m_s: Numbers
) -> Numbers:
    """Heat released per length of front [W/m] from yield [J/kg], fuel [kg/m2] and spread [m/s].

    ``I = H w R``. Range: any front whose fuel burns in the passing flame; fuel that smoulders
    after it does not count. Source: Byram 1959, in Davis, Forest Fire: Control and Use, ch. 3.

    >>> fireline_intensity_byram(
    ...     heat_yield_j_kg=18.6e6, fuel_consumed_kg_m2=0.5, spread_rate_m_s=0.1
    ... )
    930000.0
    """
    return heat_yield_j_kg * fuel_consumed_kg_m2 * spread_rate_m_s


def flame_length_byram(*, intensity_w_m: Numbers) -> Numbers:
    """Flame length [m] of a surface front: ``L = 0.0775 I^0.46``, I in kW/m.

    Range: surface fires; published fits stretch it to about 10 MW/m. Known fault: too short for
    crown fires, too long for fronts deep against their flame (Finney & Grumstrup 2023).
    Source: Byram 1959 (coefficients from memory; the same line in feet and Btu agrees).

    >>> round(float(flame_length_byram(intensity_w_m=1e6)), 2)
    1.86
    """
    return 0.0775 * (np.asarray(intensity_w_m) * _KW_M) ** 0.46


def flame_length_thomas(*, intensity_w_m: Numbers) -> Numbers:
    """Flame length [m]: ``L = 0.0266 I^(2/3)``, I in kW/m.

    Range: from wood cribs in still air; often applied to crown fires.
    Source: Thomas 1963, 9th Symposium on Combustion (coefficient from memory).

    >>> round(float(flame_length_thomas(intensity_w_m=1e6)), 2)
    2.66
    """
    return 0.0266 * (np.asarray(intensity_w_m) * _KW_M) ** (2 / 3)


def flame_length_nelson_adkins(*, intensity_w_m: Numbers) -> Numbers:
    """Flame length [m]: ``L = 0.0475 I^0.493``, I in kW/m.

    Range: wind-tunnel and field fires in southern pine litter and palmetto, to about 3 MW/m.
    Source: Nelson & Adkins 1986, Canadian Journal of Forest Research 16 (from memory).

    >>> round(float(flame_length_nelson_adkins(intensity_w_m=1e6)), 2)
    1.43
    """
    return 0.0475 * (np.asarray(intensity_w_m) * _KW_M) ** 0.493


def flame_length_butler(*, intensity_w_m: Numbers) -> Numbers:
    """Flame length [m] of a crown fire: ``L = 0.0175 I^(2/3)``, I in kW/m.

    Range: crown fires in boreal conifers; includes the canopy, so it is short at low intensity.
    Source: Butler, Finney, Andrews & Albini 2004, Canadian Journal of Forest Research 34 (from
    memory).

    >>> round(float(flame_length_butler(intensity_w_m=3e7)), 1)
    16.9
    """
    return 0.0175 * (np.asarray(intensity_w_m) * _KW_M) ** (2 / 3)


_SIBLINGS = {
    FireKind.SURFACE: (flame_length_byram, (flame_length_thomas, flame_length_nelson_adkins)),
    FireKind.SHRUB: (flame_length_byram, (flame_length_thomas, flame_length_nelson_adkins)),
    FireKind.CROWN: (flame_length_butler, (flame_length_thomas, flame_length_byram)),
}
# Intensity [W/m] in which each choice was fitted or is in common use (from memory).
_RANGES_W_M = {
    FireKind.SURFACE: (1e4, 1e7),
    FireKind.SHRUB: (1e5, 3e7),
    FireKind.CROWN: (4e6, 1e8),
}


def flame_length(*, intensity_w_m: Numbers, kind: FireKind = FireKind.SURFACE) -> FlameLength:
    """Flame length for the kind of fire, with the spread of the published siblings.

    Byram for surface and shrub fires, Butler 2004 for crown fires; the interval runs from the
    shortest to the longest of three published relations. No fire (0 W/m) has no flame.
    Raises StillwetError outside 0 to 2e8 W/m.

    >>> flame = flame_length(intensity_w_m=1e6)
    >>> round(float(flame.low_m), 2), round(float(flame.length_m), 2), round(float(flame.high_m), 2)
    (1.43, 1.86, 2.66)
    """
    need_within("intensity", intensity_w_m, 0.0, HIGHEST_INTENSITY_W_M, "W/m")
    chosen, others = _SIBLINGS[kind]
    models = (chosen, *others)
    lengths = np.stack([np.asarray(model(intensity_w_m=intensity_w_m)) for model in models])
    low, high = _RANGES_W_M[kind]
    burning = np.where(np.asarray(intensity_w_m) > 0, intensity_w_m, low)
    return FlameLength(
        length_m=lengths[0],
        low_m=lengths.min(axis=0),
        high_m=lengths.max(axis=0),
        model=chosen.__name__,
        flags=outside(f"intensity outside the fit of {chosen.__name__}", burning, low, high),
    )


def intensity_from_flame_length_byram(*, flame_length_m: Numbers) -> Numbers:
    """Intensity [W/m] that Byram's relation gives for an observed flame length [m].

    Inverse of ``flame_length_byram``; an error of 10 % in length is 23 % in intensity.
    Raises StillwetError for a negative length.
    """
    need_within("flame_length", flame_length_m, 0.0, 100.0, "m")
    return (np.asarray(flame_length_m) / 0.0775) ** (1 / 0.46) / _KW_M


def residence_time_anderson(*, surface_to_volume_1_m: Numbers) -> Numbers:
    """How long the flame stands over one spot [s] from the fuel's surface to volume ratio [1/m].

    ``t = 384 / sigma`` min, sigma in 1/ft (8 min per inch of particle diameter).
    Range: fine surface fuels, 500 to 4000 1/ft. Known fault: forest litter with heavier fuels
    burns longer than its fine fuel tells (see ``measured_residence``).
    Source: Anderson 1969, INT-69, as used by Andrews 2018, RMRS-GTR-371 (from memory).

    >>> round(float(residence_time_anderson(surface_to_volume_1_m=1500 / 0.3048)), 1)
    15.4
    """
    need_within("surface_to_volume", surface_to_volume_1_m, 1.0, 5e4, "1/m")
    return 384.0 / (np.asarray(surface_to_volume_1_m) * _PER_FOOT) * _MINUTE_S


def _band(table: str, kind: str, low: str, high: str, scale: float) -> Band:
    row = next(row for row in load_table("flame")[table] if row["kind"] == kind)
    return Band(row[low] * scale, row[high] * scale, row["source"])


def measured_residence(kind: str) -> Band:
    """Measured flame residence [s] of "forest" or "crown" fronts, with its source.

    Beside ``residence_time_anderson``: the program does not use it.
    """
    return _band("residence", kind, "low_s", "high_s", 1.0)


def measured_flux(kind: str) -> Band:
    """Measured peak heat flux [W/m2] in flames: "understorey", "surface", "shrub" or "crown".

    Beside ``flame_flux``: the program does not use it.
    """
    scale = to_si(1.0, "kw/m2", dimension="heat_flux")
    return _band("flux", kind, "low_kw_m2", "high_kw_m2", scale)


def flame_depth(*, spread_rate_m_s: Numbers, residence_s: Numbers) -> Numbers:
    """Depth of the flaming front [m], along its travel: ``D = R t``."""
    return spread_rate_m_s * residence_s


def is_deep_front(*, flame_length_m: Numbers, flame_depth_m: Numbers) -> np.bool_:
    """True when any length is under twice its depth: intensity relations then give flames too long.

    Source: Finney & Grumstrup 2023, International Journal of Wildland Fire 32, WF22096.
    """
    length, depth = np.asarray(flame_length_m), np.asarray(flame_depth_m)
    return np.any((length > 0) & (length < SHALLOW_FRONT * depth))


def flame_tilt_albini(*, wind_speed_m_s: Numbers, flame_height_m: Numbers) -> Numbers:
    """Lean of the flame from vertical [deg] from wind [m/s] and flame height [m].

    ``tan A = 1.22 U / sqrt(g H)``. Range: wind-driven line fires on level ground.
    Known fault: laboratory and field differ, take it as +-10 deg (Nelson et al. 2012).
    Source: Albini 1981, Combustion and Flame 43; coefficient Nelson & Adkins 1986 (from memory).
    Sibling of ``flame_tilt_from_length``.

    >>> round(float(flame_tilt_albini(wind_speed_m_s=5.0, flame_height_m=5.0)), 1)
    41.1
    """
    need_within("wind_speed", wind_speed_m_s, 0.0, HIGHEST_WIND_M_S, "m/s")
    need_within("flame_height", flame_height_m, 1e-3, 100.0, "m")
    froude = np.asarray(wind_speed_m_s) / np.sqrt(GRAVITY * np.asarray(flame_height_m))
    return np.degrees(np.arctan(1.22 * froude))


def flame_tilt_from_length(*, wind_speed_m_s: Numbers, flame_length_m: Numbers) -> Numbers:
    """Lean from vertical [deg] when the length along the slant [m] is known, not the height.

    With ``H = L cos A`` Albini's relation is quadratic in ``cos A`` and solved in closed form.
    Range, faults and source as ``flame_tilt_albini``.
    """
    need_within("wind_speed", wind_speed_m_s, 0.0, HIGHEST_WIND_M_S, "m/s")
    need_within("flame_length", flame_length_m, 1e-3, 100.0, "m")
    k = (1.22 * np.asarray(wind_speed_m_s)) ** 2 / (GRAVITY * np.asarray(flame_length_m))
    cosine = 2.0 / (k + np.sqrt(k**2 + 4.0))  # stable form of (sqrt(k^2 + 4) - k)/2
    return np.degrees(np.arccos(np.clip(cosine, 0.0, 1.0)))


def action_class(*, flame_length_m: float) -> tuple[int, str]:
    """The handbook class of a flame length [m], from 0, and what can work against it.

    Limits 4, 8 and 11 ft; a flame at a limit takes the stronger class. Source: fireline handbook
    tables; Rothermel 1983, INT-143 (wording ours).
    Beside ``flame_length``: the program does not use it.
    """
    need_within("flame_length", flame_length_m, 0.0, 100.0, "m")
    rows = load_table("flame")["action"]
    # 1e-9 of slack, so that 4 ft handed over as 1.2192 m is at the limit, not under it
    feet = from_si(flame_length_m, "ft") * (1 + 1e-9)
    number = sum(feet >= row["from_ft"] for row in rows[1:])
    return number, rows[number]["words"]
