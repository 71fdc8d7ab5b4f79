"""Lines to be wetted: a control line made of segments, and how it is to be worked."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from stillwet.domain.basis import Basis
from stillwet.domain.checks import need_bounded, need_text
from stillwet.domain.fire import Fuel
from stillwet.errors import Problem, StillwetError, shown

Track = tuple[tuple[float, float], ...]
JOIN_M = 15.0  # segments that end and begin farther apart are not one line


class LinePurpose(StrEnum):
    """What a wetted line is for."""

    BURN = "burn line"
    BESIDE = "beside an existing line"
    SLOWING = "slowing strip"


class Side(StrEnum):
    """A side of the line, looking along the way it is drawn."""

    LEFT = "left"
    RIGHT = "right"


class WetSides(StrEnum):
    """Whether the strip is laid on the fire's side alone or along both edges of the line."""

    ONE = "one side"
    BOTH = "both sides"


class Beginning(StrEnum):
    """The end of the line at which work begins."""

    DOWNWIND = "downwind end"
    FIRST = "first end"
    LAST = "last end"


@dataclass(frozen=True, slots=True)
class LineSegment:
    """A stretch of line with one fuel and one width. Metres in the job's CRS.

    ``width_m`` is that of the wetted strip on each side that is wetted, ``bare_width_m`` that of an
    existing line, road or path beside it. ``aspect_deg`` is the way the ground faces. Without
    ``fuel`` a segment is drawn only.
    """

    id: str
    name: str
    track_m: Track
    width_m: float
    fuel: Fuel | None = None
    aspect_deg: float = 180.0
    bare_width_m: float = 0.0
    black_depth_m: float = 4.572  # burnt depth at which the strip need not be wet any more
    note: str = ""
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_text("id", self.id)
        if len(self.track_m) < 2:
            raise StillwetError(
                Problem("track", "at least 2 points", str(len(self.track_m)), self.id)
            )
        need_bounded("width", self.width_m, 0.1, 100.0, "m", self.id)
        need_bounded("aspect", self.aspect_deg, 0.0, 360.0, "deg", self.id)
        need_bounded("bare_width", self.bare_width_m, 0.0, 200.0, "m", self.id)
        need_bounded("black_depth", self.black_depth_m, 0.5, 500.0, "m", self.id)

    @property
    def length_m(self) -> float:
        """Length of the track [m]."""
        return sum(math.dist(a, b) for a, b in zip(self.track_m, self.track_m[1:], strict=False))

    @property
    def bearing_deg(self) -> float:
        """The bearing from its first point to its last, clockwise from grid north."""
        (x0, y0), (x1, y1) = self.track_m[0], self.track_m[-1]
        return math.degrees(math.atan2(x1 - x0, y1 - y0)) % 360.0


