"""What happened, after the job: use against plan, holding as predicted, residue, outcomes. SI."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stillwet.domain.basis import Input
from stillwet.domain.left import Learned
from stillwet.domain.log import Fate, Feel
from stillwet.domain.plan import Verdict
from stillwet.units import DOLLAR

Band = tuple[float, float, float]  # 5, 50 and 95 % points


@dataclass(frozen=True, slots=True)
class Amounts:
    """What some work takes or took. ``work_s``: setting up and time at the nozzle."""

    mix_m3: float = 0.0
    water_m3: float = 0.0
    concentrate_m3: float = 0.0
    work_s: float = 0.0

    def __add__(self, other: Amounts) -> Amounts:
        return Amounts(
            self.mix_m3 + other.mix_m3,
            self.water_m3 + other.water_m3,
            self.concentrate_m3 + other.concentrate_m3,
            self.work_s + other.work_s,
        )


@dataclass(frozen=True, slots=True)
class AssetUse:
    """One asset: what the plan asked for, and what the coats that were logged come to."""

    asset_id: str
    name: str
    planned: Amounts
    used: Amounts
    coats: int  # entries of the log that laid a coat here
    said: int  # of those, entries that say how much


@dataclass(frozen=True, slots=True)
class LineUse:
    """One stretch of a line: what its plan asked for, and what the entries that wetted it come to.

    ``planned`` is None where no plan of the lines has it. ``wary``: water near its strip.
    """

    segment_id: str  # "line/segment"
    name: str
    planned: Amounts | None
    used: Amounts
    coats: int  # entries of the log that wetted it
    said: int  # of those, entries that say how much
    wary: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StockUse:
    """What a crew used by its own stock-taking: aboard at first, and taken, less what was left.

    None where that was not looked at. It counts all that left the tank, flushing and losses too.
    """

    water_m3: float | None
    concentrate_m3: float | None
    taken_water_m3: float
    taken_concentrate_m3: float
    ratio: float | None  # of what left the tank, in the product's basis; None: not both known


@dataclass(frozen=True, slots=True)
class CrewUse:
    """One crew; ``planned`` is None where no plan of the crews' day is kept."""

    crew_id: str
    name: str
    planned: Amounts | None
    used: Amounts
    coats: int
    said: int
    first_s: float | None  # of its coats and wetted lines
    last_s: float | None
    stock: StockUse | None = None


@dataclass(frozen=True, slots=True)
class Cost:
    """Packs of concentrate and their cost. ``by_stock``: crews whose own count was taken."""

    planned_packs: int
    planned_cost: float | None  # None: no price given
    used_packs: int
    used_cost: float | None
    concentrate_m3: float  # that the used packs are reckoned from
    by_stock: tuple[str, ...]
    currency: str = DOLLAR


@dataclass(frozen=True, slots=True)
class LookSeen:
    """One check of one coat beside what was predicted for it before anybody had looked.

    The chances are that a hand would say so. ``weight_band``: of the coupon's water.
    """

    surface_id: str
    asset_name: str
    label: str
    laid_s: float
    when_s: float
    feel: Feel | None
    chance_wet: float
    chance_dry: float
    weighed_kg_m2: float | None
    weight_band: Band | None

    @property
    def is_wet(self) -> bool | None:
        """Whether a hand found it wet; None where nobody touched it."""
        return None if self.feel is None else self.feel is Feel.WET

    @property
    def is_within(self) -> bool | None:
        """Whether the weight lies in its 90 % band; None where nothing was weighed."""
        if self.weighed_kg_m2 is None or self.weight_band is None:
            return None
        return self.weight_band[0] <= self.weighed_kg_m2 <= self.weight_band[2]


class Dried(StrEnum):
    """How the time a coat was dry to the touch compares with what was predicted."""

    SOONER = "sooner than predicted"
    WITHIN = "as predicted"
    LATER = "later than predicted"
    OPEN = "not seen to contradict"  # never found dry, or dry at the only look


@dataclass(frozen=True, slots=True)
class DrySeen:
    """One coat: when it was predicted to be dry to the touch, and between which looks it was.

    A prediction is infinite where the coat is still not dry when the weather reckoned ends.
    """

    surface_id: str
    asset_name: str
    label: str
    laid_s: float
    predicted_s: Band
    wet_at_s: float | None  # the last look before that one which found it wet or tacky
    dry_at_s: float | None  # the first look that found it dry
    dried: Dried


@dataclass(frozen=True, slots=True)
class ChanceBin:
    """Checks whose predicted chance wet lay in one span, and the share found wet."""

    low: float
    high: float
    count: int
    predicted: float  # mean
    found: float
    found_low: float  # 90 % interval of Wilson
    found_high: float


