"""Invented jobs with assets of every kind, fires of every kind, and local rules."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from gear_fixture import make_gear
from job_fixture import (
    HOUR,
    START_S,
    make_asset,
    make_crew,
    make_fire,
    make_job,
    make_practice,
    make_product,
    with_fire,
)
from line_fixture import make_fuel
from stillwet.domain.assets import Asset, Shading
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.fire import StandingFire
from stillwet.domain.job import Job, Uncertainty
from stillwet.domain.products import WaterPoint
from stillwet.domain.suitability import Delivery, LocalRules, Site, Task, Well

L_SHAPE = ((0.0, 0.0), (14.0, 0.0), (14.0, 6.0), (8.0, 6.0), (8.0, 12.0), (0.0, 12.0), (0.0, 0.02))
POND = ((60.0, 60.0), (95.0, 60.0), (95.0, 95.0), (60.0, 95.0), (60.0, 60.0))
ISLAND = ((70.0, 70.0), (85.0, 70.0), (85.0, 85.0), (70.0, 85.0), (70.0, 70.0))
CREEK = ((-300.0, -37.0), (40.0, -41.0), (300.0, -20.0))
HARD = WaterPoint("w2", "Invented quarry", 250.0, 90.0, 0.006, 0.31, 283.4, hookup_s=90.0)


def told(names: Iterable[str]) -> dict[str, Basis]:
    """A source for each of these fields, kinds in turn."""
    kinds = tuple(BasisKind)
    return {
        name: Basis(kinds[row % len(kinds)], f"told of {name}", 0.1 * row, 1.0 + row)
        for row, name in enumerate(names)
    }


_OF_ASSET = (
    *("value", "length", "width", "eave_height", "roof_pitch", "facing", "sheltering"),
    *("material", "shading", "coat_gap"),
)
_OF_FIRE = (
    *("flame_length", "flame_width", "flame_tilt", "spread_rate", "residence", "setback"),
    *("flux_peak", "flux_duration", "bearing", "ground_slope"),
)
_OF_FUEL = (
    *("model", "slope", "moisture_1h", "moisture_10h", "moisture_100h", "moisture_herb"),
    *("moisture_woody", "canopy_cover", "canopy_height", "crown_ratio"),
)


def one_house() -> Job:
    """The house of the fixtures, and a crew whose tank holds nothing to spray."""
    idle = make_crew(id="c2", name="Dry team", tank_m3=0.3, reserve_m3=0.3)
    return make_job(members=16, crews=(make_crew(), idle), input_hash="ab" * 32)


def every_kind() -> Job:
    """One of each kind, in every material, shape and state that a list may tell."""
    kinds: tuple[tuple[str, dict[str, Any]], ...] = (
        ("house", {"footprint_m": L_SHAPE, "material": "cedar shake", "coats": 2}),
        ("barn", {"material": "metal sheet", "facing_deg": 213.0, "length_m": 21.0}),
        ("shed", {"material": "plywood", "roof_pitch_deg": 3.0, "shading": Shading.SHADED}),
        ("outbuilding", {"material": "brick or stucco", "must": True, "note": "pump house"}),
        ("cache", {"material": "plywood siding", "roof_pitch_deg": 0.0, "recoat": True}),
        ("vehicle", {"material": "vinyl siding", "released": False}),
        ("pole", {"material": "treated pole", "width_m": 0.31, "eave_height_m": 3.1}),
        ("tower", {"material": "cable", "width_m": 0.7, "eave_height_m": 6.2}),
        ("tree", {"material": "bark", "width_m": 0.83, "sheltering": 0.41}),
        ("tank", {"material": "metal sheet", "width_m": 1.3, "after": "k1"}),
        ("fence", {"material": "wood fence", "facing_deg": 97.0, "length_m": 23.0}),
        ("bridge", {"material": "asphalt shingle", "eave_height_m": 0.6, "width_m": 3.2}),
    )
    assets = tuple(_kind(row, kind, changes) for row, (kind, changes) in enumerate(kinds))
    return make_job(
        name="Every kind",
        members=12,
        seed=7,
        assets=assets,
        crews=(make_crew(basis=told(("tank", "reserve", "spray_flow", "setup"))),),
        practice=_practice(),
        product=make_product(basis={**make_product().basis, **told(("ratio_low", "density"))}),
        uncertainty=Uncertainty(
            *((0.9, 1.7), (0.05, 0.08), (0.22, 0.31), (0.07, 0.19)),
            persistence_s=9.5 * HOUR,
            basis=told(("temperature", "humidity", "wind", "sun", "persistence")),
        ),
        remarks=("a remark of the reader",),
    )


def _practice() -> Any:
    names = ("cling_safety", "thinnest_coat", "ember_reserve", "ember_period", "work_window")
    more = told((*names, "egress_lead", "longest_wait", "ground_albedo"))
    basis = {**make_practice().basis, **more}
    return make_practice(
        basis=basis, cling_safety=1.3, ember_reserve_kg_m2=0.35, work_window_s=1.7 * HOUR
    )


def _kind(row: int, kind: str, changes: dict[str, Any]) -> Asset:
    site = Site(
        task=Task.PRETREATMENT if kind == "bridge" else None,
        delivery=tuple(Delivery)[row % 3],
        release_told=row % 2 == 0,
        heritage=(None, True, False)[row % 3] if kind == "barn" else None,
        energised=True if kind in {"pole", "tower"} else None,
        has_windows=(None, True, False)[row % 3],
        collects_rain=True if kind == "outbuilding" else None,
    )
    fire = make_fire(
        setback_m=9.0 + 2.3 * row,
        bearing_deg=None if row % 4 == 3 else 25.0 * row,
        arrival_from_s=START_S + (6.0 + 0.13 * row) * HOUR,
        arrival_to_s=START_S + (7.1 + 0.17 * row) * HOUR,
        basis=told(_OF_FIRE),
    )
    values: dict[str, Any] = {
        "id": f"k{row}",
        "name": f"Invented {kind}",
        "kind": kind,
        "value": 10.0 + row,
        "x_m": 30.0 * row,
        "y_m": -4.0 * row,
        "coat_gap_s": 600.0,
        "site": site,
        "fire": fire,
        "basis": told(_OF_ASSET),
    }
    return make_asset(**(values | changes))


def many_fires() -> Job:
    """Flames that touch, fires side by side, a typed flux, slopes, and nothing that burns."""
    pile = StandingFire(
        *("burning wood pile", 2.1, 1.5, 12.0, 900.0, 3.4, 190.0), basis=told(("setback",))
    )
    fence = StandingFire("burning fence", 1.4, 6.0, 30.0, 400.0, 0.5, None)
    fires: tuple[dict[str, Any], ...] = (
        {"setback_m": 1.0, "flame_tilt_deg": 41.0},
        {"also": (pile, fence), "setback_m": 12.5},
        {"flux_peak_w_m2": 27e3, "flux_duration_s": 95.0, "bearing_deg": None},
        {"flux_peak_w_m2": 61e3, "flux_duration_s": 700.0, "also": (fence,)},
        {"name": "timber crown fire", "flame_length_m": 19.0, "setback_m": 27.0},
        {"name": "grass fire", "ground_slope_deg": 14.0, "setback_m": 7.3, "residence_s": 11.0},
        {"name": "a fire of our own", "flame_length_m": 1.1, "setback_m": 40.0},
        {"name": "low surface fire", "spread_rate_m_s": 0.0, "setback_m": 2.6},
    )
    assets = tuple(
        with_fire(make_asset(id=f"f{row}", name=f"House {row}", x_m=40.0 * row), **changes)
        for row, changes in enumerate(fires)
    )
    return make_job(name="Many fires", members=14, seed=3, assets=assets)


def fires_from_fuel() -> Job:
    """Flames from fuel and forecast: grass, shrub, litter under trees, wet fuel, one half given."""
    fuel_basis = told(_OF_FUEL)
    given = {"flame_length": Basis(BasisKind.GIVEN, "seen"), "residence": told(("x",))["x"]}
    fuels: tuple[dict[str, Any], ...] = (
        {"fuel": make_fuel("GR2", basis=fuel_basis)},
        {"fuel": make_fuel("SH5", slope_deg=17.0, moisture_1h=0.04), "setback_m": 21.0},
        {"fuel": make_fuel("4", slope_deg=38.0, moisture_10h=0.05, moisture_100h=0.06)},
        {"fuel": make_fuel("TL8", canopy_cover=0.62, canopy_height_m=17.0, crown_ratio=0.4)},
        {"fuel": make_fuel("TU1", moisture_1h=0.6, moisture_herb=3.1), "setback_m": 5.0},
        {"fuel": make_fuel("GR4", slope_deg=11.0), "basis": given, "flame_length_m": 2.2},
        {"fuel": make_fuel("GR7"), "flux_peak_w_m2": 33e3, "flux_duration_s": 60.0},
        {"fuel": make_fuel("GR2", canopy_cover=0.3, canopy_height_m=9.0, crown_ratio=0.7)},
    )
    assets = tuple(
        with_fire(make_asset(id=f"g{row}", name=f"Hut {row}", x_m=35.0 * row), **changes)
        for row, changes in enumerate(fuels)
    )
    return make_job(name="Fires from fuel", members=13, seed=11, assets=assets)


def local_rules() -> Job:
    """Water, wells and every local rule; one house in the buffer, one on the island."""
    places = ((0.0, 0.0), (20.0, -33.0), (78.0, 77.0), (64.0, 66.0), (400.0, 400.0))
    sites = (
        Site(release_told=True, has_windows=True, heritage=False),
        Site(delivery=Delivery.HELICOPTER),
        Site(collects_rain=True, heritage=True),
        Site(delivery=Delivery.AIRPLANE, task=Task.MOP_UP),
        Site(task=Task.REWETTING, energised=True),
    )
    assets = tuple(
        make_asset(id=f"r{row}", name=f"Cabin {row}", x_m=x, y_m=y, length_m=5.3, site=site)
        for row, ((x, y), site) in enumerate(zip(places, sites, strict=True))
    )
    rules = LocalRules(
        ground_buffer_m=30.5,
        well_buffer_m=61.0,
        wind_limit_m_s=7.2,
        approved=("Another gel",),
        delivery=frozenset({Delivery.GROUND, Delivery.HELICOPTER}),
        foam_in_equipment=True,
    )
    return make_job(
        name="Local rules",
        members=12,
        seed=5,
        assets=assets,
        streams_m=(CREEK, POND, ISLAND),
        wells=(
            Well("v1", "Spring", "spring", 30.0, 20.0),
            Well("v2", "Bore", "well", 420.0, 400.0),
        ),
        local=rules,
        product=make_product(delivery=frozenset({Delivery.GROUND}), cost_per_pack=87.5),
        water_points=(*make_job().water_points, HARD),
        crews=(make_crew(gear=make_gear(eductor_flow_m3_s=0.0016)),),
    )


def approved_here() -> Job:
    """The same water and wells where the product is approved, and only one limit is told."""
    rules = LocalRules(ground_buffer_m=12.5, approved=("Invented GEL",), foam_in_equipment=False)
    job = local_rules()
    product = replace(job.product, delivery=frozenset())
    return replace(job, name="Approved here", local=rules, product=product)
