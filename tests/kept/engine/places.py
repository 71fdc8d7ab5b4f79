"""Invented jobs whose answers are kept: assets of every kind, their fires, their weather.

Few members, so that they are quick; odd numbers, so that no verdict is a tie.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import numpy as np

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
    make_weather,
    with_fire,
)
from line_fixture import make_fuel
from stillwet.domain.assets import Asset, Shading
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.fire import StandingFire
from stillwet.domain.job import Job, Uncertainty
from stillwet.domain.products import CurveDraw, RatioBasis, WaterPoint
from stillwet.domain.suitability import Delivery, LocalRules, Site, Task, Well
from stillwet.domain.weather import Weather

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
        product=make_product(delivery=frozenset({Delivery.GROUND}), cost_per_pack_usd=87.5),
        water_points=(*make_job().water_points, HARD),
        crews=(make_crew(gear=make_gear(eductor_flow_m3_s=0.0016)),),
    )


def approved_here() -> Job:
    """The same water and wells where the product is approved, and only one limit is told."""
    rules = LocalRules(ground_buffer_m=12.5, approved=("Invented GEL",), foam_in_equipment=False)
    job = local_rules()
    product = replace(job.product, delivery=frozenset())
    return replace(job, name="Approved here", local=rules, product=product)


def too_late() -> Job:
    """No time for one house, hardly any for a second, a forecast that is old and ends, and rain."""
    weather = make_weather(issued_s=START_S - 9.3 * HOUR)
    rain = weather.precipitation_kg_m2.copy()
    rain[9] = 1.7
    cut = {name: getattr(weather, name)[:22] for name in _COLUMNS} | {
        "precipitation_kg_m2": rain[:22]
    }
    soon = {"arrival_from_s": START_S + 0.5 * HOUR, "arrival_to_s": START_S + 1.1 * HOUR}
    close = {"arrival_from_s": START_S + 1.3 * HOUR, "arrival_to_s": START_S + 2.2 * HOUR}
    hot = {"flux_peak_w_m2": 83e3, "flux_duration_s": 1900.0}
    assets = (
        with_fire(make_asset(id="t1", name="First house"), **soon),
        with_fire(make_asset(id="t2", name="Second house", x_m=50.0), **close),
        with_fire(make_asset(id="t3", name="Third house", x_m=90.0), **hot),
        with_fire(make_asset(id="t4", name="Fourth house", x_m=130.0), setback_m=7.1),
    )
    return make_job(
        name="Too late", members=15, seed=2, assets=assets, weather=replace(weather, **cut)
    )


_COLUMNS = (
    *("time_s", "air_temperature_k", "relative_humidity", "wind_speed_m_s"),
    *("wind_direction_deg", "pressure_pa", "ghi_w_m2", "dni_w_m2", "dhi_w_m2", "cloud_cover"),
)


def powder() -> Job:
    """A powder by mass in cold, hard water; its price unknown."""
    basis = {
        **make_product().basis,
        "cost_per_pack": Basis(BasisKind.GIVEN, "no price given"),
        "yield_coefficient": Basis(BasisKind.UNTESTED, "of its type", 2e5, 9e5),
    }
    product = make_product(
        product_type="dry_superabsorbent",
        name="Invented powder",
        ratio_basis=RatioBasis.MASS,
        ratio_low=0.0006,
        ratio_high=0.0043,
        density_kg_m3=730.0,
        yield_coefficient_pa=4.1e5,
        yield_threshold=0.0004,
        yield_exponent=1.35,
        hardness_half_kg_m3=0.27,
        pack_m3=0.025,
        basis=basis,
    )
    return _of_product("Powder", product, (HARD, *make_job().water_points))


def starch() -> Job:
    """Starch and cellulose, no water point known."""
    product = make_product(
        product_type="starch_cellulose",
        name="Invented paste",
        ratio_low=0.011,
        ratio_high=0.052,
        yield_coefficient_pa=7.3e3,
        yield_threshold=0.006,
        hardness_half_kg_m3=5.0,
        drying_exponent=0.6,
        basis={"drying_exponent": Basis(BasisKind.GIVEN, "told")},
    )
    return _of_product("Starch", product, ())


def clay() -> Job:
    """Clay, which hardly minds hard water, too stiff at its highest ratio to wet a wall."""
    product = make_product(
        product_type="clay", name="Invented clay", ratio_high=0.09, yield_coefficient_pa=4.4e4
    )
    return _of_product("Clay", product, (HARD,))


def tried_product() -> Job:
    """A product whose curve trials have drawn."""
    curves = tuple(
        CurveDraw(
            coefficient_pa=4.3e4 + 700.0 * row,
            threshold=0.0028 + 0.00004 * row,
            exponent=1.5 - 0.01 * row,
            hardness_half_kg_m3=0.31 + 0.01 * row,
            hardness_exponent=1.0,
            temperature_slope_per_k=0.01,
            hydration_time_s=70.0 + row,
            consistency_pa_s=2.9 + 0.1 * row,
            consistency_exponent=1.3,
            flow_index=0.41,
            adhesion_pa=155.0 + 3.0 * row,
        )
        for row in range(9)
    )
    return _of_product("Tried product", make_product(curves=curves), make_job().water_points)


def _of_product(name: str, product: Any, water_points: tuple[WaterPoint, ...]) -> Job:
    crews = (
        make_crew(gear=make_gear(), basis=told(("hose_length", "lift", "delivered_low"))),
        make_crew(id="c2", name="No pump", spray_flow_m3_s=0.0031, gear=make_gear(lift_m=19.0)),
        make_crew(id="c3", name="Bare team"),
    )
    tank = make_asset(id="a2", name="Tank", kind="tank", material="metal sheet", x_m=31.0)
    return make_job(
        name=name,
        members=21,
        seed=9,
        product=product,
        crews=crews,
        water_points=water_points,
        assets=(make_asset(), with_fire(tank, setback_m=17.0)),
    )


def _sunny() -> Weather:
    """The fixtures' weather with irradiance that hours end with, and no cloud cover."""
    weather = make_weather()
    by_day = np.clip(np.sin((weather.time_s / HOUR - 12.0) % 24 / 14 * np.pi), 0.0, None)
    return replace(
        weather,
        ghi_w_m2=880.0 * by_day,
        dni_w_m2=760.0 * by_day,
        dhi_w_m2=130.0 * by_day,
        cloud_cover=np.full(weather.hours, np.nan),
        sun_shift_s=-1800.0,
        wind_height_m=6.1,
        issued_s=None,
    )


