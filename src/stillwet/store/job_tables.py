"""The job in and out of its tables: what a plan is made from."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from typing import Any, get_type_hints

from stillwet.domain.assets import Asset, Surface
from stillwet.domain.codec import CodecError, from_plain, from_text, to_plain, to_text
from stillwet.domain.job import Job
from stillwet.domain.lines import Line
from stillwet.domain.products import Crew, Depot, Product, WaterPoint
from stillwet.domain.roads import Road
from stillwet.domain.suitability import Well
from stillwet.errors import Problem, StillwetError
from stillwet.store.geopackage import (
    Point,
    ReferenceSystem,
    extent,
    line_blob,
    point_blob,
    polygon_blob,
    reference_system,
)
from stillwet.store.job_file import JobFile, iso
from stillwet.store.weather_tables import load_weather, save_weather

Row = dict[str, Any]
Track = tuple[Point, ...]
JobMarks = tuple[str, str, str]  # name, time zone, reference system

# Children before parents, so that no reference is left hanging while the tables are emptied.
_EMPTIED = (
    "weather_members",
    "weather",
    "forecasts",
    "surfaces",
    "footprints",
    "assets",
    "lines",
    "streams",
    "roads",
    "water_points",
    "depots",
    "wells",
    "products",
    "crews",
    "job",
)

# The lists of a job that have a table each, with what a row of it holds.
_LISTS: dict[str, tuple[str, Any]] = {
    "assets": ("assets", Asset),
    "lines": ("lines", Line),
    "streams_m": ("streams", Track),
    "roads": ("roads", Road),
    "water_points": ("water_points", WaterPoint),
    "depots": ("depots", Depot),
    "wells": ("wells", Well),
    "crews": ("crews", Crew),
}


def save_job(job_file: JobFile, job: Job, faces: Iterable[Surface], *, now_s: float) -> None:
    """Put a job in place of the one the file holds, in one transaction. The log and plans stay.

    ``faces`` are those of the job's assets. Raises StillwetError when the file's job lies in
    another CRS, because the layers of plans already made lie there too.
    """
    system = reference_system(job.crs)
    with job_file.writing() as connection:
        _need_same_crs(connection, job)
        for table in _EMPTIED:
            connection.execute(f"DELETE FROM {table}")
        _save_head(connection, job, now_s)
        _register(connection, system, now_s)
        for table, (rows, points) in job_rows(job, faces, system.srs_id).items():
            _insert(connection, table, rows)
            _set_extent(connection, table, points)
        save_weather(connection, job.weather)


def load_job(job_file: JobFile) -> Job:
    """The job the file holds; raises StillwetError when there is none or it is damaged."""
    with job_file.reading() as connection:
        row = connection.execute("SELECT record FROM job").fetchone()
        if row is None:
            raise StillwetError(_no_job(job_file))
        try:
            fields = _rest_of(row[0])
            for name, (table, kind) in _LISTS.items():
                fields[name] = _records(connection, table, kind)
            return Job(
                **fields,
                product=_records(connection, "products", Product)[0],
                weather=load_weather(connection),
            )
        except (CodecError, IndexError, TypeError) as error:
            raise StillwetError(_unsound(job_file, error)) from error


def job_marks(job_file: JobFile) -> JobMarks:
    """What stays the same of a job while its forecast, lists and plans change; raises for none."""
    with job_file.reading() as connection:
        row = connection.execute("SELECT record FROM job").fetchone()
    if row is None:
        raise StillwetError(_no_job(job_file))
    try:
        plain = from_text(row[0], dict[str, Any])
        return str(plain["name"]), str(plain["time_zone"]), str(plain["crs"])
    except (CodecError, KeyError) as error:
        raise StillwetError(_unsound(job_file, error)) from error


def _no_job(job_file: JobFile) -> Problem:
    hint = "make one at the desk: stillwet serve; or keep one: stillwet keep"
    return Problem("job", "a job in the file", "none", str(job_file.path), hint)


def _unsound(job_file: JobFile, error: Exception) -> Problem:
    hint = "run: stillwet doctor"
    return Problem("job", "sound records", str(error), str(job_file.path), hint)


def job_rows(
    job: Job, faces: Iterable[Surface], srs_id: int
) -> dict[str, tuple[list[Row], list[Point]]]:
    """What each table of a job holds, parents first: rows, and the points a layer spans."""
    at = {asset.id: (asset.x_m, asset.y_m) for asset in job.assets}
    places = list(at.values())
    outlined = [asset for asset in job.assets if asset.footprint_m]
    rings = [asset.footprint_m or () for asset in outlined]
    tracks = [line.track_m for line in job.lines]
    ways = [road.track_m for road in job.roads]
    faces_rows = [_surface_row(face, at[face.asset_id], srs_id) for face in faces]
    return {
        "assets": ([_asset_row(asset, srs_id) for asset in job.assets], places),
        "footprints": ([_footprint_row(asset, srs_id) for asset in outlined], _joined(rings)),
        "surfaces": (faces_rows, places),
        "lines": ([_line_row(line, srs_id) for line in job.lines], _joined(tracks)),
        "streams": (
            [_stream_row(track, srs_id) for track in job.streams_m],
            _joined(job.streams_m),
        ),
        "roads": ([_road_row(road, srs_id) for road in job.roads], _joined(ways)),
        "water_points": (
            [_water_row(point, srs_id) for point in job.water_points],
            _spots(job.water_points),
        ),
        "depots": ([_depot_row(depot, srs_id) for depot in job.depots], _spots(job.depots)),
        "wells": ([_well_row(well, srs_id) for well in job.wells], _spots(job.wells)),
        "products": ([_product_row(job.product)], []),
        "crews": ([_crew_row(crew) for crew in job.crews], []),
    }


def _joined(tracks: Iterable[Track]) -> list[Point]:
    """Every point of some tracks or rings."""
    return [point for track in tracks for point in track]


def _spots(records: Iterable[WaterPoint | Depot | Well]) -> list[Point]:
    return [(record.x_m, record.y_m) for record in records]


def _footprint_row(asset: Asset, srs_id: int) -> Row:
    return {
        "geom": polygon_blob(asset.footprint_m or (), srs_id),
        "asset_id": sound(asset.id),
        "name": sound(asset.name),
    }


def _stream_row(track: Track, srs_id: int) -> Row:
    return {"geom": line_blob(track, srs_id), "record": to_text(track, Track)}


def _asset_row(asset: Asset, srs_id: int) -> Row:
    return {
        "geom": point_blob((asset.x_m, asset.y_m), srs_id),
        "asset_id": sound(asset.id),
        "name": sound(asset.name),
        "kind": sound(asset.kind),
        "material": sound(asset.material),
        "value": float(asset.value),
        "must": int(asset.must),
        "released": int(asset.released),
        "exposure": sound(asset.fire.name),
        "arrival_from_s": float(asset.fire.arrival_from_s),
        "arrival_to_s": float(asset.fire.arrival_to_s),
        "note": sound(asset.note),
        "record": to_text(asset, Asset),
    }


def _surface_row(face: Surface, at: Point, srs_id: int) -> Row:
    return {
        "geom": point_blob(at, srs_id),
        "surface_id": sound(face.id),
        "asset_id": sound(face.asset_id),
        "label": sound(face.label),
        "geometry": face.geometry.value,
        "tilt_deg": float(face.tilt_deg),
        "azimuth_deg": float(face.azimuth_deg),
        "area_m2": float(face.area_m2),
        "length_m": float(face.length_m),
        "height_m": float(face.height_m),
    }


def _line_row(line: Line, srs_id: int) -> Row:
    return {
        "geom": line_blob(line.track_m, srs_id),
        "line_id": sound(line.id),
        "name": sound(line.name),
        "purpose": line.purpose.value,
        "length_m": float(line.length_m),
        "record": to_text(line, Line),
    }


def _road_row(road: Road, srs_id: int) -> Row:
    return {
        "geom": line_blob(road.track_m, srs_id),
        "speed_m_s": None if road.speed_m_s is None else float(road.speed_m_s),
        "one_way": int(road.one_way),
        "record": to_text(road, Road),
    }


def _water_row(point: WaterPoint, srs_id: int) -> Row:
    return {
        "geom": point_blob((point.x_m, point.y_m), srs_id),
        "point_id": sound(point.id),
        "name": sound(point.name),
        "fill_flow_m3_s": float(point.fill_flow_m3_s),
        "hardness_kg_m3": float(point.hardness_kg_m3),
        "record": to_text(point, WaterPoint),
    }


def _depot_row(depot: Depot, srs_id: int) -> Row:
    return {
        "geom": point_blob((depot.x_m, depot.y_m), srs_id),
        "depot_id": sound(depot.id),
        "name": sound(depot.name),
        "stock_m3": float(depot.stock_m3),
        "record": to_text(depot, Depot),
    }


def _well_row(well: Well, srs_id: int) -> Row:
    return {
        "geom": point_blob((well.x_m, well.y_m), srs_id),
        "well_id": sound(well.id),
        "name": sound(well.name),
        "kind": sound(well.kind),
        "record": to_text(well, Well),
    }


def _product_row(product: Product) -> Row:
    return {
        "product_id": sound(product.id),
        "name": sound(product.name),
        "product_type": sound(product.product_type),
        "ratio_low": float(product.ratio_low),
        "ratio_high": float(product.ratio_high),
        "record": to_text(product, Product),
    }


def _crew_row(crew: Crew) -> Row:
    return {
        "crew_id": sound(crew.id),
        "name": sound(crew.name),
        "tank_m3": float(crew.tank_m3),
        "people": int(crew.people),
        "record": to_text(crew, Crew),
    }


def sound(text: str) -> str:
    """A text that a database column can hold: no halves of character pairs."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _need_same_crs(connection: sqlite3.Connection, job: Job) -> None:
    row = connection.execute("SELECT crs FROM job").fetchone()
    if row is not None and row[0] != job.crs:
        hint = "keep this job in a file of its own"
        raise StillwetError(Problem("crs", f"{row[0]}, as in the file", job.crs, job.name, hint))


