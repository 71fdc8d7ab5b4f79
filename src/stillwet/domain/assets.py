"""Assets, the faces of an asset, and the fire each asset is to meet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from stillwet.domain.basis import Basis
from stillwet.domain.checks import need_bounded, need_one_of, need_text
from stillwet.errors import Problem, StillwetError


class Geometry(StrEnum):
    """How air flows over a face: decides its convection model."""

    WALL = "wall"  # vertical plate
    ROOF = "roof"  # tilted plate
    CYLINDER = "cylinder"  # pole, tank, trunk in cross-flow
    BLADE = "blade"  # leaf, needle, grass blade: small plate


class Shading(StrEnum):
    """How much direct sun reaches the asset."""

    OPEN = "open"
    SHADED = "shaded"  # no direct beam, all of the sky's diffuse light


@dataclass(frozen=True, slots=True)
class FireExposure:
    """The fire one asset is to meet: a named exposure, or a flame typed in.

    ``flux_peak_w_m2`` and ``flux_duration_s`` override the flame when both are set (measured
    or ordered). ``bearing_deg`` is where the fire comes FROM, clockwise from north; None means
    every face is taken to face the fire (the worst case, said so in the plan).
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
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_text("exposure", self.name)
        if self.arrival_to_s < self.arrival_from_s:
            raise StillwetError(
                Problem("arrival", "the end not before the start", "an end before the start")
            )
        need_bounded("flame_length", self.flame_length_m, 0.0, 100.0, "m")
        need_bounded("flame_width", self.flame_width_m, 0.0, 10_000.0, "m")
        need_bounded("flame_tilt", self.flame_tilt_deg, 0.0, 80.0, "deg")
        need_bounded("spread_rate", self.spread_rate_m_s, 0.0, 10.0, "m/s")
        need_bounded("residence", self.residence_s, 0.0, 7200.0, "s")
        need_bounded("setback", self.setback_m, 0.0, 500.0, "m")
        if self.bearing_deg is not None:
            need_bounded("fire_from", self.bearing_deg, 0.0, 360.0, "deg")
        if (self.flux_peak_w_m2 is None) != (self.flux_duration_s is None):
            raise StillwetError(
                Problem("flux", "both a peak and a duration", "only one of the two")
            )
        if self.flux_peak_w_m2 is not None and self.flux_duration_s is not None:
            need_bounded("flux_peak", self.flux_peak_w_m2, 0.0, 300e3, "W/m2")
            need_bounded("flux_duration", self.flux_duration_s, 0.0, 7200.0, "s")


@dataclass(frozen=True, slots=True)
class Surface:
    """One face of an asset.

    tilt_deg: 0 faces up, 90 is a wall. azimuth_deg: the way the face looks, clockwise from north.
    length_m: what the wind runs along (wall or roof length, pole diameter, blade width).
    height_m: height of the face's centre above the ground.
    """

    id: str
    asset_id: str
    label: str  # plain words: "south-west wall", "north roof"
    geometry: Geometry
    tilt_deg: float
    azimuth_deg: float
    area_m2: float
    length_m: float
    height_m: float

    def __post_init__(self) -> None:
        need_bounded("tilt", self.tilt_deg, 0.0, 90.0, "deg", self.id)
        need_bounded("azimuth", self.azimuth_deg, 0.0, 360.0, "deg", self.id)
        need_bounded("area", self.area_m2, 1e-4, 1e6, "m2", self.id)
        need_bounded("length", self.length_m, 1e-4, 1e4, "m", self.id)
        need_bounded("height", self.height_m, 0.0, 500.0, "m", self.id)


@dataclass(frozen=True, slots=True)
class Asset:
    """Something worth coating. Positions are metres in the job's projected CRS (x east, y north).

    ``footprint_m`` is the outer ring without the closing point, counter-clockwise, or None for a
    point, in which case ``length_m`` x ``width_m`` x ``eave_height_m`` stand for it (for cylinders
    ``width_m`` is the diameter and ``eave_height_m`` the height). ``basis`` has one entry for every
    field that can be given or defaulted.
    """

    id: str
    name: str
    kind: str  # a row of data/kinds.toml
    value: float  # the user's own worth, any positive scale
    x_m: float
    y_m: float
    footprint_m: tuple[tuple[float, float], ...] | None
    length_m: float
    width_m: float
    eave_height_m: float
    roof_pitch_deg: float
    facing_deg: float  # the way the front (a long side) looks
    material: str  # a row of data/materials.toml
    shading: Shading
    sheltering: float  # wind at the asset over wind in the open, 0 to 1
    fire: FireExposure
    released: bool = True  # the owner or utility has released it for spraying
    note: str = ""
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_text("id", self.id)
        need_bounded("value", self.value, 0.0, 1e9, "", self.id)
        need_bounded("length", self.length_m, 0.01, 1000.0, "m", self.id)
        need_bounded("width", self.width_m, 0.001, 1000.0, "m", self.id)
        need_bounded("eave_height", self.eave_height_m, 0.05, 300.0, "m", self.id)
        need_bounded("roof_pitch", self.roof_pitch_deg, 0.0, 75.0, "deg", self.id)
        need_bounded("facing", self.facing_deg, 0.0, 360.0, "deg", self.id)
        need_bounded("sheltering", self.sheltering, 0.05, 1.5, "", self.id)
        if self.footprint_m is not None and len(self.footprint_m) < 3:
            raise StillwetError(
                Problem("footprint", "at least 3 corners", str(len(self.footprint_m)), self.id)
            )


class LinePurpose(StrEnum):
    """What a wetted line is for."""

    BURN = "burn line"
    BESIDE = "beside an existing line"
    SLOWING = "slowing strip"


@dataclass(frozen=True, slots=True)
class Line:
    """A control line to be wetted: its track in metres in the job's CRS, and its wetted width."""

    id: str
    name: str
    purpose: LinePurpose
    track_m: tuple[tuple[float, float], ...]
    width_m: float
    note: str = ""

    def __post_init__(self) -> None:
        need_text("id", self.id)
        if len(self.track_m) < 2:
            raise StillwetError(
                Problem("track", "at least 2 points", str(len(self.track_m)), self.id)
            )
        need_bounded("width", self.width_m, 0.1, 100.0, "m", self.id)


def need_kind(kind: str, kinds: tuple[str, ...], place: str) -> None:
    """Raise unless the asset kind is in the table of kinds."""
    need_one_of("kind", kind, kinds, place)
