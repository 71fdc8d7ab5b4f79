"""The mix window: between which ratios a mix does its work, what stops it there, what to set.

Ratios are fractions on the product's basis. A wall that does not exist stands at 0 (lower) or at
infinity (upper); a lower wall at infinity means that no ratio does it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from stillwet.domain.basis import Input


class WallKind(StrEnum):
    """What stops a mix."""

    CLING = "cling"  # leaner: the coat slides off
    FALL = "adhesion"  # richer: too stiff to wet the face, the coat falls off
    PUMP = "pumping"  # richer: the crew's flow does not come out of the nozzle
    LABEL_LOW = "label, lowest"
    LABEL_HIGH = "label, highest"


@dataclass(frozen=True, slots=True)
class Wall:
    """One wall: the ratio counted on, and where it may really stand (90 %, before any safety)."""

    kind: WallKind
    ratio: float
    low: float
    high: float


class Fit(StrEnum):
    """How a proportioner fits into a window."""

    FITS = "fits"  # all that it may deliver lies inside
    NARROW = "narrow"  # the window is open, but narrower than what it may deliver
    CLOSED = "closed"  # there is no ratio that does it


@dataclass(frozen=True, slots=True)
class FaceWindow:
    """One face: the coat it needs (infinite when none is enough) and its two walls."""

    surface_id: str
    label: str
    tilt_deg: float
    coat_kg_m2: float
    cling: Wall
    fall: Wall


@dataclass(frozen=True, slots=True)
class AssetWindow:
    """One asset: a dial is not turned face by face, so its tightest faces make its window."""

    asset_id: str
    name: str
    is_released: bool
    faces: tuple[FaceWindow, ...]
    lower: Wall
    upper: Wall
    lower_face: str  # the face that sets the lower wall
    soft_lower: float  # lower wall in water without hardness
    is_at_cling_limit: bool  # the plan lays it as thick as it clings: laid later, less would do

    @property
    def is_open(self) -> bool:
        """True when some ratio keeps every face's coat and stays on the label."""
        return self.lower.ratio <= self.upper.ratio

    @property
    def has_coat(self) -> bool:
        """True when some thickness would be enough, were it to cling."""
        return all(math.isfinite(face.coat_kg_m2) for face in self.faces)

    @property
    def coat_kg_m2(self) -> float:
        """The coat of the face that sets the lower wall."""
        return next(one.coat_kg_m2 for one in self.faces if one.label == self.lower_face)

    @property
    def is_closed_by_hardness(self) -> bool:
        """True when soft water would open it."""
        return not self.is_open and self.soft_lower <= self.upper.ratio


@dataclass(frozen=True, slots=True)
class FlowAtNozzle:
    """What leaves the nozzle at the ratio to set, by one published set of hose coefficients."""

    coefficients: str  # "a" or "b"
    flow_m3_s: float
    pump_pa: float
    hose_pa: float
    nozzle_pa: float
    reason: str  # why it cannot, empty when it can


@dataclass(frozen=True, slots=True)
class Tank:
    """One fill of a crew's tank, mixed in the tank at the ratio to set."""

    mix_m3: float
    water_m3: float
    concentrate_m3: float
    concentrate_kg: float
    packs: float


@dataclass(frozen=True, slots=True)
class CrewWindow:
    """What one crew can pump, and what it sets."""

    crew_id: str
    name: str
    wanted_flow_m3_s: float
    pumps: tuple[Wall, Wall]  # by hose coefficient sets a and b
    delivered_low: float  # over the ratio set
    delivered_high: float
    fit: Fit
    upper: Wall  # the tightest upper wall, this crew's pump among them
    ratio: float  # to set; NaN when closed
    lean_margin: float  # how much leaner than set the mix may run, as a share of it
    rich_margin: float
    flows: tuple[FlowAtNozzle, ...]
    tank: Tank | None


@dataclass(frozen=True, slots=True)
class WaterWindow:
    """The job's window in one of its waters."""

    name: str
    hardness_kg_m3: float
    temperature_k: float
    lower: float
    is_open: bool
    is_reckoned_with: bool  # the hardest of the job's waters


@dataclass(frozen=True, slots=True)
class LeafCoat:
    """What leaves and blades keep of the mix, kg per square metre of leaf, seen from one side."""

    what: str
    width_m: float
    coat_kg_m2: float
    low_kg_m2: float
    high_kg_m2: float
    water_kg_m2: float  # of plain water


@dataclass(frozen=True, slots=True)
class ClingCurve:
    """Thickest coat that clings against ratio, on the face that decides; each (R,)."""

    face: str
    ratio: tuple[float, ...]
    middle_kg_m2: tuple[float, ...]
    low_kg_m2: tuple[float, ...]  # 5 %
    high_kg_m2: tuple[float, ...]  # 95 %
    counted_kg_m2: tuple[float, ...]  # what the plan counts on: with its safety
    needed_kg_m2: float


@dataclass(frozen=True, slots=True)
class Sign:
    """What a field test of the mix should show, middle and 90 % range, in SI."""

    test: str
    middle: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class MixWindow:
    """The whole answer for a job or one of its assets."""

    job_name: str
    plan_id: str
    asset_name: str  # empty: the whole job
    product_name: str
    product_type: str
    curve_basis: str  # where the yield stress at each ratio comes from
    ratio_basis: str
    label_low: float
    label_high: float
    best: Wall  # clings thickest; richer falls off
    assets: tuple[AssetWindow, ...]  # closed ones first
    lower: Wall
    upper: Wall  # before any crew's pump
    lower_asset: str
    is_one_ratio_enough: bool  # False: some assets need a ratio that others do not allow
    crews: tuple[CrewWindow, ...]
    waters: tuple[WaterWindow, ...]
    hardness_limit_kg_m3: float | None  # water harder than this closes the window
    curve: ClingCurve
    leaves: tuple[LeafCoat, ...]
    plan_ratio: float  # the richest that the plan's coats are mixed at; 0 when it lays none
    ratio_shown: float  # of the curve's mark, leaves and signs
    hydration_wait_s: float
    signs: tuple[Sign, ...]
    inputs: tuple[Input, ...]  # of the crews' gear, where nobody gave them
    cautions: tuple[str, ...]

    @property
    def is_open(self) -> bool:
        """True when one ratio serves every asset that any ratio serves."""
        return self.lower.ratio <= self.upper.ratio

    @property
    def water(self) -> WaterWindow | None:
        """The water reckoned with: the hardest of the job's; None where it names none."""
        return next((one for one in self.waters if one.is_reckoned_with), None)

    @property
    def closed(self) -> tuple[AssetWindow, ...]:
        """The assets that no ratio serves."""
        return tuple(asset for asset in self.assets if not asset.is_open)
