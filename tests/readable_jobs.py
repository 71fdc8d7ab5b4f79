"""Jobs that files can say: any drawn job, its free values brought to what a reader could make."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from hypothesis import strategies as st

from job_strategies import JOBS, START_S
from stillwet.domain.assets import Asset
from stillwet.domain.fire import FireExposure, Fuel, StandingFire
from stillwet.domain.gear import Gear
from stillwet.domain.job import Job
from stillwet.domain.lines import Line, LineSegment, Track
from stillwet.domain.products import Crew, Product
from stillwet.domain.suitability import LocalRules
from stillwet.domain.weather import COLUMNS, Weather
from stillwet.exchange.fire_also import standing_fires
from stillwet.exchange.footprints import measure
from stillwet.tables import load_table

CRS = "EPSG:32613"  # of the place below
EAST_M, NORTH_M = 480_000.0, 4_400_000.0
# No table holds a control character; line ends become one kind; spaces around do not count.
FREE = {*map(chr, range(32)), *map(chr, range(127, 160)), "\ufffe", "\uffff"} - {"\t", "\n"}


def text_of(text: str, otherwise: str = "") -> str:
    """A text that any format holds."""
    kept = "".join(character for character in text if character not in FREE)
    return kept.strip() or otherwise


def words_of(words: frozenset[str]) -> frozenset[str]:
    """Words as the readers know them: lower case, single spaces, no commas."""
    kept = (word.replace(",", "").replace(";", "").replace("_", " ") for word in words)
    plain = (" ".join(text_of(word).casefold().replace("-", " ").split()) for word in kept)
    return frozenset(word for word in plain if word and word == word.casefold())


def near(spot: tuple[float, float], scale: float = 1000.0) -> tuple[float, float]:
    """A place within a kilometre of the middle of the job."""
    return EAST_M + math.sin(spot[0]) * scale, NORTH_M + math.sin(spot[1]) * scale


def to_second(time_s: float) -> float:
    """A time to the microsecond, as ISO 8601 text holds it."""
    return round(time_s, 3)


def _fuel(fuel: Fuel | None, *, on_a_line: bool) -> Fuel | None:
    if fuel is None:
        return None
    is_open = fuel.canopy_cover == 0.0 and not on_a_line
    changes: dict[str, Any] = {
        "model": "GR4",
        "basis": {},
        "moisture_10h": None if on_a_line else fuel.moisture_10h,
        "moisture_100h": None if on_a_line else fuel.moisture_100h,
        "canopy_height_m": 0.0 if is_open else max(1.0, fuel.canopy_height_m),
        "crown_ratio": 0.0 if is_open else fuel.crown_ratio,
    }
    return replace(fuel, **changes)


def _fire(fire: FireExposure, number: int) -> FireExposure:
    names = sorted(load_table("exposures"))
    also = tuple(_standing(one, number) for one in fire.also)
    arrival = to_second(START_S + 3600.0 + (fire.arrival_from_s - START_S) % 36000.0)
    return replace(
        fire,
        name=names[number % len(names)],
        arrival_from_s=arrival,
        arrival_to_s=to_second(arrival + (fire.arrival_to_s - fire.arrival_from_s) % 7200.0),
        fuel=_fuel(fire.fuel, on_a_line=False),
        also=also,
        flags=(),
        reckoned_s=None,
        basis={},
    )


def _standing(fire: StandingFire, number: int) -> StandingFire:
    names = standing_fires()
    return replace(fire, name=names[number % len(names)], basis={})


def _asset(asset: Asset, number: int) -> Asset:
    x_m, y_m = near((asset.x_m, asset.y_m))
    materials = sorted(load_table("materials"))
    changes: dict[str, Any] = {
        "id": text_of(asset.id, "a") + f" {number}",
        "kind": "pole" if asset.kind == "power pole" else asset.kind,
        "value": float(asset.value),
        "x_m": x_m,
        "y_m": y_m,
        "footprint_m": None,
        "material": materials[number % len(materials)],
        "released": asset.released or not asset.site.release_told,
        "note": text_of(asset.note),
        "needs": words_of(asset.needs),
        "fire": _fire(asset.fire, number),
        "basis": {},
    }
    changes["name"] = text_of(asset.name, changes["id"])
    if asset.footprint_m is not None and asset.kind in {"house", "shed"}:
        changes |= _drawn(asset, x_m, y_m)
    return replace(asset, **changes)


def _drawn(asset: Asset, x_m: float, y_m: float) -> dict[str, Any]:
    """An L-shaped house, turned as the asset faces, with the sizes that its drawing has."""
    from shapely.affinity import rotate
    from shapely.geometry import Polygon

    corners = [(0, 0), (14, 0), (14, 8), (5, 8), (5, 11), (0, 11)]
    ring = Polygon([(x_m + east, y_m + north) for east, north in corners])
    found = measure(rotate(ring, asset.facing_deg, origin=(x_m, y_m)))
    return {
        "footprint_m": found.ring_m,
        "x_m": found.x_m,
        "y_m": found.y_m,
        "length_m": found.length_m,
        "width_m": found.width_m,
    }


def _track(track: Track, start: tuple[float, float] | None = None) -> Track:
    """A track that heads east from its start, so that joined segments never turn about."""
    first = start or near(track[0])
    steps = range(1, len(track))
    return (first, *((first[0] + 20.0 * step, first[1] + math.sin(step)) for step in steps))


def _line(line: Line, number: int) -> Line:
    segments: list[LineSegment] = []
    for index, segment in enumerate(line.segments):
        start = segments[-1].track_m[-1] if segments else None
        identity = text_of(segment.id, "s") + f" {index}"
        changes: dict[str, Any] = {
            "id": identity,
            "name": text_of(segment.name, identity),
            "track_m": _track(segment.track_m, start),
            "fuel": _fuel(segment.fuel, on_a_line=True),
            "note": text_of(segment.note),
            "basis": {},
        }
        segments.append(replace(segment, **changes))
    work = line.work
    fixed: dict[str, Any] = {
        name: None if getattr(work, name) is None else to_second(5e7 + getattr(work, name))
        for name in ("start_s", "finish_s", "arrival_from_s", "arrival_to_s")
    }
    limit = work.wind_limit_m_s
    fixed["wind_limit_m_s"] = None if limit is None else min(40.0, limit)
    identity = text_of(line.id, "l") + f" {number}"
    return replace(
        line,
        id=identity,
        name=text_of(line.name, identity),
        segments=tuple(segments),
        work=replace(work, crew_id=text_of(work.crew_id), **fixed),
        note=segments[0].note,
        basis={},
    )


GEAR = Gear(
    pump_flow_m3_s=(0.0, 0.003, 0.0051),
    pump_pressure_pa=(1.2e6, 7e5, 4.1e5),
    hoses_m=((0.0381, 30.5), (0.0254, 15.0)),
    lift_m=-3.5,
    nozzle_flow_m3_s=0.0019,
    nozzle_pressure_pa=345_000.0,
    nozzle_least_pa=150_000.0,
    delivered_low=0.85,
    delivered_high=1.2,
)


def _crew(crew: Crew, number: int) -> Crew:
    identity = text_of(crew.id, "c") + f" {number}"
    shift = crew.shift_to_s
    changes: dict[str, Any] = {
        "id": identity,
        "name": text_of(crew.name, identity),
        "start_m": None if crew.start_m is None else near(crew.start_m),
        "shift_to_s": None if shift is None else to_second(shift),
        "capabilities": words_of(crew.capabilities),
        "gear": GEAR,
        "basis": {},
    }
    return replace(crew, **changes)


def _placed(record: Any, number: int, letter: str) -> Any:
    """A water point, depot or well near the job."""
    identity = text_of(record.id, letter) + f" {number}"
    x_m, y_m = near((record.x_m, record.y_m))
    name = text_of(record.name, identity)
    changes: dict[str, Any] = {"id": identity, "name": name, "x_m": x_m, "y_m": y_m}
    if any(item.name == "basis" for item in dataclasses.fields(record)):
        changes["basis"] = {}
    return replace(record, **changes)


def _product(product: Product) -> Product:
    kinds = sorted(load_table("product_types"))
    identity = text_of(product.id, "p")
    changes: dict[str, Any] = {
        "id": identity,
        "name": text_of(product.name, identity),
        "product_type": kinds[len(product.id) % len(kinds)],
        "basis": {},
    }
    return replace(product, **changes)


def _local(local: LocalRules) -> LocalRules:
    approved = local.approved
    if approved is not None:
        approved = tuple(text for text in map(text_of, approved) if text)
    delivery = local.delivery
    return replace(local, approved=approved or None, delivery=delivery or None, basis={})


def _weather(weather: Weather, last_s: float) -> Weather:
    """Hours that cover the job, in every column's bounds; direction at times missing."""
    hours = math.ceil((last_s - START_S) / 3600.0) + 2
    random = np.random.default_rng(hours)
    columns: dict[str, Any] = {
        name: low + (high - low) * random.random(hours)
        for name, (_, low, high, _) in COLUMNS.items()
    }
    columns["wind_direction_deg"][::3] = np.nan
    bare = weather.sun_shift_s < 0.0
    if bare:
        for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2"):
            columns[name][:] = np.nan
    members = weather.ensemble_size
    kept = [name for name in ENSEMBLE if not np.isnan(columns[name]).any()] if members > 1 else []
    spread: Mapping[str, Any] = {
        name: COLUMNS[name][1]
        + (COLUMNS[name][2] - COLUMNS[name][1]) * random.random((hours, members))
        for name in kept
    }
    columns |= {name: member.mean(axis=1) for name, member in spread.items()}
    return Weather(
        time_s=START_S + 3600.0 * np.arange(hours, dtype=np.float64),
        **columns,
        latitude_deg=39.75,
        longitude_deg=-105.2,
        elevation_m=weather.elevation_m,
        wind_height_m=weather.wind_height_m,
        time_zone="UTC-06:00",
        source="",
        issued_s=None if weather.issued_s is None else to_second(5e7 + weather.issued_s),
        sun_shift_s=0.0 if bare else 1800.0,
        ensemble=spread,
    )


