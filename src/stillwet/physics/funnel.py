"""Field readings turned into flow properties: funnel, spindle, slump, coupon, tilt.

Every relation carries its own error, because each sees the gel at another shear rate. None of them
fixes the whole curve: a 60 rpm viscosity or a funnel time says little about the yield stress, a
slump or a tilted coupon says nothing about pumping.
"""

from __future__ import annotations

import numpy as np

from stillwet.constants import GRAVITY
from stillwet.physics.guards import Numbers
from stillwet.physics.roots import rising_root

FUNNEL_WATER_S = 26.0  # one US quart (946 mL) of water at 21 C, API RP 13B-1
FUNNEL_WATER_BAND_S = 0.5
FUNNEL_ERROR = 0.3  # relative, untested default 0.15 to 0.5: fitted to drilling muds, not to gels
SPINDLE_ERROR = 0.3  # relative, of the shear rate: infinite-sea formula against tabled spindles
SLUMP_ERROR = 0.15  # relative, untested default 0.1 to 0.25: slump against vane (from memory)
SPREAD_ERROR = 0.15  # relative, untested default 0.1 to 0.25


def funnel_is_true(*, water_seconds: float) -> bool:
    """True when a funnel drains a quart of water in 26 +- 0.5 s [s], as API RP 13B-1 asks.

    Beside ``viscosity_pitt``: the program does not use it.
    """
    return abs(water_seconds - FUNNEL_WATER_S) <= FUNNEL_WATER_BAND_S


def viscosity_pitt(
    *, funnel_seconds: Numbers, density_kg_m3: Numbers, water_seconds: float = 25.0
) -> Numbers:
    """Effective viscosity [Pa s] from a quart's Marsh funnel time [s].

    ``mu[cP] = rho[g/cm3] (t - 25)``: Pitt 2000, SPE Drilling & Completion 15(1):3. Range: 26 to
    about 120 s; the number belongs to shear rates of some hundred to a thousand per second in the
    tube. Known faults: fitted to drilling muds (error 30 %, ``FUNNEL_ERROR``); a gel with 30 Pa of
    yield stress may not run out at all. ``water_seconds`` 28 is the sibling of Almahdawi et al.
    2014.
    """
    excess = np.maximum(np.asarray(funnel_seconds, dtype=float) - water_seconds, 0.0)
    return np.asarray(density_kg_m3) * excess * 1e-6


def spindle_shear_rate(*, revolutions_per_min: Numbers, index: Numbers) -> Numbers:
    """Shear rate at a cylindrical spindle in a wide vessel [1/s]: ``2*omega/n``.

    Parameters: revolutions_per_min [1/min]; index n of the liquid [-]. Exact for a power law in an
    infinite sea (Krieger & Maron 1952); within 30 % (``SPINDLE_ERROR``) of discs and of
    yield-stress gels, whose sheared layer is thinner still. 60 rpm in water: 12.6 1/s.
    """
    omega = 2.0 * np.pi * np.asarray(revolutions_per_min, dtype=float) / 60.0
    rate: Numbers = 2.0 * omega / np.asarray(index)
    return rate


def spindle_viscosity(
    *,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
    revolutions_per_min: Numbers = 60.0,
) -> Numbers:
    """What an LV rotating-spindle viscometer shows [Pa s] for a Herschel-Bulkley mix.

    The instrument divides the stress at the spindle by a shear rate of water, ``2*omega``, whatever
    is in the beaker: ``(tau_y + K (2 omega/n)^n)/(2 omega)``. Error as the shear rate's, 30 %.
    """
    shown_rate = spindle_shear_rate(revolutions_per_min=revolutions_per_min, index=1.0)
    rate = spindle_shear_rate(revolutions_per_min=revolutions_per_min, index=index)
    viscosity: Numbers = (yield_pa + consistency_pa_s * rate**index) / shown_rate
    return viscosity


def spindle_full_scale(
    *, spring_constant: Numbers, spindle_constant: Numbers, revolutions_per_min: Numbers
) -> Numbers:
    """Highest viscosity a spindle and speed can show [Pa s]: ``TK*SMC*10/rpm``.

    LV spring TK 0.09373; spindle multipliers 1: 6.4, 2: 32, 3: 128, 4: 640 (maker's tables, from
    memory): spindle 2 at 60 rpm ends at 0.5 Pa s, spindle 4 at 10 Pa s.
    Beside ``spindle_viscosity``: the program does not use it.
    """
    top = np.asarray(spring_constant, dtype=float) * spindle_constant
    viscosity: Numbers = top * 10.0 / np.asarray(revolutions_per_min)
    return viscosity


def slump_pashias(*, yield_pa: Numbers, density_kg_m3: Numbers, height_m: Numbers) -> Numbers:
    """Slump [m] of a cylinder of gel as high as it is wide, lifted off.

    ``s/H = 1 - 2 t (1 - ln(2 t))`` with ``t = tau_y/(rho g H)``: Pashias, Boger, Summers &
    Glenister 1996, J. Rheol. 40:1179. No slump for t above 0.5. Error about 15 % of the yield
    stress (``SLUMP_ERROR``). Known faults: reads low at small slumps (Hallbom 2005, Paste 2005:73);
    above 70 % slump it is a spread, use ``yield_from_spread_roussel``.
    """
    height = np.asarray(height_m, dtype=float)
    doubled = np.clip(2.0 * np.asarray(yield_pa) / (density_kg_m3 * GRAVITY * height), 1e-12, 1.0)
    slump: Numbers = height * (1.0 - doubled * (1.0 - np.log(doubled)))
    return slump