@dataclass(frozen=True, slots=True)
class Holding:
    """Prediction held against what was seen, before any check was let into the reckoning."""

    looks: tuple[LookSeen, ...]
    dries: tuple[DrySeen, ...]
    bins: tuple[ChanceBin, ...]
    touched: int
    found_wet: int
    expected_wet: Band  # of the number of touches found wet, all checks together
    brier: float | None  # mean square of chance less outcome; 0.25 is a coin
    weighed: int
    weighed_within: int
    is_few: bool  # too few touches to judge by
    until_s: float  # where the weather reckoned ends

    @property
    def verdict(self) -> str:
        """In plain words, with what it is worth."""
        if not self.touched:
            return "no coat was touched: nothing is known of the predictions"
        low, _, high = self.expected_wet
        if self.found_wet < low:
            said = "coats dried sooner than predicted"
        elif self.found_wet > high:
            said = "coats stayed wet longer than predicted"
        else:
            said = "as many were found wet as predicted"
        return f"{said}; too few checks to judge by" if self.is_few else said


class Residue(StrEnum):
    """Whether gel on a face is still to be washed off."""

    OPEN = "open"
    CLOSED = "washed off"
    LEFT = "left to the weather"  # vegetation: no washing off is asked for
    GONE = "lost with the asset"


@dataclass(frozen=True, slots=True)
class ResidueRow:
    """One face that has been coated. ``wary``: what is near that wash water must not reach."""

    surface_id: str
    asset_id: str
    asset_name: str
    label: str
    state: Residue
    coats: int
    laid_s: float  # the last coat
    washed_s: float | None
    washed_by: str
    due_s: float  # best washed off by then
    wary: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OutcomeRow:
    """One asset: what was said of it before, what was laid, what was last felt, what became of it.

    ``chance_not_dry`` is the predicted chance that its driest coated face was still wet or tacky
    when the front passed.
    """

    asset_id: str
    name: str
    kind: str
    exposure: str
    verdict: Verdict
    chance: float
    coats: int
    laid_s: float | None  # the last coat before the front
    coat_kg_m2: float | None  # the thinnest mean coat on it then, as logged
    passed_s: float | None
    chance_not_dry: float | None
    last_feel: Feel | None
    last_feel_s: float | None
    fate: Fate | None


@dataclass(frozen=True, slots=True)
class SpillRow:
    """One spill from the log."""

    when_s: float
    writer: str
    substance: str
    place: str
    amount_m3: float | None
    reached_water: bool
    note: str


class DueKind(StrEnum):
    """What is still to be done."""

    RECOAT = "coat again"
    WASH_OFF = "wash off"


@dataclass(frozen=True, slots=True)
class Due:
    """One thing still to be done at one asset, from a moment to a moment."""

    kind: DueKind
    asset_id: str
    asset_name: str
    faces: tuple[str, ...]
    from_s: float
    to_s: float
    words: str
    wary: tuple[str, ...] = ()  # what wash water must not reach


@dataclass(frozen=True, slots=True)
class After:
    """The whole account of a job."""

    job_name: str
    time_zone: str
    now_s: float
    plan_id: str
    plan_made_s: float
    product_name: str
    ratio_basis: str
    density_kg_m3: float  # of the concentrate; of a powder in bulk
    entries: int
    assets: tuple[AssetUse, ...]
    lines: tuple[LineUse, ...]
    crews: tuple[CrewUse, ...]
    cost: Cost
    holding: Holding
    learned: tuple[Learned, ...]
    residue: tuple[ResidueRow, ...]  # open first
    outcomes: tuple[OutcomeRow, ...]
    spills: tuple[SpillRow, ...]
    due: tuple[Due, ...]
    trials: int  # kept in the job
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    inputs: tuple[Input, ...]

    @property
    def planned(self) -> Amounts:
        """All that the plans asked for."""
        on_lines = (row.planned for row in self.lines if row.planned is not None)
        return sum((*(row.planned for row in self.assets), *on_lines), Amounts())

    @property
    def used(self) -> Amounts:
        """All that the logged coats and wetted lines come to."""
        return sum((row.used for row in self.places), Amounts())

    @property
    def places(self) -> tuple[AssetUse | LineUse, ...]:
        """Assets, then stretches of line: all that was planned or sprayed."""
        return (*self.assets, *self.lines)

    def residue_in(self, state: Residue) -> tuple[ResidueRow, ...]:
        """The faces in one state."""
        return tuple(row for row in self.residue if row.state is state)
