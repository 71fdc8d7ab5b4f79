"""The job file: one TOML file and the files it names become one checked ``Job``."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from stillwet.domain.assets import Asset
from stillwet.domain.basis import given
from stillwet.domain.job import Job
from stillwet.domain.lines import Track
from stillwet.domain.products import Crew, Depot, Product, WaterPoint
from stillwet.domain.suitability import Well
from stillwet.domain.weather import Weather
from stillwet.errors import Problem, shown
from stillwet.exchange.assets import ASSET_COLUMNS, Entry, make_assets, read_entries
from stillwet.exchange.clock import Clock, read_zone
from stillwet.exchange.crews import (
    CREW_COLUMNS,
    DEPOT_COLUMNS,
    WATER_COLUMNS,
    read_crews,
    read_depots,
    read_water_points,
)
from stillwet.exchange.fields import Default, Picker
from stillwet.exchange.files import Files
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.exchange.fire import fire_section_cells
from stillwet.exchange.ground import Ground, choose_ground
from stillwet.exchange.lines import read_lines, read_streams
from stillwet.exchange.local import WELL_COLUMNS, read_local, read_wells
from stillwet.exchange.plausible import (
    Spot,
    note_far_places,
    note_far_tracks,
    note_far_weather,
    note_far_zone,
    note_odd_weather,
)
from stillwet.exchange.positions import Placer, read_crs
from stillwet.exchange.practice import read_practice, read_uncertainty
from stillwet.exchange.products import choose_product, read_product
from stillwet.exchange.records import FILE_KEYS, default_cells, open_table, read_list
from stillwet.exchange.roads import read_roads
from stillwet.exchange.toml_door import Section, load_toml, section_of, sections_of
from stillwet.exchange.trials import read_trials_section
from stillwet.exchange.weather_section import read_weather
from stillwet.units import A_CURRENCY, CURRENCIES, DOLLAR, SYSTEMS

TOP_KEYS = (
    "job",
    "assets",
    "lines",
    "streams",
    "wells",
    "well",
    "local",
    "weather",
    "fire",
    "product",
    "trials",
    "water",
    "water_point",
    "crews",
    "crew",
    "depots",
    "depot",
    "roads",
    "practice",
    "uncertainty",
)
JOB_KEYS = ("name", "time_zone", "start", "units", "currency", "members", "seed")
_LISTS = {
    "crew": CREW_COLUMNS,
    "water_point": WATER_COLUMNS,
    "depot": DEPOT_COLUMNS,
    "well": WELL_COLUMNS,
}
_MEMBERS, _SEED = 64, 1  # fixed by the method, not estimates: more members only cost time


@dataclass(frozen=True, slots=True)
class _Head:
    """The [job] table."""

    name: str
    clock: Clock
    start_s: float
    units: str
    currency: str
    members: int
    seed: int


@dataclass(frozen=True, slots=True)
class _Reading:
    """One reading of one job file: its data, the files it names, and what was found."""

    name: str
    data: Mapping[str, Any]
    files: Files
    findings: Findings

    def section(self, label: str) -> Section | None:
        return section_of(self.data, label, name=self.name, findings=self.findings)

    def sections(self, label: str) -> list[Section]:
        return sections_of(self.data, label, name=self.name, findings=self.findings)


def read_job(path: Path) -> tuple[Job | None, tuple[Problem, ...]]:
    """Read a job and every file it names.

    Returns the job and no problems, or None and every problem found in all the files together.
    """
    findings = Findings()
    job = None
    with findings.catching():
        files = Files(path.parent)
        content = files.read(path.name, key="job file")
        data = load_toml(content, name=path.name, key="job file")
        job = _job(_Reading(path.name, data, files, findings))
    return (None if findings.count else job), findings.problems()


def _job(reading: _Reading) -> Job | None:
    findings, files = reading.findings, reading.files
    Section("job file", reading.name, reading.data).check_keys(TOP_KEYS, findings)
    head = _head(reading)
    practice = read_practice(reading.section("practice"), head.clock, findings)
    uncertainty = read_uncertainty(reading.section("uncertainty"), head.clock, findings)
    entries = _entries(reading)
    ground = _ground(entries, head.clock, findings)
    fire_cells = fire_section_cells(reading.section("fire"), findings)
    assets = make_assets(
        entries, ground, fire_cells=fire_cells, clock=head.clock, findings=findings
    )
    drawn = _drawn(reading, head.clock, ground, assets)
    ends_s = _last_s(assets, practice.ember_period_s if practice else float("nan"))
    weather = _weather(reading, head, assets, ground, ends_s)
    product = _product(reading, head)
    trials = read_trials_section(reading.section("trials"), product, files, head.clock, findings)
    lists = _lists(reading, head.clock, ground, assets)
    local = read_local(reading.section("local"), head.clock, findings)
    if findings.count or not (
        ground and weather and product and practice and uncertainty and local
    ):
        return None
    return Job(
        name=head.name,
        time_zone=head.clock.name,
        crs=ground.crs,
        start_s=head.start_s,
        members=head.members,
        seed=head.seed,
        assets=assets,
        weather=weather,
        product=product,
        practice=practice,
        uncertainty=uncertainty,
        input_hash=files.input_hash,
        sources=files.names,
        remarks=findings.remarks,
        trials=trials,
        trials_source=_trials_source(reading),
        local=local,
        units=head.units,
        currency=head.currency,
        **drawn,
        **lists,
    )


def _drawn(
    reading: _Reading, clock: Clock, ground: Ground | None, assets: tuple[Asset, ...]
) -> dict[str, Any]:
    """Lines and streams; a line, or all streams, on another side of the earth are noted."""
    findings, files = reading.findings, reading.files
    lines = read_lines(reading.section("lines"), ground, files, clock, findings)
    streams = read_streams(reading.section("streams"), ground, files, findings)
    tracks = [(f"line {line.id}", line.track_m) for line in lines]
    note_far_tracks(findings, assets, [*tracks, ("streams", _joined(streams))])
    return {"lines": lines, "streams_m": streams}


def _lists(
    reading: _Reading, clock: Clock, ground: Ground | None, assets: tuple[Asset, ...]
) -> dict[str, Any]:
    """Crews, water points, depots, wells and roads; those far from the assets are noted."""
    findings = reading.findings
    crews = read_crews(_list(reading, "crews", "crew"), ground, clock, findings)
    water = read_water_points(_list(reading, "water", "water_point"), ground, clock, findings)
    depots = read_depots(_list(reading, "depots", "depot"), ground, clock, findings)
    wells = read_wells(_list(reading, "wells", "well"), ground, clock, findings)
    note_far_places(findings, assets, _spots(crews, water, depots, wells))
    roads = read_roads(reading.section("roads"), ground, reading.files, clock, findings)
    note_far_tracks(findings, assets, [("roads", _joined(road.track_m for road in roads))])
    return {
        "crews": crews,
        "water_points": water,
        "depots": depots,
        "wells": wells,
        "roads": roads,
    }


def _joined(tracks: Iterable[Track]) -> Track:
    """All points together, of a file that may hold a whole region."""
    return tuple(spot for track in tracks for spot in track)


def _weather(
    reading: _Reading,
    head: _Head,
    assets: tuple[Asset, ...],
    ground: Ground | None,
    ends_s: float,
) -> Weather | None:
    """The weather up to ``ends_s``, with a remark where it looks odd or was taken far away."""
    findings = reading.findings
    weather = read_weather(
        reading.section("weather"),
        reading.files,
        head.clock,
        findings,
        from_s=head.start_s,
        to_s=ends_s,
    )
    if weather is not None:
        note_odd_weather(findings, weather)
        if ground is not None:
            note_far_weather(findings, weather, ground, assets)
    return weather


def _trials_source(reading: _Reading) -> str:
    section = reading.section("trials")
    return "" if section is None else str(section.values.get("file", ""))


def _head(reading: _Reading) -> _Head:
    findings = reading.findings
    section = reading.section("job") or Section("[job]", f"{reading.name}, [job]", {})
    section.check_keys(JOB_KEYS, findings)
    clock = Clock(None)
    zone = section.values.get("time_zone")
    with findings.catching():
        clock = read_zone(zone, field="time_zone", place=section.place)
    defaults = {
        "members": Default(float(_MEMBERS), given("method")),
        "seed": Default(float(_SEED), given("method")),
    }
    picker = Picker(section.cells(JOB_KEYS), section.place, findings, clock, defaults)
    return _Head(
        name=picker.text("name"),
        clock=clock,
        start_s=picker.time("start"),
        units=picker.word("units", SYSTEMS) if picker.has("units") else SYSTEMS[0],
        currency=_currency(picker),
        members=picker.whole("members", 8, 4096),
        seed=picker.whole("seed", 0, 2**31 - 1),
    )


def _currency(picker: Picker) -> str:
    """The code of the job's money; dollars where it names none."""
    code = picker.text("currency").upper() if picker.has("currency") else DOLLAR
    if code not in CURRENCIES and not picker.failed:
        hint = nearest_hint(code, CURRENCIES)
        picker.findings.add(Problem("currency", A_CURRENCY, shown(code), picker.place, hint))
    return code


