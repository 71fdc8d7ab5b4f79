"""What a crew tried: one mix in one water with its readings, and coats weighed while they dry."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

from stillwet.domain.checks import need_bounded, need_text
from stillwet.domain.products import RatioBasis
from stillwet.errors import Problem, StillwetError, shown

SPINDLES = (1, 2, 3, 4)  # the LV set


@dataclass(frozen=True, slots=True)
class YieldEstimate:
    """A yield stress somebody measured by other means: a vane, a scoop photograph."""

    yield_pa: float

    def __post_init__(self) -> None:
        need_bounded("yield_stress", self.yield_pa, 0.0, 2000.0, "Pa")


@dataclass(frozen=True, slots=True)
class Slump:
    """How far a cylinder of mix, as wide as it is high, sank when its mould was lifted."""

    slump_m: float
    height_m: float

    def __post_init__(self) -> None:
        need_bounded("cylinder_height", self.height_m, 0.01, 0.5, "m")
        need_bounded("slump", self.slump_m, 0.0, self.height_m, "m (the cylinder's height)")


@dataclass(frozen=True, slots=True)
class Spread:
    """How wide a poured volume of mix spread on a level plate."""

    diameter_m: float
    volume_m3: float

    def __post_init__(self) -> None:
        need_bounded("spread_diameter", self.diameter_m, 0.01, 2.0, "m")
        need_bounded("spread_volume", self.volume_m3, 1e-6, 0.02, "m3")


@dataclass(frozen=True, slots=True)
class Coupon:
    """A coat on a tilted board.

    ``slid`` True: this is the thickest that stayed, or, with ``slough_s``, the coat that had
    visibly slid after that time. False: it stood, so the limit lies higher.
    """

    coat_kg_m2: float
    tilt_deg: float
    slid: bool = True
    slough_s: float | None = None

    def __post_init__(self) -> None:
        need_bounded("coat", self.coat_kg_m2, 0.01, 50.0, "mm")
        need_bounded("tilt", self.tilt_deg, 5.0, 90.0, "deg")
        if self.slough_s is not None:
            need_bounded("slough_time", self.slough_s, 1.0, 86400.0, "s")
            if not self.slid:
                raise StillwetError(
                    Problem("slid", "yes where a slough_time is given", "no: the coat stood")
                )


@dataclass(frozen=True, slots=True)
class Viscosity:
    """What a rotating spindle viscometer showed."""

    viscosity_pa_s: float
    spindle: int | None = None  # of the LV set; None: not written down
    revolutions_per_min: float = 60.0

    def __post_init__(self) -> None:
        need_bounded("viscosity", self.viscosity_pa_s, 1e-4, 100.0, "Pa s")
        need_bounded("speed_rpm", self.revolutions_per_min, 0.3, 200.0, "1/min")
        if self.spindle is not None and self.spindle not in SPINDLES:
            wanted = "one of the LV spindles 1, 2, 3, 4"
            raise StillwetError(Problem("spindle", wanted, shown(self.spindle)))


@dataclass(frozen=True, slots=True)
class Funnel:
    """How long a Marsh funnel took to let this volume out."""

    seconds: float
    volume_m3: float  # a US quart or a litre

    def __post_init__(self) -> None:
        need_bounded("funnel", self.seconds, 20.0, 3600.0, "s (water takes 26)")
        need_bounded("funnel_volume", self.volume_m3, 0.9e-3, 1.05e-3, "m3 (a quart or a litre)")


Reading: TypeAlias = YieldEstimate | Slump | Spread | Coupon | Viscosity | Funnel


@dataclass(frozen=True, slots=True)
class Trial:
    """One mix in one water, and everything read off it."""

    id: str
    product_id: str
    when_s: float  # epoch seconds, UTC
    ratio: float  # fraction
    ratio_basis: RatioBasis
    water: str  # the source's name
    hardness_kg_m3: float  # as CaCO3
    water_temperature_k: float
    age_s: float  # since mixing
    readings: tuple[Reading, ...]

    def __post_init__(self) -> None:
        need_text("id", self.id)
        need_text("product", self.product_id)
        need_bounded("ratio", self.ratio, 1e-5, 0.5, "fraction", self.id)
        need_bounded("hardness", self.hardness_kg_m3, 0.0, 5.0, "kg/m3", self.id)
        need_bounded("water_temperature", self.water_temperature_k, 273.15, 323.15, "K", self.id)
        need_bounded("age", self.age_s, 1.0, 10 * 86400.0, "s", self.id)
        if not self.readings:
            raise StillwetError(Problem("readings", "at least one reading", "none", self.id))


@dataclass(frozen=True, slots=True)
class Weighing:
    """One look at a drying coat, and the weather at the coupon just then."""

    when_s: float
    mass_kg_m2: float  # coat with its solids, per coated area
    air_temperature_k: float
    relative_humidity: float
    wind_speed_m_s: float  # at the coupon
    sun_w_m2: float  # on the coupon's face
    cloud_cover: float | None = None  # None: it looks at things as warm as the air, not at the sky

    def __post_init__(self) -> None:
        need_bounded("coat", self.mass_kg_m2, 0.0, 50.0, "mm")
        need_bounded("air_temperature", self.air_temperature_k, 253.15, 333.15, "K")
        need_bounded("relative_humidity", self.relative_humidity, 0.0, 1.0, "fraction")
        need_bounded("wind_speed", self.wind_speed_m_s, 0.0, 40.0, "m/s")
        need_bounded("sun", self.sun_w_m2, 0.0, 1500.0, "W/m2")
        if self.cloud_cover is not None:
            need_bounded("cloud_cover", self.cloud_cover, 0.0, 1.0, "fraction")


@dataclass(frozen=True, slots=True)
class DryingSeries:
    """One coupon weighed again and again while it dries; ``length_m`` is its shorter side."""

    id: str
    product_id: str
    solids_share: float  # of the coat's mass that never evaporates: about the mix ratio
    tilt_deg: float
    length_m: float
    weighings: tuple[Weighing, ...]  # in order of time

    def __post_init__(self) -> None:
        need_text("series", self.id)
        need_text("product", self.product_id)
        need_bounded("ratio", self.solids_share, 0.0, 0.5, "fraction", self.id)
        need_bounded("tilt", self.tilt_deg, 0.0, 90.0, "deg", self.id)
        need_bounded("coupon_side", self.length_m, 0.01, 5.0, "m", self.id)
        if len(self.weighings) < 2:
            got = f"{len(self.weighings)}"
            raise StillwetError(Problem("series", "at least 2 weighings", got, self.id))
        times = [weighing.when_s for weighing in self.weighings]
        if any(later <= earlier for earlier, later in pairwise(times)):
            got = "two weighings at one time"
            raise StillwetError(Problem("when", "each weighing later than the last", got, self.id))
        if self.weighings[0].mass_kg_m2 <= 0.0:
            raise StillwetError(Problem("coat", "a wet coat at first", "nothing", self.id))


TrialRecord: TypeAlias = Trial | DryingSeries


def mixes(records: Iterable[TrialRecord]) -> tuple[Trial, ...]:
    """The mixes tried."""
    return tuple(record for record in records if isinstance(record, Trial))


def drying(records: Iterable[TrialRecord]) -> tuple[DryingSeries, ...]:
    """The coats weighed while drying."""
    return tuple(record for record in records if isinstance(record, DryingSeries))
