"""What a face keeps: the thickest coat before it sloughs, and what leaves and blades hold.

A layer stands while its weight along the face stays under the mix's yield stress. Two caps apply: a
mix too stiff to wet the face touches it only in places and falls off in lumps, and a flat face
holds no more than a puddle. A coat's mass is counted as water; the concentrate in it is 1 to 3 %.
"""

from __future__ import annotations

import numpy as np

from stillwet.constants import GRAVITY
from stillwet.physics.guards import Numbers

ADHESION_STRESS_PA = 150.0  # untested default, 60 to 400 Pa: stiffest mix that still wets a face
ADHESION_EXPONENT = 1.5  # untested default, 1 (Bowden-Tabor contact) to 3
FLAT_DEPTH_M = 0.025  # untested default, 0.010 to 0.050 m: a puddle on a flat face
LEAF_WATER_KG_M2 = 0.2  # plain water held per leaf area, Dickinson 1984 (from memory), 0.1 to 0.3


def clinging_stress(
    *,
    yield_pa: Numbers,
    adhesion_stress_pa: Numbers = ADHESION_STRESS_PA,
    adhesion_exponent: Numbers = ADHESION_EXPONENT,
) -> Numbers:
    """Shear stress at the face that holds the coat up [Pa]: yield stress, capped by adhesion.

    Parameters: yield_pa of the mix, adhesion_stress_pa [Pa]; adhesion_exponent [-], 1 or more.

    ``tau = tau_y*min(1, (tau_w/tau_y)^m)``. A paste softer than ``tau_w`` flows into the face's
    pores (spray impact and capillary pull exceed its yield stress) and fails inside itself. A
    stiffer one touches only where it is pressed: contact area falls as 1/tau_y (Bowden & Tabor
    1950), which with m = 1 would be a plateau; m above 1 adds that spray lumps bounce and weld
    badly. So cling has a best ratio, at ``tau_y = tau_w``, as the trade says ("too rich falls
    off"). Untested default.
    """
    stress = np.asarray(yield_pa, dtype=float)
    contact = (adhesion_stress_pa / np.maximum(stress, adhesion_stress_pa)) ** adhesion_exponent
    held: Numbers = stress * contact
    return held


def downhill_share(*, tilt_deg: Numbers) -> Numbers:
    """Share of a coat's weight that pulls along the face [-]; tilt_deg 0 faces up, 90 is a wall.

    Beyond 90 deg (soffits) the wall's value is kept: those fail by peeling, and no less easily.
    """
    share: Numbers = np.sin(np.radians(np.clip(np.asarray(tilt_deg, dtype=float), 0.0, 90.0)))
    return share


def cling_limit(
    *,
    yield_pa: Numbers,
    tilt_deg: Numbers,
    density_kg_m3: Numbers,
    safety: Numbers,
    adhesion_stress_pa: Numbers = ADHESION_STRESS_PA,
    adhesion_exponent: Numbers = ADHESION_EXPONENT,
) -> Numbers:
    """Thickest mean coat a face keeps before it sloughs [kg/m2].

    Parameters: yield_pa of the mix [Pa]; tilt_deg [deg], 0 faces up, 90 a wall; density_kg_m3 of
    the mix [kg/m3]; safety [-], divides the limit (the thick tenth of an uneven coat goes first:
    1.46 covers it at a coefficient of variation of 0.35); adhesion as in ``clinging_stress``. Any
    shapes.

    ``m = rho*h``, ``h = tau/(rho g sin(tilt))``, at most a puddle of 25 mm (untested default, 10 to
    50 mm), which is what a flat face gets. Published case: a wall needs 31 Pa for 1/8 in and 62 Pa
    for 1/4 in. Known faults: slow creep below the yield stress, wall slip, rain, vibration.
    """
    held = clinging_stress(
        yield_pa=yield_pa,
        adhesion_stress_pa=adhesion_stress_pa,
        adhesion_exponent=adhesion_exponent,
    )
    puddle = FLAT_DEPTH_M * np.asarray(density_kg_m3, dtype=float)
    pull = GRAVITY * downhill_share(tilt_deg=tilt_deg)
    with np.errstate(divide="ignore", invalid="ignore"):
        standing = np.where(pull > 0.0, held / pull, np.inf)
    return np.minimum(standing / safety, puddle)


