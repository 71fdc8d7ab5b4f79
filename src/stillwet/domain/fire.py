"""The fire an asset is to meet: a front, the fuel that carries it, and what else burns beside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from stillwet.domain.basis import Basis
from stillwet.domain.checks import need_bounded, need_text
from stillwet.errors import Problem, StillwetError


@dataclass(frozen=True, slots=True)
class Fuel:
    """The surface fuel that carries a front, for a flame that is reckoned instead of typed in.

    Moistures are fractions of dry weight; a dead moisture of None is reckoned from the weather.
    ``slope_deg`` is the ground the fire runs up. A canopy slows the wind below it.
    """

    model: str  # code of a standard fuel model, a row of data/fuel_models.toml
    moisture_herb: float
    moisture_woody: float
    slope_deg: float = 0.0
    moisture_1h: float | None = None
    moisture_10h: float | None = None
    moisture_100h: float | None = None
    canopy_cover: float = 0.0
    canopy_height_m: float = 0.0
    crown_ratio: float = 0.0
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_text("fuel_model", self.model)
        need_bounded("fuel_slope", self.slope_deg, 0.0, 45.0, "deg")
        for name in ("moisture_1h", "moisture_10h", "moisture_100h"):
            value = getattr(self, name)
            if value is not None:
                need_bounded(name, value, 0.0, 2.0, "fraction")
        need_bounded("moisture_herb", self.moisture_herb, 0.1, 3.5, "fraction")
        need_bounded("moisture_woody", self.moisture_woody, 0.1, 3.5, "fraction")
        need_bounded("canopy_cover", self.canopy_cover, 0.0, 1.0, "fraction")
        need_bounded("canopy_height", self.canopy_height_m, 0.0, 120.0, "m")
        need_bounded("crown_ratio", self.crown_ratio, 0.0, 1.0, "fraction")


@dataclass(frozen=True, slots=True)
class StandingFire:
    """Something that burns where it stands while the front passes: a wood pile, a fence.

    It is taken to reach full flame when the front arrives. ``bearing_deg`` as in FireExposure.
    """

    name: str  # a row of data/exposures.toml that does not spread
    flame_length_m: float
    flame_width_m: float
    flame_tilt_deg: float
    residence_s: float
    setback_m: float
    bearing_deg: float | None = None
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_text("also", self.name)
        _need_flame(self)


@dataclass(frozen=True, slots=True)
class FireExposure:
    """The fire one asset is to meet: a named exposure, a flame typed in, or one from fuel.

    ``flux_peak_w_m2`` and ``flux_duration_s`` override the flame when both are set (measured
    or ordered). ``bearing_deg`` is where the fire comes FROM, clockwise from north; None means
    every face is taken to face the fire (the worst case, said so in the plan). With ``fuel``, the
    engine replaces every flame number whose basis is not a given one; ``flags`` then tell what left
    a model's published range. ``also`` burns beside the front.
    """

    name: str
    arrival_from_s: float  # epoch seconds, UTC
    arrival_to_s: float
    flame_length_m: float
    flame_width_m: float
    flame_tilt_deg: float  # from vertical, leaning towards the asset
    spread_rate_m_s: float
    residence_s: float
    setback_m: float  # closest the flame front comes to the face; 0 means flame contact
    bearing_deg: float | None = None
    flux_peak_w_m2: float | None = None
    flux_duration_s: float | None = None
    ground_slope_deg: float = 0.0  # rise of the ground from the fire to the asset
    fuel: Fuel | None = None
    also: tuple[StandingFire, ...] = ()
    flags: tuple[str, ...] = ()
    reckoned_s: float | None = None  # whose weather the flame of ``fuel`` was reckoned in
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_text("exposure", self.name)
        if self.arrival_to_s < self.arrival_from_s:
            raise StillwetError(
                Problem("arrival", "the end not before the start", "an end before the start")
            )
        _need_flame(self)
        need_bounded("spread_rate", self.spread_rate_m_s, 0.0, 10.0, "m/s")
        need_bounded("ground_slope", self.ground_slope_deg, -45.0, 45.0, "deg")
        if (self.flux_peak_w_m2 is None) != (self.flux_duration_s is None):
            raise StillwetError(
                Problem("flux", "both a peak and a duration", "only one of the two")
            )
        if self.flux_peak_w_m2 is not None and self.flux_duration_s is not None:
            need_bounded("flux_peak", self.flux_peak_w_m2, 0.0, 300e3, "W/m2")
            need_bounded("flux_duration", self.flux_duration_s, 0.0, 7200.0, "s")


def _need_flame(fire: FireExposure | StandingFire) -> None:
    need_bounded("flame_length", fire.flame_length_m, 0.0, 100.0, "m")
    need_bounded("flame_width", fire.flame_width_m, 0.0, 10_000.0, "m")
    need_bounded("flame_tilt", fire.flame_tilt_deg, 0.0, 80.0, "deg")
    need_bounded("residence", fire.residence_s, 0.0, 7200.0, "s")
    need_bounded("setback", fire.setback_m, 0.0, 500.0, "m")
    if fire.bearing_deg is not None:
        need_bounded("fire_from", fire.bearing_deg, 0.0, 360.0, "deg")
