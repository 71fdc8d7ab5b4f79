"""The crews' day: who goes where when, what is left out and why. SI; epoch seconds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stillwet.domain.plan import Verdict

Point = tuple[float, float]


class StepKind(StrEnum):
    """What a crew does at a stop."""

    COAT = "coat"
    FILL = "fill"
    LOAD = "load concentrate"


@dataclass(frozen=True, slots=True)
class FaceWork:
    """One face of a visit, in the order of the work.

    ``share`` of the face's coat is laid in this visit; below 1 where a tank ends within the face.
    """

    surface_id: str
    label: str
    coat_kg_m2: float
    share: float
    mix_m3: float
    starts_s: float


@dataclass(frozen=True, slots=True)
class CrewStep:
    """One stop of a crew. Of a fill or load ``amount_m3`` is taken on, of a visit it is sprayed."""

    kind: StepKind
    place_id: str  # of the asset, water point or depot
    visit_id: str  # of the visit; that of the place for fills and loads
    name: str
    x_m: float
    y_m: float
    arrive_s: float
    start_s: float
    finish_s: float
    amount_m3: float
    concentrate_m3: float
    tank_after_m3: float | None  # None where it does not change
    drive_s: float  # from the stop before
    leave_by_s: float | None = None  # gone by then, visits only
    part: int = 1
    parts: int = 1
    mix_ratio: float | None = None
    faces: tuple[FaceWork, ...] = ()
    chance: float | None = None  # that the whole asset's coat meets the demand
    verdict: Verdict | None = None
    must: bool = False
    needs: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    note: str = ""
    coat: int = 1  # which pass of ``coats``
    coats: int = 1
    is_recoat: bool = False  # a fresh coat on one laid before
    first_holds_until_s: float | None = None  # 90 % sure; of what a recoat is laid on
    waits_for: tuple[str, ...] = ()  # names of assets that must be finished first

    @property
    def wait_s(self) -> float:
        """Time between arriving and starting."""
        return self.start_s - self.arrive_s


@dataclass(frozen=True, slots=True)
class CrewRun:
    """One crew's day. ``end_s`` is when its last stop is over; equal to the start when idle.

    At ``start_s`` it is free, at ``start_at_m``, with the water and the concentrate told on board;
    None of concentrate where it is taken to carry enough for all of its work.
    """

    crew_id: str
    name: str
    people: int
    tank_m3: float
    reserve_m3: float
    start_at_m: Point
    start_s: float
    end_s: float
    drive_s: float
    water_at_start_m3: float
    steps: tuple[CrewStep, ...]
    pump_note: str = ""  # why its pump may not bring the mix to the nozzle; empty when it does
    concentrate_at_start_m3: float | None = None

    def steps_of(self, kind: StepKind) -> tuple[CrewStep, ...]:
        """The stops of one kind, in order."""
        return tuple(step for step in self.steps if step.kind is kind)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An asset that a coat (or a recoat) would help and no crew gives it: what binds and frees it.

    Of an asset in several parts, more than one of which does not fit, ``frees`` let in the first of
    those only: ``frees_whole`` is then False.
    """

    asset_id: str
    name: str
    value: float
    must: bool
    mix_m3: float
    binding: str  # a short name of the constraint
    reason: str
    frees: tuple[str, ...]
    frees_whole: bool = True


@dataclass(frozen=True, slots=True)
class NotSprayed:
    """An asset that no crew is sent to because no coat is planned for it."""

    asset_id: str
    name: str
    must: bool
    verdict: Verdict
    reason: str


@dataclass(frozen=True, slots=True)
class FaceBand:
    """One coated face on the timeline: who lays it when, and how its water runs out."""

    asset_id: str
    asset_name: str
    label: str
    crew_name: str
    laid_s: float
    hold_90_s: float
    hold_50_s: float
    fire_from_s: float
    fire_to_s: float
    probability: float
    is_recoat: bool = False


@dataclass(frozen=True, slots=True)
class DoneVisit:
    """Work done before a plan was made again, and no longer moved; ``time_s``: when it ended.

    ``part`` and ``coat`` as they were told; None of both for an asset's whole coat.
    """

    asset_id: str
    name: str
    crew_name: str
    time_s: float
    crew_id: str = ""  # empty where nobody told
    part: int | None = None
    coat: str | None = None


@dataclass(frozen=True, slots=True)
class BegunFace:
    """One face of a begun visit: the share laid, and when its spraying began; None: not yet."""

    surface_id: str
    share: float
    starts_s: float | None


@dataclass(frozen=True, slots=True)
class BegunVisit:
    """A visit that no order of the plan has, to an asset on which work has begun.

    ``finish_s``: when it was over; None where it is still to be made and no crew is sent to it.
    """

    visit_id: str
    asset_id: str
    part: int
    parts: int
    coat: int
    coats: int
    is_recoat: bool
    finish_s: float | None
    faces: tuple[BegunFace, ...]


@dataclass(frozen=True, slots=True)
class DepotStock:
    """What a depot held when the plan began."""

    depot_id: str
    name: str
    stock_at_start_m3: float


@dataclass(frozen=True, slots=True)
class CrewPlan:
    """The whole answer for the crews. ``worth`` is value times confidence gained."""

    id: str
    job_name: str
    time_zone: str
    crs: str
    made_s: float
    plan_id: str
    product_name: str
    ratio_basis: str
    density_kg_m3: float  # of the concentrate; of a powder in bulk
    pack_m3: float  # of concentrate
    crews: tuple[CrewRun, ...]
    left_out: tuple[LeftOut, ...]
    not_recoated: tuple[LeftOut, ...]  # covered by a first coat that nobody can lay anew
    not_sprayed: tuple[NotSprayed, ...]
    bands: tuple[FaceBand, ...]
    done: tuple[DoneVisit, ...]
    changes: tuple[str, ...]  # against the plan made before, in words for the radio
    is_replan: bool
    worth: float
    worth_possible: float
    covered: int
    musts_missed: int
    settled: bool
    settling: str  # how many rounds it took, or why it did not settle
    rounds: int
    solver: str
    seed: int
    budget: str
    stopped: str
    travel: tuple[str, ...]  # where driving times came from
    assumed: tuple[str, ...]  # what the job did not say and was taken
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    water_points_m: tuple[tuple[str, float, float], ...]
    depots_m: tuple[tuple[str, float, float], ...]
    streams_m: tuple[tuple[Point, ...], ...]
    assets_m: tuple[tuple[str, float, float, tuple[Point, ...] | None], ...]  # id, place, outline
    stocks: tuple[DepotStock, ...] = ()
    begun: tuple[BegunVisit, ...] = ()
