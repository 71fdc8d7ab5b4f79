"""How likely what was seen on the coats is, in each case a particle stands for.

What is not known: the site's drying against what is reckoned, and each face's own part of that,
shared with faces that are near and look the same way; the drying exponent; the share of the mix
that stays; the hand that laid each coat; each coupon against its face. Widths: data/left.toml.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.log import Feel
from stillwet.engine import mixing
from stillwet.engine.drying import Drying
from stillwet.engine.log_coats import LoggedCoats, Sighting
from stillwet.engine.members import over_interval
from stillwet.engine.particles import Whole
from stillwet.engine.prepared import Prepared
from stillwet.engine.sky import air_at
from stillwet.tables import load_table

Array = NDArray[np.float64]

_TAILS = 4.0  # degrees of freedom of a weighing's error: a slip now and then
_LEAST_SHARE = 1e-6
_EYE_HEIGHT_M = 2.0
_ONE_SIGHTING_S = 3 * 3600.0  # sightings closer together than this tell much the same
_BIAS, _EXPONENT, _STAYS, _FIXED = 0, 1, 2, 3  # columns of the normals, then faces, hands, coupons


def width(name: str) -> float:
    """One value of data/left.toml."""
    return float(load_table("left")["left"][name]["value"])


@dataclass(frozen=True, eq=False)
class Cases:
    """What each particle says: N particles, L coats, F faces with a coat."""

    drying: Array  # (N, L) drying over what is reckoned
    coat: Array  # (N, L) mean coat laid
    exponent: Array  # (N,)
    bias: Array  # (N,) the site's drying over what is reckoned
    stays: Array  # (N,) transfer efficiency


class CoatModel:
    """The coats of a log and their looks, ready to be weighed against particles."""

    def __init__(self, prepared: Prepared, logged: LoggedCoats) -> None:
        self._prepared, self._logged = prepared, logged
        coats = logged.coats
        faces = sorted({coat.face for coat in coats})
        self._face_of = np.array([faces.index(coat.face) for coat in coats], dtype=np.int64)
        self._mixing = _shared(prepared, faces)
        self._rows = np.array([coat.face for coat in coats], dtype=np.int64)
        self.laid_s = np.array([coat.laid_s for coat in coats])
        self._planned = np.array([coat.coat_kg_m2 for coat in coats])
        self._gauged = np.array([coat.is_gauged for coat in coats])
        self._hand = np.where(self._gauged, width("gauge"), width("hand"))
        self._cling = self._cling_limits()
        self._hands_from = _FIXED + len(faces)
        self._coupons_from = self._hands_from + len(coats)
        self.dimensions = self._coupons_from + logged.coupons
        self._prepare_looks()

    def _cling_limits(self) -> Array:
        """Thickest mean coat (L, M) that stays at the ratio laid."""
        prepared, coats = self._prepared, self._logged.coats
        surfaces = tuple(prepared.surfaces[coat.face] for coat in coats)
        median = mixing.cling_median(
            prepared.mix, surfaces, np.array([coat.ratio for coat in coats])
        )
        return np.asarray(median[:, None] * prepared.members.yield_factor[None, :])

    def _prepare_looks(self) -> None:
        looks = self._logged.looks
        self._look_coat = np.array([look.coat for look in looks], dtype=np.int64)
        when = np.array([look.when_s for look in looks])
        self._dried = self.dried_between(self._look_coat, self.laid_s[self._look_coat], when)
        weighed = [look.weighed_kg_m2 for look in looks]
        self._weighed = np.array([math.nan if each is None else each for each in weighed])
        self._coupon = np.array([look.coupon for look in looks], dtype=np.int64)
        feels = (Feel.WET, Feel.TACKY, Feel.DRY)
        self._feel = np.array(
            [-1 if look.feel is None else feels.index(look.feel) for look in looks], dtype=np.int64
        )

    def dried_between(self, coats: Whole, from_s: Array, to_s: Array) -> Array:
        """Reckoned drying demand (C, M) on the faces of these coats between two moments each."""
        drying = self._prepared.drying
        here = Drying(drying.time_s, drying.total_kg_m2[self._rows[coats]])
        return here.at(np.maximum(to_s, from_s)) - here.at(from_s)

    def cases(self, normal: Array, member: Whole) -> Cases:
        """What particles (N, d) with members (N,) say of the coats."""
        from scipy.special import ndtr

        product, practice = self._prepared.job.product, self._prepared.job.practice
        exponent = over_interval(
            ndtr(normal[:, _EXPONENT]),
            product.drying_exponent,
            product.basis.get("drying_exponent"),
        )
        stays = over_interval(
            ndtr(normal[:, _STAYS]),
            practice.transfer_efficiency,
            practice.basis.get("transfer_efficiency"),
        )
        own = normal[:, _FIXED : self._hands_from] @ self._mixing.T
        bias = width("drying_bias") * normal[:, _BIAS]
        laid = np.where(self._gauged, 1.0, (stays / practice.transfer_efficiency)[:, None])
        hand = np.exp(self._hand * normal[:, self._hands_from : self._coupons_from])
        coat = np.minimum(self._planned * laid * hand, self._cling[:, member].T)
        return Cases(
            drying=np.exp(bias[:, None] + own[:, self._face_of]),
            coat=coat,
            exponent=exponent,
            bias=np.exp(bias),
            stays=stays,
        )

    def likelihood(self, normal: Array, member: Whole) -> Array:
        """Log likelihood (N,) of all looks."""
        if not self._logged.looks:
            return np.zeros(member.size)
        touched, water = self.at_looks(normal, member)
        told = _feel_likelihood(touched, self._feel)
        return np.asarray((told + _weight_likelihood(water, self._weighed)).sum(axis=1))

    def fits(self, normal: Array, member: Whole) -> Array:
        """How well each look (C,) agrees with what the particles say: 1 fully, 0 not at all.

        The share of particles, weighted by how likely a hand is to feel that; for a weighing the
        share that comes within three times its error.
        """
        touched, water = self.at_looks(normal, member)
        chances = _feel_chances(touched, self._feel)
        spread = np.hypot(width("weighing") * water, width("weighing_floor"))
        is_near = np.abs(np.nan_to_num(self._weighed) - water) < 3.0 * spread
        near = np.where(np.isnan(self._weighed), True, is_near)
        return np.asarray(np.minimum(chances.mean(axis=0), near.mean(axis=0)))

    def at_looks(self, normal: Array, member: Whole) -> tuple[Array, Array]:
        """Share left where a hand touched and water left on the coupon (N, C) at each look."""
        from stillwet.physics.coat import share_left

        cases, looked = self.cases(normal, member), self._look_coat
        dried = self._dried[:, member].T * cases.drying[:, looked]
        coat, exponent = cases.coat[:, looked], cases.exponent[:, None]
        touched = np.asarray(share_left(drying_share=dried / coat, exponent=exponent))
        own = np.ones_like(coat)
        if self._logged.coupons:
            chosen = np.maximum(self._coupon, 0)
            own = np.exp(width("coupon") * normal[:, self._coupons_from :][:, chosen])
        share = share_left(drying_share=dried / (coat * own), exponent=exponent)
        return touched, np.asarray(coat * own * share)


def _shared(prepared: Prepared, faces: list[int]) -> Array:
    """How the faces' own parts of the drying hang together: a square root of their covariance.

    Faces have in common what is near (exponential in distance) and looks the same way (half of one
    and the cosine between the faces); a share is every face's own.
    """
    places = {asset.id: (asset.x_m, asset.y_m) for asset in prepared.job.assets}
    surfaces = [prepared.surfaces[face] for face in faces]
    at = np.array([places[face.asset_id] for face in surfaces]).reshape(-1, 2)
    tilt = np.radians([face.tilt_deg for face in surfaces])
    azimuth = np.radians([face.azimuth_deg for face in surfaces])
    outward = np.stack(
        [np.sin(tilt) * np.sin(azimuth), np.sin(tilt) * np.cos(azimuth), np.cos(tilt)], axis=1
    )
    distance = np.hypot(*(at[:, None, :] - at[None, :, :]).transpose(2, 0, 1))
    alike = np.exp(-distance / width("reach")) * 0.5 * (1.0 + outward @ outward.T)
    own = width("own_share")
    together = own * np.eye(len(faces)) + (1.0 - own) * alike
    return np.asarray(width("face_drying") * np.linalg.cholesky(together))


def _hand_chances(share: Array) -> Array:
    """How likely (3, N, C) a hand is to feel wet, tacky or dry, slips not counted."""
    from scipy.special import ndtr

    depth = np.log(np.maximum(share, _LEAST_SHARE))
    blur = width("feel")
    wet = ndtr((depth - math.log(width("wet_above"))) / blur)
    dry = ndtr((math.log(width("dry_below")) - depth) / blur)
    return np.stack([wet, np.maximum(1.0 - wet - dry, 0.0), dry])


def feel_chances(share: Array) -> Array:
    """How likely (3, N, C) it is that wet, tacky or dry is written down, slips counted."""
    slip = width("mistaken")
    return np.asarray((1.0 - slip) * _hand_chances(share) + slip / 3.0)


def _feel_chances(share: Array, feel: Whole) -> Array:
    """How likely (N, C) a hand is to feel what was told; 1 where nobody touched."""
    chances = _hand_chances(share)
    picked = np.take_along_axis(chances, np.maximum(feel, 0)[None, None, :], axis=0)[0]
    return np.asarray(np.where(feel >= 0, picked, 1.0))


def _feel_likelihood(share: Array, feel: Whole) -> Array:
    """Log likelihood (N, C) of what hands felt, slips counted; 0 where nobody touched."""
    slip = width("mistaken")
    told = np.log((1.0 - slip) * _feel_chances(share, feel) + slip / 3.0)
    return np.where(feel >= 0, told, 0.0)


def _weight_likelihood(water: Array, weighed: Array) -> Array:
    """Log likelihood (N, C) of weighings, Student's t; 0 where nothing was weighed."""
    spread = np.hypot(width("weighing") * water, width("weighing_floor"))
    is_weighed = ~np.isnan(weighed)
    off = (np.where(is_weighed, weighed, 0.0) - water) / spread
    told = -0.5 * (_TAILS + 1.0) * np.log1p(off**2 / _TAILS) - np.log(spread)
    return np.where(is_weighed, told, 0.0)


