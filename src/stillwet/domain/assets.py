"""Assets and the faces of an asset; the fire each is to meet stands in ``domain.fire``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from stillwet.domain.basis import Basis
from stillwet.domain.checks import need_bounded, need_text
from stillwet.domain.fire import FireExposure
from stillwet.domain.suitability import Site
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
    must: bool = False  # crews cover it before anything that is not a must
    needs: frozenset[str] = frozenset()  # what a crew must have for it: "ladder", "long hose"
    site: Site = field(default_factory=Site)
    coats: int = 1  # passes its coat is sprayed in, 1 or 2
    coat_gap_s: float = 0.0  # time to set between two passes, and before a recoat
    after: str | None = None  # the asset that must be finished first
    recoat: bool = False  # crews may coat it early and lay a fresh coat later

    def __post_init__(self) -> None:
        need_text("id", self.id)
        need_bounded("value", self.value, 0.0, 1e9, "", self.id)
        need_bounded("length", self.length_m, 0.01, 1000.0, "m", self.id)
        need_bounded("width", self.width_m, 0.001, 1000.0, "m", self.id)
        need_bounded("eave_height", self.eave_height_m, 0.05, 300.0, "m", self.id)
        need_bounded("roof_pitch", self.roof_pitch_deg, 0.0, 75.0, "deg", self.id)
        need_bounded("facing", self.facing_deg, 0.0, 360.0, "deg", self.id)
        need_bounded("sheltering", self.sheltering, 0.05, 1.5, "", self.id)
        need_bounded("coats", self.coats, 1, 2, "", self.id)
        need_bounded("coat_gap", self.coat_gap_s, 0.0, 86400.0, "s", self.id)
        if self.recoat and self.coats > 1:
            wanted = "1 where recoat is yes: a coat of two passes is not laid anew"
            raise StillwetError(Problem("coats", wanted, str(self.coats), self.id))
        if self.after == self.id:
            raise StillwetError(Problem("after", "another asset's id", "its own", self.id))
        if self.footprint_m is not None and len(self.footprint_m) < 3:
            raise StillwetError(
                Problem("footprint", "at least 3 corners", str(len(self.footprint_m)), self.id)
            )
