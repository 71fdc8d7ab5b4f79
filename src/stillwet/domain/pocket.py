"""The pocket table: until when a coat holds, by the hour it is laid, the facing and its thickness.

For work without a computer. SI; epoch seconds.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PocketCell:
    """Until when one coat holds; None where it never has what the fire asks, at that confidence."""

    hold_90_s: float | None
    hold_50_s: float | None


@dataclass(frozen=True, slots=True)
class PocketFace:
    """One facing: a row of cells for every hour of laying, a cell for every coat.

    None where the coat is thicker than the face is counted on to keep.
    """

    label: str
    cling_kg_m2: float  # thickest mean coat counted on, at the table's ratio
    rows: tuple[tuple[PocketCell | None, ...], ...]


@dataclass(frozen=True, slots=True)
class PocketFire:
    """The facings before one kind of fire; its demand is that of the hardest face sprayed for."""

    name: str
    assets: int  # how many of the sprayed assets meet it
    hardest: str  # the asset whose face asks for most; empty where only embers are counted
    demand_50_kg_m2: float
    demand_90_kg_m2: float
    faces: tuple[PocketFace, ...]


@dataclass(frozen=True, slots=True)
class Pocket:
    """The whole table. Faces stand in the open: sun and wind reach them as forecast."""

    ratio: float  # of the mix, fraction
    reserve_kg_m2: float  # still in the coat when its time is up, besides the fire's demand
    lay_s: tuple[float, ...]
    coats_kg_m2: tuple[float, ...]
    end_s: float  # the last hour reckoned: a time that reaches it means at least until then
    fires: tuple[PocketFire, ...]
    fires_left_out: tuple[str, ...]  # fewer assets meet these
