"""Any job at all: strategies that fill every field of every record a job is made of."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import strategies as st

from stillwet.domain.assets import Asset, Shading
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.fire import FireExposure, Fuel, StandingFire
from stillwet.domain.gear import Gear
from stillwet.domain.job import Job, Practice, Uncertainty
from stillwet.domain.lines import (
    Beginning,
    Line,
    LineModel,
    LinePurpose,
    LineSegment,
    LineWork,
    Side,
    WetSides,
)
from stillwet.domain.products import Crew, Depot, Product, RatioBasis, WaterPoint
from stillwet.domain.roads import Road
from stillwet.domain.suitability import Delivery, LocalRules, Site, Task, Well
from stillwet.domain.weather import COLUMNS, ENSEMBLE_COLUMNS, Weather
from stillwet.units import CURRENCIES, SYSTEMS

START_S = 1_786_716_000.0


def number(low: float, high: float) -> st.SearchStrategy[float]:
    """Any number between the two, to the last bit."""
    return st.floats(low, high, allow_nan=False)


# Any text: quotes, emoji, right-to-left marks, zero characters; not half a character pair.
WORDS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
NAMES = WORDS.filter(lambda text: bool(text.strip()))
SPOTS = st.tuples(number(-1e6, 1e6), number(-1e7, 1e7))
BASIS = st.one_of(
    st.builds(
        Basis,
        st.sampled_from(list(BasisKind)),
        WORDS,
        number(-1e9, 1e9),
        number(-1e9, 1e9),
        WORDS,
    ),
    st.builds(Basis, st.just(BasisKind.GIVEN), WORDS),
)
BASES = st.dictionaries(WORDS, BASIS, max_size=3)


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """The same, or None."""
    return st.none() | strategy


FUELS = st.builds(
    Fuel,
    model=NAMES,
    moisture_herb=number(0.1, 3.5),
    moisture_woody=number(0.1, 3.5),
    slope_deg=number(0, 45),
    moisture_1h=maybe(number(0, 2)),
    moisture_10h=maybe(number(0, 2)),
    moisture_100h=maybe(number(0, 2)),
    canopy_cover=number(0, 1),
    canopy_height_m=number(0, 120),
    crown_ratio=number(0, 1),
    basis=BASES,
)
STANDING = st.builds(
    StandingFire,
    name=NAMES,
    flame_length_m=number(0, 100),
    flame_width_m=number(0, 10_000),
    flame_tilt_deg=number(0, 80),
    residence_s=number(0, 7200),
    setback_m=number(0, 500),
    bearing_deg=maybe(number(0, 360)),
    basis=BASES,
)


@st.composite
def fires(draw: st.DrawFn) -> FireExposure:
    """A fire that arrives after the job's start."""
    arrival = START_S + draw(number(3600, 1e6))
    flux = draw(maybe(st.tuples(number(0, 300e3), number(0, 7200)))) or (None, None)
    return FireExposure(
        name=draw(NAMES),
        arrival_from_s=arrival,
        arrival_to_s=arrival + draw(number(0, 1e5)),
        flame_length_m=draw(number(0, 100)),
        flame_width_m=draw(number(0, 10_000)),
        flame_tilt_deg=draw(number(0, 80)),
        spread_rate_m_s=draw(number(0, 10)),
        residence_s=draw(number(0, 7200)),
        setback_m=draw(number(0, 500)),
        bearing_deg=draw(maybe(number(0, 360))),
        flux_peak_w_m2=flux[0],
        flux_duration_s=flux[1],
        ground_slope_deg=draw(number(-45, 45)),
        fuel=draw(maybe(FUELS)),
        also=tuple(draw(st.lists(STANDING, max_size=2))),
        flags=tuple(draw(st.lists(WORDS, max_size=2))),
        reckoned_s=draw(maybe(number(0, 2e9))),
        basis=draw(BASES),
    )


