"""Lines on paper: the caution everywhere, 100 columns, a schema, pictures that stand in grey."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from xml.etree import ElementTree

import jsonschema
import pytest
from pypdf import PdfReader

from job_fixture import START_S
from line_fixture import make_fuel, make_line, make_line_job, make_segment, make_work
from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.lines import LinePurpose
from stillwet.engine.lines import make_lines
from stillwet.reports.figures import svg_to_png
from stillwet.reports.line_figure import line_figure_svg
from stillwet.reports.line_json import MOMENTS, lines_json_text, lines_to_json
from stillwet.reports.line_model import lines_model
from stillwet.reports.line_pdf import lines_pdf_bytes
from stillwet.reports.line_text import lines_text
from stillwet.reports.line_words import (
    clock_of_lines,
    coverage_number,
    coverage_to_lay,
    length,
    pace,
    span,
)
from stillwet.reports.plan_json import packaged_schema
from stillwet.reports.words import Units

DIVIDED = "Published guidance is divided on gel for burn lines"
NASTY = '#image("x") $x$ <b>"burn"</b> \u202e& \x1b[31m'


@pytest.fixture(scope="module")
def plan() -> LinesPlan:
    """Three lines: one that holds, one too narrow and too thin, one that is not lit."""
    narrow = make_line(
        id="l2",
        name=NASTY,
        segments=(make_segment(fuel=make_fuel("SH5"), width_m=1.0, name=NASTY),),
        work=make_work(coverage_kg_m2=1.0),
        note=NASTY,
    )
    beside = make_line(
        id="l3",
        name="Road",
        purpose=LinePurpose.BESIDE,
        work=make_work(is_lit=False, finish_s=None),
    )
    return make_lines(make_line_job(make_line(), narrow, beside), now_s=START_S)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_text_fits_and_cautions(plan: LinesPlan, units: str) -> None:
    """At most 100 columns; the divided guidance stands before the first line's answer."""
    text = lines_text(plan, units)
    assert [line for line in text.splitlines() if len(line) > 100] == []
    assert text.index(DIVIDED) < text.index("HOLDS: North edge")
    assert "WILL NOT HOLD" in text
    assert "WHAT STANDS AGAINST IT" in text
    assert "\x1b" not in text
    assert "\u202e" not in text
    label = "gal/100 ft2" if units == "us" else "L/m2"
    assert f"coverage in {label} at the nozzle" in text


def test_text_tells_both_drying_siblings_and_all_widths(plan: LinesPlan) -> None:
    """The bed and the lone blade, and the three published multiples, stand in the text."""
    text = lines_text(plan, "us")
    assert "LONE" in text
    assert "1.5 times" in text
    assert "2.5" in text
    assert "! extinction margin 1.5 (1.2 to 2.5): untested default" in text


def test_json_matches_its_schema(plan: LinesPlan) -> None:
    """Valid by the shipped schema, the caution in it, moments as ISO 8601 and no NaN."""
    document = lines_to_json(plan)
    jsonschema.Draft202012Validator.check_schema(packaged_schema("lines"))
    jsonschema.validate(document, packaged_schema("lines"))
    assert document["schema"] == "stillwet.lines/1"
    assert document["cautions"][0].startswith(DIVIDED)
    assert document["lines"][0]["start"] == "2026-08-14T08:00:00-06:00"
    assert json.loads(lines_json_text(plan)) == document
    assert lines_json_text(plan) == lines_json_text(plan)


def test_json_names_every_unit(plan: LinesPlan) -> None:
    """Every number's key ends in its unit, or is a pure number; no moment is a float."""
    pure = {
        "multiple", "fills", "members", "seed", "value", "low", "high", "lines", "lag_m",
    }  # fmt: skip
    ends = ("_s", "_m", "_m2", "_m3", "_k", "_deg", "_m_s", "_fraction", "_kg_m2", "_kg_m2_s")

    def look(value: object, key: str) -> None:
        if isinstance(value, dict):
            for name, inner in value.items():
                look(inner, name)
        elif isinstance(value, list):
            for inner in value:
                look(inner, key)
        elif isinstance(value, (int, float)) and not isinstance(value, bool):
            assert key in pure or key.endswith(ends), key
            assert f"{key}" not in MOMENTS

    look(lines_to_json(plan), "")


def test_sheets(plan: LinesPlan) -> None:
    """Each line's sheet has the caution, its verdict and the stop rules; same bytes each time."""
    made = lines_pdf_bytes(plan, units="us", paper="letter")
    assert made == lines_pdf_bytes(plan, units="us", paper="letter")
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(made)).pages]
    words = re.sub(r"\s+", " ", " ".join(pages))
    assert words.count(DIVIDED) == len(plan.lines)
    assert words.count("STOP RULES") == len(plan.lines)
    assert "WILL NOT HOLD" in words
    assert "What would free it" in words
    assert "Nobody stays because a strip should hold" in words


