"""The crew sheets to print: an overview with the timeline, then a sheet for each crew.

Set by typst from ``crews.typ`` with the fonts of the package, like the plan's own sheets.
"""

from __future__ import annotations

import json
from importlib import resources

from stillwet.domain.crew_plan import CrewPlan
from stillwet.reports.crew_map import crew_map_svg
from stillwet.reports.crew_pages import crew_pages
from stillwet.reports.crew_timeline import crew_timeline_svg, rows_within
from stillwet.reports.plan_pdf import TYPST_PAPER, Paper
from stillwet.reports.typesetting import typeset
from stillwet.reports.words import Units

_TIMELINE_WIDTH, _TIMELINE_HEIGHT = 580.0, 720.0  # of the picture on one sheet


def crew_pdf_bytes(plan: CrewPlan, *, units: str, paper: str) -> bytes:
    """The crew sheets as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    reader = Units(units)
    room = rows_within(_TIMELINE_HEIGHT, len(plan.crews))
    pages = [plan.bands[first : first + room] for first in range(0, max(1, len(plan.bands)), room)]
    model = crew_pages(plan, reader) | {
        "paper": TYPST_PAPER[Paper(paper)],
        "timelines": len(pages),
    }
    folder = resources.files("stillwet.reports").joinpath("sheets")
    files = {"main.typ": b'#include "crews.typ"\n'}
    files |= {name: folder.joinpath(name).read_bytes() for name in ("crews.typ", "pieces.typ")}
    files["model.json"] = json.dumps(model, ensure_ascii=False).encode("utf-8", "replace")
    for number, bands in enumerate(pages, start=1):
        picture = crew_timeline_svg(plan, bands=bands, width=_TIMELINE_WIDTH)
        files[f"timeline-{number}.svg"] = picture.encode()
    for number, run in enumerate(plan.crews, start=1):
        files[f"map-{number}.svg"] = crew_map_svg(plan, run, units=units).encode()
    return typeset(files, "pdf", timestamp=int(plan.made_s))
