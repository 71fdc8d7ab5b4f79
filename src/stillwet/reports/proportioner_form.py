"""The form to check a proportioner by hand, to print and fill with a pencil."""

from __future__ import annotations

import json
from importlib import resources

from stillwet.reports.plan_pdf import TYPST_PAPER, Paper
from stillwet.reports.typesetting import typeset
from stillwet.reports.words import Units


def proportioner_form_bytes(*, units: str, paper: str) -> bytes:
    """The form as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    is_us = Units(units) is Units.US
    model = {
        "paper": TYPST_PAPER[Paper(paper)],
        "volume": "gal" if is_us else "L",
        "small": "fl oz" if is_us else "mL",
        "flow": "gal/min" if is_us else "L/min",
        "mass": "lb" if is_us else "kg",
        # how many small units make one of the large, so that the sum on paper comes out
        "per_volume": "128" if is_us else "1000",
        "mass_of_water": "8.34" if is_us else "1.00",
    }
    folder = resources.files("stillwet.reports").joinpath("sheets")
    names = ("proportioner_form.typ", "pieces.typ")
    files = {"main.typ": b'#include "proportioner_form.typ"\n'}
    files |= {name: folder.joinpath(name).read_bytes() for name in names}
    files["model.json"] = json.dumps(model).encode()
    return typeset(files, "pdf", timestamp=0)
