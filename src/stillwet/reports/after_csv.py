"""The account as tables (CSV): use, checks, residue and outcomes. SI, safe in a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from stillwet.domain.after import After, Amounts, AssetUse, CrewUse, LineUse
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_csv import Cell, csv_cell

_PLANNED = ("planned_mix_m3", "planned_water_m3", "planned_concentrate_m3", "planned_work_s")
_USED = ("used_mix_m3", "used_water_m3", "used_concentrate_m3", "used_work_s")


def _csv(headers: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    page = io.StringIO()
    writer = csv.writer(page)
    writer.writerow(headers)
    writer.writerows([csv_cell(cell) for cell in row] for row in rows)
    return page.getvalue()


def _flag(value: bool | None) -> Cell:
    return None if value is None else ("yes" if value else "no")


def use_csv_text(after: After) -> str:
    """One row an asset, then one a stretch of line, then one a crew; "of" says which."""
    clock = LocalClock(after.time_zone)
    lead = ("of", "id", "name", *_PLANNED, *_USED, "coats", "coats_with_amount")
    ends = ("first_coat", "last_coat", "stock_water_m3", "stock_concentrate_m3")
    rows: list[list[Cell]] = [_place_cells("asset", row.asset_id, row) for row in after.assets]
    rows += [_place_cells("line", row.segment_id, row) for row in after.lines]
    rows += [_crew_cells(row, clock) for row in after.crews]
    return _csv((*lead, *ends, "stock_ratio_fraction"), rows)


def _amounts(amounts: Amounts | None) -> list[Cell]:
    if amounts is None:
        return [None] * len(_USED)
    return [amounts.mix_m3, amounts.water_m3, amounts.concentrate_m3, amounts.work_s]


def _place_cells(of: str, place_id: str, row: AssetUse | LineUse) -> list[Cell]:
    head: list[Cell] = [of, place_id, row.name]
    counts: list[Cell] = [row.coats, row.said]
    return [*head, *_amounts(row.planned), *_amounts(row.used), *counts, *[None] * 5]


def _crew_cells(row: CrewUse, clock: LocalClock) -> list[Cell]:
    stock: list[Cell] = [None] * 3
    if row.stock is not None:
        stock = [row.stock.water_m3, row.stock.concentrate_m3, row.stock.ratio]
    head: list[Cell] = ["crew", row.crew_id, row.name]
    times: list[Cell] = [clock.iso(row.first_s), clock.iso(row.last_s)]
    counts: list[Cell] = [row.coats, row.said]
    return [*head, *_amounts(row.planned), *_amounts(row.used), *counts, *times, *stock]


def checks_csv_text(after: After) -> str:
    """One row a check, beside what had been predicted for it."""
    clock = LocalClock(after.time_zone)
    lead = ("surface_id", "asset", "face", "laid", "checked", "feel", "chance_wet_fraction")
    seen = ("chance_dry_fraction", "found_wet", "weighed_mm", "predicted_05_mm")
    return _csv(
        (*lead, *seen, "predicted_50_mm", "predicted_95_mm", "weight_within"),
        (
            (
                look.surface_id,
                look.asset_name,
                look.label,
                clock.iso(look.laid_s),
                clock.iso(look.when_s),
                None if look.feel is None else str(look.feel),
                look.chance_wet,
                look.chance_dry,
                _flag(look.is_wet),
                look.weighed_kg_m2,
                *(look.weight_band or (None, None, None)),
                _flag(look.is_within),
            )
            for look in after.holding.looks
        ),
    )


def residue_csv_text(after: After) -> str:
    """One row a face that has been coated, those still to be washed first."""
    clock = LocalClock(after.time_zone)
    headers = ("surface_id", "asset_id", "asset", "face", "state", "coats", "last_coat")
    return _csv(
        (*headers, "washed", "washed_by", "best_washed_by", "keep_wash_water_from"),
        (
            (
                row.surface_id,
                row.asset_id,
                row.asset_name,
                row.label,
                str(row.state),
                row.coats,
                clock.iso(row.laid_s),
                clock.iso(row.washed_s),
                row.washed_by,
                clock.iso(row.due_s),
                "; ".join(row.wary),
            )
            for row in after.residue
        ),
    )


def outcomes_csv_text(after: After) -> str:
    """One row an asset: what was predicted, laid and felt, and what became of it."""
    clock = LocalClock(after.time_zone)
    lead = ("plan_id", "product", "asset_id", "asset", "kind", "exposure", "planned_verdict")
    laid = ("planned_chance_fraction", "coats", "last_coat", "thinnest_coat_mm")
    headers = (
        *lead,
        *laid,
        "front_passed",
        "chance_not_dry_then_fraction",
        "last_feel",
        "last_felt",
    )
    return _csv(
        (*headers, "fate"),
        (
            (
                after.plan_id,
                after.product_name,
                row.asset_id,
                row.name,
                row.kind,
                row.exposure,
                str(row.verdict),
                row.chance,
                row.coats,
                clock.iso(row.laid_s),
                row.coat_kg_m2,
                clock.iso(row.passed_s),
                row.chance_not_dry,
                None if row.last_feel is None else str(row.last_feel),
                clock.iso(row.last_feel_s),
                None if row.fate is None else str(row.fate),
            )
            for row in after.outcomes
        ),
    )