SITES = st.builds(
    Site,
    task=maybe(st.sampled_from(list(Task))),
    delivery=st.sampled_from(list(Delivery)),
    release_told=st.booleans(),
    heritage=maybe(st.booleans()),
    energised=maybe(st.booleans()),
    has_windows=maybe(st.booleans()),
    collects_rain=maybe(st.booleans()),
)
ASSETS = st.builds(
    Asset,
    id=NAMES,
    name=WORDS,
    kind=st.sampled_from(["house", "shed", "fence", "power pole"]),
    value=number(0, 1e9) | st.integers(0, 1000),
    x_m=number(-1e6, 1e6),
    y_m=number(-1e7, 1e7),
    footprint_m=maybe(st.lists(SPOTS, min_size=3, max_size=6).map(tuple)),
    length_m=number(0.01, 1000),
    width_m=number(0.001, 1000),
    eave_height_m=number(0.05, 300),
    roof_pitch_deg=number(0, 75),
    facing_deg=number(0, 360),
    material=WORDS,
    shading=st.sampled_from(list(Shading)),
    sheltering=number(0.05, 1.5),
    fire=fires(),
    released=st.booleans(),
    note=WORDS,
    basis=BASES,
    must=st.booleans(),
    needs=st.frozensets(WORDS, max_size=3),
    site=SITES,
)


@st.composite
def gear(draw: st.DrawFn) -> Gear:
    """A pump with a falling curve or a single point, and the rest of what a crew carries."""
    flows = sorted(set(draw(st.lists(number(1e-4, 0.5), min_size=1, max_size=3))))
    falling = sorted(draw(st.lists(number(0, 5e6), min_size=4, max_size=4)), reverse=True)
    flow = (0.0, *flows) if len(flows) > 1 else tuple(flows)
    low, high = sorted(draw(st.tuples(number(0.2, 2), number(0.2, 2))))
    return Gear(
        pump_flow_m3_s=flow,
        pump_pressure_pa=tuple(falling[: len(flow)]),
        hoses_m=tuple(draw(st.lists(st.tuples(number(0.01, 0.1), number(1, 300)), min_size=1))),
        lift_m=draw(number(-100, 150)),
        nozzle_flow_m3_s=draw(number(1e-5, 0.1)),
        nozzle_pressure_pa=draw(number(1e4, 2e6)),
        nozzle_least_pa=draw(number(0, 2e6)),
        delivered_low=low,
        delivered_high=high,
        eductor_flow_m3_s=draw(maybe(number(1e-5, 0.1))),
    )


@st.composite
def crews(draw: st.DrawFn) -> Crew:
    """A crew with every field of its day, or none of them."""
    tank, board = draw(number(0.01, 50)), draw(number(0, 20))
    return Crew(
        id=draw(NAMES),
        name=draw(WORDS),
        tank_m3=tank,
        reserve_m3=draw(number(0, 50)),
        spray_flow_m3_s=draw(number(1e-5, 0.1)),
        people=draw(st.integers(1, 50)),
        setup_s=draw(number(0, 7200)),
        speed_m_s=draw(number(0.1, 40)),
        basis=draw(BASES),
        start_m=draw(maybe(SPOTS)),
        shift_from_s=draw(maybe(st.just(START_S))),
        shift_to_s=draw(maybe(number(START_S + 1, START_S + 1e5))),
        capabilities=draw(st.frozensets(WORDS, max_size=3)),
        water_m3=draw(maybe(number(0, tank))),
        concentrate_m3=draw(maybe(st.just(board))),
        concentrate_room_m3=draw(maybe(number(board, 50))),
        gear=draw(maybe(gear())),
    )


TRACKS = st.lists(SPOTS, min_size=2, max_size=4).map(tuple)


@st.composite
def lines(draw: st.DrawFn) -> Line:
    """A line of one or two segments that join."""
    first = draw(TRACKS)
    tracks = [first, (first[-1], *draw(TRACKS))] if draw(st.booleans()) else [first]
    segments = [
        LineSegment(
            id=draw(NAMES),
            name=draw(WORDS),
            track_m=track,
            width_m=draw(number(0.1, 100)),
            fuel=draw(maybe(FUELS)),
            aspect_deg=draw(number(0, 360)),
            bare_width_m=draw(number(0, 200)),
            black_depth_m=draw(number(0.5, 500)),
            note=draw(WORDS),
            basis=draw(BASES),
        )
        for track in tracks
    ]
    return Line(
        id=draw(NAMES),
        name=draw(WORDS),
        purpose=draw(st.sampled_from(list(LinePurpose))),
        segments=tuple(segments),
        work=draw(works()),
        model=draw(MODELS),
        note=draw(WORDS),
        basis=draw(BASES),
    )


