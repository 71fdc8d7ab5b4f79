"""The asset list: rows or features become assets, what is missing taken by kind and said so."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from stillwet.domain.assets import Asset, Shading
from stillwet.domain.basis import Basis, BasisKind, given
from stillwet.domain.suitability import Delivery, Site, Task
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock
from stillwet.exchange.fields import (
    Cell,
    Default,
    Picker,
    Quantity,
    read_word,
    row_names,
    table_default,
)
from stillwet.exchange.findings import Findings, nearest_hint, note_doubles
from stillwet.exchange.fire import FIRE_BEARINGS, FIRE_QUANTITIES, FIRE_WORDS, read_fire
from stillwet.exchange.footprints import (
    Footprint,
    measure,
    measure_track,
    outer_rings,
    worthwhile_parts,
)
from stillwet.exchange.ground import Ground
from stillwet.exchange.local import optional_flag
from stillwet.exchange.positions import POSITION_QUANTITIES, Placer
from stillwet.exchange.tabular import Columns, Matched, Row, Table, column_letter, match_columns
from stillwet.tables import load_table

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

VALUE = Quantity("value", "", 0.0, 1e9)
LENGTH = Quantity("length", "length", 0.01, 1000.0, "m")
WIDTH = Quantity("width", "length", 0.001, 1000.0, "m")
EAVE_HEIGHT = Quantity("eave_height", "length", 0.05, 300.0, "m")
ROOF_PITCH = Quantity("roof_pitch", "angle", 0.0, 75.0, "deg")
SHELTERING = Quantity("sheltering", "fraction", 0.05, 1.5, "fraction", bare=True)
COAT_GAP = Quantity("coat_gap", "time", 0.0, 86400.0, "s")
_OWN = {spec.name: spec for spec in (VALUE, LENGTH, WIDTH, EAVE_HEIGHT, ROOF_PITCH, SHELTERING)}
_WORDS = (
    *("id", "name", "kind", "material", "shading", "released", "note", "footprint"),
    *("must", "needs", "coats", "after", "recoat"),
    *("task", "delivery", "energised", "heritage", "has_windows", "collects_rain"),
)

ASSET_COLUMNS = Columns(
    quantities={**_OWN, COAT_GAP.name: COAT_GAP, **POSITION_QUANTITIES, **FIRE_QUANTITIES},
    words=(*_WORDS, *FIRE_WORDS),
    bearings=("facing", *FIRE_BEARINGS),
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of the list: its cells laid over the job's defaults, and its place on the earth."""

    place: str
    number: int
    noun: str
    cells: Mapping[str, Cell]
    geometry: BaseGeometry | None  # longitude, latitude; None when it is faulty or missing
    kind_is_told: bool  # a column or default for the kind exists (its absence is noted once)


def read_entries(
    table: Table,
    *,
    mapping: Mapping[str, Any],
    defaults: Mapping[str, Cell],
    placer: Placer,
    findings: Findings,
) -> list[Entry]:
    """The rows of an asset list with their positions checked."""
    if not table.rows:
        return []  # every feature was faulty, and said so
    matched = match_columns(table, ASSET_COLUMNS, findings, mapping)
    told = _kind_is_told(table, matched, defaults, findings)
    if _is_placed(table, matched, findings):
        return [_entry(row, table, matched, defaults, placer, told, findings) for row in table.rows]
    return []


def _is_placed(table: Table, matched: Matched, findings: Findings) -> bool:
    """False, and said once, when the table has nothing that could place any of its rows."""
    pairs = (("latitude", "longitude"), ("x", "y"), ("footprint",))
    if any(row.geometry is not None for row in table.rows) or any(
        all(name in matched.headers for name in pair) for pair in pairs
    ):
        return True
    got = "columns " + (", ".join(header for header in table.headers if header) or "none")
    wanted = "columns latitude and longitude, or x and y with a crs"
    hint = 'map them with columns = { latitude = "your column", longitude = "your column" }'
    findings.add(Problem("position", wanted, shown(got, 200), table.name, hint))
    return False


def _kind_is_told(
    table: Table, matched: Matched, defaults: Mapping[str, Cell], findings: Findings
) -> bool:
    told = "kind" in matched.headers or "kind" in defaults
    if not told:
        got = "columns " + (", ".join(header for header in table.headers if header) or "none")
        hint = 'map it with columns = { kind = "..." }, or set defaults = { kind = "house" }'
        findings.add(Problem("kind", "a column of this name", shown(got, 200), table.name, hint))
    return told


def _entry(
    row: Row,
    table: Table,
    matched: Matched,
    defaults: Mapping[str, Cell],
    placer: Placer,
    told: bool,
    findings: Findings,
) -> Entry:
    own = matched.cells(row)
    geometry = None
    with findings.catching():
        geometry = placer.place(own, row.geometry, row.place)
        if geometry.geom_type.endswith("Polygon"):
            outer_rings(geometry, row.place)
    return Entry(row.place, row.number, table.noun, {**defaults, **own}, geometry, told)