@dataclass(frozen=True, slots=True)
class LineWork:
    """How a line is wetted, lit and held: what is fixed by the crew or taken from a default.

    ``coverage_kg_m2`` is water per wetted ground at the nozzle; None: the least that does the work.
    ``start_s`` None: the job's start. A line that is not lit behind meets a fire that arrives
    between ``arrival_from_s`` and ``arrival_to_s``.
    """

    is_lit: bool
    fire_side: Side | None = None
    wet_sides: WetSides = WetSides.ONE
    beginning: Beginning = Beginning.DOWNWIND
    crew_id: str = ""
    coverage_kg_m2: float | None = None
    mix_ratio: float | None = None
    start_s: float | None = None
    finish_s: float | None = None
    arrival_from_s: float | None = None
    arrival_to_s: float | None = None
    wind_from_deg: float | None = None  # the sector the wind must stay in, clockwise from ...
    wind_to_deg: float | None = None  # ... to
    wind_limit_m_s: float | None = None  # strongest forecast wind to light in
    ignition_pace_m_s: float = 0.4
    spray_walk_m_s: float = 0.5
    follow_gap_s: float = 120.0
    refill_turn_s: float | None = None  # None: reckoned from the nearest water point
    connect_s: float = 240.0
    detour: float = 1.3
    delay_share: float = 0.25  # mean random delay over planned work, both crews

    def __post_init__(self) -> None:
        need_bounded("ignition_pace", self.ignition_pace_m_s, 0.01, 5.0, "m/s")
        need_bounded("spray_walk", self.spray_walk_m_s, 0.01, 5.0, "m/s")
        need_bounded("follow_gap", self.follow_gap_s, 0.0, 7200.0, "s")
        need_bounded("connect", self.connect_s, 0.0, 7200.0, "s")
        need_bounded("detour", self.detour, 1.0, 10.0, "")
        need_bounded("delay_share", self.delay_share, 0.0, 5.0, "")
        if self.coverage_kg_m2 is not None:
            need_bounded("coverage", self.coverage_kg_m2, 0.05, 20.0, "mm")
        if self.refill_turn_s is not None:
            need_bounded("refill_turn", self.refill_turn_s, 0.0, 6 * 3600.0, "s")
        if (self.wind_from_deg is None) != (self.wind_to_deg is None):
            raise StillwetError(
                Problem("wind_from", "both wind_from and wind_to, or neither", "only one of them")
            )
        for early, late in (("start", "finish"), ("arrival_from", "arrival_to")):
            first, last = getattr(self, f"{early}_s"), getattr(self, f"{late}_s")
            if first is not None and last is not None and last < first:
                raise StillwetError(
                    Problem(late, f"a time not before {early}", f"a time before {early}")
                )


@dataclass(frozen=True, slots=True)
class LineModel:
    """The numbers of the reckoning that a line may set; defaults in data/line_practice.toml."""

    extinction_margin: float  # over the model's extinction moisture
    flame_flux_w_m2: float  # on the strip's edge
    flame_exposure: float  # in residence times
    width_multiple: float  # of flame length
    leaf_extinction: float  # Beer's law, light and spray
    wetted_share: float  # of the leaves
    bed_wind: float  # over midflame wind
    blade_width_m: float

    def __post_init__(self) -> None:
        need_bounded("extinction_margin", self.extinction_margin, 1.0, 5.0, "")
        need_bounded("flame_flux", self.flame_flux_w_m2, 0.0, 300e3, "W/m2")
        need_bounded("flame_exposure", self.flame_exposure, 0.0, 60.0, "")
        need_bounded("width_multiple", self.width_multiple, 0.5, 10.0, "")
        need_bounded("leaf_extinction", self.leaf_extinction, 0.1, 1.5, "")
        need_bounded("wetted_share", self.wetted_share, 0.05, 1.0, "fraction")
        need_bounded("bed_wind", self.bed_wind, 0.02, 1.0, "fraction")
        need_bounded("blade_width", self.blade_width_m, 2e-4, 0.1, "m")


@dataclass(frozen=True, slots=True)
class Line:
    """A control line to be wetted, from its first segment to its last, end joined to start.

    ``basis`` has an entry for every field of ``work`` and ``model`` that can be given or defaulted.
    """

    id: str
    name: str
    purpose: LinePurpose
    segments: tuple[LineSegment, ...]
    work: LineWork
    model: LineModel
    note: str = ""
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_text("id", self.id)
        if not self.segments:
            raise StillwetError(Problem("segments", "at least one", "none", self.id))
        for before, after in zip(self.segments, self.segments[1:], strict=False):
            gap = math.dist(before.track_m[-1], after.track_m[0])
            if gap > JOIN_M:
                wanted = f"a segment that begins within {JOIN_M:g} m of the end of {before.id}"
                raise StillwetError(
                    Problem("segment", wanted, f"{gap:.0f} m away", shown(after.id))
                )

    @property
    def track_m(self) -> Track:
        """The whole line's points in order, joints once."""
        points = [point for segment in self.segments for point in segment.track_m]
        return tuple(
            point
            for index, point in enumerate(points)
            if index == 0 or math.dist(point, points[index - 1]) > 0.01
        )

    @property
    def length_m(self) -> float:
        """Length of all segments [m]."""
        return sum(segment.length_m for segment in self.segments)
