"""Water on a strip's fuel against what extinction and flames ask: hold time, lag and coverage.

Shapes: K moments of wetting, M members. Water is kg/m2 (mm) of wetted ground: coverage is what
leaves the nozzle, water is what stays on the fuel. The thinnest tenth of the strip decides.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job
from stillwet.domain.lines import LineSegment
from stillwet.engine.coating import reached
from stillwet.engine.drying import Drying
from stillwet.engine.line_drying import StripDrying, strip_drying
from stillwet.engine.line_fire import StripFire, midflame_factor, strip_fire
from stillwet.engine.line_members import LineMembers
from stillwet.engine.members import Members
from stillwet.engine.mixing import MIX_DENSITY_KG_M3, Mix, yield_at
from stillwet.engine.sky import Sky
from stillwet.physics.wet_fuel import WetBed

Array = NDArray[np.float64]

# Free water on leaves: the wet share of the surface falls as the 2/3 power of what is left
# (Deardorff 1978, Journal of Geophysical Research 83).
WATER_EXPONENT = 2.0 / 3.0
MOST_COVERAGE_KG_M2 = 20.0
NEVER_BURNS_M_S = 1e-5  # a front slower than this is no front: the fuel is too wet


@dataclass(frozen=True, eq=False)
class Strip:
    """Everything about one segment's strip that does not depend on how much is sprayed.

    target (H, M): water that must be on the fuel when the fire is beside it, for a spot wetted at
    that hour. black_s (H, M): from lighting to a deep enough black, 0 for a line that is not lit
    behind. caught (M,): water on fuel over coverage. leaf_area: one-sided, that the spray reaches.
    """

    segment: LineSegment
    bed: WetBed
    fire: StripFire
    drying: StripDrying
    time_s: Array
    target: Array
    boiled: Array
    black_s: Array
    caught: Array
    leaf_area: Array
    thinnest: Array
    exponent: Array
    blade_width_m: Array
    yield_factor: Array
    cling_safety: float


@dataclass(frozen=True, eq=False)
class Hold:
    """How long a strip wetted at K moments stays wet enough (K, M) [s], and the lag that leaves."""

    hold_s: Array
    lag_s: Array

    def hold(self, confidence: float) -> Array:
        """Hold time [s] (K,) that this share of the members reaches."""
        return reached(self.hold_s, confidence)

    def lag(self, confidence: float) -> Array:
        """Longest time [s] (K,) from wetting to lighting that this share of the members allows.

        Below 0: the strip dries before the black beside it is deep enough.
        """
        return reached(self.lag_s, confidence)


def make_strip(
    job: Job,
    segment: LineSegment,
    sky: Sky,
    members: Members,
    draws: LineMembers,
    *,
    towards_deg: float,
    is_lit: bool,
) -> Strip:
    """Fire, drying and what must be left on one segment's strip."""
    from stillwet.physics.coat import thinnest_tenth_factor
    from stillwet.physics.wet_fuel import share_caught

    bed = _bed_of(segment)
    factor = midflame_factor(segment)
    fire = strip_fire(
        segment, sky, job.weather, towards_deg=towards_deg, wind_factor=factor, is_lit=is_lit
    )
    drying = strip_drying(
        segment,
        bed,
        sky,
        job.weather,
        draws,
        wind_factor=factor,
        albedo=job.practice.ground_albedo,
    )
    target, boiled = _target(bed, fire, sky, members, draws)
    caught = share_caught(leaf_area_index=bed.leaf_area_index, extinction=draws.leaf_extinction)
    return Strip(
        segment=segment,
        bed=bed,
        fire=fire,
        drying=drying,
        time_s=sky.time_s,
        target=target,
        boiled=boiled,
        black_s=_black_s(segment, fire) if is_lit else np.zeros_like(target),
        caught=job.practice.transfer_efficiency * members.coat_factor * np.asarray(caught),
        leaf_area=bed.leaf_area_index * draws.wetted_share,
        thinnest=np.asarray(thinnest_tenth_factor(coat_variation=members.coat_variation)),
        exponent=members.drying_exponent,
        blade_width_m=draws.blade_width_m,
        yield_factor=members.yield_factor,
        cling_safety=job.practice.cling_safety,
    )


def _bed_of(segment: LineSegment) -> WetBed:
    """The fuel as the spray finds it, its grass cured by its moisture."""
    from stillwet.physics.fuel_bed import cured_fraction_burgan
    from stillwet.physics.fuel_models import fuel_model
    from stillwet.physics.wet_fuel import wet_bed

    assert segment.fuel is not None  # need_reckonable has looked
    cured = float(np.asarray(cured_fraction_burgan(herb_moisture=segment.fuel.moisture_herb)))
    return wet_bed(fuel=fuel_model(segment.fuel.model), cured_fraction=cured)


