"""The field log: what was done and seen, each entry once, corrected only by a later entry.

An entry's id is made by whoever writes it, so sending it twice changes nothing. SI; epoch seconds.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from stillwet.domain.checks import need_bounded, need_text
from stillwet.domain.codec import text_hash, to_text
from stillwet.errors import Problem, StillwetError, shown

_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
FIRST_S, LAST_S = 0.0, 7_258_118_400.0  # 1970 to 2200: any other moment is a slip


class Feel(StrEnum):
    """What a hand feels on a coat."""

    WET = "wet"
    TACKY = "tacky"
    DRY = "dry"


class Fate(StrEnum):
    """What became of an asset."""

    UNHARMED = "unharmed"
    SCORCHED = "scorched"
    DAMAGED = "damaged"
    LOST = "lost"


@dataclass(frozen=True, slots=True)
class WeatherSeen:
    """The weather somebody met, at eye height; None where they did not look."""

    air_temperature_k: float | None = None
    relative_humidity: float | None = None
    wind_speed_m_s: float | None = None
    wind_from_deg: float | None = None
    rain: bool = False

    def __post_init__(self) -> None:
        for name, low, high, unit in (
            ("air_temperature_k", 233.15, 333.15, "K"),
            ("relative_humidity", 0.0, 1.0, "fraction"),
            ("wind_speed_m_s", 0.0, 60.0, "m/s"),
            ("wind_from_deg", 0.0, 360.0, "deg"),
        ):
            value = getattr(self, name)
            if value is not None:
                need_bounded(name, value, low, high, unit)


@dataclass(frozen=True, slots=True)
class CoatLaid:
    """A coat laid on faces. Of the two amounts at most one is given; neither: as the plan said.

    ``coat_kg_m2``: the mean coat as gauged on the face. ``mix_m3``: mix sprayed on all the faces
    together, losses included.
    """

    surface_ids: tuple[str, ...]
    crew_id: str = ""
    ratio: float | None = None  # fraction
    coat_kg_m2: float | None = None
    mix_m3: float | None = None
    seen: WeatherSeen | None = None

    def __post_init__(self) -> None:
        _need_faces(self.surface_ids)
        if self.ratio is not None:
            need_bounded("ratio", self.ratio, 1e-5, 0.5, "fraction")
        if self.coat_kg_m2 is not None:
            need_bounded("coat", self.coat_kg_m2, 0.05, 50.0, "mm")
        if self.mix_m3 is not None:
            need_bounded("mix", self.mix_m3, 1e-4, 100.0, "m3")
        if self.coat_kg_m2 is not None and self.mix_m3 is not None:
            raise StillwetError(Problem("coat", "a coat or an amount of mix", "both"))


@dataclass(frozen=True, slots=True)
class CoatChecked:
    """Somebody touched a coat or weighed a coupon that hangs on its face.

    ``coupon`` names the coupon, so that one weighed again is known to be the same.
    """

    surface_id: str
    feel: Feel | None = None
    weighed_kg_m2: float | None = None  # water left per coated area
    coupon: str = ""
    photo: str = ""  # where the picture is: a file name

    def __post_init__(self) -> None:
        need_text("surface", self.surface_id)
        if self.weighed_kg_m2 is not None:
            need_bounded("weighed", self.weighed_kg_m2, 0.0, 50.0, "mm")
        if self.feel is None and self.weighed_kg_m2 is None and not self.photo:
            raise StillwetError(Problem("check", "a feel, a weight or a photo", "none of them"))


@dataclass(frozen=True, slots=True)
class Ignition:
    """Fire was lit: along which line or at what place."""

    place: str

    def __post_init__(self) -> None:
        need_text("place", self.place)


@dataclass(frozen=True, slots=True)
class SegmentWetted:
    """A line's strip is wet up to here: to the segment's end, or so far from where it begins.

    ``segment_id`` is "line/segment". Distances run the way the line is worked; 0: it begins now.
    """

    segment_id: str
    up_to_m: float | None = None  # None: to the segment's end
    crew_id: str = ""
    coverage_kg_m2: float | None = None  # None: as planned
    mix_m3: float | None = None  # sprayed since the last entry; None: nobody looked

    def __post_init__(self) -> None:
        _need_stretch(self.segment_id, self.up_to_m)
        if self.coverage_kg_m2 is not None:
            need_bounded("coverage", self.coverage_kg_m2, 0.05, 20.0, "mm")
        if self.mix_m3 is not None:
            need_bounded("mix", self.mix_m3, 1e-4, 100.0, "m3")


@dataclass(frozen=True, slots=True)
class SegmentLit:
    """A line is lit up to here, told as how far it is wet."""

    segment_id: str
    up_to_m: float | None = None

    def __post_init__(self) -> None:
        _need_stretch(self.segment_id, self.up_to_m)


@dataclass(frozen=True, slots=True)
class FirePassed:
    """The front passed an asset."""

    asset_id: str

    def __post_init__(self) -> None:
        need_text("asset", self.asset_id)


@dataclass(frozen=True, slots=True)
class Outcome:
    """How an asset came through."""

    asset_id: str
    fate: Fate

    def __post_init__(self) -> None:
        need_text("asset", self.asset_id)


@dataclass(frozen=True, slots=True)
class Stock:
    """Water and concentrate a crew took on board, and what it has left; None: nobody looked."""

    crew_id: str
    water_taken_m3: float | None = None
    water_left_m3: float | None = None
    concentrate_taken_m3: float | None = None
    concentrate_left_m3: float | None = None

    def __post_init__(self) -> None:
        need_text("crew", self.crew_id)
        names = ("water_taken", "water_left", "concentrate_taken", "concentrate_left")
        amounts = [(name, getattr(self, f"{name}_m3")) for name in names]
        for name, amount in amounts:
            if amount is not None:
                need_bounded(name, amount, 0.0, 1000.0, "m3")
        if all(amount is None for _, amount in amounts):
            raise StillwetError(Problem("stock", "an amount taken or left", "none"))


@dataclass(frozen=True, slots=True)
class Spill:
    """Something got where it should not: what, where, how much, and whether into water."""

    substance: str
    place: str
    amount_m3: float | None = None
    reached_water: bool = False

    def __post_init__(self) -> None:
        need_text("substance", self.substance)
        need_text("place", self.place)
        if self.amount_m3 is not None:
            need_bounded("amount", self.amount_m3, 0.0, 100.0, "m3")


@dataclass(frozen=True, slots=True)
class WashedOff:
    """Gel washed off faces."""

    surface_ids: tuple[str, ...]

    def __post_init__(self) -> None:
        _need_faces(self.surface_ids)


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """The entry that this one replaces was a mistake and counts for nothing."""


Body: TypeAlias = (
    CoatLaid
    | CoatChecked
    | WeatherSeen
    | Ignition
    | SegmentWetted
    | SegmentLit
    | FirePassed
    | Outcome
    | Stock
    | Spill
    | WashedOff
    | Withdrawn
)
KINDS: dict[str, type[Body]] = {
    "coat": CoatLaid,
    "check": CoatChecked,
    "weather": WeatherSeen,
    "ignition": Ignition,
    "wetted": SegmentWetted,
    "lit": SegmentLit,
    "fire": FirePassed,
    "outcome": Outcome,
    "stock": Stock,
    "spill": Spill,
    "washed": WashedOff,
    "withdrawn": Withdrawn,
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry. ``when_s``: when it happened; ``written_s``: the device's clock at writing.

    ``replaces`` is the id of the entry this one corrects, None for a first account.
    """

    id: str
    when_s: float
    written_s: float
    writer: str
    device: str
    body: Body
    replaces: str | None = None
    note: str = ""

    def __post_init__(self) -> None:
        for name, text in (("id", self.id), ("replaces", self.replaces)):
            if text is not None and not _UUID.fullmatch(text):
                raise StillwetError(Problem(name, "a UUID in lower case", shown(text)))
        need_bounded("when", self.when_s, FIRST_S, LAST_S, "epoch seconds", self.id)
        need_bounded("written", self.written_s, FIRST_S, LAST_S, "epoch seconds", self.id)
        need_text("writer", self.writer, self.id)
        if self.replaces == self.id:
            raise StillwetError(Problem("replaces", "another entry's id", "its own", self.id))
        if isinstance(self.body, Withdrawn) and self.replaces is None:
            raise StillwetError(Problem("replaces", "the entry to withdraw", "none", self.id))

    @property
    def kind(self) -> str:
        """The short word for what it tells: a key of ``KINDS``."""
        return next(word for word, kind in KINDS.items() if isinstance(self.body, kind))

    @property
    def content_hash(self) -> str:
        """SHA-256 of all it says: equal entries, equal hashes."""
        return text_hash(to_text(self, Entry))


def _need_faces(ids: tuple[str, ...]) -> None:
    if not ids or not all(each.strip() for each in ids):
        raise StillwetError(Problem("surfaces", "at least one face", "none"))
    if len(set(ids)) != len(ids):
        raise StillwetError(Problem("surfaces", "each face once", "one twice"))


def _need_stretch(segment_id: str, up_to_m: float | None) -> None:
    need_text("segment", segment_id)
    if up_to_m is not None:
        need_bounded("up_to", up_to_m, 0.0, 50e3, "m")
