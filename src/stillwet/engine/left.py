"""What is left on each face now and until when it holds, from the log, the checks and the sky."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from stillwet.domain.assets import Asset
from stillwet.domain.left import FaceLeft, Learned, Left
from stillwet.domain.log import Entry, Feel
from stillwet.domain.plan import Plan
from stillwet.engine import coating, mixing
from stillwet.engine.cautions import job_cautions
from stillwet.engine.coat_evidence import CoatModel, member_weights
from stillwet.engine.drying import Drying
from stillwet.engine.inputs import table_inputs
from stillwet.engine.log_coats import LoggedCoats, Look, logged_coats
from stillwet.engine.particles import COUNT, Particles, filter_particles
from stillwet.engine.prepared import Array, Prepared
from stillwet.engine.verdicts import CONFIDENT, EVEN, verdict_of

_BAND = (0.05, 0.5, 0.95)


def what_is_left(
    prepared: Prepared,
    plan: Plan,
    entries: Iterable[Entry],
    *,
    now_s: float,
    seed: int,
    count: int = COUNT,
) -> Left:
    """The water left on every coated face at ``now_s``, worst first, as the log revises it.

    ``entries`` are those that stand, in order; ``plan`` is the job's own, for coats laid as planned
    and for faces that nobody has coated yet. Same job, log and seed: same answer.
    """
    told = [entry for entry in entries if entry.when_s <= now_s]
    logged = logged_coats(prepared, plan, told)
    faces: tuple[FaceLeft, ...] = ()
    learned: tuple[Learned, ...] = ()
    if logged.coats:
        model = CoatModel(prepared, logged)
        weights = member_weights(prepared, logged.sightings)
        found = filter_particles(
            model.likelihood,
            dimensions=model.dimensions,
            member_weights=weights,
            seed=seed,
            count=count,
        )
        faces = _faces(prepared, logged, model, found, now_s)
        learned = _learned(model, found, seed)
    names = {asset.id: asset.name for asset in prepared.job.assets}
    return Left(
        job_name=prepared.job.name,
        time_zone=prepared.job.time_zone,
        now_s=now_s,
        faces=faces,
        not_laid=_not_laid(prepared, plan, logged),
        washed=_labels(prepared, logged.washed, names),
        passed=_labels(prepared, logged.passed - logged.washed, names),
        learned=learned,
        checks=len(logged.looks),
        weather_seen=len(logged.sightings),
        notes=logged.notes,
        cautions=job_cautions(),
        inputs=table_inputs("left"),
        over=frozenset(prepared.surfaces[face].id for face in logged.washed | logged.passed),
    )


@dataclass(frozen=True, eq=False)
class _Held:
    """One coat in every particle (N,)."""

    coat: Array
    left: Array
    hold_s: Array
    is_enough: Array


def _faces(
    prepared: Prepared, logged: LoggedCoats, model: CoatModel, found: Particles, now_s: float
) -> tuple[FaceLeft, ...]:
    by_id = {asset.id: asset for asset in prepared.job.assets}
    gone = logged.washed | logged.passed
    fits = model.fits(found.normal, found.member) if logged.looks else np.zeros(0)
    cases = model.cases(found.normal, found.member)
    rows = [
        _face(
            prepared,
            logged,
            by_id[prepared.surfaces[face].asset_id],
            (face, coat, _flags(prepared, logged, coat, fits)),
            _held(
                prepared,
                face,
                found,
                (cases.coat[:, coat], cases.drying[:, coat], cases.exponent),
                (logged.coats[coat].laid_s, now_s),
            ),
        )
        for face, coat in logged.latest.items()
        if face not in gone
    ]
    return tuple(sorted(rows, key=lambda row: (not row.flags, row.hold_90_s, row.surface_id)))


def _held(
    prepared: Prepared,
    face: int,
    found: Particles,
    case: tuple[Array, Array, Array],
    times: tuple[float, float],
) -> _Held:
    """Follow one coat in every particle, as a plan follows it in every member."""
    from stillwet.physics.coat import coat_left, drying_until, thinnest_tenth_factor

    (coat, faster, exponent), (laid_s, now_s) = case, times
    members, ask = prepared.members, prepared.demand
    here = Drying(prepared.drying.time_s, prepared.drying.total_kg_m2[face][None, :, found.member])

    def dried(from_s: float, to_s: float) -> Array:
        sums = [here.at(np.array([moment]))[0] for moment in (from_s, max(from_s, to_s))]
        return np.asarray((sums[1] - sums[0]) * faster)

    thin = coat * thinnest_tenth_factor(coat_variation=members.coat_variation[found.member])
    asked = ask.water_demand[face][found.member]
    target = np.minimum(asked + ask.reserve, thin)
    room = drying_until(coat_kg_m2=thin, target_kg_m2=target, exponent=exponent) / faster
    until = here.when(here.at(np.array([laid_s])) + np.asarray(room)[None, :])[0]
    front_s, end_s = float(ask.arrival_s[face]), float(ask.end_s[face])
    one = coating.Ask(asked[None, :], np.array([front_s]), np.array([end_s]), ask.reserve)
    spare = coating.spare_at_end(
        thin[None, :],
        dried(laid_s, front_s)[None, :],
        dried(front_s, end_s)[None, :],
        one,
        exponent[None, :],
    )[0]
    left = coat_left(coat_kg_m2=coat, drying_kg_m2=dried(laid_s, now_s), exponent=exponent)
    return _Held(
        coat=coat,
        left=np.asarray(left),
        hold_s=np.where(thin < asked + ask.reserve, laid_s, np.maximum(until, laid_s)),
        is_enough=np.asarray(spare >= 0.0),
    )


def _face(
    prepared: Prepared,
    logged: LoggedCoats,
    asset: Asset,
    which: tuple[int, int, tuple[str, ...]],
    held: _Held,
) -> FaceLeft:
    face, coat, flags = which
    laid, surface = logged.coats[coat], prepared.surfaces[face]
    low, middle, high = (float(value) for value in np.quantile(held.left, _BAND))
    coat_middle = float(np.median(held.coat))
    unchecked = _unchecked(prepared, face, laid.coat_kg_m2, laid.laid_s, laid.ratio)
    chance = float(held.is_enough.mean())
    row = FaceLeft(
        surface_id=surface.id,
        asset_id=asset.id,
        asset_name=asset.name,
        label=surface.label,
        laid_s=laid.laid_s,
        laid_by=laid.by,
        coat_kg_m2=coat_middle,
        left_kg_m2=middle,
        left_low_kg_m2=low,
        left_high_kg_m2=high,
        share_left=float(np.median(held.left / held.coat)),
        hold_90_s=_by_when(held.hold_s, CONFIDENT),
        hold_50_s=_by_when(held.hold_s, EVEN),
        hold_low_s=_by_when(held.hold_s, 0.95),
        hold_high_s=_by_when(held.hold_s, 0.05),
        unchecked_90_s=_by_when(unchecked, CONFIDENT),
        unchecked_50_s=_by_when(unchecked, EVEN),
        fire_from_s=asset.fire.arrival_from_s,
        fire_to_s=asset.fire.arrival_to_s,
        chance=chance,
        verdict=verdict_of(chance),
        checks=sum(look.coat == coat for look in logged.looks),
        flags=flags,
    )
    return _as_found_dry(row, _last_feel(logged, coat)) if DRY in flags else row


def _as_found_dry(row: FaceLeft, look: Look | None) -> FaceLeft:
    """A coat that a hand found dry counts as none, whatever is reckoned."""
    assert look is not None
    times = ("hold_90_s", "hold_50_s", "hold_low_s", "hold_high_s")
    until = {name: min(getattr(row, name), look.when_s) for name in times}
    gone = replace(row, left_kg_m2=0.0, left_low_kg_m2=0.0, share_left=0.0)
    return replace(gone, **until, chance=0.0, verdict=verdict_of(0.0))


BANNED = (
    "coated, but it is not to be (the plan says DO NOT COAT): lay no more, keep what runs off out "
    "of water, and log what reached it as a spill"
)
DRY = "found dry: it counts as none until a fresh coat is laid or a later check finds it wet"
ODD = "its checks do not fit what is reckoned from coat and weather: look again"
RAINED = "rain since it was laid: what is left is not known, look at it"
EARLY = "laid before the forecast begins: its drying until then is not counted, look at it"
_LEAST_FIT = 0.05


def _flags(prepared: Prepared, logged: LoggedCoats, coat: int, fits: Array) -> tuple[str, ...]:
    """What a person has to know of one coat beside the numbers."""
    laid_s, last = logged.coats[coat].laid_s, _last_feel(logged, coat)
    looks = [number for number, look in enumerate(logged.looks) if look.coat == coat]
    found = {
        DRY: last is not None and last.feel is Feel.DRY,
        ODD: any(fits[number] < _LEAST_FIT for number in looks),
        RAINED: any(s.seen.rain and s.when_s >= laid_s for s in logged.sightings),
        EARLY: laid_s < prepared.drying.time_s[0],
    }
    banned = (BANNED,) if logged.coats[coat].face in logged.forbidden else ()
    return (*banned, *(flag for flag, is_so in found.items() if is_so))


def _last_feel(logged: LoggedCoats, coat: int) -> Look | None:
    touched = [look for look in logged.looks if look.coat == coat and look.feel is not None]
    return max(touched, key=lambda look: look.when_s) if touched else None


def _by_when(times_s: Array, confidence: float) -> float:
    return float(coating.reached(times_s, confidence))


def _unchecked(
    prepared: Prepared, face: int, coat_kg_m2: float, laid_s: float, ratio: float
) -> Array:
    """The plan's own hold time of one coat as it was laid, in every member (M,)."""
    ask = prepared.demand
    rows = slice(face, face + 1)
    cling = mixing.cling_median(prepared.mix, prepared.surfaces[rows], np.array([ratio]))
    times_s: Array = coating.hold_until(
        Drying(prepared.drying.time_s, prepared.drying.total_kg_m2[rows]),
        coating.make_spread(prepared.members, cling),
        coating.Ask(ask.water_demand[rows], ask.arrival_s[rows], ask.end_s[rows], ask.reserve),
        coat=np.array([coat_kg_m2]),
        lay_s=np.array([laid_s]),
    )[0]
    return times_s