ENSEMBLE = (
    "air_temperature_k",
    "relative_humidity",
    "wind_speed_m_s",
    "cloud_cover",
    "ghi_w_m2",
)


def readable(job: Job) -> Job:
    """The same job as far as files can say it, near one place, covered by its weather."""
    assets = tuple(_asset(asset, number) for number, asset in enumerate(job.assets))
    last_s = max(asset.fire.arrival_to_s for asset in assets) + job.practice.ember_period_s
    crews = tuple(_crew(crew, number) for number, crew in enumerate(job.crews))
    spread = job.uncertainty
    return replace(
        job,
        name=text_of(job.name, "job"),
        crs=CRS,
        assets=assets,
        lines=tuple(_line(line, number) for number, line in enumerate(job.lines)),
        weather=_weather(job.weather, last_s),
        product=_product(job.product),
        crews=crews or (Crew("e1", "e1", 2.8, 0.4, 0.0019, 3, 300.0, 12.0, gear=GEAR),),
        water_points=tuple(_placed(p, n, "w") for n, p in enumerate(job.water_points)),
        practice=replace(job.practice, basis={}),
        uncertainty=replace(
            spread,
            humidity=(min(0.5, spread.humidity[0]), min(0.5, spread.humidity[1])),
            wind_log=(min(2.0, spread.wind_log[0]), min(2.0, spread.wind_log[1])),
            sun_log=(min(2.0, spread.sun_log[0]), min(2.0, spread.sun_log[1])),
            basis={},
        ),
        streams_m=tuple(map(_track, job.streams_m)),
        input_hash="",
        sources=(),
        remarks=(),
        depots=tuple(_placed(d, n, "d") for n, d in enumerate(job.depots)),
        roads=tuple(replace(road, track_m=_track(road.track_m)) for road in job.roads),
        wells=tuple(_placed(well, n, "v") for n, well in enumerate(job.wells)),
        local=_local(job.local),
    )


