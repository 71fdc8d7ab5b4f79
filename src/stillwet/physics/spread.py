"""How fast a surface fire spreads and how strongly it burns: Rothermel 1972 as revised.

``surface_spread`` takes SI numbers or arrays (an hourly series in one call) and returns SI. The
equations inside are in the published feet, pounds, Btu and minutes, so that each line can be held
against its source; the constants below do the carrying, by ``units``.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillwet.physics.flame import flame_length_byram, residence_time_anderson
from stillwet.physics.fuel_bed import (
    DEAD,
    LIVE,
    MINERAL_EFFECTIVE,
    FuelBed,
    cured_fraction_burgan,
    fuel_bed,
    live_extinction_albini,
)
from stillwet.physics.fuel_models import FuelModel
from stillwet.physics.guards import Numbers, need_within, outside
from stillwet.units import from_si, to_si

_FT_MIN = from_si(1.0, "ft/min")
_M_S = to_si(1.0, "ft/min", dimension="speed")
_BTU_LB = from_si(1.0, "btu/lb")
# I_R comes out in Btu/ft2/min; the table of units has it per second
_W_M2 = to_si(1.0, "btu/ft2/s", dimension="heat_flux") / to_si(1.0, "min", dimension="time")

WETTEST_DEAD = 2.0  # fraction; litter after days of rain
WETTEST_LIVE = 3.5  # fraction; new growth in spring
STEEPEST_TESTED_TANGENT = 0.75  # INT-115 burned beds on slopes of 25, 50 and 75 % (from memory)


class WindLimit(StrEnum):
    """Where the wind stops counting; none is the default (Andrews, Cruz & Rothermel 2013)."""

    NONE = "none"
    ROTHERMEL = "rothermel 1972"  # U <= 0.9 I_R, ft/min and Btu/ft2/min
    ANDREWS = "andrews 2013"  # U <= 96.8 I_R^(1/3) (from memory)


@dataclass(frozen=True, eq=False)
class FuelMoisture:
    """Moisture of each class as a fraction of dry weight, scalars or arrays that broadcast.

    Raises StillwetError outside 0 to 2 (dead) and 0.1 to 3.5 (live): 400 % is no moisture, 8 is
    percent for fraction.
    """

    one_hour: Numbers
    ten_hour: Numbers
    hundred_hour: Numbers
    herb: Numbers
    woody: Numbers

    def __post_init__(self) -> None:
        hint = "moisture is a fraction of dry weight; is it in percent?"
        for name in ("one_hour", "ten_hour", "hundred_hour"):
            need_within(f"moisture_{name}", getattr(self, name), 0.0, WETTEST_DEAD, "", hint)
        for name in ("herb", "woody"):
            need_within(f"moisture_{name}", getattr(self, name), 0.1, WETTEST_LIVE, "", hint)


@dataclass(frozen=True, eq=False)
class SurfaceSpread:
    """The head of a surface fire, SI, each of the broadcast shape of the inputs.

    spread_rate is along the ground. A bed too wet to burn has rate, intensity and flame 0.
    wind_limit_m_s is the midflame wind at which the 1972 limit would bite.
    """

    spread_rate_m_s: Numbers
    no_wind_spread_rate_m_s: Numbers
    reaction_intensity_w_m2: Numbers
    heat_per_area_j_m2: Numbers
    fireline_intensity_w_m: Numbers
    flame_length_m: Numbers
    residence_s: Numbers
    characteristic_surface_to_volume_1_m: Numbers
    packing_ratio: Numbers
    relative_packing_ratio: Numbers
    live_extinction_moisture: Numbers
    wind_factor: Numbers
    slope_factor: Numbers
    wind_limit_m_s: Numbers
    flags: tuple[str, ...]


def moisture_damping_rothermel(*, moisture_ratio: Numbers) -> Numbers:
    """Share [-] of the dry reaction left at moisture over extinction [-], 0 from 1 upward.

    ``1 - 2.59 r + 5.11 r^2 - 3.52 r^3``. Source: Rothermel 1972, eq. 29 (from memory).
    """
    r = np.minimum(moisture_ratio, 1.0)
    return np.where(r < 1.0, 1.0 - 2.59 * r + 5.11 * r**2 - 3.52 * r**3, 0.0)


def mineral_damping_rothermel(*, effective_mineral: float) -> float:
    """Share [-] of the reaction left by silica-free ash [fraction]: ``0.174 S^-0.19``, at most 1.

    Source: Rothermel 1972, eq. 30 (from memory).
    """
    return min(1.0, float(0.174 * effective_mineral**-0.19))


def reaction_velocity_albini(
    *, characteristic_1_ft: Numbers, relative_packing_ratio: Numbers
) -> Numbers:
    """How fast dry mineral-free fuel burns [1/min] from sigma [1/ft] and packing over optimum [-].

    ``G = Gmax b^A exp(A (1 - b))``, ``Gmax = sigma^1.5/(495 + 0.0594 sigma^1.5)``,
    ``A = 133 sigma^-0.7913``. Source: Rothermel 1972, eqs. 36 and 38, A as in Albini 1976 (from
    memory).
    """
    sigma, b = np.asarray(characteristic_1_ft), np.asarray(relative_packing_ratio)
    most = sigma**1.5 / (495.0 + 0.0594 * sigma**1.5)
    a = 133.0 * sigma**-0.7913
    velocity: Numbers = most * np.power(b, a) * np.exp(a * (1.0 - b))
    return velocity


def propagating_flux_ratio_rothermel(
    *, characteristic_1_ft: Numbers, packing_ratio: Numbers
) -> Numbers:
    """Share [-] of the reaction that heats the fuel ahead, no wind, level.

    ``exp((0.792 + 0.681 sqrt(sigma)) (beta + 0.1)) / (192 + 0.2595 sigma)``, sigma in 1/ft.
    Source: Rothermel 1972, eq. 42 (from memory).
    """
    sigma = np.asarray(characteristic_1_ft)
    exponent = (0.792 + 0.681 * np.sqrt(sigma)) * (np.asarray(packing_ratio) + 0.1)
    ratio: Numbers = np.exp(exponent) / (192.0 + 0.2595 * sigma)
    return ratio


def wind_factor_rothermel(
    *, wind_ft_min: Numbers, characteristic_1_ft: Numbers, relative_packing_ratio: Numbers
) -> Numbers:
    """What the wind adds to the level no-wind spread [-]: ``C U^B b^-E``, U in ft/min at midflame.

    ``C = 7.47 exp(-0.133 sigma^0.55)``, ``B = 0.02526 sigma^0.54``,
    ``E = 0.715 exp(-3.59e-4 sigma)``. Range: tunnel winds to about 12 mi/h and grass fires.
    Source: Rothermel 1972, eqs. 47 to 50 (from memory).
    """
    sigma = np.asarray(characteristic_1_ft)
    c = 7.47 * np.exp(-0.133 * sigma**0.55)
    b = 0.02526 * sigma**0.54
    e = 0.715 * np.exp(-3.59e-4 * sigma)
    factor: Numbers = c * np.asarray(wind_ft_min) ** b * np.asarray(relative_packing_ratio) ** -e
    return factor


def slope_factor_rothermel(*, slope_tangent: Numbers, packing_ratio: Numbers) -> Numbers:
    """What the slope adds to the level no-wind spread [-]: ``5.275 beta^-0.3 tan^2``.

    Range: beds tested to 75 %. Source: Rothermel 1972, eq. 51 (from memory).
    """
    factor: Numbers = 5.275 * np.asarray(packing_ratio) ** -0.3 * np.asarray(slope_tangent) ** 2
    return factor


def combined_factor_andrews(
    *, wind_factor: Numbers, slope_factor: Numbers, wind_from_upslope_deg: Numbers
) -> Numbers:
    """Wind and slope factors [-] added as vectors, with the angle [deg] between wind and upslope.

    0 deg is wind blowing straight up the slope, where they simply add. Source: Rothermel 1983,
    vector method as in Andrews 2018 (from memory).
    """
    angle = np.radians(wind_from_upslope_deg)
    along = slope_factor + wind_factor * np.cos(angle)
    return np.hypot(along, wind_factor * np.sin(angle))


def surface_spread(
    *,
    fuel: FuelModel,
    moisture: FuelMoisture,
    midflame_wind_m_s: Numbers,
    slope_deg: Numbers = 0.0,
    wind_from_upslope_deg: Numbers = 0.0,
    wind_limit: WindLimit = WindLimit.NONE,
) -> SurfaceSpread:
    """The head of a surface fire in this fuel, moisture, wind and slope.

    Parameters: fuel; moisture [fractions]; midflame_wind_m_s [m/s] (see ``wind_reduction`` for wind
    measured higher up); slope_deg [deg]; wind_from_upslope_deg [deg], 0 when the wind blows
    straight uphill, which is also the worst case; wind_limit. All broadcast. Returns SI.
    Range: continuous surface fuel, steady head fire; no crowning, spotting or fuel below litter.
    Known faults: no hard limit on wind by default, so high winds in sparse fuel read high and are
    flagged; smouldering after the front is not counted; in model SH9 green herbs burn more
    strongly than cured ones while dead fuel is dry, a trait of the published class weights.
    Raises StillwetError for impossible inputs.
    Source: Rothermel 1972, INT-115; Albini 1976, INT-30; Andrews 2018, RMRS-GTR-371 (equations from
    memory, held against the printed tables of two sets of fuel models).

    >>> from stillwet.physics.fuel_models import fuel_model
    >>> dry = FuelMoisture(one_hour=0.06, ten_hour=0.07, hundred_hour=0.08, herb=0.6, woody=0.9)
    >>> fire = surface_spread(fuel=fuel_model("1"), moisture=dry, midflame_wind_m_s=2.2352)
    >>> round(float(fire.spread_rate_m_s) * 60, 2), round(float(fire.flame_length_m), 2)
    (31.48, 1.4)
    """
    need_within("midflame_wind", midflame_wind_m_s, 0.0, 40.0, "m/s", "is it in km/h or mi/h?")
    need_within("slope", slope_deg, 0.0, 45.0, "deg", "is it in percent?")
    need_within("wind_from_upslope", wind_from_upslope_deg, -360.0, 360.0, "deg")
    wind, tangent, angle, classes = _broadcast(
        moisture, midflame_wind_m_s, slope_deg, wind_from_upslope_deg
    )
    bed = fuel_bed(fuel=fuel, cured_fraction=cured_fraction_burgan(herb_moisture=classes[4]))
    live_extinction = live_extinction_albini(
        bed=bed, dead_moisture=classes[DEAD], dead_extinction=fuel.extinction_moisture
    )
    reaction = _reaction_intensity(fuel, bed, classes, live_extinction)
    limit = _wind_limit_ft_min(reaction, wind_limit)
    wind_factor = wind_factor_rothermel(
        wind_ft_min=np.minimum(wind * _FT_MIN, limit),
        characteristic_1_ft=bed.characteristic_1_ft,
        relative_packing_ratio=bed.relative_packing_ratio,
    )
    slope_factor = slope_factor_rothermel(slope_tangent=tangent, packing_ratio=bed.packing_ratio)
    factor = combined_factor_andrews(
        wind_factor=wind_factor, slope_factor=slope_factor, wind_from_upslope_deg=angle
    )
    still = _no_wind_spread(bed, classes, reaction) * _M_S
    rate = still * (1.0 + factor)
    sigma = bed.characteristic_surface_to_volume_1_m
    residence = residence_time_anderson(surface_to_volume_1_m=sigma)
    heat = reaction * _W_M2 * residence
    doubted = _wind_limit_ft_min(reaction, WindLimit.ROTHERMEL) * _M_S
    return SurfaceSpread(
        spread_rate_m_s=rate,
        no_wind_spread_rate_m_s=still,
        reaction_intensity_w_m2=reaction * _W_M2,
        heat_per_area_j_m2=heat,
        fireline_intensity_w_m=heat * rate,
        flame_length_m=flame_length_byram(intensity_w_m=heat * rate),
        residence_s=residence,
        characteristic_surface_to_volume_1_m=sigma,
        packing_ratio=bed.packing_ratio,
        relative_packing_ratio=bed.relative_packing_ratio,
        live_extinction_moisture=live_extinction,
        wind_factor=wind_factor,
        slope_factor=slope_factor,
        wind_limit_m_s=doubted,
        flags=_flags(reaction, wind, doubted, tangent),
    )


def _broadcast(
    moisture: FuelMoisture, wind: Numbers, slope_deg: Numbers, angle_deg: Numbers
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Wind, slope tangent, angle and the moisture of the six classes, (6, ...), to one shape."""
    one, ten, hundred, herb, woody, wind_, tangent, angle = np.broadcast_arrays(
        moisture.one_hour,
        moisture.ten_hour,
        moisture.hundred_hour,
        moisture.herb,
        moisture.woody,
        wind,
        np.tan(np.radians(slope_deg)),
        angle_deg,
    )
    # cured herbs dry and wet with the 1-h fuel (Scott & Burgan 2005)
    classes = np.stack([one, ten, hundred, one, herb, woody]).astype(float)
    return wind_.astype(float), tangent.astype(float), angle.astype(float), classes


