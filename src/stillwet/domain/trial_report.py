"""What the trials of one product say: the fit, what it replaces, and what to try next."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Band:
    """5, 50 and 95 % points of what is believed."""

    low: float
    median: float
    high: float

    @property
    def width(self) -> float:
        """From the 5 to the 95 % point."""
        return self.high - self.low


@dataclass(frozen=True, slots=True)
class Ruling:
    """Whether a fit takes a default's place: ``against`` lists every reason why not."""

    what: str  # "yield stress" or "drying exponent"
    rests_on: str  # how much was measured
    against: tuple[str, ...]

    @property
    def is_accepted(self) -> bool:
        """True when nothing speaks against it."""
        return not self.against

    @property
    def words(self) -> str:
        """One sentence for plans and screens."""
        if self.is_accepted:
            return f"{self.what.capitalize()} from trials ({self.rests_on}), in place of a default."
        return (
            f"{self.what.capitalize()} stays as it was in spite of trials ({self.rests_on}): "
            + "; ".join(self.against)
            + "."
        )


@dataclass(frozen=True, slots=True)
class FittedNumber:
    """One number of the product as the trials have it, beside what it replaces."""

    name: str
    unit: str
    band: Band
    default: float


@dataclass(frozen=True, slots=True)
class LowestRatio:
    """The lowest ratio that keeps the coat asked for, in one water.

    ``reached`` is the share of what is still possible in which any ratio up to ``most`` does.
    """

    hardness_kg_m3: float
    temperature_k: float
    ratio: Band
    most: float
    reached: float


@dataclass(frozen=True, slots=True)
class YieldAt:
    """Yield stress at one ratio in the hardest water."""

    ratio: float
    yield_pa: Band


@dataclass(frozen=True, slots=True)
class OddReading:
    """A reading that lies far off the curve, in this crew's own scatters. It still counts."""

    trial_id: str
    method: str
    scatters: float


@dataclass(frozen=True, slots=True)
class CurveReport:
    """What the readings of mixes say."""

    readings: int
    trials: int
    ratios: int
    waters: int
    crew_scatter: float  # over the usual one
    predictive: float  # chance that the model's own readings would lie as far off
    draws: float  # effective number of independent draws
    mixed: float  # nested R-hat
    lowest: tuple[LowestRatio, ...]  # hardest water first
    yields: tuple[YieldAt, ...]
    odd: tuple[OddReading, ...]
    ruling: Ruling
    numbers: tuple[FittedNumber, ...]


@dataclass(frozen=True, slots=True)
class DryingReport:
    """What coats weighed while drying say."""

    coats: tuple[str, ...]
    weighings: int
    exponent: Band
    default: Band
    weather_factors: tuple[float, ...]  # of each coat: weather there over that written down
    odd: int
    ruling: Ruling


@dataclass(frozen=True, slots=True)
class NextTrial:
    """A trial worth making, and what it is expected to do to the band of the lowest ratio."""

    ratio: float
    hardness_kg_m3: float
    temperature_k: float
    age_s: float
    method: str
    reading: tuple[float, float]  # 90 % band of what will be written down
    reading_unit: str
    tool: float | None  # height of the cylinder [m], or volume poured or let out [m3]
    width_now: float
    width_expected: float
    reason: str


@dataclass(frozen=True, slots=True)
class TrialReport:
    """The trials of one product, whole."""

    source: str
    product_name: str
    product_type: str
    ratio_basis: str
    label: tuple[float, float]
    coat_kg_m2: float
    safety: float
    stress_pa: float  # that the coat on a wall asks for, safety included
    curve: CurveReport | None
    drying: DryingReport | None
    proposals: tuple[NextTrial, ...]  # best first; empty when not asked for