def yield_needed(
    *,
    coat_kg_m2: Numbers,
    tilt_deg: Numbers,
    density_kg_m3: Numbers,
    safety: Numbers,
    adhesion_stress_pa: Numbers = ADHESION_STRESS_PA,
) -> Numbers:
    """Smallest yield stress [Pa] whose cling limit is this coat [kg/m2]; infinity when none is.

    Parameters as in ``cling_limit``. None is when the coat is deeper than a puddle, or when it asks
    for a mix so stiff that it no longer wets the face.
    """
    coat = np.asarray(coat_kg_m2, dtype=float)
    needed = coat * safety * GRAVITY * downhill_share(tilt_deg=tilt_deg)
    is_too_stiff = needed > np.asarray(adhesion_stress_pa)
    is_too_deep = coat > FLAT_DEPTH_M * np.asarray(density_kg_m3)
    stress: Numbers = np.where(is_too_stiff | is_too_deep, np.inf, needed)[()]
    return stress


def yield_most(
    *,
    coat_kg_m2: Numbers,
    tilt_deg: Numbers,
    safety: Numbers,
    adhesion_stress_pa: Numbers = ADHESION_STRESS_PA,
    adhesion_exponent: Numbers = ADHESION_EXPONENT,
) -> Numbers:
    """Stiffest mix [Pa] that still keeps this coat [kg/m2]: beyond it a richer mix falls off.

    Parameters as in ``cling_limit``; adhesion_exponent m above 1. The falling branch of
    ``clinging_stress`` solved for the yield stress, ``tau_y = tau_w (tau_w/tau)^(1/(m-1))`` with
    tau the stress that the coat needs. 0 where no mix keeps the coat, infinity on a level face.
    """
    needed = np.asarray(coat_kg_m2, dtype=float) * safety * GRAVITY
    needed = needed * downhill_share(tilt_deg=tilt_deg)
    wetting = np.asarray(adhesion_stress_pa, dtype=float)
    with np.errstate(divide="ignore"):
        stiffest = wetting * (wetting / needed) ** (1.0 / (np.asarray(adhesion_exponent) - 1.0))
    most: Numbers = np.where(needed > wetting, 0.0, stiffest)[()]
    return most


def leaf_retention(
    *,
    yield_pa: Numbers,
    blade_width_m: Numbers,
    density_kg_m3: Numbers,
    safety: Numbers = 1.5,
    water_kg_m2: Numbers = LEAF_WATER_KG_M2,
) -> Numbers:
    """Coat kept per one-sided leaf area [kg/m2], both sides of the leaf counted.

    Parameters: yield_pa [Pa]; blade_width_m, the leaf's or blade's small width [m]; density_kg_m3
    [kg/m3]; safety [-]; water_kg_m2, what the leaf holds of plain water [kg/m2].

    Each side keeps ``(pi/2)*tau_y/g/safety``: the cling limit averaged over leaves pointing all
    ways (spherical leaf angle distribution, pdf sin(theta): mean of 1/sin is pi/2), but no thicker
    than half the blade's width, where the coat becomes a bead that drops; plain water's own storage
    is the floor. Untested default shape; interval half to twice. Leaves bend and shake: it errs
    high.
    """
    film = 0.5 * np.pi * np.asarray(yield_pa, dtype=float) / GRAVITY / safety
    bead = 0.5 * np.asarray(blade_width_m) * np.asarray(density_kg_m3)
    kept: Numbers = np.maximum(2.0 * np.minimum(film, bead), water_kg_m2)
    return kept


def foliage_retention(
    *,
    leaf_area_index: Numbers,
    wetted_share: Numbers,
    leaf_retention_kg_m2: Numbers,
) -> Numbers:
    """Coat kept per ground area by standing vegetation [kg/m2].

    Parameters: leaf_area_index, one-sided leaf area per ground area [-]; wetted_share, share of the
    leaves that the spray reaches [fraction], 0.3 to 0.9 (untested default 0.6);
    leaf_retention_kg_m2 from ``leaf_retention``. ``m = LAI * share * retention``, the linear law of
    canopy interception.
    """
    return np.asarray(leaf_area_index) * wetted_share * leaf_retention_kg_m2