def _entries(reading: _Reading) -> list[Entry]:
    findings = reading.findings
    section = reading.section("assets")
    if section is None:
        findings.add(Problem("assets", "an [assets] table with a file", "none", reading.name))
        return []
    section.check_keys((*FILE_KEYS, "defaults", "crs"), findings)
    placer = Placer()
    with findings.catching():
        placer = Placer(read_crs(section.text("crs", findings), section.place))
    table = open_table(section, reading.files, findings)
    if table is None:
        return []
    return read_entries(
        table,
        mapping=section.table("columns", findings),
        defaults=default_cells(section, ASSET_COLUMNS, findings),
        placer=placer,
        findings=findings,
    )


def _ground(entries: list[Entry], clock: Clock, findings: Findings) -> Ground | None:
    placed = []
    for entry in entries:
        if entry.geometry is not None:
            middle = entry.geometry.representative_point()
            placed.append((entry.place, float(middle.x), float(middle.y)))
    if not placed:
        return None
    note_far_zone(findings, clock, placed[0][1], placed[0][2], placed[0][0])
    with findings.catching():
        return choose_ground(placed)
    return None


def _last_s(assets: tuple[Asset, ...], ember_period_s: float) -> float:
    """When the last fire window ends, or NaN when no asset could be read."""
    latest = max((asset.fire.arrival_to_s for asset in assets), default=float("nan"))
    return latest + ember_period_s


