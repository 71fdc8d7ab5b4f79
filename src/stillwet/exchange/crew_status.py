"""The file that says how the day stands: a TOML or CSV of what is done, beside the old plan."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from stillwet.domain.assets import Asset
from stillwet.domain.crew_status import CrewState, CrewStatus, DoneWork
from stillwet.domain.job import Job
from stillwet.domain.products import Depot, WaterPoint
from stillwet.errors import Problem, shown
from stillwet.exchange.clock import Clock, read_zone
from stillwet.exchange.crew_before import PlanBefore, read_plan_before
from stillwet.exchange.crews import CONCENTRATE, STOCK, WATER
from stillwet.exchange.fields import Picker
from stillwet.exchange.files import read_bytes
from stillwet.exchange.findings import Findings, nearest_hint, note_doubles
from stillwet.exchange.plausible import note_far_places
from stillwet.exchange.positions import LATITUDE, LONGITUDE
from stillwet.exchange.tabular import Columns, match_columns, read_csv
from stillwet.exchange.toml_door import Section, load_toml, sections_of

_DONE = Columns(
    quantities={}, words=("asset", "time", "crew", "part", "coat"), required=("asset", "time")
)
_STATE = {spec.name: spec for spec in (LATITUDE, LONGITUDE, WATER, CONCENTRATE)}
_STATE_KEYS = (*_STATE, "id", "at", "free", "out")
_DEPOT_KEYS = ("id", STOCK.name)
_OLD_PLAN = "crews.json"


def read_crew_status(path: Path, job: Job) -> CrewStatus:
    """The day so far of a job; raises StillwetError with every problem of the files."""
    findings = Findings()
    clock = read_zone(job.time_zone, field="time_zone", place="job file")
    data: dict[str, Any] = {}
    pickers: list[Picker] = []
    with findings.catching():
        content = read_bytes(path, name=path.name, key="--from-now")
        if path.suffix.lower() == ".toml":
            data = load_toml(content, name=path.name, key="--from-now")
            pickers = _toml_rows(data, path.name, clock, findings)
        else:
            table = read_csv(content, name=path.name, key="--from-now")
            matched = match_columns(table, _DONE, findings)
            pickers = [Picker(matched.cells(r), r.place, findings, clock) for r in table.rows]
    done = tuple(_done(picker, job) for picker in pickers)
    head = Section("file", path.name, data)
    now = None
    if "now" in data:
        now = Picker(head.cells(("now",)), path.name, findings, clock).time("now")
    states = sections_of(data, "crew", name=path.name, findings=findings)
    crews = tuple(_state(row, job, clock, findings) for row in states)
    ids = [(row.place, state.crew_id) for row, state in zip(states, crews, strict=True)]
    note_doubles(findings, ids, "crew")
    stands = [(f"crew {one.crew_id}", *one.at_m) for one in crews if one.at_m is not None]
    note_far_places(findings, job.assets, stands)
    stocks = _stocks(data, path.name, job, clock, findings)
    before = PlanBefore({}, {})
    old = head.text("plan", findings) or _OLD_PLAN
    with findings.catching():
        before = read_plan_before(path.parent / old, old, job)
    findings.need_none()
    return CrewStatus(now, done, crews, before.orders, before.loads, before.began, stocks)


def _toml_rows(
    data: Mapping[str, Any], name: str, clock: Clock, findings: Findings
) -> list[Picker]:
    Section("file", name, data).check_keys(("now", "plan", "done", "crew", "depot"), findings)
    rows = sections_of(data, "done", name=name, findings=findings)
    for row in rows:
        row.check_keys(_DONE.names, findings)
    return [Picker(row.cells(_DONE.names), row.place, findings, clock) for row in rows]


def _known(picker: Picker, name: str, known: Mapping[str, str], noun: str) -> str:
    """The id of something the job has, given by id or name; a wrong one is noted."""
    told = picker.text(name)
    by_name = {label.casefold(): key for key, label in known.items()}
    if not told or told in known:
        return told
    if told.casefold() in by_name:
        return by_name[told.casefold()]
    hint = nearest_hint(told, [*known, *known.values()])
    picker.findings.add(Problem(name, f"{noun} of the job", shown(told), picker.place, hint))
    return ""


def _done(picker: Picker, job: Job) -> DoneWork:
    assets = {asset.id: asset.name for asset in job.assets}
    crews = {crew.id: crew.name for crew in job.crews}
    return DoneWork(
        asset_id=_known(picker, "asset", assets, "an asset"),
        part=picker.whole("part", 1, 1000) if picker.has("part") else None,
        crew_id=_known(picker, "crew", crews, "a crew") if picker.has("crew") else "",
        time_s=picker.time("time"),
        coat=picker.word("coat", ("1", "2", "recoat")) if picker.has("coat") else None,
    )


def _state(row: Section, job: Job, clock: Clock, findings: Findings) -> CrewState:
    row.check_keys(_STATE_KEYS, findings)
    picker = Picker(row.cells(_STATE_KEYS), row.place, findings, clock)
    return CrewState(
        crew_id=_known(picker, "id", {crew.id: crew.name for crew in job.crews}, "a crew"),
        at_m=_place(picker, job),
        water_m3=picker.optional_number(WATER),
        concentrate_m3=picker.optional_number(CONCENTRATE),
        free_s=picker.time("free") if picker.has("free") else None,
        out=picker.flag("out", otherwise=False),
    )


def _stocks(
    data: Mapping[str, Any], name: str, job: Job, clock: Clock, findings: Findings
) -> dict[str, float]:
    """What depots hold now, by id."""
    told: list[tuple[str, str, float]] = []
    for row in sections_of(data, "depot", name=name, findings=findings):
        row.check_keys(_DEPOT_KEYS, findings)
        picker = Picker(row.cells(_DEPOT_KEYS), row.place, findings, clock)
        known = {depot.id: depot.name for depot in job.depots}
        told.append((row.place, _known(picker, "id", known, "a depot"), picker.number(STOCK)))
    note_doubles(findings, [(place, depot_id) for place, depot_id, _ in told], "depot")
    return {depot_id: stock_m3 for _, depot_id, stock_m3 in told}


def _place(picker: Picker, job: Job) -> tuple[float, float] | None:
    """Where a crew stands: at something of the job, or at a longitude and latitude."""
    if picker.has("at"):
        spots: list[Asset | WaterPoint | Depot] = [*job.assets, *job.water_points, *job.depots]
        known = {spot.id: spot.name for spot in spots}
        found = _known(picker, "at", known, "an asset, water point or depot")
        return next(((spot.x_m, spot.y_m) for spot in spots if spot.id == found), None)
    if not (picker.has("latitude") or picker.has("longitude")):
        return None
    from pyproj import Transformer

    to_job = Transformer.from_crs("EPSG:4326", job.crs, always_xy=True)
    x_m, y_m = to_job.transform(picker.number(LONGITUDE), picker.number(LATITUDE))
    return float(x_m), float(y_m)
