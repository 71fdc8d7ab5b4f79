"""The answer for wetted lines: coverage, hold times and lags by hour, schedule, stop rules."""

from __future__ import annotations

from dataclasses import dataclass

from stillwet.domain.basis import Input
from stillwet.domain.plan import Verdict, WeatherSummary


@dataclass(frozen=True, slots=True)
class LineHour:
    """One segment wetted at one hour with the coverage planned. Lag below 0: cannot be held."""

    time_s: float
    air_temperature_k: float
    relative_humidity: float
    wind_speed_m_s: float  # open, 10 m, middle of the members
    wind_from_deg: float | None
    may_light: bool  # forecast wind inside the sector and under the limit
    dead_moisture: float  # of the fuel before wetting
    drying_kg_m2_s: float  # per ground area, middle of the members
    drying_alone_kg_m2_s: float  # were every blade alone: the sibling that is never exceeded
    hold_50_s: float
    hold_90_s: float
    hold_alone_90_s: float
    hold_water_90_s: float  # the same coverage of plain water
    black_s: float  # from lighting to a deep enough black, middle of the members; 0 if not lit
    lag_50_s: float
    lag_90_s: float
    coverage_needed_kg_m2: float  # for the line's lag; inf when none clings
    flame_length_m: float  # 90 % of the members are under it
    spread_rate_m_s: float  # middle of the members, in the direction that counts


@dataclass(frozen=True, slots=True)
class WidthCheck:
    """One published multiple of the flame length and what it asks."""

    multiple: float
    needed_m: float
    is_enough: bool
    is_planned: bool  # the multiple that the plan goes by
    source: str


@dataclass(frozen=True, slots=True)
class Hindrance:
    """Why a segment cannot be done as asked, and what would free it."""

    kind: str  # "too dry to hold", "flames too long", "crew too slow", "wind", "no water", "time"
    segment_id: str  # empty: the whole line
    reason: str
    frees: tuple[str, ...]
    good_hours_s: tuple[float, ...] = ()  # hours of wetting at which it would work as asked


@dataclass(frozen=True, slots=True)
class LineSegmentPlan:
    """The answer for one segment, in the order it is worked. Times are epoch seconds."""

    segment_id: str
    name: str
    from_m: float  # distance from where the work begins
    to_m: float
    fuel_model: str
    fuel_name: str
    fine_load_kg_m2: float
    fuel_surface: float  # of fine fuel, per ground area
    extinction_moisture: float
    width_m: float  # one strip
    barrier_width_m: float  # strips and bare line together
    black_depth_m: float
    coverage_kg_m2: float
    coverage_needed_kg_m2: float  # at the worst hour it is wetted in; inf when none clings
    water_on_fuel_kg_m2: float  # of that coverage, middle of the members
    kept_kg_m2: float  # most the fuel keeps at this mix, middle of the members
    target_kg_m2: float  # what must be left on it, 90 % of the members
    boiled_kg_m2: float  # of that, what the flames boil off
    flame_length_m: float  # 90 %, over the hours it is lit or met in
    fire_at_line: str  # "backing", "flanking", "heading", "unknown": how the fire there moves
    widths: tuple[WidthCheck, ...]
    walk_m_s: float  # of the wetting crew while it sprays
    is_flow_limited: bool  # the pump sets the walk, not the legs
    mix_m3: float
    water_m3: float
    concentrate_m3: float
    wet_from_s: float | None
    wet_to_s: float | None
    lit_from_s: float | None
    lit_to_s: float | None
    black_at_s: float | None
    lag_planned_s: float | None  # longest time from wetting to lighting in the plan
    lag_allowed_s: float | None  # shortest lag allowed while it is wetted
    lag_needed_s: float  # what it must at least be: 0, or the wait for the fire's latest arrival
    slack_s: float | None  # least time to spare
    hours: tuple[LineHour, ...]
    verdict: Verdict
    flags: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class LineMark:
    """One step along the line, for the figure and the marks on the ground."""

    from_m: float
    to_m: float
    wet_from_s: float
    wet_to_s: float
    lit_from_s: float | None
    lit_to_s: float | None
    latest_s: float  # to light (or: to be met by the fire), 90 %
    dry_90_s: float
    dry_50_s: float


@dataclass(frozen=True, slots=True)
class LineRefill:
    """One trip to the water point."""

    at_m: float
    leave_s: float
    back_s: float


@dataclass(frozen=True, slots=True)
class LineWait:
    """A holding point: do not wet past here until the torch has passed there."""

    at_m: float
    until_lit_m: float


@dataclass(frozen=True, slots=True)
class StopRule:
    """A rule that stops the torch, and whether the plan as forecast keeps it."""

    name: str
    rule: str
    forecast: str
    is_kept: bool
    when_s: float | None = None  # the first moment at which the forecast breaks it


@dataclass(frozen=True, slots=True)
class LinePlan:
    """The answer for one line."""

    line_id: str
    name: str
    purpose: str
    is_lit: bool
    verdict: Verdict
    reason: str
    length_m: float
    begins_at: str  # in words: which end
    lag_wanted_s: float
    start_s: float
    wetted_s: float | None  # wetting ends
    lit_s: float | None  # lighting ends
    black_at_s: float | None  # the last of the black is deep enough
    arrival_from_s: float | None
    arrival_to_s: float | None
    mix_ratio: float
    mix_m3: float
    water_m3: float
    concentrate_m3: float
    fills: int | None
    crew_name: str
    usable_m3: float
    finish_share: float | None  # of runs with random delays that keep every rule
    delay_share: float
    stopped_by: str  # what stops most of the other runs; empty when none is stopped
    segments: tuple[LineSegmentPlan, ...]
    marks: tuple[LineMark, ...]
    refills: tuple[LineRefill, ...]
    waits: tuple[LineWait, ...]
    stop_rules: tuple[StopRule, ...]
    hindrances: tuple[Hindrance, ...]
    track_m: tuple[tuple[float, float], ...]
    inputs: tuple[Input, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class LinesPlan:
    """The answer for all lines of a job. ``id`` is a hash of inputs, model version and seed."""

    id: str
    job_name: str
    time_zone: str
    crs: str
    made_s: float
    model_version: str
    seed: int
    members: int
    input_hash: str
    product_name: str
    ratio_basis: str
    lines: tuple[LinePlan, ...]
    weather: WeatherSummary
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    inputs: tuple[Input, ...]