def _spots(
    crews: tuple[Crew, ...],
    water: tuple[WaterPoint, ...],
    depots: tuple[Depot, ...],
    wells: tuple[Well, ...],
) -> list[Spot]:
    """Everything beside the assets that stands somewhere, with what to call it."""
    starts = [(f"crew {crew.id}", *crew.start_m) for crew in crews if crew.start_m is not None]
    return [
        *starts,
        *((f"water point {one.id}", one.x_m, one.y_m) for one in water),
        *((f"depot {one.id}", one.x_m, one.y_m) for one in depots),
        *((f"well {one.id}", one.x_m, one.y_m) for one in wells),
    ]


def _product(reading: _Reading, head: _Head) -> Product | None:
    findings = reading.findings
    section = reading.section("product")
    if section is None:
        findings.add(Problem("product", "a [product] table", "none", reading.name))
        return None
    if "file" not in section.values:
        return read_product(section, head.clock, findings, head.currency)
    section.check_keys(("file", "use"), findings)
    name, use = section.text("file", findings), section.text("use", findings)
    if name is None:
        return None
    with findings.catching():
        data = load_toml(reading.files.read(name, key="[product] file"), name=name, key="[product]")
        found = sections_of(data, "product", name=name, findings=findings)
        chosen = choose_product(found, use, name)
        return read_product(chosen, head.clock, findings, head.currency)
    return None


def _list(reading: _Reading, plural: str, label: str) -> list[Any]:
    rows = read_list(
        reading.section(plural),
        reading.sections(label),
        _LISTS[label],
        label=label,
        files=reading.files,
        findings=reading.findings,
    )
    if label == "crew" and not rows and not reading.findings.count:
        wanted = "at least one [[crew]], or [crews] with a file"
        reading.findings.add(Problem("crews", wanted, "none", reading.name))
    return rows