@st.composite
def works(draw: st.DrawFn) -> LineWork:
    """How a line is worked, with the pairs of times and directions that belong together."""
    start, arrival = draw(maybe(number(0, 2e9))), draw(maybe(number(0, 2e9)))
    wind = draw(maybe(st.tuples(number(0, 360), number(0, 360)))) or (None, None)
    return LineWork(
        is_lit=draw(st.booleans()),
        fire_side=draw(maybe(st.sampled_from(list(Side)))),
        wet_sides=draw(st.sampled_from(list(WetSides))),
        beginning=draw(st.sampled_from(list(Beginning))),
        crew_id=draw(WORDS),
        coverage_kg_m2=draw(maybe(number(0.05, 20))),
        mix_ratio=draw(maybe(number(1e-5, 0.2))),
        start_s=start,
        finish_s=None if start is None else start + draw(number(0, 1e5)),
        arrival_from_s=arrival,
        arrival_to_s=None if arrival is None else arrival + draw(number(0, 1e5)),
        wind_from_deg=wind[0],
        wind_to_deg=wind[1],
        wind_limit_m_s=draw(maybe(number(0, 60))),
        ignition_pace_m_s=draw(number(0.01, 5)),
        spray_walk_m_s=draw(number(0.01, 5)),
        follow_gap_s=draw(number(0, 7200)),
        refill_turn_s=draw(maybe(number(0, 6 * 3600))),
        connect_s=draw(number(0, 7200)),
        detour=draw(number(1, 10)),
        delay_share=draw(number(0, 5)),
    )


MODELS = st.builds(
    LineModel,
    extinction_margin=number(1, 5),
    flame_flux_w_m2=number(0, 300e3),
    flame_exposure=number(0, 60),
    width_multiple=number(0.5, 10),
    leaf_extinction=number(0.1, 1.5),
    wetted_share=number(0.05, 1),
    bed_wind=number(0.02, 1),
    blade_width_m=number(2e-4, 0.1),
)

WATER_POINTS = st.builds(
    WaterPoint,
    id=NAMES,
    name=WORDS,
    x_m=number(-1e6, 1e6),
    y_m=number(-1e7, 1e7),
    fill_flow_m3_s=number(1e-5, 1),
    hardness_kg_m3=number(0, 5),
    water_temperature_k=number(273.15, 323.15),
    basis=BASES,
    hookup_s=number(0, 7200),
    places=st.integers(1, 100),
)
DEPOTS = st.builds(
    Depot,
    id=NAMES,
    name=WORDS,
    x_m=number(-1e6, 1e6),
    y_m=number(-1e7, 1e7),
    stock_m3=number(0, 1000),
    load_s=number(0, 7200),
    basis=BASES,
)
WELLS = st.builds(
    Well,
    id=NAMES,
    name=WORDS,
    kind=st.sampled_from(["well", "spring", "cistern"]),
    x_m=number(-1e6, 1e6),
    y_m=number(-1e7, 1e7),
)
ROADS = st.builds(Road, track_m=TRACKS, speed_m_s=maybe(number(0.1, 40)), one_way=st.booleans())
LOCAL = st.builds(
    LocalRules,
    ground_buffer_m=maybe(number(0, 5000)),
    well_buffer_m=maybe(number(0, 5000)),
    wind_limit_m_s=maybe(number(0, 60)),
    approved=maybe(st.lists(WORDS, max_size=2).map(tuple)),
    delivery=maybe(st.frozensets(st.sampled_from(list(Delivery)))),
    foam_in_equipment=maybe(st.booleans()),
    basis=BASES,
)
PRODUCTS = st.builds(
    Product,
    id=NAMES,
    name=WORDS,
    product_type=WORDS,
    ratio_basis=st.sampled_from(list(RatioBasis)),
    ratio_low=number(1e-5, 0.01),
    ratio_high=number(0.01, 0.2),
    density_kg_m3=number(100, 3000),
    yield_coefficient_pa=number(0, 1e9),
    yield_threshold=number(0, 0.2),
    yield_exponent=number(0.1, 5),
    hardness_half_kg_m3=number(0, 1e3),
    drying_exponent=number(0, 1),
    pack_m3=number(1e-5, 10),
    cost_per_pack=number(0, 1e6),
    basis=BASES,
)
PRACTICES = st.builds(
    Practice,
    transfer_efficiency=number(0.05, 1),
    coat_variation=number(0, 2),
    cling_safety=number(1, 10),
    thinnest_coat_kg_m2=number(0, 20),
    ember_reserve_kg_m2=number(0, 10),
    ember_period_s=number(0, 86400),
    water_efficiency=number(0.05, 1),
    work_window_s=number(0, 86400),
    egress_lead_s=number(0, 86400),
    longest_wait_s=number(0, 7 * 86400),
    ground_albedo=number(0, 1),
    basis=BASES,
)
PAIRS = st.tuples(number(0, 10), number(0, 10))
UNCERTAINTIES = st.builds(
    Uncertainty, PAIRS, PAIRS, PAIRS, PAIRS, persistence_s=number(3600, 1e6), basis=BASES
)


