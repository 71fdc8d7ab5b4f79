"""The plan as sheets to print: page 1 is the answer, then loads and numbers, then a card an asset.

Set by typst from ``plan.typ`` with the fonts of the package; nothing is fetched, nothing written,
and the same plan gives the same bytes.
"""

from __future__ import annotations

from enum import StrEnum

from stillwet.domain.plan import Plan
from stillwet.reports.local_time import clock_of
from stillwet.reports.map_figure import map_svg
from stillwet.reports.page_model import page_model
from stillwet.reports.timeline_figure import timeline_svg
from stillwet.reports.typesetting import set_sheets
from stillwet.reports.words import Units


class Paper(StrEnum):
    """The page sizes a crew can buy."""

    LETTER = "letter"
    A4 = "a4"


TYPST_PAPER = {Paper.LETTER: "us-letter", Paper.A4: "a4"}


def plan_pdf_bytes(plan: Plan, *, units: str, paper: str) -> bytes:
    """The plan's sheets as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    model = page_model(plan, Units(units)) | {"paper": TYPST_PAPER[Paper(paper)]}
    pictures = {"map.svg": map_svg(plan, units=units, width=290.0, height=206.0)}
    return set_sheets("plan", model, pictures | card_pictures(plan), made_s=plan.made_s)


def card_pictures(plan: Plan) -> dict[str, str]:
    """The timeline of every card, by the name under which the card looks for it."""
    clock = clock_of(plan)
    return {
        f"strip-{number}.svg": timeline_svg(asset, clock)
        for number, asset in enumerate(plan.assets, start=1)
    }
