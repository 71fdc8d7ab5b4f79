"""Simulated days: does what checks say of a coat come true, and is it better than the plan alone?

Each day a made-up nature is drawn from what the job and data/left.toml call uncertain: weather from
another seed's members, drying exponent, share that stays, hand, site, each face's own drying (near
faces alike), thinnest tenth, the fire's demand. The true coat is followed by its differential
equation in half-minute steps, apart from the closed form that plan and filter use. A crew then
weighs a coupon or touches the coat with the stated errors, writes it in the log, and what is
reckoned from that log is held against the truth.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from job_fixture import HOUR, START_S, make_asset, make_fire, make_job, make_practice
from log_strategies import ids
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.left import FaceLeft
from stillwet.domain.log import Body, CoatChecked, CoatLaid, Entry, Feel
from stillwet.domain.plan import Plan
from stillwet.engine.coat_evidence import width
from stillwet.engine.left import what_is_left
from stillwet.engine.make_plan import plan_of
from stillwet.engine.mixing import water_share
from stillwet.engine.prepared import Prepared, prepare

Array = NDArray[np.float64]

FACE, NEIGHBOUR, FAR = "a1/north-wall", "a2/north-wall", "a3/north-wall"
FACES = (FACE, NEIGHBOUR, FAR)
_APART_M = (0.0, 25.0, 2000.0)
LAID_S = START_S + HOUR
COAT_KG_M2 = 2.5
CHECKS_S = (LAID_S + 1.25 * HOUR, LAID_S + 3.0 * HOUR)
COUPONS = 2  # that each check weighs
_NORMAL_TENTH = -1.2815515655446004
_STEP_S = 30.0
_NATURES = 512


@dataclass(frozen=True, eq=False)
class Nature:
    """What is true on one day of the coats on the faces (F,), at moments (T,)."""

    time_s: Array
    coat: Array  # (F,) laid
    water: Array  # (F, T) of the mean coat
    hold_s: Array  # (F,) until the thinnest tenth is down to the reserve

    def left(self, face: int, when_s: float) -> float:
        """Water of the mean coat then."""
        return float(np.interp(when_s, self.time_s, self.water[face]))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What was said of one face against the truth, times in hours."""

    truth_h: float
    own_h: float  # the plan's own reckoning of the coat
    said_h: float
    is_in_band: bool  # the hold time in its 5 to 95 % band
    left_truth: float  # kg/m2 when it was said
    left_said: float
    left_is_in_band: bool


@cache
def world() -> tuple[Prepared, Plan, Prepared]:
    """The job as reckoned, its plan, and the same job with weathers that nature takes."""
    fire = make_fire(
        setback_m=25.0, arrival_from_s=START_S + 9 * HOUR, arrival_to_s=START_S + 10 * HOUR
    )
    assets = tuple(
        make_asset(id=f"a{n + 1}", name=f"House {n + 1}", x_m=x, fire=fire)
        for n, x in enumerate(_APART_M)
    )
    practice = make_practice()
    basis = {**practice.basis, "coat_variation": Basis(BasisKind.TRIAL, "test", 0.32, 0.38)}
    job = make_job(assets=assets, members=128, practice=replace(practice, basis=basis))
    prepared = prepare(job)
    return (
        prepared,
        plan_of(prepared, now_s=START_S),
        prepare(replace(job, seed=977, members=_NATURES)),
    )


def make_nature(seed: int) -> Nature:
    """One day's truth."""
    prepared, _, others = world()
    rng = np.random.default_rng(seed)
    member = int(rng.integers(_NATURES))
    exponent = rng.triangular(0.5, 0.75, 1.0)
    stays = rng.triangular(0.5, 0.75, 0.95) / 0.75
    apart = np.abs(np.subtract.outer(_APART_M, _APART_M))
    own = width("own_share")
    alike = own * np.eye(len(FACES)) + (1.0 - own) * np.exp(-apart / width("reach"))
    face = rng.multivariate_normal(np.zeros(len(FACES)), alike) * width("face_drying")
    drying = np.exp(face + width("drying_bias") * rng.standard_normal())
    hand = np.exp(width("hand") * rng.standard_normal(len(FACES)))
    coat = COAT_KG_M2 * stays * hand
    time_s = np.arange(LAID_S, float(others.drying.time_s[-1]), _STEP_S)
    ids_ = [surface.id for surface in prepared.surfaces]
    rows = [ids_.index(name) for name in FACES]
    totals = others.drying.total_kg_m2[rows, :, member]
    demand = np.array([np.interp(time_s, others.drying.time_s, total) for total in totals])
    rate = np.diff(demand, axis=1) * drying[:, None]
    variation = others.members.coat_variation[member]
    log_sd = math.sqrt(math.log1p(variation**2))
    thin = coat * math.exp(_NORMAL_TENTH * log_sd - 0.5 * log_sd**2)
    reserve = prepared.job.practice.ember_reserve_kg_m2
    is_enough = _followed(thin, rate, exponent) >= reserve
    hold_s = np.where(is_enough.all(axis=1), time_s[-1], time_s[is_enough.argmin(axis=1)])
    return Nature(time_s, coat, _followed(coat, rate, exponent), hold_s)


