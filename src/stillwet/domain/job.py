"""The job: everything a plan is made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from stillwet.domain.assets import Asset
from stillwet.domain.basis import Basis
from stillwet.domain.checks import need_bounded, need_text
from stillwet.domain.lines import Line
from stillwet.domain.products import Crew, Depot, Product, WaterPoint
from stillwet.domain.roads import Road
from stillwet.domain.suitability import LocalRules, Well
from stillwet.domain.trials import TrialRecord
from stillwet.domain.weather import Weather
from stillwet.errors import Problem, StillwetError, shown
from stillwet.units import A_CURRENCY, CURRENCIES, DOLLAR, SYSTEMS


@dataclass(frozen=True, slots=True)
class Practice:
    """The knobs of the reckoning: local practice or a stated default (data/practice.toml)."""

    transfer_efficiency: float  # of what leaves the nozzle, the share that stays on the face
    coat_variation: float  # coefficient of variation of thickness over a face
    cling_safety: float  # cling limit is divided by this
    thinnest_coat_kg_m2: float  # nobody can lay an even coat thinner than this
    ember_reserve_kg_m2: float  # water that must be left through the ember period
    ember_period_s: float  # after the front's latest arrival
    water_efficiency: float  # eta: share of the coat's water that takes up fire heat
    work_window_s: float  # the time before apply-until in which crews need to be free to lay a coat
    egress_lead_s: float  # crews are gone this long before the earliest arrival
    longest_wait_s: float  # no coat is laid longer than this before the earliest arrival
    ground_albedo: float
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_bounded("transfer_efficiency", self.transfer_efficiency, 0.05, 1.0, "fraction")
        need_bounded("coat_variation", self.coat_variation, 0.0, 2.0, "")
        need_bounded("cling_safety", self.cling_safety, 1.0, 10.0, "")
        need_bounded("thinnest_coat", self.thinnest_coat_kg_m2, 0.0, 20.0, "mm")
        need_bounded("ember_reserve", self.ember_reserve_kg_m2, 0.0, 10.0, "mm")
        need_bounded("ember_period", self.ember_period_s, 0.0, 86400.0, "s")
        need_bounded("water_efficiency", self.water_efficiency, 0.05, 1.0, "fraction")
        need_bounded("work_window", self.work_window_s, 0.0, 86400.0, "s")
        need_bounded("egress_lead", self.egress_lead_s, 0.0, 86400.0, "s")
        need_bounded("longest_wait", self.longest_wait_s, 0.0, 7 * 86400.0, "s")
        need_bounded("ground_albedo", self.ground_albedo, 0.0, 1.0, "fraction")


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """How wide the members spread: standard deviations at the first hour and at 24 h.

    Grow linearly with lead time between and beyond (capped at 72 h). ``persistence_s`` is how long
    an error keeps its sign: the time in which its correlation with itself falls to 1/e.
    """

    temperature_k: tuple[float, float]
    humidity: tuple[float, float]  # fraction of RH, absolute
    wind_log: tuple[float, float]  # of ln(wind factor)
    sun_log: tuple[float, float]  # of ln(sun factor)
    persistence_s: float = 12 * 3600.0
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_bounded("persistence", self.persistence_s, 3600.0, 30 * 86400.0, "s")


@dataclass(frozen=True, slots=True)
class Job:
    """One incident or burn. ``crs`` is the projected CRS of every x_m, y_m ("EPSG:32612")."""

    name: str
    time_zone: str  # IANA
    crs: str
    start_s: float  # earliest a crew can spray, epoch seconds UTC
    members: int
    seed: int
    assets: tuple[Asset, ...]
    lines: tuple[Line, ...]
    weather: Weather
    product: Product
    crews: tuple[Crew, ...]
    water_points: tuple[WaterPoint, ...]
    practice: Practice
    uncertainty: Uncertainty
    streams_m: tuple[tuple[tuple[float, float], ...], ...] = ()  # drawn, and kept clear of
    input_hash: str = ""  # of every file read
    sources: tuple[str, ...] = ()  # file names read, for the plan
    remarks: tuple[str, ...] = ()  # what reading had to assume or leave out, for the plan
    depots: tuple[Depot, ...] = ()  # of concentrate
    roads: tuple[Road, ...] = ()
    trials: tuple[TrialRecord, ...] = ()  # of the product, for services to fit
    trials_source: str = ""  # where they stood
    typed_trials: tuple[TrialRecord, ...] = ()  # those of them that stand in no file of the job
    files_hash: str = ""  # of the files alone, where trials typed beside them are in input_hash
    wells: tuple[Well, ...] = ()
    local: LocalRules = field(default_factory=LocalRules)
    units: str = SYSTEMS[0]  # in which its people want numbers shown
    currency: str = DOLLAR  # of its prices, an ISO 4217 code

    def __post_init__(self) -> None:
        need_text("job name", self.name)
        need_bounded("members", self.members, 8, 4096, "")
        if self.units not in SYSTEMS:
            raise StillwetError(Problem("units", " or ".join(SYSTEMS), shown(self.units)))
        if self.currency not in CURRENCIES:
            raise StillwetError(Problem("currency", A_CURRENCY, shown(self.currency)))
        if not self.assets:
            raise StillwetError(Problem("assets", "at least one asset", "none"))
        seen: set[str] = set()
        for asset in self.assets:
            if asset.id in seen:
                raise StillwetError(Problem("id", "each asset id once", shown(asset.id)))
            seen.add(asset.id)
        late_s = self.start_s - self._last_arrival_s
        if late_s >= 0.0:
            wanted = "a start before the latest arrival of any fire"
            got = f"a start {late_s / 3600.0:.1f} h after it"
            raise StillwetError(Problem("start", wanted, got, hint="check the dates"))

    @property
    def _last_arrival_s(self) -> float:
        return max(asset.fire.arrival_to_s for asset in self.assets)

    @property
    def fire_over_s(self) -> float:
        """When the ember period of the last front is over, in epoch seconds."""
        return self._last_arrival_s + self.practice.ember_period_s