def member_weights(prepared: Prepared, sightings: tuple[Sighting, ...]) -> Array:
    """How likely each member of the weather is (M,), given the weather that was met."""
    told = np.zeros(prepared.members.count)
    for sighting in sightings:
        near = sum(abs(other.when_s - sighting.when_s) < _ONE_SIGHTING_S for other in sightings)
        told += _sighting_likelihood(prepared, sighting) / near
    weights = np.exp(told - told.max())
    return np.asarray(weights / weights.sum())


def _sighting_likelihood(prepared: Prepared, sighting: Sighting) -> Array:
    from stillwet.physics.wind import FORECAST_HEIGHT_M, LOWEST_WIND_M_S, wind_at_height_log

    air, seen = air_at(prepared.job, prepared.members, sighting.when_s), sighting.seen
    told = np.zeros(prepared.members.count)
    if seen.air_temperature_k is not None:
        off = (seen.air_temperature_k - air.air_temperature_k) / width("seen_temperature")
        told -= 0.5 * off**2
    if seen.relative_humidity is not None:
        off = (seen.relative_humidity - air.relative_humidity) / width("seen_humidity")
        told -= 0.5 * off**2
    if seen.wind_speed_m_s is not None:
        here = wind_at_height_log(
            speed_m_s=air.wind_speed_m_s,
            from_height_m=FORECAST_HEIGHT_M,
            to_height_m=_EYE_HEIGHT_M,
        )
        least = LOWEST_WIND_M_S
        ratio = max(seen.wind_speed_m_s, least) / np.maximum(np.asarray(here), least)
        told -= 0.5 * (np.log(ratio) / width("seen_wind")) ** 2
    return told
