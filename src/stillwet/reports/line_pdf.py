"""Lines as sheets to print: one line a sheet, then where its numbers came from."""

from __future__ import annotations

from stillwet.domain.line_plan import LinesPlan
from stillwet.reports.line_figure import line_figure_svg
from stillwet.reports.line_model import lines_model
from stillwet.reports.line_words import clock_of_lines
from stillwet.reports.plan_pdf import TYPST_PAPER, Paper
from stillwet.reports.typesetting import set_sheets
from stillwet.reports.words import Units


def lines_pdf_bytes(plan: LinesPlan, *, units: str, paper: str) -> bytes:
    """The lines' sheets as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    model = lines_model(plan, Units(units)) | {"paper": TYPST_PAPER[Paper(paper)]}
    return set_sheets("line", model, line_pictures(plan, Units(units)), made_s=plan.made_s)


def line_pictures(plan: LinesPlan, units: Units) -> dict[str, str]:
    """The figure of every line, by the name under which its sheet looks for it."""
    clock = clock_of_lines(plan)
    return {
        f"figure-{number}.svg": line_figure_svg(line, clock, units=units, width=720.0, height=300.0)
        for number, line in enumerate(plan.lines, start=1)
    }
