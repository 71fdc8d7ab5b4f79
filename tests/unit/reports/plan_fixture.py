"""An invented plan of 20 assets with every verdict, for the tests of the reports room.

Names, places, products and numbers are made up; they are plausible, not reckoned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from stillwet.domain.assets import Geometry, Surface
from stillwet.domain.basis import Basis, BasisKind, Input, given
from stillwet.domain.plan import (
    AssetPlan,
    CrewLoad,
    Load,
    Plan,
    SurfacePlan,
    Verdict,
    WeatherSummary,
)
from stillwet.domain.suitability import Fit

HOUR = 3600.0
START = 1912939200.0  # 2030-08-14T06:00-06:00
CENTRE = (431_000.0, 4_512_000.0)  # metres in EPSG:32612
RATIO = 0.012

UNTESTED_SPREAD = Basis(BasisKind.UNTESTED, "thickness over a face", 0.2, 0.6)
UNTESTED_LOSS = Basis(BasisKind.UNTESTED, "share that stays on the face", 0.5, 0.9)
PUBLISHED_FLUX = Basis(BasisKind.PUBLISHED, "contact flux of passing grass flames", 60e3, 120e3)


@dataclass(frozen=True)
class Draft:
    """What the factory needs to know about one invented asset."""

    name: str
    kind: str
    verdict: Verdict
    east_m: float
    north_m: float
    arrival_h: float
    coat_mm: float
    governs: str
    size_m: tuple[float, float, float]  # length, width, height


H, D, W, N = Verdict.HOLDS, Verdict.DOUBTFUL, Verdict.WILL_NOT_HOLD, Verdict.DO_NOT_COAT

DRAFTS = (
    Draft("Hay barn, open sides", "barn", W, -310, 240, 8.5, 0.0, "fire", (24, 12, 5)),
    Draft("Bunkhouse beside the log deck", "house", W, -270, 200, 8.7, 0.0, "fire", (14, 7, 3)),
    Draft("Lattice tower 14", "tower", N, -520, -60, 8.0, 0.0, "time", (4, 4, 30)),
    Draft("Old schoolhouse", "house", D, 40, 310, 10.5, 6.1, "cling", (12, 8, 3.5)),
    Draft("Pump house", "shed", D, -40, 150, 9.5, 5.2, "drying", (4, 3, 2.5)),
    Draft("Leaning pine by the gate", "tree", D, -90, 90, 9.7, 3.4, "embers", (0.6, 0.6, 9)),
    Draft("Ranch house", "house", H, 120, 60, 11.0, 4.4, "drying", (18, 11, 3)),
    Draft("Ranch garage", "shed", H, 142, 48, 11.0, 4.1, "drying", (8, 7, 2.7)),
    Draft("Tack room", "shed", H, 150, 30, 11.0, 4.0, "drying", (6, 4, 2.4)),
    Draft("Woodshed", "shed", H, 128, 28, 11.0, 4.6, "fire", (5, 3, 2.2)),
    Draft("Propane tank screen", "fence", H, 110, 20, 11.0, 3.2, "thinnest coat", (12, 0.1, 1.8)),
    Draft("Upper cabin", "house", H, 420, 380, 12.5, 4.8, "drying", (9, 6, 2.6)),
    Draft("Lower cabin", "house", H, 460, 330, 12.5, 4.7, "drying", (9, 6, 2.6)),
    Draft("Weather mast", "pole", H, 500, 410, 12.8, 2.6, "thinnest coat", (0.2, 0.2, 10)),
    Draft("Phone poles, north spur", "pole", H, 250, 280, 11.8, 2.9, "fire", (0.3, 0.3, 9)),
    Draft("Corral fence", "fence", H, 200, -40, 11.5, 3.0, "fire", (40, 0.1, 1.5)),
    Draft("Seed cache", "cache", H, 330, -120, 13.0, 3.3, "embers", (6, 2.5, 2.6)),
    Draft("Chapel", "house", H, 380, -200, 13.2, 4.2, "drying", (11, 7, 4)),
    Draft("Bridge deck rail", "fence", H, 260, -260, 13.4, 2.8, "thinnest coat", (22, 0.2, 1.2)),
    Draft("Storage yard office", "house", H, 540, -310, 13.9, 3.9, "drying", (10, 6, 2.7)),
)

REASONS = {
    Verdict.HOLDS: "at least 90 % of members still meet the demand when the ember period ends",
    Verdict.DOUBTFUL: "the coat that clings is thinner than the dry wind before arrival asks for",
    Verdict.WILL_NOT_HOLD: "a burning neighbour asks for more water than any coat that clings",
    Verdict.DO_NOT_COAT: "energised, and the owner has not released it",
}
CHANCES = {H: 0.95, D: 0.71, W: 0.12, N: 0.0}


def _surface(asset_id: str, label: str, azimuth: float, area: float, draft: Draft) -> Surface:
    length, _, height = draft.size_m
    roof = "roof" in label
    slim = draft.kind in {"pole", "tree"}
    geometry = Geometry.ROOF if roof else Geometry.CYLINDER if slim else Geometry.WALL
    return Surface(
        id=f"{asset_id}-{label.replace(' ', '-')}",
        asset_id=asset_id,
        label=label,
        geometry=geometry,
        tilt_deg=25.0 if roof else 90.0,
        azimuth_deg=azimuth,
        area_m2=area,
        length_m=length,
        height_m=height * (1.2 if roof else 0.5),
    )


def _faces(asset_id: str, draft: Draft) -> tuple[Surface, ...]:
    length, width, height = draft.size_m
    if draft.kind in {"pole", "tree"}:
        area = math.pi * width * height
        return (_surface(asset_id, "all round", 225.0, area, draft),)
    if draft.kind in {"fence", "tower"}:
        sides = (("south-west side", 225.0), ("north-east side", 45.0))
        return tuple(_surface(asset_id, name, at, length * height, draft) for name, at in sides)
    ways = (
        ("south-west", 225.0),
        ("north-west", 315.0),
        ("north-east", 45.0),
        ("south-east", 135.0),
    )
    walls = tuple((f"{way} wall", at) for way, at in ways)
    areas = (length * height, width * height) * 2
    faces = tuple(
        _surface(asset_id, name, at, area, draft)
        for (name, at), area in zip(walls, areas, strict=True)
    )
    roofs = (("south-west roof", 225.0), ("north-east roof", 45.0))
    pitched = length * width / 2 / math.cos(math.radians(25.0))
    return faces + tuple(_surface(asset_id, name, at, pitched, draft) for name, at in roofs)


def _surface_plan(surface: Surface, draft: Draft, share: float) -> SurfacePlan:
    coated = draft.coat_mm > 0
    coat = draft.coat_mm * share
    arrival = START + draft.arrival_h * HOUR
    mix = coat * 1e-3 * surface.area_m2 / 0.75
    needed = math.inf if draft.verdict is W else max(coat, 2.0) * (1.3 if draft.verdict is D else 1)
    return SurfacePlan(
        surface=surface,
        verdict=draft.verdict,
        reason=REASONS[draft.verdict],
        governs=draft.governs,
        coat_kg_m2=coat,
        coat_needed_kg_m2=needed,
        cling_limit_kg_m2=6.4,
        mix_ratio=RATIO,
        lay_time_s=arrival - 2.5 * HOUR,
        apply_from_s=arrival - 4 * HOUR if coated else None,
        apply_until_s=arrival - 1.5 * HOUR if coated else None,
        hold_until_50_s=arrival + (4.2 - share) * HOUR if coated else None,
        hold_until_90_s=arrival + (2.6 - share) * HOUR if coated and draft.verdict is H else None,
        probability=CHANCES[draft.verdict],
        water_demand_50_kg_m2=1.1,
        water_demand_90_kg_m2=1.9,
        drying_to_arrival_kg_m2=2.3 * share,
        peak_flux_w_m2=42e3,
        bare_ignition_s=24.0 if draft.kind != "pole" else None,
        protection_s=310.0 if coated else None,
        mix_m3=mix,
        water_m3=mix * (1 - RATIO),
        concentrate_m3=mix * RATIO,
        spray_s=mix / (30 * 0.003785411784 / 60),
    )


def _footprint(draft: Draft) -> tuple[tuple[float, float], ...] | None:
    length, width, _ = draft.size_m
    if draft.kind not in {"house", "barn", "shed", "cache"}:
        return None
    x, y = CENTRE[0] + draft.east_m, CENTRE[1] + draft.north_m
    turn = math.radians(35.0)
    corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return tuple(
        (
            x + i * length / 2 * math.cos(turn) - j * width / 2 * math.sin(turn),
            y + i * length / 2 * math.sin(turn) + j * width / 2 * math.cos(turn),
        )
        for i, j in corners
    )


def _asset_inputs(draft: Draft) -> tuple[Input, ...]:
    return (
        Input("eave_height_m", draft.size_m[2], "m", given("assets.csv")),
        Input("material", "painted wood siding", "", given("assets.csv")),
        Input("flame_length_m", 3.6, "m", given("job.toml")),
        Input("contact_flux_w_m2", 80e3, "W/m2", PUBLISHED_FLUX),
        Input("sheltering", 0.6, "", Basis(BasisKind.UNTESTED, "wind at the asset", 0.3, 1.0)),
        Input(
            "residence_s",
            35.0,
            "s",
            Basis(BasisKind.PUBLISHED, "Anderson 1969, fuel size times 8 min/in"),
        ),
    )


def _asset_plan(number: int, draft: Draft) -> AssetPlan:
    asset_id = f"a{number:02d}"
    faces = _faces(asset_id, draft)
    shares = [1.0 - 0.04 * index for index in range(len(faces))]
    surfaces = tuple(_surface_plan(f, draft, s) for f, s in zip(faces, shares, strict=True))
    arrival = START + draft.arrival_h * HOUR
    mix = sum(surface.mix_m3 for surface in surfaces)
    return AssetPlan(
        asset_id=asset_id,
        name=draft.name,
        kind=draft.kind,
        value=100.0 - number,
        x_m=CENTRE[0] + draft.east_m,
        y_m=CENTRE[1] + draft.north_m,
        footprint_m=_footprint(draft),
        exposure="burning neighbour" if draft.verdict is W else "passing grass fire",
        fire_window_from_s=arrival - 0.75 * HOUR,
        fire_window_to_s=arrival + 2.25 * HOUR,
        arrival_to_s=arrival + 0.25 * HOUR,
        verdict=draft.verdict,
        reason=REASONS[draft.verdict],
        governing=surfaces[0],
        surfaces=surfaces,
        area_m2=sum(face.area_m2 for face in faces),
        mix_m3=mix,
        water_m3=mix * (1 - RATIO),
        concentrate_m3=mix * RATIO,
        work_s=sum(surface.spray_s for surface in surfaces) + 600.0,
        cautions=("A gelled roof is slippery: spray it from the ground or a ladder.",)
        if draft.kind in {"house", "barn", "shed"}
        else (),
        inputs=_asset_inputs(draft),
        fire_bearing_deg=None if draft.kind == "tree" else 235.0,
        note="Propane cylinder on the north side" if draft.name == "Ranch house" else "",
        suitability=_suitability(draft),
        conditions=(CONDITION,) if draft.name == NEAR_WATER else (),
    )


NEAR_WATER = "Pump house"
CONDITION = "40 m (131 ft) from a waterway. Only if no runoff can reach it. (local rule)"


def _suitability(draft: Draft) -> Fit:
    if draft.name == NEAR_WATER:
        return Fit.ONLY_IF
    return Fit.DO_NOT if draft.verdict is N else Fit.USE


def _load(assets: tuple[AssetPlan, ...]) -> Load:
    mix = sum(asset.mix_m3 for asset in assets)
    spray = sum(surface.spray_s for asset in assets for surface in asset.surfaces)
    concentrate = sum(asset.concentrate_m3 for asset in assets)
    gallon = 0.003785411784
    return Load(
        mix_m3=mix,
        water_m3=sum(asset.water_m3 for asset in assets),
        concentrate_m3=concentrate,
        concentrate_kg=concentrate * 1050.0,
        packs=math.ceil(concentrate / (5 * gallon)),
        cost=140.0 * math.ceil(concentrate / (5 * gallon)),
        crews=(
            CrewLoad("e1", "Engine 41", 400 * gallon, math.ceil(mix / (400 * gallon)), spray),
            CrewLoad("e2", "Light engine 7", 50 * gallon, math.ceil(mix / (50 * gallon)), spray),
            CrewLoad("e3", "Patrol 3", 0.0, None, spray),
        ),
        reference_crew="Engine 41",
    )


CAUTIONS = (
    "This plan is an aid to deciding, nothing more. Local orders and agency rules come first.",
    "The product label and its safety data sheet come before any ratio or coat shown here.",
    "Know your escape route and safety zone before any spraying.",
    "Nobody stays because a plan says a coat will hold.",
    "Energised lines and towers: only when the utility or the owner has released them.",
    "Roofs and gelled ground are slippery.",
    "Keep gel out of streams, wells and cisterns.",
    "Embers enter through vents and gaps that gel does not close.",
)


def make_plan() -> Plan:
    """The invented plan, the same one at every call."""
    assets = tuple(_asset_plan(number, draft) for number, draft in enumerate(DRAFTS, start=1))
    x, y = CENTRE
    return Plan(
        id="3f9a12cd",
        job_name="Sill Creek ranch",
        time_zone="America/Denver",
        crs="EPSG:32612",
        made_s=START - 9 * HOUR,
        start_s=START,
        model_version="0.1.0",
        seed=7,
        members=256,
        input_hash="c0ffee" * 8,
        product_name="Demo gel L",
        ratio_basis="volume percent of the finished mix",
        mix_ratio=RATIO,
        assets=assets,
        load=_load(assets),
        weather=WeatherSummary(
            source="forecast.csv",
            from_s=START - 6 * HOUR,
            to_s=START + 42 * HOUR,
            issued_s=START - 12 * HOUR,
            air_temperature_max_k=309.3,
            relative_humidity_min=0.11,
            wind_speed_max_m_s=9.4,
            rain_kg_m2=0.0,
        ),
        lines_m=(((x - 420, y - 180), (x - 150, y - 60), (x + 40, y - 20), (x + 210, y + 20)),),
        streams_m=(
            ((x - 600, y + 420), (x - 100, y + 20), (x + 300, y - 280), (x + 620, y - 420)),
        ),
        water_points_m=(("Stock pond", x + 60, y - 140), ("Hydrant at the yard", x + 560, y - 280)),
        cautions=CAUTIONS,
        warnings=(
            "Fire direction is not given for 1 asset: every face is taken to face the fire.",
        ),
        inputs=(
            Input("coat_variation", 0.35, "", UNTESTED_SPREAD),
            Input("transfer_efficiency", 0.75, "fraction", UNTESTED_LOSS),
            Input("label_range", "0.8 to 2.0 %", "", given("products.csv")),
            Input(
                "drying_exponent",
                0.8,
                "",
                Basis(BasisKind.TRIAL, "station trial, 12 readings", 0.6, 1.0),
            ),
        ),
    )


def rename(plan: Plan, names: dict[int, str]) -> Plan:
    """The plan with some assets renamed, by position."""
    assets = tuple(
        replace(asset, name=names.get(index, asset.name)) for index, asset in enumerate(plan.assets)
    )
    return replace(plan, assets=assets)
