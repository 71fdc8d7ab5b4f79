"""The account of a job as sheets to print: still to do, gel on faces, use, cost, holding."""

from __future__ import annotations

from typing import Any

from stillwet.domain.after import After, AssetUse, CrewUse, LineUse, Residue
from stillwet.reports.after_figure import holding_figure_svg
from stillwet.reports.after_words import (
    NOTE,
    amounts_row,
    clock_of_after,
    coats_words,
    concentrate_unit,
    cost_lines,
    dry_cells,
    due_lines,
    holding_lines,
    learned_line,
    look_cells,
    outcome_cells,
    residue_groups,
    spill_words,
    stock_lines,
    strip_lines,
    use_note,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_pdf import TYPST_PAPER, Paper
from stillwet.reports.source_list import SourceList, breakable
from stillwet.reports.typesetting import set_sheets
from stillwet.reports.words import Units, clean, short_name, shorten, unit_label


def after_pdf_bytes(after: After, *, units: str, paper: str) -> bytes:
    """The sheets as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    model = after_model(after, Units(units)) | {"paper": TYPST_PAPER[Paper(paper)]}
    pictures = {"holding.svg": holding_figure_svg(after)}
    return set_sheets("after", model, pictures, made_s=after.now_s)


def after_model(after: After, units: Units) -> dict[str, Any]:
    """Everything the template prints, in the reader's words."""
    clock, unit = clock_of_after(after), unit_label("m3", units)
    holding, references = after.holding, SourceList(units)
    numbers = references.paragraphs(after.inputs)
    return {
        "job": breakable(shorten(clean(after.job_name), 90)),
        "plan": after.plan_id,
        "product": breakable(clean(after.product_name)),
        "as_of": clock.full(after.now_s),
        "entries": after.entries,
        "note": NOTE,
        "due": [breakable(words) for words in due_lines(after, clock)],
        "residue": [
            {"state": str(state), "count": len(after.residue_in(state)), "groups": groups}
            for state in Residue
            if (groups := _groups(after, state, clock))
        ],
        "strips": [breakable(words) for words in strip_lines(after)],
        "spills": [breakable(spill_words(spill, units, clock)) for spill in after.spills],
        "use_heads": [
            f"Mix {unit}",
            f"Water {unit}",
            f"Concentrate {concentrate_unit(after, units)}",
            "Work min",
            "Coats",
        ],
        "whole": [*amounts_row("All", after.planned, after.used, after, units), ""],
        "use_of": "Asset or line" if after.lines else "Asset",
        "assets": [_use_row(row, after, units) for row in after.places],
        "crews": [_use_row(crew, after, units) for crew in after.crews],
        "use_note": use_note(after),
        "stock": [breakable(words) for words in stock_lines(after, units)],
        "cost": cost_lines(after, units),
        "holding": holding_lines(after),
        "learned": [learned_line(one) for one in after.learned],
        "looks": [_broken(look_cells(look, units, clock)) for look in holding.looks],
        "dries": [_broken(dry_cells(dry, holding.until_s, clock)) for dry in holding.dries],
        "outcomes": [_broken(outcome_cells(row, clock)) for row in after.outcomes],
        "notes": [breakable(clean(note)) for note in after.notes],
        "cautions": list(after.cautions),
        "numbers": numbers,
        "sources": references.listed(),
    }


def _broken(cells: list[str]) -> list[str]:
    return [breakable(cell) for cell in cells]


def _use_row(row: AssetUse | LineUse | CrewUse, after: After, units: Units) -> list[str]:
    name = breakable(short_name(row.name, 60))
    return [*amounts_row(name, row.planned, row.used, after, units), coats_words(row)]


def _groups(after: After, state: Residue, clock: LocalClock) -> list[dict[str, Any]]:
    """The faces of one state by asset; open ones get a box to tick, a time, and what is near."""
    return [
        {
            "name": breakable(short_name(row.asset_name, 60)),
            "faces": ", ".join(labels),
            "when": clock.short(row.due_s if state is Residue.OPEN else row.washed_s),
            "by": breakable(clean(row.washed_by)),
            "wary": " and ".join(row.wary),
        }
        for row, labels in residue_groups(after, state)
    ]