@st.composite
def weathers(draw: st.DrawFn) -> Weather:
    """Hours with every column, some of it missing, and perhaps an ensemble."""
    random = np.random.default_rng(draw(st.integers(0, 2**32)))
    hours, size = draw(st.integers(2, 6)), draw(st.integers(0, 3))
    columns = {
        name: random.normal(size=hours) * 10.0 ** random.integers(-300, 300) for name in COLUMNS
    }
    for name in draw(st.sets(st.sampled_from(sorted(COLUMNS)))):
        columns[name][random.random(hours) < 0.5] = np.nan
    given = draw(st.sets(st.sampled_from(ENSEMBLE_COLUMNS))) if size else set()
    return Weather(
        time_s=np.array([START_S + 3600.0 * hour for hour in range(hours)]),
        **columns,
        latitude_deg=draw(number(-90, 90)),
        longitude_deg=draw(number(-180, 180)),
        elevation_m=draw(number(-430, 6000)),
        wind_height_m=draw(number(0.5, 100)),
        time_zone=draw(WORDS),
        source=draw(WORDS),
        issued_s=draw(maybe(number(0, 2e9))),
        sun_shift_s=draw(number(-3600, 3600)),
        basis=draw(BASES),
        ensemble={name: random.normal(size=(hours, size)) for name in sorted(given)},
    )


def lists(strategy: st.SearchStrategy[Any], least: int = 0) -> st.SearchStrategy[Any]:
    """A few of them, as a tuple."""
    return st.lists(strategy, min_size=least, max_size=2).map(tuple)


JOBS = st.builds(
    Job,
    name=NAMES,
    time_zone=st.sampled_from(["America/Denver", "UTC-07:00"]),
    crs=st.sampled_from(["EPSG:32612", "EPSG:32755", "EPSG:2056"]),
    start_s=st.just(START_S),
    members=st.integers(8, 4096),
    seed=st.integers(0, 2**31 - 1),
    units=st.sampled_from(SYSTEMS),
    currency=st.sampled_from(sorted(CURRENCIES)),
    assets=st.lists(ASSETS, min_size=1, max_size=3, unique_by=lambda one: one.id).map(tuple),
    lines=lists(lines()),
    weather=weathers(),
    product=PRODUCTS,
    crews=lists(crews()),
    water_points=lists(WATER_POINTS),
    practice=PRACTICES,
    uncertainty=UNCERTAINTIES,
    streams_m=lists(TRACKS),
    input_hash=WORDS,
    sources=lists(WORDS),
    remarks=lists(WORDS),
    depots=lists(DEPOTS),
    roads=lists(ROADS),
    wells=lists(WELLS),
    local=LOCAL,
)
