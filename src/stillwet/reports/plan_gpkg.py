"""The plan as a new GeoPackage for any GIS: assets, footprints, faces, lines, streams, water."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from stillwet.domain.plan import AssetPlan, Plan, SurfacePlan
from stillwet.reports.local_time import LocalClock
from stillwet.reports.words import clean

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Row = dict[str, str | float]


def plan_gpkg_write(plan: Plan, path: Path) -> None:
    """Write the plan to a new GeoPackage at ``path``, in the plan's own CRS.

    Layers: ``assets`` (points), ``footprints`` (polygons, of those assets that have one),
    ``surfaces`` (a point a face, at its asset), ``lines``, ``streams``, ``water_points``. Times are
    ISO 8601 text with the job's offset; SI with the unit in the column's name; a layer with
    nothing in it is left out.
    """
    from shapely.geometry import LineString, Point, Polygon

    clock = LocalClock(plan.time_zone)
    rows = [_asset_row(plan, asset, clock) for asset in plan.assets]
    points = [Point(asset.x_m, asset.y_m) for asset in plan.assets]
    _write(plan, path, "assets", "Point", points, rows)
    outlined = [(a, row) for a, row in zip(plan.assets, rows, strict=True) if a.footprint_m]
    rings = [Polygon(asset.footprint_m) for asset, _ in outlined]
    _write(plan, path, "footprints", "Polygon", rings, [row for _, row in outlined])
    faces = [(asset, face) for asset in plan.assets for face in asset.surfaces]
    face_points = [Point(asset.x_m, asset.y_m) for asset, _ in faces]
    face_rows = [_face_row(asset, face, clock) for asset, face in faces]
    _write(plan, path, "surfaces", "Point", face_points, face_rows)
    for layer, tracks in (("lines", plan.lines_m), ("streams", plan.streams_m)):
        numbered: list[Row] = [{"number": float(n)} for n in range(1, len(tracks) + 1)]
        _write(plan, path, layer, "LineString", [LineString(t) for t in tracks], numbered)
    water = [Point(x, y) for _, x, y in plan.water_points_m]
    names: list[Row] = [{"name": clean(name)} for name, _, _ in plan.water_points_m]
    _write(plan, path, "water_points", "Point", water, names)


def _asset_row(plan: Plan, asset: AssetPlan, clock: LocalClock) -> Row:
    bearing = asset.fire_bearing_deg
    return {
        "plan_id": plan.id,
        "asset_id": asset.asset_id,
        "name": clean(asset.name),
        "kind": asset.kind,
        "verdict": str(asset.verdict),
        "reason": clean(asset.reason),
        "exposure": clean(asset.exposure),
        "fire_from_deg": math.nan if bearing is None else bearing,
        "fire_window_from": clock.iso(asset.fire_window_from_s) or "",
        "fire_window_to": clock.iso(asset.fire_window_to_s) or "",
        **_answer(asset.governing, clock),
        "area_m2": asset.area_m2,
        "mix_m3": asset.mix_m3,
        "water_m3": asset.water_m3,
        "concentrate_m3": asset.concentrate_m3,
        "work_s": asset.work_s,
        "value": asset.value,
        "note": clean(asset.note),
    }


def _face_row(asset: AssetPlan, face: SurfacePlan, clock: LocalClock) -> Row:
    surface = face.surface
    return {
        "surface_id": surface.id,
        "asset_id": asset.asset_id,
        "label": clean(surface.label),
        "verdict": str(face.verdict),
        "reason": clean(face.reason),
        **_answer(face, clock),
        "area_m2": surface.area_m2,
        "tilt_deg": surface.tilt_deg,
        "azimuth_deg": surface.azimuth_deg,
        "cling_limit_mm": face.cling_limit_kg_m2,
        "water_demand_50_mm": face.water_demand_50_kg_m2,
        "water_demand_90_mm": face.water_demand_90_kg_m2,
        "drying_to_arrival_mm": face.drying_to_arrival_kg_m2,
        "peak_flux_w_m2": face.peak_flux_w_m2,
        "mix_m3": face.mix_m3,
    }


def _answer(face: SurfacePlan, clock: LocalClock) -> Row:
    return {
        "governs": face.governs,
        "probability": face.probability,
        "coat_mm": face.coat_kg_m2,
        "mix_ratio": face.mix_ratio,
        "apply_from": clock.iso(face.apply_from_s) or "",
        "apply_until": clock.iso(face.apply_until_s) or "",
        "hold_until_90": clock.iso(face.hold_until_90_s) or "",
        "hold_until_50": clock.iso(face.hold_until_50_s) or "",
    }


def _write(
    plan: Plan,
    path: Path,
    layer: str,
    kind: str,
    shapes: Sequence[BaseGeometry],
    rows: Sequence[Row],
) -> None:
    if not shapes:
        return
    from pyogrio import raw
    from shapely import to_wkb

    fields = list(rows[0])
    columns = [_column(row[field] for row in rows) for field in fields]
    raw.write(
        path,
        to_wkb(np.array(shapes, dtype=object)),
        columns,
        fields,
        field_mask=[_absent(column) for column in columns],
        layer=layer,
        driver="GPKG",
        geometry_type=kind,
        crs=plan.crs,
        append=path.exists(),
    )


def _column(values: Iterable[str | float]) -> np.ndarray[Any, Any]:
    found = list(values)
    if isinstance(found[0], str):
        return np.array(found, dtype=object)
    return np.array(found, dtype=np.float64)


def _absent(column: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """True where the file is to hold NULL: no number, no time, no words."""
    if column.dtype == object:
        return np.array([value == "" for value in column])
    return np.array(~np.isfinite(column))
