"""Products (the concentrate), crews, water points and depots of concentrate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from stillwet.domain.basis import Basis
from stillwet.domain.checks import need_bounded, need_text
from stillwet.domain.codec import WAS
from stillwet.domain.gear import Gear
from stillwet.domain.suitability import Delivery
from stillwet.errors import Problem, StillwetError, shown

NO_PRICE = "no price given"  # the source of a price that nobody gave, which is then 0


class RatioBasis(StrEnum):
    """What a mix ratio is a share of: always said beside the number."""

    VOLUME = "volume percent of the finished mix"
    MASS = "mass percent of the finished mix"


@dataclass(frozen=True, slots=True)
class CurveDraw:
    """One of the flow curves that a crew's trials leave possible, each as likely as the next.

    Its numbers (those of physics/rheology) belong together: never mix those of two draws.
    """

    coefficient_pa: float
    threshold: float
    exponent: float
    hardness_half_kg_m3: float
    hardness_exponent: float
    temperature_slope_per_k: float
    hydration_time_s: float
    consistency_pa_s: float  # at the threshold
    consistency_exponent: float
    flow_index: float
    adhesion_pa: float


@dataclass(frozen=True, slots=True)
class Product:
    """A concentrate as its label and the crew's trials describe it. Ratios are fractions.

    Yield stress follows ``yield_coefficient_pa * (ratio - yield_threshold)**yield_exponent`` above
    the threshold; hard water first shrinks the ratio (physics/rheology). ``density_kg_m3`` is that
    of the concentrate (bulk density for powders).
    """

    id: str
    name: str
    product_type: str  # a row of data/product_types.toml
    ratio_basis: RatioBasis
    ratio_low: float  # the label's range
    ratio_high: float
    density_kg_m3: float
    yield_coefficient_pa: float
    yield_threshold: float
    yield_exponent: float
    hardness_half_kg_m3: float  # hardness (as CaCO3) that makes a ratio do what half of it would
    drying_exponent: float  # n of the falling-rate law, 0 to 1
    pack_m3: float  # concentrate in one pack (volume; powders by bulk density)
    cost_per_pack: float = field(metadata={WAS: "cost_per_pack_usd"})  # in the job's currency
    basis: Mapping[str, Basis] = field(default_factory=dict)
    delivery: frozenset[Delivery] = frozenset()  # what the label names; empty: not told
    curves: tuple[CurveDraw, ...] = ()  # from trials that a plan took; empty: no such trial

    def __post_init__(self) -> None:
        need_text("id", self.id)
        need_bounded("ratio_low", self.ratio_low, 1e-5, 0.2, "fraction", self.id)
        need_bounded("ratio_high", self.ratio_high, 1e-5, 0.2, "fraction", self.id)
        if self.ratio_low > self.ratio_high:
            raise StillwetError(
                Problem(
                    "ratio_low",
                    f"at most ratio_high ({self.ratio_high})",
                    shown(self.ratio_low),
                    self.id,
                )
            )
        need_bounded("density", self.density_kg_m3, 100.0, 3000.0, "kg/m3", self.id)
        need_bounded("yield_coefficient", self.yield_coefficient_pa, 0.0, 1e9, "Pa", self.id)
        need_bounded("yield_threshold", self.yield_threshold, 0.0, 0.2, "fraction", self.id)
        need_bounded("yield_exponent", self.yield_exponent, 0.1, 5.0, "", self.id)
        need_bounded("drying_exponent", self.drying_exponent, 0.0, 1.0, "", self.id)
        need_bounded("pack", self.pack_m3, 1e-5, 10.0, "m3", self.id)
        need_bounded("cost_per_pack", self.cost_per_pack, 0.0, 1e9, "", self.id)

    @property
    def pack_price(self) -> float | None:
        """The price of a pack; None where nobody gave one."""
        basis = self.basis.get("cost_per_pack")
        return None if basis is not None and basis.source == NO_PRICE else self.cost_per_pack

    def price(self, packs: int) -> float | None:
        """The price of so many packs, or None where nobody gave one of a pack."""
        return None if self.pack_price is None else packs * self.pack_price


@dataclass(frozen=True, slots=True)
class Crew:
    """An engine or team: what it carries and how fast it sprays.

    The optional fields are for the crews' day; None where the job says nothing: a start anywhere
    near the assets, a shift without end, a full tank, concentrate for whatever it is sent to.
    """

    id: str
    name: str
    tank_m3: float
    reserve_m3: float  # water that stays in the tank, never planned for coating
    spray_flow_m3_s: float
    people: int
    setup_s: float  # per asset: park, pull hose, mix, test the pattern
    speed_m_s: float  # on the road
    basis: Mapping[str, Basis] = field(default_factory=dict)
    start_m: tuple[float, float] | None = None  # where it stands at the start of its shift
    shift_from_s: float | None = None
    shift_to_s: float | None = None
    capabilities: frozenset[str] = frozenset()  # "ladder", "long hose": what assets may need
    water_m3: float | None = None  # in the tank at the start
    concentrate_m3: float | None = None  # on board at the start
    concentrate_room_m3: float | None = None  # the most it carries
    gear: Gear | None = None  # pump, hose, nozzle and proportioner; None: not read

    def __post_init__(self) -> None:
        need_text("id", self.id)
        need_bounded("tank", self.tank_m3, 0.01, 50.0, "m3", self.id)
        need_bounded("reserve", self.reserve_m3, 0.0, 50.0, "m3", self.id)
        need_bounded("spray_flow", self.spray_flow_m3_s, 1e-5, 0.1, "m3/s", self.id)
        need_bounded("people", self.people, 1, 50, "", self.id)
        need_bounded("setup", self.setup_s, 0.0, 7200.0, "s", self.id)
        need_bounded("speed", self.speed_m_s, 0.1, 40.0, "m/s", self.id)
        _need_shift(self)
        if self.water_m3 is not None:
            need_bounded("water", self.water_m3, 0.0, self.tank_m3, "m3", self.id)
        if self.concentrate_m3 is not None:
            need_bounded("concentrate", self.concentrate_m3, 0.0, 50.0, "m3", self.id)
        if self.concentrate_room_m3 is not None:
            least = self.concentrate_m3 or 0.0
            need_bounded("concentrate_room", self.concentrate_room_m3, least, 50.0, "m3", self.id)

    @property
    def usable_m3(self) -> float:
        """Water that may be sprayed from one fill: tank less reserve, never below zero."""
        return max(0.0, self.tank_m3 - self.reserve_m3)


def _need_shift(crew: Crew) -> None:
    start, end = crew.shift_from_s, crew.shift_to_s
    if start is not None and end is not None and end <= start:
        wanted, got = "an end after the start", "an end that is not"
        raise StillwetError(Problem("shift", wanted, got, crew.id))


@dataclass(frozen=True, slots=True)
class WaterPoint:
    """Where tanks are filled: position in the job's CRS, fill rate, and the water's hardness.

    ``places`` engines can fill at once, each after ``hookup_s`` of coupling and priming.
    """

    id: str
    name: str
    x_m: float
    y_m: float
    fill_flow_m3_s: float
    hardness_kg_m3: float  # as CaCO3
    water_temperature_k: float
    basis: Mapping[str, Basis] = field(default_factory=dict)
    hookup_s: float = 0.0
    places: int = 1

    def __post_init__(self) -> None:
        need_text("id", self.id)
        need_bounded("fill_flow", self.fill_flow_m3_s, 1e-5, 1.0, "m3/s", self.id)
        need_bounded("hookup", self.hookup_s, 0.0, 7200.0, "s", self.id)
        need_bounded("places", self.places, 1, 100, "", self.id)
        need_bounded("hardness", self.hardness_kg_m3, 0.0, 5.0, "kg/m3", self.id)
        need_bounded("water_temperature", self.water_temperature_k, 273.15, 323.15, "K", self.id)


@dataclass(frozen=True, slots=True)
class Depot:
    """Where crews take concentrate on board: position in the job's CRS, stock, and time to load."""

    id: str
    name: str
    x_m: float
    y_m: float
    stock_m3: float
    load_s: float
    basis: Mapping[str, Basis] = field(default_factory=dict)

    def __post_init__(self) -> None:
        need_text("id", self.id)
        need_bounded("stock", self.stock_m3, 0.0, 1000.0, "m3", self.id)
        need_bounded("load_time", self.load_s, 0.0, 7200.0, "s", self.id)