def _learned(model: CoatModel, found: Particles, seed: int) -> tuple[Learned, ...]:
    """What the looks say of the whole site, beside what was taken before them."""
    random = np.random.default_rng(seed)
    before = model.cases(random.standard_normal(found.normal.shape), found.member)
    after = model.cases(found.normal, found.member)
    return tuple(
        Learned(name, unit, _band(getattr(before, field)), _band(getattr(after, field)))
        for name, unit, field in (
            ("drying over what is reckoned", "", "bias"),
            ("drying exponent", "", "exponent"),
            ("share of the mix that stays", "fraction", "stays"),
        )
    )


def _band(values: Array) -> tuple[float, float, float]:
    low, middle, high = np.quantile(values, _BAND)
    return float(low), float(middle), float(high)


def _not_laid(prepared: Prepared, plan: Plan, logged: LoggedCoats) -> tuple[str, ...]:
    """What the plan coats and nobody has logged: whole assets by name, else face by face."""
    laid = {prepared.surfaces[coat.face].id for coat in logged.coats}
    found: list[str] = []
    for asset in plan.assets:
        planned = [face.surface for face in asset.surfaces if face.coat_kg_m2 > 0.0]
        lacking = [face for face in planned if face.id not in laid]
        if lacking and len(lacking) == len(planned):
            found.append(asset.name)
        else:
            found += [f"{asset.name}, {face.label}" for face in lacking]
    return tuple(found)


def _labels(prepared: Prepared, faces: frozenset[int], names: dict[str, str]) -> tuple[str, ...]:
    surfaces = [prepared.surfaces[face] for face in sorted(faces)]
    return tuple(f"{names[face.asset_id]}, {face.label}" for face in surfaces)