def make_assets(
    entries: list[Entry],
    ground: Ground | None,
    *,
    fire_cells: Mapping[str, Cell],
    clock: Clock,
    findings: Findings,
) -> tuple[Asset, ...]:
    """The assets of all good rows; every fault of the others is noted.

    A feature of several polygons becomes several assets with the ids "12a", "12b", ..., which share
    its value by area.
    """
    unnamed = [entry for entry in entries if "id" not in entry.cells]
    if unnamed:
        first = unnamed[0]
        findings.tell(
            f"{len(unnamed)} without id, called by their {first.noun}, such as {_name_of(first)} "
            f"({first.place})"
        )
    made = [
        (entry.place, asset)
        for entry in entries
        for asset in _assets_of(entry, ground, fire_cells, clock, findings)
    ]
    note_doubles(findings, ((place, asset.id) for place, asset in made), "asset")
    _note_wrong_order(findings, made)
    return tuple(asset for _, asset in made)


def _note_wrong_order(findings: Findings, made: list[tuple[str, Asset]]) -> None:
    """Note each ``after`` that names no asset, or that leads back to its own."""
    follows = {asset.id: asset.after for _, asset in made}
    for place, asset in made:
        if asset.after is None:
            continue
        if asset.after not in follows:
            hint = nearest_hint(asset.after, list(follows))
            findings.add(Problem("after", "an asset's id", shown(asset.after), place, hint))
            continue
        seen, step = {asset.id}, asset.after
        while step not in seen and (onward := follows.get(step)) is not None:
            seen.add(step)
            step = onward
        if step == asset.id:
            wanted = "no circle of assets that wait for each other"
            findings.add(Problem("after", wanted, shown(asset.after), place))


def _assets_of(
    entry: Entry,
    ground: Ground | None,
    fire_cells: Mapping[str, Cell],
    clock: Clock,
    findings: Findings,
) -> Iterator[Asset]:
    kind = _kind(entry, findings)
    picker = Picker(
        cells={**fire_cells, **entry.cells},
        place=entry.place,
        findings=findings,
        clock=clock,
        defaults=defaults_of_kind(kind) if kind else {},
    )
    picked = _pick(picker, entry, kind, findings) if kind else None
    if not kind:
        read_fire(picker)  # for its faults: all of a row's are reported together
    if picked is None or entry.geometry is None or ground is None:
        return
    shapes = _shapes(entry, kind, ground, findings)
    whole = sum(shape.area_m2 for shape in shapes) or 1.0
    for index, shape in enumerate(shapes):
        share = shape.area_m2 / whole if len(shapes) > 1 else 1.0
        with findings.catching():
            yield _asset(
                picked,
                shape,
                part=column_letter(index).lower() if len(shapes) > 1 else "",
                share=share,
            )


def _kind(entry: Entry, findings: Findings) -> str:
    kinds = load_table("kinds")["kind"]
    if "kind" not in entry.cells:
        if entry.kind_is_told:
            wanted = "one of " + ", ".join(kinds)
            findings.add(Problem("kind", wanted, "nothing", entry.place))
        return ""
    with findings.catching():
        return read_word(entry.cells["kind"], "kind", kinds)
    return ""


@cache
def kind_defaults(kind: str) -> dict[str, Default]:
    """The untested defaults of a kind of asset, by field, each with its interval."""
    table = load_table("kinds")
    row = table["kind"][kind]
    source = str(row["source"])
    defaults = {
        name: table_default(
            row[name],
            unit=unit,
            dimension=ASSET_COLUMNS.dimension(name),
            source=source,
        )
        for name, unit in table["units"].items()
    }
    for name in ("material", "shading"):
        basis = Basis(BasisKind.UNTESTED, source, instead=str(row[name]["instead"]))
        defaults[name] = Default(str(row[name]["value"]), basis)
    return defaults


def defaults_of_kind(kind: str) -> dict[str, Default]:
    """Everything that is taken of an asset of this kind where the list says nothing."""
    return {**kind_defaults(kind), **_coating_defaults()}


@cache
def _coating_defaults() -> dict[str, Default]:
    """What is taken of passes where the list says nothing."""
    gap = load_table("practice")["asset"][COAT_GAP.name]
    spec = {"unit": gap["unit"], "dimension": COAT_GAP.dimension, "source": gap["source"]}
    return {
        "coats": Default(1.0, given("method")),
        COAT_GAP.name: table_default(gap, **spec),
    }


def material_names() -> dict[str, str]:
    """Every way to write a material (its id or its label) and its id."""
    return row_names(load_table("materials"))


def _name_of(entry: Entry) -> str:
    """What an asset without an id is called."""
    return f"{entry.noun}-{entry.number}"


@dataclass(frozen=True, slots=True)
class _Picked:
    """The checked values of one row, before its footprint has its say."""

    record: dict[str, Any]
    basis: dict[str, Basis]
    given: frozenset[str]
    place: str