def _followed(coat: Array, rate: Array, exponent: float) -> Array:
    """dm/dt = -e (m/m0)^n by Euler's steps: (F, T)."""
    water = [coat]
    for step in rate.T:
        now = water[-1]
        water.append(np.maximum(now - step * np.maximum(now / coat, 0.0) ** exponent, 0.0))
    return np.array(water).T


def checked_day(seed: int, *, is_weighed: bool, checks: int) -> tuple[Outcome, ...]:
    """One day: three coats, so many checks of the first, what is then said of each."""
    prepared, plan, _ = world()
    nature, rng, names = make_nature(seed), np.random.default_rng(10**6 + seed), random.Random(seed)
    areas = {surface.id: surface.area_m2 for surface in prepared.surfaces}
    entries = [
        _entry(names, LAID_S, CoatLaid((name,), mix_m3=_mix_m3(prepared, areas[name])))
        for name in FACES
    ]
    coupons = np.exp(width("coupon") * rng.standard_normal(COUPONS))
    for when_s in CHECKS_S[:checks]:
        water = nature.left(0, when_s)
        bodies: list[Body] = [CoatChecked(FACE, feel=_felt(water / nature.coat[0], rng))]
        if is_weighed:
            bodies = [
                CoatChecked(FACE, weighed_kg_m2=_weighed(water * coupon, rng), coupon=f"k{number}")
                for number, coupon in enumerate(coupons)
            ]
        entries += [_entry(names, when_s, body) for body in bodies]
    now_s = CHECKS_S[checks - 1] if checks else LAID_S
    left = what_is_left(prepared, plan, entries, now_s=now_s, seed=seed)
    rows = {row.surface_id: row for row in left.faces}
    return tuple(_outcome(rows[name], nature, face, now_s) for face, name in enumerate(FACES))


def _weighed(water: float, rng: np.random.Generator) -> float:
    """A weighing with its error: heavy-tailed, for a slip now and then."""
    error = math.hypot(width("weighing") * water, width("weighing_floor"))
    return max(0.0, water + error * float(rng.standard_t(4.0)))


def _mix_m3(prepared: Prepared, area_m2: float) -> float:
    """The mix that comes to the coat on so much area at the planned share that stays."""
    practice, ratio = prepared.job.practice, _ratio()
    water = COAT_KG_M2 * area_m2 / practice.transfer_efficiency / 1000.0
    return water / water_share(prepared.job.product, ratio)


@cache
def _ratio() -> float:
    _, plan, _ = world()
    planned = {face.surface.id: face for asset in plan.assets for face in asset.surfaces}
    return planned[FACE].mix_ratio


def _felt(share: float, rng: np.random.Generator) -> Feel:
    if rng.random() < width("mistaken"):
        return list(Feel)[int(rng.integers(3))]
    here = math.log(max(share, 1e-6)) + width("feel") * rng.standard_normal()
    if here > math.log(width("wet_above")):
        return Feel.WET
    return Feel.DRY if here < math.log(width("dry_below")) else Feel.TACKY


def _entry(names: random.Random, when_s: float, body: Body) -> Entry:
    return Entry(ids(names), when_s, when_s, "Ash", "", body)


def _outcome(row: FaceLeft, nature: Nature, face: int, now_s: float) -> Outcome:
    truth_s, left = float(nature.hold_s[face]), nature.left(face, now_s)
    return Outcome(
        truth_h=(truth_s - LAID_S) / HOUR,
        own_h=(row.unchecked_50_s - LAID_S) / HOUR,
        said_h=(row.hold_50_s - LAID_S) / HOUR,
        is_in_band=row.hold_low_s <= truth_s <= row.hold_high_s,
        left_truth=left,
        left_said=row.left_kg_m2,
        left_is_in_band=row.left_low_kg_m2 <= left <= row.left_high_kg_m2,
    )


def errors_h(outcomes: Iterable[Outcome]) -> tuple[float, float]:
    """Mean absolute error of the hold time: the plan's own, and what was said."""
    found = list(outcomes)
    own = np.mean([abs(one.own_h - one.truth_h) for one in found])
    return float(own), float(np.mean([abs(one.said_h - one.truth_h) for one in found]))