def test_sheets_in_metric_on_a4(plan: LinesPlan) -> None:
    """The other units and the other paper."""
    made = PdfReader(io.BytesIO(lines_pdf_bytes(plan, units="metric", paper="a4")))
    assert float(made.pages[0].mediabox.width) == pytest.approx(595.3, abs=0.5)
    assert "L/m2" in made.pages[0].extract_text()


def test_first_sheet_is_one_page(plan: LinesPlan) -> None:
    """The schedule, the segments and the stop rules of the usual line fit the first page."""
    pages = PdfReader(io.BytesIO(lines_pdf_bytes(plan, units="us", paper="letter"))).pages
    first = pages[0].extract_text()
    assert "North edge" in first
    assert "FIRE OVER THE LINE" in first
    assert "by the hour" in pages[1].extract_text()


def test_figure_is_sound_svg(plan: LinesPlan) -> None:
    """Every line has a figure: well-formed, escaped, inside its frame, and it turns into a PNG."""
    clock = clock_of_lines(plan)
    for line in plan.lines:
        svg = line_figure_svg(line, clock, units=Units.US)
        root = ElementTree.fromstring(svg)
        assert root.get("viewBox") == "0 0 760 400"
        for text in root.iter("{http://www.w3.org/2000/svg}text"):
            assert -1.0 <= float(text.get("x", "0")) <= 760.0
            assert 0.0 <= float(text.get("y", "0")) <= 400.0
    assert svg_to_png(line_figure_svg(plan.lines[0], clock, units=Units.METRIC))[:4] == b"\x89PNG"


def test_figure_uses_no_colour(plan: LinesPlan) -> None:
    """Only black, white and greys, so that a copy in black and white says the same."""
    svg = line_figure_svg(plan.lines[0], clock_of_lines(plan), units=Units.US)
    for red, green, blue in re.findall(r"#([0-9A-F]{2})([0-9A-F]{2})([0-9A-F]{2})\b", svg):
        assert red == green == blue
    named = set(re.findall(r'(?:fill|stroke)="([a-z]+)"', svg))
    assert named <= {"black", "white", "none"}
    assert 'stroke-dasharray="6 3"' in svg


def test_figure_of_an_empty_schedule(plan: LinesPlan) -> None:
    """A line of which nothing can be wetted still has axes and its name."""
    bare = replace(plan.lines[0], marks=(), refills=(), waits=())
    svg = line_figure_svg(bare, clock_of_lines(plan), units=Units.US)
    assert "North edge" in svg


def test_names_are_words_not_markup(plan: LinesPlan) -> None:
    """A name that looks like markup is printed as it is, without control characters."""
    model = lines_model(plan, Units.US)
    shown = model["lines"][1]["name"].replace("\u200b", "")
    assert shown.startswith('#image("x") $x$ <b>')
    assert "\u202e" not in json.dumps(model, ensure_ascii=False)


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (None, "-"), (-5.0, "none"), (0.0, "none"), (30.0, "under 1 min"),
        (119.0, "1 min"), (899.9, "14 min"), (7260.0, "2 h 01"),
    ],
)  # fmt: skip
def test_spans_are_cut_down(seconds: float | None, told: str) -> None:
    """A lag is never rounded up: that would grant time."""
    assert span(seconds) == told


def test_a_wait_is_rounded_up_and_a_narrow_column_gets_a_sign() -> None:
    """61 s until the black is deep enough are 2 min; 30 s of a lag are less than one."""
    assert span(61.0, up=True) == "2 min"
    assert span(30.0, up=True) == "1 min"
    assert span(120.0, up=True) == "2 min"
    assert span(30.0, narrow=True) == "< 1 min"


def test_nobody_is_told_to_lay_less_or_to_walk_faster() -> None:
    """3.91 L/m2 are 9.596 gal per 100 ft2 (gallon 3.785411784 L, foot 0.3048 m: NIST SP 811)."""
    assert coverage_number(3.91, Units.METRIC) == "4.0"
    assert coverage_number(4.0, Units.METRIC) == "4.0"
    assert coverage_to_lay(3.91) == "4.0 L/m2, 9.6 gal per 100 ft2"
    assert coverage_to_lay(3.92) == "4.0 L/m2, 9.7 gal per 100 ft2"
    assert pace(0.059, Units.METRIC) == "3.5 m/min"  # 3.54
    assert pace(0.109, Units.US) == "21 ft/min"  # 21.46


def test_lengths() -> None:
    """Short lengths to the tenth, long ones whole, none as a dash."""
    assert length(3.6576, Units.US) == "12 ft"
    assert length(1.2, Units.METRIC) == "1.2 m"
    assert length(0.0, Units.US) == "0 ft"
    assert length(None, Units.US) == "-"
