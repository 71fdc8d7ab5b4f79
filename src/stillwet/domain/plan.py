"""The plan: the answers per surface, per asset and for the job. SI; epoch seconds."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from stillwet.domain.assets import Surface
from stillwet.domain.basis import Input
from stillwet.domain.codec import WAS
from stillwet.domain.suitability import Fit
from stillwet.units import DOLLAR


class Verdict(StrEnum):
    """What to tell the person who asks whether this face will be protected."""

    HOLDS = "holds"  # at least 90 % of members still meet the demand
    DOUBTFUL = "doubtful"  # 50 to 90 %
    WILL_NOT_HOLD = "will not hold"  # no coat that clings can meet the demand in half the members
    DO_NOT_COAT = "do not coat"  # not released, or gel is the wrong agent


@dataclass(frozen=True, slots=True)
class SurfacePlan:
    """The answer for one face. Times are epoch seconds UTC, None where there is no such time."""

    surface: Surface
    verdict: Verdict
    reason: str  # plain words
    # what sets the coat: "drying", "fire", "embers", "cling", "thinnest coat", "time", "rule"
    governs: str
    coat_kg_m2: float  # mean coat to lay, mm of water; 0 when nothing is to be laid
    coat_needed_kg_m2: float  # smallest mean coat for 90 % at lay_time_s; inf when none exists
    cling_limit_kg_m2: float  # thickest mean coat counted on, at the ratio that clings best
    mix_ratio: float  # fraction
    lay_time_s: float  # the time the coat is reckoned from
    apply_from_s: float | None
    apply_until_s: float | None
    hold_until_50_s: float | None
    hold_until_90_s: float | None
    probability: float  # share of members in which the coat meets the demand
    water_demand_50_kg_m2: float
    water_demand_90_kg_m2: float
    drying_to_arrival_kg_m2: float  # median drying demand summed from lay time to latest arrival
    peak_flux_w_m2: float
    bare_ignition_s: float | None  # bare face under the peak flux; None when it never ignites
    protection_s: float | None  # coat water then bare face, under the peak flux
    mix_m3: float  # finished mix to spray on this face, losses included
    water_m3: float
    concentrate_m3: float
    spray_s: float  # nozzle time with the reference crew


@dataclass(frozen=True, slots=True)
class AssetPlan:
    """The answer for one asset: its faces, the one that governs, and what the work takes."""

    asset_id: str
    name: str
    kind: str
    value: float
    x_m: float
    y_m: float
    footprint_m: tuple[tuple[float, float], ...] | None
    exposure: str
    fire_window_from_s: float  # earliest arrival
    fire_window_to_s: float  # latest arrival plus the ember period
    arrival_to_s: float  # latest arrival of the front
    verdict: Verdict
    reason: str
    governing: SurfacePlan
    surfaces: tuple[SurfacePlan, ...]
    area_m2: float
    mix_m3: float
    water_m3: float
    concentrate_m3: float
    work_s: float  # set-up and nozzle time with the reference crew
    cautions: tuple[str, ...]
    inputs: tuple[Input, ...]
    fire_bearing_deg: float | None = None  # where the fire comes from; None: any side may face it
    note: str = ""  # the user's own words about the asset
    suitability: Fit = Fit.USE  # what the rules say of gel here, whatever a coat could do
    conditions: tuple[str, ...] = ()  # where it is "only if": on which, with sources


@dataclass(frozen=True, slots=True)
class CrewLoad:
    """What one crew's tank means for the whole job, if it did all of it."""

    crew_id: str
    name: str
    usable_m3: float
    fills: int | None  # None when the reserve takes the whole tank
    spray_s: float


@dataclass(frozen=True, slots=True)
class Load:
    """The load list: what has to be on the trucks."""

    mix_m3: float
    water_m3: float
    concentrate_m3: float
    concentrate_kg: float
    packs: int
    cost: float | None = field(metadata={WAS: "cost_usd"})  # None: no price given
    crews: tuple[CrewLoad, ...]
    reference_crew: str
    currency: str = DOLLAR


@dataclass(frozen=True, slots=True)
class WeatherSummary:
    """The weather the plan stood on, over the hours it used."""

    source: str
    from_s: float
    to_s: float
    issued_s: float | None
    air_temperature_max_k: float
    relative_humidity_min: float
    wind_speed_max_m_s: float
    rain_kg_m2: float


@dataclass(frozen=True, slots=True)
class Plan:
    """The whole answer. ``id`` is a hash of the inputs, the model version and the seed."""

    id: str
    job_name: str
    time_zone: str
    crs: str
    made_s: float
    start_s: float
    model_version: str
    seed: int
    members: int
    input_hash: str
    product_name: str
    ratio_basis: str
    mix_ratio: float  # the highest that any asset to be coated asks for
    assets: tuple[AssetPlan, ...]  # worst first
    load: Load
    weather: WeatherSummary
    lines_m: tuple[tuple[tuple[float, float], ...], ...]
    streams_m: tuple[tuple[tuple[float, float], ...], ...]
    water_points_m: tuple[tuple[str, float, float], ...]
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    inputs: tuple[Input, ...]  # job-wide: product, practice, uncertainty
