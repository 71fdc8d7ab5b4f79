"""A line as it is worked: how far it is wet and lit, against the time that each wetting gives.

Distances run from where work begins, as in the line's plan. Times are epoch seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class SegmentState(StrEnum):
    """What a segment needs next."""

    NOT_BEGUN = "not begun"
    WET = "wet"
    LIGHT_SOON = "light it soon"
    TOO_LATE = "lag exceeded"
    LIT = "lit in time"
    LIT_LATE = "lit too late"


class LineAlarmKind(StrEnum):
    """What somebody at the line has to hear of."""

    TOO_LATE = "lag exceeded"
    SOON = "light it soon"
    LIT_LATE = "lit too late"
    LIT_DRY = "lit where it is not wet"
    AHEAD = "wetted past a holding point"
    THIN = "laid thinner than planned"
    DRY_FIRST = "dry before the fire may come"


@dataclass(frozen=True, slots=True)
class Spot:
    """How far the work was at a moment."""

    when_s: float
    at_m: float


@dataclass(frozen=True, slots=True)
class WetStretch:
    """A stretch between two log entries: wetted from its first moment to its last.

    ``latest_s``: to light it, or to be met by the fire, 90 % sure, at its beginning and at its
    end; so the ``dry`` ones, of drying out. ``is_guessed``: its beginning is reckoned from the
    plan's pace, because nobody logged it.
    """

    segment_id: str
    from_m: float
    to_m: float
    from_s: float
    to_s: float
    latest_s: tuple[float, float]
    dry_90_s: tuple[float, float]
    dry_50_s: tuple[float, float]
    is_guessed: bool


@dataclass(frozen=True, slots=True)
class LitStretch:
    """A stretch lit between two log entries; ``is_guessed`` as of a wet one."""

    segment_id: str
    from_m: float
    to_m: float
    from_s: float
    to_s: float
    is_guessed: bool


@dataclass(frozen=True, slots=True)
class SegmentWatch:
    """One segment now. ``latest_s``: the first of its wet ground to be lit; None: none is wet."""

    segment_id: str
    name: str
    state: SegmentState
    wet_to_m: float | None
    lit_to_m: float | None
    latest_s: float | None
    spare_s: float | None  # to that moment from now, or from when it was lit; below 0: exceeded


@dataclass(frozen=True, slots=True)
class LineAlarm:
    """One alarm; ``when_s`` is the moment it is about."""

    kind: LineAlarmKind
    segment_id: str
    name: str
    when_s: float


@dataclass(frozen=True, slots=True)
class LineWatch:
    """One line now."""

    line_id: str
    wet: tuple[WetStretch, ...]
    lit: tuple[LitStretch, ...]
    torch: Spot | None  # the last that was told of lighting
    segments: tuple[SegmentWatch, ...]
    alarms: tuple[LineAlarm, ...]
    unknown: tuple[str, ...]  # segments of this line in the log that its plan does not have