def _reaction_intensity(
    fuel: FuelModel,
    bed: FuelBed,
    classes: NDArray[np.float64],
    live_extinction: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Btu/ft2/min: ``I_R = G sum_i(w_n h eta_M) eta_s`` (Rothermel 1972, eq. 58)."""
    weighted = bed.class_weight * classes
    dead = weighted[DEAD].sum(axis=0) / fuel.extinction_moisture
    live = weighted[LIVE].sum(axis=0) / live_extinction
    damped = bed.net_load_lb_ft2[0] * moisture_damping_rothermel(moisture_ratio=dead)
    damped = damped + bed.net_load_lb_ft2[1] * moisture_damping_rothermel(moisture_ratio=live)
    velocity = reaction_velocity_albini(
        characteristic_1_ft=bed.characteristic_1_ft,
        relative_packing_ratio=bed.relative_packing_ratio,
    )
    mineral = mineral_damping_rothermel(effective_mineral=MINERAL_EFFECTIVE)
    heat = fuel.heat_content_j_kg * _BTU_LB
    return np.asarray(velocity * damped * heat * mineral)


def _wind_limit_ft_min(reaction: NDArray[np.float64], limit: WindLimit) -> NDArray[np.float64]:
    """The midflame wind beyond which wind adds nothing, from reaction intensity [Btu/ft2/min]."""
    if limit is WindLimit.ROTHERMEL:
        return 0.9 * reaction
    if limit is WindLimit.ANDREWS:
        return np.asarray(96.8 * np.cbrt(reaction))
    return np.full_like(reaction, np.inf)


def _no_wind_spread(
    bed: FuelBed, classes: NDArray[np.float64], reaction: NDArray[np.float64]
) -> NDArray[np.float64]:
    """ft/min: heat that reaches the fuel ahead over the heat it takes to ignite it (eq. 52)."""
    ignition = 250.0 + 1116.0 * classes  # Btu/lb, eq. 12
    heated = bed.class_weight * np.exp(-138.0 / bed.surface_to_volume_1_ft) * ignition
    sink = bed.category_weight[0] * heated[DEAD].sum(axis=0)
    sink = bed.bulk_density_lb_ft3 * (sink + bed.category_weight[1] * heated[LIVE].sum(axis=0))
    ratio = propagating_flux_ratio_rothermel(
        characteristic_1_ft=bed.characteristic_1_ft, packing_ratio=bed.packing_ratio
    )
    return np.asarray(reaction * ratio / sink)


def _flags(
    reaction: NDArray[np.float64],
    wind: NDArray[np.float64],
    limit: NDArray[np.float64],
    tangent: NDArray[np.float64],
) -> tuple[str, ...]:
    burning = reaction > 0
    return (
        *(("too wet to spread",) if not burning.all() else ()),
        *(("wind beyond the 1972 limit",) if np.any(burning & (wind > limit)) else ()),
        *outside("slope steeper than the beds tested", tangent, 0.0, STEEPEST_TESTED_TANGENT),
    )