def yield_from_slump_pashias(
    *, slump_m: Numbers, density_kg_m3: Numbers, height_m: Numbers
) -> Numbers:
    """Yield stress [Pa] from a cylinder's slump [m]: the inverse of ``slump_pashias``."""
    height = np.asarray(height_m, dtype=float)
    weight = np.asarray(density_kg_m3) * GRAVITY * height

    def fall(stress: Numbers) -> Numbers:
        slump = slump_pashias(yield_pa=stress, density_kg_m3=density_kg_m3, height_m=height_m)
        return 1.0 - slump / height

    left = 1.0 - np.asarray(slump_m, dtype=float) / height
    return rising_root(function=fall, target=left, low=1e-9 * weight)


def yield_from_spread_roussel(
    *, volume_m3: Numbers, diameter_m: Numbers, density_kg_m3: Numbers
) -> Numbers:
    """Yield stress [Pa] from the puddle a poured sample spreads to.

    ``tau_y = 225 rho g V^2/(128 pi^2 R^5)``: Roussel & Coussot 2005, J. Rheol. 49:705 (spreading
    regime, puddle far wider than thick, above 7 mm where surface tension no longer matters).
    """
    radius = 0.5 * np.asarray(diameter_m, dtype=float)
    weight = np.asarray(density_kg_m3) * GRAVITY
    value: Numbers = 225.0 * weight * volume_m3**2 / (128.0 * np.pi**2 * radius**5)
    return value


def coat_from_coupon(*, wet_kg: Numbers, bare_kg: Numbers, area_m2: Numbers) -> Numbers:
    """Coat on a coupon [kg/m2] from its mass wet and bare [kg] and its coated area [m2].

    Feeds ``yield_from_tilt``.
    """
    coat: Numbers = (np.asarray(wet_kg, dtype=float) - bare_kg) / np.asarray(area_m2)
    return coat


def yield_from_tilt(*, coat_kg_m2: Numbers, tilt_deg: Numbers) -> Numbers:
    """Yield stress [Pa] when a coat [kg/m2] starts to slide at a tilt [deg].

    ``m g sin(tilt)``. A lower bound if it had not slid yet. Error: that of the coat and of the
    angle; wall slip makes the face let go before the gel yields, which is then the number that
    counts.
    """
    share = np.sin(np.radians(np.asarray(tilt_deg, dtype=float)))
    stress: Numbers = np.asarray(coat_kg_m2, dtype=float) * GRAVITY * share
    return stress


def film_surface_speed(
    *,
    thickness_m: Numbers,
    tilt_deg: Numbers,
    density_kg_m3: Numbers,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
) -> Numbers:
    """Speed [m/s] at which the outside of a coat runs down a face; 0 below the yield stress.

    ``v = n/(n+1) (rho g sin/K)^(1/n) (h - h_y)^(1+1/n)``, ``h_y = tau_y/(rho g sin)``: uniform
    Herschel-Bulkley film; n = 1, tau_y = 0 is Nusselt's. tilt_deg 0 faces up [deg], above 0.
    Inverse of ``sheared_thickness``.
    """
    n = np.asarray(index, dtype=float)
    pull = density_kg_m3 * GRAVITY * np.sin(np.radians(np.asarray(tilt_deg, dtype=float)))
    sheared = np.maximum(np.asarray(thickness_m, dtype=float) - yield_pa / pull, 0.0)
    grade = (pull / consistency_pa_s) ** (1.0 / n)
    speed: Numbers = n / (n + 1.0) * grade * sheared ** (1.0 + 1.0 / n)
    return speed


def slough_time(*, surface_speed_m_s: Numbers, slide_m: Numbers = 0.05) -> Numbers:
    """Time [s] until a coat has visibly slid by slide_m [m]; inf where it stands.

    slide_m: untested default 50 mm, 20 to 100 mm. An order of magnitude: real coats creep below
    the yield stress and let go in lumps.
    Beside ``film_surface_speed``: the program does not use it.
    """
    with np.errstate(divide="ignore"):
        seconds: Numbers = np.asarray(slide_m) / np.asarray(surface_speed_m_s, dtype=float)
    return seconds


def sheared_thickness(
    *,
    surface_speed_m_s: Numbers,
    tilt_deg: Numbers,
    density_kg_m3: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
) -> Numbers:
    """How much of a coat [m] flows when its outside moves at a speed [m/s]: ``h - h_y``.

    The inverse of ``film_surface_speed`` in the part above the yield stress; parameters as there.
    """
    n = np.asarray(index, dtype=float)
    pull = density_kg_m3 * GRAVITY * np.sin(np.radians(np.asarray(tilt_deg, dtype=float)))
    grade = (consistency_pa_s / pull) ** (1.0 / n)
    speed = np.asarray(surface_speed_m_s, dtype=float) * (n + 1.0) / n
    thickness: Numbers = (speed * grade) ** (n / (n + 1.0))
    return thickness
