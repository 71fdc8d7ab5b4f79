"""Everything a packet prints: the answers of every part, or why a part is not there."""

from __future__ import annotations

from dataclasses import dataclass

from stillwet.domain.cleaning import CleanUp
from stillwet.domain.crew_plan import CrewPlan
from stillwet.domain.facing import FacingDemand
from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.mix_window import MixWindow
from stillwet.domain.plan import Plan
from stillwet.domain.pocket import Pocket


@dataclass(frozen=True, slots=True)
class SkyHour:
    """One hour of the forecast; None where it says nothing."""

    time_s: float
    air_temperature_k: float
    relative_humidity: float
    wind_speed_m_s: float
    wind_from_deg: float | None
    cloud_cover: float | None
    rain_kg_m2: float


@dataclass(frozen=True, eq=False)
class Packet:
    """The parts of a packet.

    ``plan`` has its coats laid when the crews lay them, where there is a crew plan; ``base`` is the
    plan with nobody in a hurry. Of a part that could not be made, ``missing`` says in a sentence
    why, by "crews", "mix" or "lines".
    """

    plan: Plan
    base: Plan
    crews: CrewPlan | None
    mix: MixWindow | None
    lines: LinesPlan | None
    missing: dict[str, str]
    sky: tuple[SkyHour, ...]
    demand: FacingDemand  # at the same hours
    pocket: Pocket
    clean_up: CleanUp
    depots: tuple[str, ...]  # where concentrate is kept
    pack_m3: float
    density_kg_m3: float  # of the concentrate; of a powder in bulk
    packs: int  # for assets and lines together
    pack_price: float | None  # None: no price given
    currency: str
