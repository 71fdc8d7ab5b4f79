"""Lines as sheets to print: one line a sheet, then where its numbers came from."""

from __future__ import annotations

import json
from importlib import resources

from stillwet.domain.line_plan import LinesPlan
from stillwet.reports.line_figure import line_figure_svg
from stillwet.reports.line_model import lines_model
from stillwet.reports.line_words import clock_of_lines
from stillwet.reports.plan_pdf import TYPST_PAPER, Paper
from stillwet.reports.typesetting import typeset
from stillwet.reports.words import Units

_TEMPLATES = ("line.typ", "pieces.typ")


def lines_pdf_bytes(plan: LinesPlan, *, units: str, paper: str) -> bytes:
    """The lines' sheets as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    told = Units(units)
    model = lines_model(plan, told) | {"paper": TYPST_PAPER[Paper(paper)]}
    folder = resources.files("stillwet.reports").joinpath("sheets")
    files = {"main.typ": b'#include "line.typ"\n'}
    files |= {name: folder.joinpath(name).read_bytes() for name in _TEMPLATES}
    files["model.json"] = json.dumps(model, ensure_ascii=False).encode("utf-8", "replace")
    clock = clock_of_lines(plan)
    for number, line in enumerate(plan.lines, start=1):
        figure = line_figure_svg(line, clock, units=told, width=720.0, height=300.0)
        files[f"figure-{number}.svg"] = figure.encode()
    return typeset(files, "pdf", timestamp=int(plan.made_s))