def _target(
    bed: WetBed, fire: StripFire, sky: Sky, members: Members, draws: LineMembers
) -> tuple[Array, Array]:
    """Water (H, M) that must be on the fuel, the flames' part included, and the flames' part.

    The driest fuel and the warmest air from each hour on count, so that a strip wetted in the cool
    of the morning is not let off the noon it may meet. What flames boil off at lighting is asked
    for until the black is deep enough: on the safe side by the drying of that part.
    """
    from stillwet.physics.wet_fuel import water_boiled_by_flames, water_for_extinction

    driest = np.minimum.accumulate(fire.dead_moisture[::-1], axis=0)[::-1]
    warmest = np.maximum.accumulate(sky.air_temperature_k[::-1], axis=0)[::-1]
    boiled = np.asarray(
        water_boiled_by_flames(
            flux_w_m2=draws.flame_flux_w_m2 * fire.flame_view,
            exposure_s=draws.flame_exposure * fire.residence_s,
            start_temperature_k=warmest,
            water_efficiency=members.water_efficiency,
        )
    )
    kept = water_for_extinction(bed=bed, fuel_moisture=driest, margin=draws.extinction_margin)
    return np.asarray(kept) + boiled, boiled


def _black_s(segment: LineSegment, fire: StripFire) -> Array:
    """Time [s] (H, M) from lighting until the black is deep enough; 0 where nothing burns."""
    rate = fire.spread_rate_m_s
    burns = rate > NEVER_BURNS_M_S
    return np.where(burns, segment.black_depth_m / np.where(burns, rate, 1.0), 0.0)


def retention(strip: Strip, mix: Mix | None, ratio: float) -> Array:
    """Most water [kg/m2 of ground] (M,) that the fuel keeps; without a mix, of plain water."""
    from stillwet.physics.cling import LEAF_WATER_KG_M2, foliage_retention, leaf_retention

    if mix is None:
        kept = np.full(strip.thinnest.size, LEAF_WATER_KG_M2)
    else:
        stress = float(yield_at(mix, np.array([ratio]))[0]) * strip.yield_factor
        kept = np.asarray(
            leaf_retention(
                yield_pa=stress,
                blade_width_m=strip.blade_width_m,
                density_kg_m3=MIX_DENSITY_KG_M3,
                safety=strip.cling_safety,
            )
        )
    return np.asarray(
        foliage_retention(
            leaf_area_index=strip.leaf_area, wetted_share=1.0, leaf_retention_kg_m2=kept
        )
    )


def water_on_fuel(strip: Strip, *, coverage: float, kept: Array) -> Array:
    """Water (M,) on the fuel of the strip's thinnest tenth when ``coverage`` is sprayed."""
    return np.asarray(np.minimum(coverage * strip.caught, kept) * strip.thinnest)


def as_plain_water(strip: Strip) -> Strip:
    """The strip sprayed with plain water: it dries under the same demand, as free water does."""
    return replace(strip, exponent=np.full_like(strip.exponent, WATER_EXPONENT))


def hold_of(strip: Strip, water: Array, *, wet_s: Array, is_alone: bool = False) -> Hold:
    """Hold time and lag of a strip wetted at these moments (K,) with this water (M,).

    ``is_alone``: drying blade by blade, the most there could be.
    """
    from stillwet.physics.coat import drying_until

    target, black = _at(strip, strip.target, wet_s), _at(strip, strip.black_s, wet_s)
    room = drying_until(
        coat_kg_m2=water[None, :],
        target_kg_m2=np.minimum(target, water[None, :]),
        exponent=strip.exponent[None, :],
    )
    total = strip.drying.alone_sum if is_alone else strip.drying.bed_sum
    path = _spread_out(total, wet_s.size)
    dry = path.when(path.at(wet_s) + np.asarray(room))
    hold = np.where(water[None, :] < target, 0.0, np.maximum(dry - wet_s[:, None], 0.0))
    return Hold(hold_s=hold, lag_s=hold - black)


def _spread_out(drying: Drying, count: int) -> Drying:
    """One running sum looked at from many moments."""
    _, hours, members = drying.total_kg_m2.shape
    return Drying(drying.time_s, np.broadcast_to(drying.total_kg_m2, (count, hours, members)))


def _at(strip: Strip, values: Array, time_s: Array) -> Array:
    """Hourly values (H, M) at moments (K,): the worse (greater) of the two hours about them."""
    below = np.clip(
        np.searchsorted(strip.time_s, time_s, side="right") - 1, 0, strip.time_s.size - 1
    )
    above = np.clip(np.searchsorted(strip.time_s, time_s), 0, strip.time_s.size - 1)
    return np.maximum(values[below], values[above])


def coverage_needed(
    strip: Strip, *, wet_s: Array, lag_s: Array, kept: Array, confidence: float
) -> Array:
    """Least coverage (K,) that allows these lags (K,) at this confidence; inf when none clings."""
    from stillwet.physics.coat import coat_needed

    target, black = _at(strip, strip.target, wet_s), _at(strip, strip.black_s, wet_s)
    path = _spread_out(strip.drying.bed_sum, wet_s.size)
    until = wet_s[:, None] + np.maximum(lag_s[:, None] + black, 0.0)
    lost = path.at(np.broadcast_to(until, target.shape)) - path.at(wet_s)
    thin = np.asarray(
        coat_needed(target_kg_m2=target, drying_kg_m2=lost, exponent=strip.exponent[None, :])
    )
    fuel = thin / strip.thinnest[None, :]
    fits = (fuel <= kept[None, :]) & (until <= strip.time_s[-1])
    coverage = np.where(fits, fuel / strip.caught[None, :], np.inf)
    need = np.quantile(coverage, confidence, axis=1, method="higher")
    return np.where(need > MOST_COVERAGE_KG_M2, np.inf, need)