def measured_sun() -> Job:
    """Irradiance in the file, cloud to be found from it."""
    return make_job(name="Measured sun", members=12, seed=4, weather=_sunny())


def _ensemble(weather: Weather, columns: tuple[str, ...]) -> Weather:
    lean = np.linspace(0.86, 1.17, 5)[None, :]
    found = {name: getattr(weather, name)[:, None] * lean for name in columns}
    if "air_temperature_k" in found:
        found["air_temperature_k"] = weather.air_temperature_k[:, None] + 9.0 * (lean - 1.0)
    if "cloud_cover" in found:
        found["cloud_cover"] = np.clip(0.1 + weather.cloud_cover[:, None] + lean - 0.9, 0.0, 1.0)
    return replace(weather, ensemble=found)


def cloudy_ensemble() -> Job:
    """Five members of a forecast that differ in warmth, wind and cloud."""
    columns = ("air_temperature_k", "relative_humidity", "wind_speed_m_s", "cloud_cover")
    weather = _ensemble(make_weather(), columns)
    return make_job(name="Cloudy ensemble", members=21, seed=6, weather=weather)


def sunny_ensemble() -> Job:
    """Five members that differ in sun."""
    weather = _ensemble(_sunny(), ("ghi_w_m2", "wind_speed_m_s"))
    return make_job(name="Sunny ensemble", members=21, seed=8, weather=weather)


def cool_morning() -> Job:
    """Hardly any drying: the embers set one coat, the thinnest even coat another."""
    weather = make_weather()
    cool = replace(
        weather,
        air_temperature_k=weather.air_temperature_k - 21.0,
        relative_humidity=np.full(weather.hours, 0.86),
        wind_speed_m_s=0.12 * weather.wind_speed_m_s,
        cloud_cover=np.full(weather.hours, 0.93),
    )
    soon = {"arrival_from_s": START_S + 1.6 * HOUR, "arrival_to_s": START_S + 1.9 * HOUR}
    fires: tuple[dict[str, Any], ...] = (
        {"setback_m": 90.0},
        {"setback_m": 11.0},
        {"setback_m": 6.1, "flame_length_m": 4.4},
    )
    assets = tuple(
        with_fire(make_asset(id=f"m{row}", x_m=22.0 * row, shading=Shading.SHADED), **(soon | fire))
        for row, fire in enumerate(fires)
    )
    practice = make_practice(ember_reserve_kg_m2=0.8, thinnest_coat_kg_m2=2.3)
    return make_job(
        name="Cool morning", members=12, seed=10, assets=assets, weather=cool, practice=practice
    )


def embers_alone() -> Job:
    """The same with a coat that may be as thin as it likes."""
    practice = make_practice(ember_reserve_kg_m2=0.9, thinnest_coat_kg_m2=0.1)
    return replace(cool_morning(), name="Embers alone", practice=practice)


PLACES: dict[str, Callable[[], Job]] = {
    "one house": one_house,
    "every kind": every_kind,
    "many fires": many_fires,
    "fires from fuel": fires_from_fuel,
    "local rules": local_rules,
    "approved here": approved_here,
    "too late": too_late,
    "cool morning": cool_morning,
    "embers alone": embers_alone,
    "powder": powder,
    "starch": starch,
    "clay": clay,
    "tried product": tried_product,
    "measured sun": measured_sun,
    "cloudy ensemble": cloudy_ensemble,
    "sunny ensemble": sunny_ensemble,
}
