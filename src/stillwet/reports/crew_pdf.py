"""The crew sheets to print: an overview with the timeline, then a sheet for each crew.

Set by typst from ``crews.typ`` with the fonts of the package, like the plan's own sheets.
"""

from __future__ import annotations

from typing import Any

from stillwet.domain.crew_plan import CrewPlan, FaceBand
from stillwet.reports.crew_map import crew_map_svg
from stillwet.reports.crew_pages import crew_pages
from stillwet.reports.crew_timeline import crew_timeline_svg, rows_within
from stillwet.reports.link_code import crew_link, link_code_svg
from stillwet.reports.plan_pdf import TYPST_PAPER, Paper
from stillwet.reports.source_list import breakable
from stillwet.reports.typesetting import set_sheets
from stillwet.reports.words import Units

_TIMELINE_WIDTH, _TIMELINE_HEIGHT = 580.0, 720.0  # of the picture on one sheet


def crew_pdf_bytes(plan: CrewPlan, *, units: str, paper: str, address: str = "") -> bytes:
    """The crew sheets as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4".

    ``address`` of a server puts the code of each crew's own page on its sheet.
    """
    model = crew_model(plan, Units(units), address) | {"paper": TYPST_PAPER[Paper(paper)]}
    pictures = crew_pictures(plan, Units(units), address)
    return set_sheets("crews", model, pictures, made_s=plan.made_s)


def crew_model(plan: CrewPlan, units: Units, address: str) -> dict[str, Any]:
    """The words of the crew sheets, how many pages the timeline takes, the crews' addresses."""
    model = crew_pages(plan, units)
    for crew, run in zip(model["crews"], plan.crews, strict=True):
        crew["link"] = breakable(crew_link(address, run.crew_id)) if address else ""
    return model | {"timelines": len(_timeline_pages(plan))}


def crew_pictures(plan: CrewPlan, units: Units, address: str) -> dict[str, str]:
    """The timeline's pages, each crew's map and code, by the names under which the sheets look."""
    pictures = {
        f"timeline-{number}.svg": crew_timeline_svg(plan, bands=bands, width=_TIMELINE_WIDTH)
        for number, bands in enumerate(_timeline_pages(plan), start=1)
    }
    for number, run in enumerate(plan.crews, start=1):
        pictures[f"map-{number}.svg"] = crew_map_svg(plan, run, units=str(units))
        if address:
            pictures[f"code-{number}.svg"] = link_code_svg(crew_link(address, run.crew_id))
    return pictures


def _timeline_pages(plan: CrewPlan) -> list[tuple[FaceBand, ...]]:
    room = rows_within(_TIMELINE_HEIGHT, len(plan.crews))
    return [plan.bands[first : first + room] for first in range(0, max(1, len(plan.bands)), room)]
