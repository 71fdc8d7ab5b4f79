"""The plan as sheets to print: page 1 is the answer, then loads and numbers, then a card an asset.

Set by typst from ``plan.typ`` with the fonts of the package; nothing is fetched, nothing written,
and the same plan gives the same bytes.
"""

from __future__ import annotations

import json
from enum import StrEnum
from importlib import resources

from stillwet.domain.plan import Plan
from stillwet.reports.local_time import clock_of
from stillwet.reports.map_figure import map_svg
from stillwet.reports.page_model import page_model
from stillwet.reports.timeline_figure import timeline_svg
from stillwet.reports.typesetting import typeset
from stillwet.reports.words import Units

_TEMPLATES = ("plan.typ", "card.typ", "pieces.typ")


class Paper(StrEnum):
    """The page sizes a crew can buy."""

    LETTER = "letter"
    A4 = "a4"


TYPST_PAPER = {Paper.LETTER: "us-letter", Paper.A4: "a4"}


def plan_pdf_bytes(plan: Plan, *, units: str, paper: str) -> bytes:
    """The plan's sheets as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    files = _virtual_files(plan, Units(units), Paper(paper))
    return typeset(files, "pdf", timestamp=int(plan.made_s))


def _virtual_files(plan: Plan, units: Units, paper: Paper) -> dict[str, bytes]:
    """Everything typst reads: templates, the words as JSON data (never as markup), pictures."""
    model = page_model(plan, units) | {"paper": TYPST_PAPER[paper]}
    folder = resources.files("stillwet.reports").joinpath("sheets")
    files = {"main.typ": b'#include "plan.typ"\n'}
    files |= {name: folder.joinpath(name).read_bytes() for name in _TEMPLATES}
    files["model.json"] = json.dumps(model, ensure_ascii=False).encode("utf-8", "replace")
    files["map.svg"] = map_svg(plan, units=units, width=290.0, height=206.0).encode()
    clock = clock_of(plan)
    for number, asset in enumerate(plan.assets, start=1):
        files[f"strip-{number}.svg"] = timeline_svg(asset, clock).encode()
    return files
