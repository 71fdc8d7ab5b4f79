"""Checks of a proportioner: what was read, and what the checks together say of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from stillwet.domain.checks import need_bounded, need_text
from stillwet.domain.products import RatioBasis
from stillwet.errors import Problem, StillwetError


class Method(StrEnum):
    """How the delivered ratio was found."""

    TIMED_DRAW = "timed draw"
    TANK_LEVELS = "tank levels"
    FLOW_METERS = "flow meters"
    WEIGHED = "weighed can"
    DENSITY = "density"
    CONDUCTIVITY = "conductivity"
    REFRACTOMETER = "refractometer"


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading in SI and half the width of the range that it surely lies in."""

    value: float
    within: float
    is_assumed: bool = False  # nobody wrote the width down: a stated default stands in


# What each method reads. A powder's ratio is by mass: only a weighed can finds it, from the water
# that it went into. A meter that shows the ratio itself reads "shown".
NEEDS: Mapping[Method, tuple[str, ...]] = {
    Method.TIMED_DRAW: ("drawn", "seconds", "mix_flow"),
    Method.TANK_LEVELS: ("drawn", "water_used"),
    Method.FLOW_METERS: ("concentrate_flow", "mix_flow"),
    Method.WEIGHED: ("drawn_mass", "concentrate_density", "mix_volume"),
    Method.DENSITY: ("mix_density", "water_density", "concentrate_density"),
    Method.CONDUCTIVITY: ("conductivity",),
    Method.REFRACTOMETER: ("shown",),
}
POWDER_NEEDS = ("drawn_mass", "water_used")
# Methods that see what is in the mix, whatever it is a share of.
_ANY_BASIS = (Method.WEIGHED, Method.CONDUCTIVITY, Method.REFRACTOMETER)


@dataclass(frozen=True, slots=True)
class ProportionerCheck:
    """One check. ``flow_m3_s`` is the mix flow it was made at, where that is known."""

    id: str
    when_s: float | None
    device: str
    method: Method
    dial: Measured  # the ratio set
    ratio_basis: RatioBasis
    readings: Mapping[str, Measured]
    flow_m3_s: float | None = None
    water_stood_in: bool = False  # water was drawn in place of concentrate

    def __post_init__(self) -> None:
        need_text("check", self.id)
        need_bounded("dial", self.dial.value, 1e-5, 0.5, "fraction", self.id)
        is_mass = self.ratio_basis is RatioBasis.MASS
        if is_mass and self.method not in _ANY_BASIS:
            raise StillwetError(
                Problem(
                    "method",
                    "weighed can: this ratio is by mass, as of a powder",
                    f"{self.method}, which finds a ratio by volume",
                    self.id,
                    "weigh the powder; a scoop holds more or less of it as it is packed",
                )
            )
        for name in self.needs:
            if name not in self.readings:
                raise StillwetError(
                    Problem(name, f"a reading: {self.method} needs it", "nothing", self.id)
                )

    @property
    def needs(self) -> tuple[str, ...]:
        """The readings this check is reckoned from."""
        if self.method is Method.WEIGHED and self.ratio_basis is RatioBasis.MASS:
            return POWDER_NEEDS
        if self.method is Method.CONDUCTIVITY and "shown" in self.readings:
            return ("shown",)
        return NEEDS[self.method]


@dataclass(frozen=True, slots=True)
class Standard:
    """A sample of known ratio and what the conductivity meter showed in it."""

    device: str
    ratio: Measured
    conductivity: Measured


class Judgement(StrEnum):
    """What a check says of a proportioner."""

    ACCEPT = "accept"
    TOO_LEAN = "too lean"
    TOO_RICH = "too rich"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Ruling:
    """One rule on one delivered ratio; ``can_ever`` False: this method could never accept."""

    rule: str  # "mix window" or "foam practice"
    low: float
    high: float
    judgement: Judgement
    can_ever: bool


@dataclass(frozen=True, slots=True)
class Delivered:
    """The delivered ratio of one check, with its expanded uncertainty (95 %)."""

    check: ProportionerCheck
    ratio: float
    uncertainty: float  # standard
    expanded: float
    parts: tuple[tuple[str, float], ...]  # reading and its share of the variance, largest first
    rulings: tuple[Ruling, ...]


@dataclass(frozen=True, slots=True)
class AtDial:
    """All checks at one setting taken together."""

    dial: float
    count: int
    ratio: float
    uncertainty: float
    expanded: float
    rulings: tuple[Ruling, ...]


@dataclass(frozen=True, slots=True)
class DialLine:
    """Delivered = intercept + slope * dial, errors in both; uncertainties are standard."""

    intercept: float
    slope: float
    intercept_uncertainty: float
    slope_uncertainty: float
    covariance: float
    scatter: float  # of the points over what their errors explain: 1 is as expected


@dataclass(frozen=True, slots=True)
class FlowBias:
    """How delivered over set changes with flow, per m3/s; ``matters`` when it is surely not 0."""

    slope_per_m3_s: float
    uncertainty: float
    low_m3_s: float
    high_m3_s: float
    matters: bool


@dataclass(frozen=True, slots=True)
class ToSet:
    """What to set to get a ratio."""

    wanted: float
    dial: float
    uncertainty: float  # standard
    is_beyond: bool  # outside the settings that were tried


@dataclass(frozen=True, slots=True)
class RunChart:
    """Delivered over set, in order of time, with both cumulative sums in deviations."""

    when_s: tuple[float, ...]
    factor: tuple[float, ...]
    expanded: tuple[float, ...]
    target: float
    deviation: float
    high: tuple[float, ...]
    low: tuple[float, ...]
    limit: float
    alarm_at: int | None
    is_rich: bool


@dataclass(frozen=True, slots=True)
class Days:
    """How it holds from day to day, as delivered over set, and what the next day may bring."""

    days: int
    checks: int
    mean: float
    between: float  # standard deviation from day to day
    within: float  # within a day
    low: float  # 90 % of next days
    high: float


@dataclass(frozen=True, slots=True)
class DeviceReport:
    """What the checks of one proportioner say."""

    device: str
    ratio_basis: str
    checks: tuple[Delivered, ...]
    dials: tuple[AtDial, ...]
    factor: float  # delivered over set, all checks
    factor_uncertainty: float
    line: DialLine | None
    flow: FlowBias | None
    settings: tuple[ToSet, ...]
    chart: RunChart | None
    days: Days | None
    notes: tuple[str, ...]  # what could not be said, and why


@dataclass(frozen=True, slots=True)
class ProportionerReport:
    """The answer for every proportioner in a file. ``window`` is the mix window, where known."""

    source: str
    time_zone: str
    window: tuple[float, float] | None
    wanted: float | None
    devices: tuple[DeviceReport, ...]
