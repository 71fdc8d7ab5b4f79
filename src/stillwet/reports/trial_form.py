"""The form for a day of trials, to print and fill with a pencil."""

from __future__ import annotations

import json
from importlib import resources

from stillwet.reports.plan_pdf import TYPST_PAPER, Paper
from stillwet.reports.typesetting import typeset
from stillwet.reports.words import Units, unit_label


def trial_form_bytes(*, units: str, paper: str) -> bytes:
    """The form as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    shown = Units(units)
    model = {
        "paper": TYPST_PAPER[Paper(paper)],
        "length": unit_label("kg/m2", shown),
        "temperature": unit_label("K", shown),
        "speed": unit_label("m/s", shown),
    }
    folder = resources.files("stillwet.reports").joinpath("sheets")
    names = ("trial_form.typ", "pieces.typ")
    files = {"main.typ": b'#include "trial_form.typ"\n'}
    files |= {name: folder.joinpath(name).read_bytes() for name in names}
    files["model.json"] = json.dumps(model).encode()
    return typeset(files, "pdf", timestamp=0)