def sources_text(job: Job) -> str:
    """The names of the files a job was read from, as the table of inputs has them."""
    return json.dumps(job.sources)


def _save_head(connection: sqlite3.Connection, job: Job, now_s: float) -> None:
    connection.execute(
        "INSERT OR IGNORE INTO inputs (input_hash, kept_s, job_name, sources) VALUES (?, ?, ?, ?)",
        (job.input_hash, now_s, sound(job.name), sources_text(job)),
    )
    head: Row = {
        "id": 1,
        "name": sound(job.name),
        "time_zone": job.time_zone,
        "crs": job.crs,
        "start_s": float(job.start_s),
        "members": job.members,
        "seed": job.seed,
        "input_hash": job.input_hash,
        "kept_s": now_s,
        "record": json.dumps(_rest(job), sort_keys=True),
    }
    _insert(connection, "job", [head])


def _rest_kinds() -> dict[str, Any]:
    """The fields of a job that no table of their own holds, with their types: also future ones."""
    kinds = get_type_hints(Job)
    return {name: kinds[name] for name in kinds if name not in {*_LISTS, "product", "weather"}}


def _rest(job: Job) -> dict[str, Any]:
    return {name: to_plain(getattr(job, name), kind) for name, kind in _rest_kinds().items()}


def _rest_of(text: str) -> dict[str, Any]:
    kinds, plain = _rest_kinds(), from_text(text, dict[str, Any])
    unknown = [name for name in plain if name not in kinds]
    if unknown:
        raise CodecError(f"a job has no field {unknown[0]!r}")
    return {name: from_plain(part, kinds[name]) for name, part in plain.items()}


