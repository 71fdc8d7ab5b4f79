"""From a crew's readings to numbers the curve can be held against, each with its own errors.

Every reading becomes the logarithm of a stress [Pa] or a viscosity [Pa s]. It carries two errors:
that of the published relation behind it, which is the same for every reading of its kind on one
product (many slumps do not average it away), and that of mixing and reading, new each time.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.trials import (
    Coupon,
    Funnel,
    Reading,
    Slump,
    Spread,
    Trial,
    Viscosity,
    YieldEstimate,
)
from stillwet.physics import funnel

Array = NDArray[np.float64]

MIX_DENSITY_KG_M3 = 1000.0
QUART_M3 = 0.946352946e-3
SLIDE_M = 0.05  # a coat has visibly slid, untested default 20 to 100 mm
SLOUGH_S = 600.0  # a coat is watched for ten minutes
# Shear rate that a funnel's viscosity belongs to: untested default, 200 to 1000 1/s. Not knowing it
# adds 0.3 to the error of the relation itself: half a natural decade times 1 - n of about 0.6.
FUNNEL_RATE_1_S = 500.0
FUNNEL_RATE_ERROR = 0.3
STRESS_FLOOR_PA = 1.0  # untested default, 0.3 to 3: below it nobody tells a gel from water
VISCOSITY_FLOOR_PA_S = 0.002  # untested default, 0.001 to 0.005: as of a spindle or funnel
NOTHING = 0.1  # of the floor: a reading below that counts as none
# LV spring and spindle constants (maker's tables, from memory): full scale of spindle and speed.
LV_SPRING = 0.09373
LV_SPINDLES = {1: 6.4, 2: 32.0, 3: 128.0, 4: 640.0}


class Method(StrEnum):
    """A way of reading a mix."""

    YIELD = "yield stress"
    SLUMP = "slump"
    SPREAD = "spread"
    COUPON = "coat kept"
    SLOUGH = "slough time"
    SPINDLE = "spindle viscosity"
    FUNNEL = "funnel time"


@dataclass(frozen=True, slots=True)
class Errors:
    """Standard deviations of the logarithm: of the relation, shared, and of one reading."""

    relation: float
    reading: float


# Relations: physics.funnel where it states one; the others are untested defaults, half to twice.
# Readings: untested defaults, half to twice. Repeated fire-agent tests scatter by about 11 %
# (Plucinski et al. 2017); the fit learns from the readings how far this crew is from that.
ERRORS = {
    Method.YIELD: Errors(0.15, 0.12),
    Method.SLUMP: Errors(funnel.SLUMP_ERROR, 0.12),
    Method.SPREAD: Errors(funnel.SPREAD_ERROR, 0.12),
    Method.COUPON: Errors(0.15, 0.15),
    Method.SLOUGH: Errors(0.4, 0.3),
    Method.SPINDLE: Errors(funnel.SPINDLE_ERROR, 0.1),
    Method.FUNNEL: Errors(math.hypot(funnel.FUNNEL_ERROR, FUNNEL_RATE_ERROR), 0.1),
}
SEES_YIELD = (Method.YIELD, Method.SLUMP, Method.SPREAD, Method.COUPON)


@dataclass(frozen=True, slots=True)
class Point:
    """One reading, ready to be held against the curve.

    ``observed`` is the stress [Pa] or viscosity [Pa s]. ``bound`` is 1 where the truth is at least
    that (a coat that stood), -1 where nothing was seen and it is at most that, else 0.
    """

    trial_id: str
    mix: int  # index into the mixes
    method: Method
    observed: float
    bound: int = 0
    tilt_deg: float = 90.0
    slide_speed_m_s: float = 0.0  # of the coat's outside; 0 for a coat that had come to rest
    revolutions_per_min: float = 60.0


@dataclass(frozen=True, slots=True)
class Attempt:
    """One reading to be taken: of which mix, in which water, how."""

    ratio: float
    hardness_kg_m3: float
    temperature_k: float
    age_s: float
    method: Method


@dataclass(frozen=True, eq=False)
class Mixes:
    """The distinct mixes read (B,), and the distinct waters and ages (W,) they were made in."""

    ratio: Array  # (B,)
    water: NDArray[np.int64]  # (B,) index into the waters
    hardness_kg_m3: Array  # (W,)
    temperature_k: Array  # (W,)
    age_s: Array  # (W,)


@dataclass(frozen=True, eq=False)
class Points:
    """Every reading of one product with the mixes they belong to."""

    mixes: Mixes
    points: tuple[Point, ...]

    @cached_property
    def methods(self) -> tuple[Method, ...]:
        """The ways of reading used, in the order of ``Method``."""
        used = {point.method for point in self.points}
        return tuple(method for method in Method if method in used)

    @cached_property
    def mix_of(self) -> NDArray[np.int64]:
        """The mix of each reading (N,)."""
        return np.array([point.mix for point in self.points], dtype=np.int64)

    @cached_property
    def places(self) -> dict[Method, NDArray[np.int64]]:
        """Which readings were taken in each way."""
        ways = [point.method for point in self.points]
        return {
            method: np.array([i for i, way in enumerate(ways) if way is method], dtype=np.int64)
            for method in self.methods
        }

    def column(self, method: Method, name: str) -> Array:
        """One number of all readings taken in this way."""
        return np.array([getattr(self.points[i], name) for i in self.places[method]])


def points_of(trials: Iterable[Trial]) -> Points:
    """Every reading of the trials as a point."""
    made: list[tuple[float, float, float, float]] = []
    points: list[Point] = []
    for trial in trials:
        mix = (trial.ratio, trial.hardness_kg_m3, trial.water_temperature_k, trial.age_s)
        if mix not in made:
            made.append(mix)
        points += [_seen(_point(trial.id, made.index(mix), each)) for each in trial.readings]
    return Points(mixes_of(np.array(made, dtype=float).reshape(-1, 4)), tuple(points))


def mixes_of(table: Array) -> Mixes:
    """Mixes from rows (B, 4) of ratio, hardness, temperature and age."""
    waters, place = np.unique(table[:, 1:], axis=0, return_inverse=True)
    return Mixes(table[:, 0], np.asarray(place).reshape(-1), *waters.T)


def _seen(point: Point) -> Point:
    """The point, or an upper bound when the reading shows no more than water would."""
    least = NOTHING * floor_of(point.method)
    if point.bound or point.observed > least:
        return point
    return replace(point, observed=least, bound=-1)


def _point(trial_id: str, mix: int, reading: Reading) -> Point:
    match reading:
        case YieldEstimate():
            return Point(trial_id, mix, Method.YIELD, reading.yield_pa)
        case Slump():
            return Point(
                trial_id,
                mix,
                Method.SLUMP,
                float(
                    funnel.yield_from_slump_pashias(
                        slump_m=reading.slump_m,
                        density_kg_m3=MIX_DENSITY_KG_M3,
                        height_m=reading.height_m,
                    )
                ),
                bound=int(reading.slump_m == 0.0),
            )
        case Spread():
            stress = funnel.yield_from_spread_roussel(
                volume_m3=reading.volume_m3,
                diameter_m=reading.diameter_m,
                density_kg_m3=MIX_DENSITY_KG_M3,
            )
            return Point(trial_id, mix, Method.SPREAD, float(stress))
        case Coupon():
            return _coupon_point(trial_id, mix, reading)
        case Viscosity():
            return Point(
                trial_id,
                mix,
                Method.SPINDLE,
                reading.viscosity_pa_s,
                revolutions_per_min=reading.revolutions_per_min,
            )
        case Funnel():
            viscosity = funnel.viscosity_pitt(
                funnel_seconds=reading.seconds * QUART_M3 / reading.volume_m3,
                density_kg_m3=MIX_DENSITY_KG_M3,
            )
            return Point(trial_id, mix, Method.FUNNEL, float(viscosity))


def _coupon_point(trial_id: str, mix: int, reading: Coupon) -> Point:
    stress = funnel.yield_from_tilt(coat_kg_m2=reading.coat_kg_m2, tilt_deg=reading.tilt_deg)
    return Point(
        trial_id,
        mix,
        Method.COUPON if reading.slough_s is None else Method.SLOUGH,
        float(stress),
        bound=int(not reading.slid),
        tilt_deg=reading.tilt_deg,
        slide_speed_m_s=0.0 if reading.slough_s is None else SLIDE_M / reading.slough_s,
    )


def floor_of(method: Method) -> float:
    """What is added before taking the logarithm, so that water does not count as minus infinity."""
    return VISCOSITY_FLOOR_PA_S if method in (Method.SPINDLE, Method.FUNNEL) else STRESS_FLOOR_PA
