"""What a coordination centre is told of its zones: records of polygons, answers and small maps."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

from stillwet.domain.basis import Input

Ring = tuple[tuple[float, float], ...]  # longitude, latitude [deg]


@dataclass(frozen=True, slots=True)
class Zone:
    """One named area: polygons of an outer ring and its holes; zones of a group share a page."""

    name: str
    group: str
    polygons: tuple[tuple[Ring, ...], ...]


class Holding(IntEnum):
    """What a coat laid in time does at one spot of the map."""

    UNKNOWN = 0
    NOT = 1  # not even in half of the members
    EVEN = 2  # in half of the members, not in nine of ten
    SURE = 3  # in nine members of ten


@dataclass(frozen=True, slots=True)
class ZoneFace:
    """One face in one zone; None where no cell says anything. Hold times are the 90 % ones."""

    face: str
    mean_hold_s: float | None
    least_hold_s: float | None
    is_capped: bool  # some hold times reach the end of the forecast: at least so long
    share_sure: float | None  # of the cells with an answer
    share_even: float | None
    chance_mean: float | None  # share of members in which it holds, over the cells
    chance_least: float | None
    from_start_s: float | None  # laid earlier, a coat does not last in some cell that can hold
    latest_start_s: float | None  # it must be on by then; None: nowhere does it last
    coat_mean_kg_m2: float | None  # needed if laid at the latest start
    coat_most_kg_m2: float | None


@dataclass(frozen=True, slots=True)
class ZoneAnswer:
    """One zone: how many cells speak for it and what each face gets."""

    zone: Zone
    cells: int
    missing: int  # cells without an answer
    is_small: bool  # no cell's middle lies inside: the nearest cell speaks for it
    faces: tuple[ZoneFace, ...]


@dataclass(frozen=True, slots=True)
class FaceMap:
    """A map of one face: rows from north to south, columns from west to east."""

    face: str
    spots: tuple[tuple[Holding, ...], ...]


@dataclass(frozen=True, slots=True)
class ZoneGroup:
    """The zones of one page, with the maps of the land they lie in (west, south, east, north)."""

    name: str
    bounds_deg: tuple[float, float, float, float]
    zones: tuple[ZoneAnswer, ...]
    maps: tuple[FaceMap, ...]


@dataclass(frozen=True, slots=True)
class OutlookBrief:
    """Everything a brief says."""

    forecast: str
    made_s: float
    time_zone: str
    first_s: float
    last_s: float
    on_by_s: float
    until_s: float
    coat_kg_m2: float
    keep_kg_m2: float
    members: int
    groups: tuple[ZoneGroup, ...]
    inputs: tuple[Input, ...]
    cautions: tuple[str, ...]
    remarks: tuple[str, ...]
    model_version: str
