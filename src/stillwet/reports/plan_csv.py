"""The plan as CSV: one row a face, SI, units in the column names, safe in a spreadsheet."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable

from stillwet.domain.plan import AssetPlan, Plan, SurfacePlan
from stillwet.reports.local_time import LocalClock
from stillwet.reports.words import clean

# A spreadsheet takes a cell that starts so for a formula (OWASP, "CSV Injection").
_FORMULA_STARTS = ("=", "+", "-", "@")

Cell = str | float | None
Column = Callable[[AssetPlan, SurfacePlan, LocalClock], Cell]

_COLUMNS: dict[str, Column] = {
    "asset_id": lambda asset, face, clock: asset.asset_id,
    "asset_name": lambda asset, face, clock: asset.name,
    "kind": lambda asset, face, clock: asset.kind,
    "value": lambda asset, face, clock: asset.value,
    "x_m": lambda asset, face, clock: asset.x_m,
    "y_m": lambda asset, face, clock: asset.y_m,
    "exposure": lambda asset, face, clock: asset.exposure,
    "asset_verdict": lambda asset, face, clock: str(asset.verdict),
    "surface_id": lambda asset, face, clock: face.surface.id,
    "surface": lambda asset, face, clock: face.surface.label,
    "area_m2": lambda asset, face, clock: face.surface.area_m2,
    "tilt_deg": lambda asset, face, clock: face.surface.tilt_deg,
    "azimuth_deg": lambda asset, face, clock: face.surface.azimuth_deg,
    "verdict": lambda asset, face, clock: str(face.verdict),
    "probability_fraction": lambda asset, face, clock: face.probability,
    "governs": lambda asset, face, clock: face.governs,
    "reason": lambda asset, face, clock: face.reason,
    "coat_mm": lambda asset, face, clock: face.coat_kg_m2,
    "coat_needed_mm": lambda asset, face, clock: face.coat_needed_kg_m2,
    "cling_limit_mm": lambda asset, face, clock: face.cling_limit_kg_m2,
    "mix_ratio_fraction": lambda asset, face, clock: face.mix_ratio,
    "apply_from": lambda asset, face, clock: clock.iso(face.apply_from_s),
    "apply_until": lambda asset, face, clock: clock.iso(face.apply_until_s),
    "lay_time": lambda asset, face, clock: clock.iso(face.lay_time_s),
    "hold_until_90": lambda asset, face, clock: clock.iso(face.hold_until_90_s),
    "hold_until_50": lambda asset, face, clock: clock.iso(face.hold_until_50_s),
    "fire_window_from": lambda asset, face, clock: clock.iso(asset.fire_window_from_s),
    "fire_window_to": lambda asset, face, clock: clock.iso(asset.fire_window_to_s),
    "water_demand_50_mm": lambda asset, face, clock: face.water_demand_50_kg_m2,
    "water_demand_90_mm": lambda asset, face, clock: face.water_demand_90_kg_m2,
    "drying_to_arrival_mm": lambda asset, face, clock: face.drying_to_arrival_kg_m2,
    "peak_flux_w_m2": lambda asset, face, clock: face.peak_flux_w_m2,
    "bare_ignition_s": lambda asset, face, clock: face.bare_ignition_s,
    "protection_s": lambda asset, face, clock: face.protection_s,
    "mix_m3": lambda asset, face, clock: face.mix_m3,
    "water_m3": lambda asset, face, clock: face.water_m3,
    "concentrate_m3": lambda asset, face, clock: face.concentrate_m3,
    "spray_s": lambda asset, face, clock: face.spray_s,
}

# The columns that hold a moment, ISO 8601 in the job's zone.
MOMENTS = (
    "apply_from",
    "apply_until",
    "lay_time",
    "hold_until_90",
    "hold_until_50",
    "fire_window_from",
    "fire_window_to",
)


def plan_cells(plan: Plan) -> tuple[tuple[str, ...], list[list[Cell]]]:
    """The plan's table: its header, and one row a face, worst asset first."""
    clock = LocalClock(plan.time_zone)
    faces = [(asset, face) for asset in plan.assets for face in asset.surfaces]
    rows = [
        [plan.id, *(column(asset, face, clock) for column in _COLUMNS.values())]
        for asset, face in faces
    ]
    return ("plan_id", *_COLUMNS), rows


def plan_csv_text(plan: Plan) -> str:
    """The plan as CSV text (RFC 4180, CRLF), worst asset first; no number is an empty cell."""
    page = io.StringIO()
    writer = csv.writer(page)
    header, rows = plan_cells(plan)
    writer.writerow(header)
    writer.writerows([csv_cell(cell) for cell in row] for row in rows)
    return page.getvalue()


def csv_cell(value: Cell) -> str:
    """One value as a cell: shortest exact number, safe text, empty for none."""
    if value is None:
        return ""
    if isinstance(value, str):
        return safe_cell(value)
    return repr(float(value)) if math.isfinite(value) else ""


def safe_cell(text: str) -> str:
    """A user's text that no spreadsheet will run: an apostrophe before what looks a formula."""
    cleaned = clean(text)
    return f"'{cleaned}" if cleaned.startswith(_FORMULA_STARTS) else cleaned