READABLE_JOBS: st.SearchStrategy[Job] = JOBS.map(readable)
PROVENANCE = {"basis", "input_hash", "sources", "remarks", "source", "trials_source"}
PLACES = {"x_m", "y_m", "footprint_m", "track_m", "streams_m", "start_m", "length_m", "width_m"}
DIRECTION_DEG = math.degrees(1e-6 / 0.1)  # places of 1e-6 m, at the ends of 0.1 m


def differences(one: Any, other: Any, path: str = "job") -> list[str]:
    """Every field in which two records differ, but for where their values came from.

    Numbers agree to 12 figures (most to the last bit); places to a thousandth of a millimetre,
    and the directions that follow from drawn places as far as that lets them.
    """
    if dataclasses.is_dataclass(one) and type(one) is type(other):
        return [
            line
            for item in dataclasses.fields(one)
            if item.name not in PROVENANCE
            for line in differences(
                getattr(one, item.name), getattr(other, item.name), f"{path}.{item.name}"
            )
        ]
    if isinstance(one, Mapping) and isinstance(other, Mapping) and set(one) == set(other):
        return [line for key in one for line in differences(one[key], other[key], f"{path}.{key}")]
    if isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        pairs = enumerate(zip(one, other, strict=True))
        return [line for index, (a, b) in pairs for line in differences(a, b, f"{path}[{index}]")]
    if isinstance(one, np.ndarray):
        is_same = one.shape == other.shape and np.allclose(
            one, other, rtol=1e-12, atol=1e-9, equal_nan=True
        )
        return [] if is_same else [f"{path}: {one} / {other}"]
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        parts = path.replace("[", ".").split(".")
        nearness = 1e-6 if PLACES.intersection(parts) else 0.0
        if parts[-1] == "facing_deg":
            nearness = DIRECTION_DEG
        is_same = math.isclose(one, other, rel_tol=1e-12, abs_tol=nearness)
        return [] if is_same else [f"{path}: {one!r} / {other!r}"]
    return [] if one == other else [f"{path}: {one!r} / {other!r}"]
