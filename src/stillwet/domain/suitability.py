"""Whether gel is the right thing here: tasks, agents, local rules, and what the rules found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from stillwet.domain.basis import Basis
from stillwet.domain.checks import need_bounded, need_text


class Task(StrEnum):
    """What is to be done with the agent."""

    DIRECT_ATTACK = "direct attack"
    STRUCTURE = "structure"
    VEGETATION = "vegetation"
    LINE = "line"
    REINFORCEMENT = "reinforcement"
    MOP_UP = "mop-up"
    PRETREATMENT = "pretreatment long ahead"
    REWETTING = "wetting a dried coat"


class Agent(StrEnum):
    """What is sprayed."""

    WATER = "water"
    WETTING_AGENT = "wetting agent"
    FOAM = "foam"
    GEL = "gel"
    RETARDANT = "long-term retardant"


class Delivery(StrEnum):
    """What it is sprayed or dropped from."""

    GROUND = "ground"
    HELICOPTER = "helicopter"
    AIRPLANE = "airplane"


class Fit(StrEnum):
    """What a rule, or all rules together, say of an agent; later ones overrule earlier ones."""

    USE = "use"
    ONLY_IF = "only if"
    DO_NOT = "do not"

    @property
    def severity(self) -> int:
        """0 for use, 1 for only if, 2 for do not."""
        return tuple(Fit).index(self)


class Scope(StrEnum):
    """What a rule speaks of: the task, the whole job, or one asset or stretch of line."""

    TASK = "task"
    JOB = "job"
    PLACE = "place"


@dataclass(frozen=True, slots=True)
class Site:
    """What suitability asks of one asset beyond its shape; None where the list says nothing."""

    task: Task | None = None  # None: what its kind is usually treated for
    delivery: Delivery = Delivery.GROUND
    release_told: bool = False  # the list says whether it is released
    heritage: bool | None = None
    energised: bool | None = None
    has_windows: bool | None = None
    collects_rain: bool | None = None


@dataclass(frozen=True, slots=True)
class LocalRules:
    """The user's own rules: None where the job says nothing, which is never taken for leave."""

    ground_buffer_m: float | None = None  # from waterways, for work from the ground
    well_buffer_m: float | None = None
    wind_limit_m_s: float | None = None  # strongest forecast wind to spray in
    approved: tuple[str, ...] | None = None  # product ids or names
    delivery: frozenset[Delivery] | None = None
    foam_in_equipment: bool | None = None
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name, value, most in (
            ("ground_buffer", self.ground_buffer_m, 5000.0),
            ("well_buffer", self.well_buffer_m, 5000.0),
        ):
            if value is not None:
                need_bounded(name, value, 0.0, most, "m")
        if self.wind_limit_m_s is not None:
            need_bounded("wind_limit", self.wind_limit_m_s, 0.0, 60.0, "m/s")


@dataclass(frozen=True, slots=True)
class Well:
    """A well, spring or cistern: where people's or animals' water comes from."""

    id: str
    name: str
    kind: str  # "well", "spring" or "cistern"
    x_m: float
    y_m: float

    def __post_init__(self) -> None:
        need_text("id", self.id)


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing a rule went by: its name and its value in words."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class RuleFinding:
    """One rule that applies, with the facts that made it apply."""

    rule_id: str
    scope: Scope
    fit: Fit
    reason: str
    instead: str  # what to do instead, or on which condition; how to do it where gel is right
    source: str
    source_short: str  # for cards
    is_on_card: bool  # a condition or a way of doing it that the cards of a plan tell
    facts: tuple[Fact, ...]

    def sentence(self) -> str:
        """Reason, what instead and the short source, for a card."""
        return f"{self.reason} {self.instead} ({self.source_short})"


@dataclass(frozen=True, slots=True)
class Suitability:
    """What the rules say of one asset or stretch of line, worst finding first."""

    id: str
    name: str
    kind: str
    task: Task
    findings: tuple[RuleFinding, ...]

    @property
    def fit(self) -> Fit:
        """The strictest of all findings; without any, nothing is known to speak for gel."""
        return strictest(self.findings)


@dataclass(frozen=True, slots=True)
class AgentFit:
    """What the rules say of one agent for a task."""

    agent: Agent
    findings: tuple[RuleFinding, ...]

    @property
    def fit(self) -> Fit:
        """The strictest of all findings."""
        return strictest(self.findings)


@dataclass(frozen=True, slots=True)
class JobSuitability:
    """The answer for a job: what holds for all of it, then each asset and stretch of line."""

    job_name: str
    product_name: str
    findings: tuple[RuleFinding, ...]  # of the job as a whole
    places: tuple[Suitability, ...]
    cautions: tuple[str, ...]


def strictest(findings: tuple[RuleFinding, ...]) -> Fit:
    """The strictest of some findings; ONLY_IF when there are none."""
    return max((one.fit for one in findings), key=lambda fit: fit.severity, default=Fit.ONLY_IF)


def plain_words(text: str) -> str:
    """A name without case, hyphens and extra spaces, for comparing what people typed."""
    return " ".join(text.casefold().replace("_", " ").replace("-", " ").split())