def _register(connection: sqlite3.Connection, system: ReferenceSystem, now_s: float) -> None:
    """Say in which reference system the layers lie."""
    connection.execute(
        "INSERT OR IGNORE INTO gpkg_spatial_ref_sys (srs_id, srs_name, organization, "
        "organization_coordsys_id, definition) VALUES (?, ?, ?, ?, ?)",
        (
            system.srs_id,
            system.name,
            system.organization,
            system.organization_id,
            system.definition,
        ),
    )
    connection.execute("UPDATE gpkg_geometry_columns SET srs_id = ?", (system.srs_id,))
    connection.execute(
        "UPDATE gpkg_contents SET srs_id = ?, last_change = ? WHERE data_type = 'features'",
        (system.srs_id, iso(now_s)),
    )


def _insert(connection: sqlite3.Connection, table: str, rows: Sequence[Row]) -> None:
    if rows:
        names = ", ".join(rows[0])
        marks = ", ".join(f":{name}" for name in rows[0])
        connection.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", rows)


def _set_extent(connection: sqlite3.Connection, table: str, points: list[Point]) -> None:
    box = extent(points) or (None, None, None, None)
    connection.execute(
        "UPDATE gpkg_contents SET min_x = ?, min_y = ?, max_x = ?, max_y = ? "
        "WHERE table_name = ? AND data_type = 'features'",
        (*box, table),
    )


def _records(connection: sqlite3.Connection, table: str, kind: Any) -> tuple[Any, ...]:
    rows = connection.execute(f"SELECT record FROM {table} ORDER BY id")
    return tuple(from_text(text, kind) for (text,) in rows)