def _pick(picker: Picker, entry: Entry, kind: str, findings: Findings) -> _Picked | None:
    identity = picker.text("id") if picker.has("id") else _name_of(entry)
    materials = material_names()
    record: dict[str, Any] = {
        "id": identity,
        "name": picker.text("name") if picker.has("name") else identity,
        "kind": kind,
        "value": picker.number(VALUE),
        "length_m": picker.number(LENGTH),
        "width_m": picker.number(WIDTH),
        "eave_height_m": picker.number(EAVE_HEIGHT),
        "roof_pitch_deg": picker.number(ROOF_PITCH),
        "facing_deg": picker.bearing("facing"),
        "material": materials.get(picker.word("material", materials), ""),
        "shading": picker.word("shading", [word.value for word in Shading]),
        "sheltering": picker.number(SHELTERING),
        "released": picker.flag("released", otherwise=True),
        "note": picker.text("note") if picker.has("note") else "",
        "must": picker.flag("must", otherwise=False),
        "needs": picker.words("needs"),
        "site": _site(picker),
        "coats": picker.whole("coats", 1, 2),
        "coat_gap_s": picker.number(COAT_GAP),
        "after": picker.text("after") if picker.has("after") else None,
        "recoat": picker.flag("recoat", otherwise=False),
        "fire": read_fire(picker),
    }
    if picker.failed or record["fire"] is None:
        return None
    record["shading"] = Shading(record["shading"])
    told = (*_OWN, "facing", "material", "shading")
    if record["coats"] > 1 or record["recoat"]:
        told = (*told, COAT_GAP.name)  # nothing hangs on it else
    own = {name: picker.basis[name] for name in told}
    return _Picked(record, own, frozenset(picker.cells), entry.place)


def _site(picker: Picker) -> Site:
    """What suitability asks of a row; what it leaves unsaid is not known."""
    task = picker.word("task", Task) if picker.has("task") else ""
    delivery = picker.word("delivery", Delivery) if picker.has("delivery") else ""
    return Site(
        task=Task(task) if task else None,
        delivery=Delivery(delivery) if delivery else Delivery.GROUND,
        release_told=picker.has("released"),
        heritage=optional_flag(picker, "heritage"),
        energised=optional_flag(picker, "energised"),
        has_windows=optional_flag(picker, "has_windows"),
        collects_rain=optional_flag(picker, "collects_rain"),
    )


def _shapes(entry: Entry, kind: str, ground: Ground, findings: Findings) -> list[Footprint]:
    """What is drawn, in metres: one footprint a polygon, a track for a fence, else a point."""
    from shapely.geometry import LineString, MultiPolygon, Point, Polygon

    geometry = entry.geometry
    assert geometry is not None  # the caller has looked
    shape = load_table("kinds")["kind"][kind]["shape"]
    if isinstance(geometry, (Polygon, MultiPolygon)) and shape in {"building", "deck"}:
        return _footprints(geometry, entry, ground, findings)
    if isinstance(geometry, LineString) and shape in {"screen", "deck"}:
        return [measure_track(ground.project(geometry))]
    if not isinstance(geometry, (Point, Polygon, MultiPolygon)):
        wanted = f"a {'point or line' if shape == 'screen' else 'point or polygon'} for a {kind}"
        findings.add(Problem("geometry", wanted, geometry.geom_type, entry.place))
        return []
    if not isinstance(geometry, Point):
        findings.tell(f"{entry.place}: only the middle of the polygon is used for a {kind}")
    middle = geometry.representative_point()
    x_m, y_m = ground.point(middle.x, middle.y)
    return [Footprint(None, x_m, y_m, 0.0, 0.0, None, 0.0)]


def _footprints(
    geometry: BaseGeometry, entry: Entry, ground: Ground, findings: Findings
) -> list[Footprint]:
    outers = outer_rings(geometry, entry.place)
    parts = worthwhile_parts([ground.project(outer) for outer in outers])
    if parts.small:
        findings.tell(f"{entry.place}: {parts.small} part(s) under 1 m2 left out")
    if len(parts.polygons) > 1:
        findings.tell(f"{entry.place}: {len(parts.polygons)} parts, planned as one asset each")
    holes = sum(len(part.interiors) for part in getattr(geometry, "geoms", [geometry]))
    if holes:
        findings.tell(f"{entry.place}: {holes} hole(s) in the footprint ignored")
    return [measure(polygon) for polygon in parts.polygons]


def _asset(picked: _Picked, shape: Footprint, *, part: str, share: float) -> Asset:
    record, basis = dict(picked.record), dict(picked.basis)
    drawn = given(f"{picked.place}, drawn")
    if shape.length_m > 0:
        record["length_m"], basis["length"] = shape.length_m, drawn
    if shape.width_m > 0:
        record["width_m"], basis["width"] = shape.width_m, drawn
    if shape.facing_deg is not None and "facing" not in picked.given:
        record["facing_deg"], basis["facing"] = shape.facing_deg, drawn
    record["id"] += part
    record["name"] += f" {part}" if part else ""
    record["value"] *= share
    try:
        return Asset(x_m=shape.x_m, y_m=shape.y_m, footprint_m=shape.ring_m, basis=basis, **record)
    except StillwetError as error:
        raise StillwetError(
            Problem(p.field, p.wanted, p.got, picked.place, p.hint) for p in error.problems
        ) from None
