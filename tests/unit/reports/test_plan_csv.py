"""The plan as CSV: a row a face, safe in a spreadsheet, numbers that come back whole."""

from __future__ import annotations

import csv
import io

import pytest

from stillwet.domain.plan import Plan
from stillwet.reports.plan_csv import plan_csv_text, safe_cell

from .plan_fixture import make_plan, rename


def _read(plan: Plan) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(plan_csv_text(plan), newline="")))


def test_one_row_a_face_in_the_plans_order() -> None:
    """Every face of every asset has its row, worst asset first."""
    plan = make_plan()
    wanted = [face.surface.id for asset in plan.assets for face in asset.surfaces]
    assert [row["surface_id"] for row in _read(plan)] == wanted


def test_numbers_come_back_exactly() -> None:
    """Floats survive writing and reading to the last bit."""
    plan = make_plan()
    faces = [face for asset in plan.assets for face in asset.surfaces]
    for row, face in zip(_read(plan), faces, strict=True):
        assert float(row["mix_m3"]) == face.mix_m3
        assert float(row["coat_mm"]) == face.coat_kg_m2


def test_what_is_not_there_is_an_empty_cell() -> None:
    """No coat is enough, no time to apply: empty, never "inf", "nan" or "None"."""
    first = _read(make_plan())[0]
    assert first["coat_needed_mm"] == first["apply_until"] == first["hold_until_90"] == ""
    assert not {"inf", "nan", "None"} & {
        cell for row in _read(make_plan()) for cell in row.values()
    }


@pytest.mark.parametrize(
    "name", ["=HYPERLINK(0)", "+1", "-2+3", "@SUM(1)", "\t=1", "\r\n=1", " =1", "\u202e=1"]
)
def test_a_name_cannot_become_a_formula(name: str) -> None:
    """Cells that start like a formula, even after blanks or controls, get an apostrophe."""
    cell = _read(rename(make_plan(), {0: name}))[0]["asset_name"]
    assert cell.startswith("'")
    assert cell[1] in "=+-@"


def test_ordinary_names_stay_as_they_are() -> None:
    """Only the first character matters; quotes, commas and emoji survive."""
    odd = 'Bay 3, "north" = old 🔥'
    assert _read(rename(make_plan(), {0: odd}))[0]["asset_name"] == odd
    assert safe_cell("a-b=c") == "a-b=c"
