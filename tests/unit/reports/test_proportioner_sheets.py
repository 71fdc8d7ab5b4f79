"""The proportioner's report told: text, JSON by its schema, run chart, and the form to fill."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from pypdf import PdfReader

from checks_fixture import draws, make_check
from stillwet.domain.proportioner import Measured, Method, ProportionerReport
from stillwet.evidence.proportioner import report_on
from stillwet.reports.plan_json import packaged_schema
from stillwet.reports.proportioner_form import proportioner_form_bytes
from stillwet.reports.proportioner_json import proportioner_json_text
from stillwet.reports.proportioner_text import proportioner_text
from stillwet.reports.run_chart_figure import run_chart_svg

SVG = "{http://www.w3.org/2000/svg}"
WINDOW = (0.009, 0.013)


def _drifting() -> ProportionerReport:
    random = np.random.default_rng(5)
    values = 0.0078 * (1.0 + 0.01 * random.standard_normal(20))
    values[8:] *= 1.0 - 0.02 * np.arange(1, 13)
    return report_on(
        draws(values.tolist()), (), source="odd <&> \x1b.csv", window=WINDOW, wanted=0.01
    )


def _single() -> ProportionerReport:
    coarse = replace(
        make_check(),
        method=Method.REFRACTOMETER,
        readings={"shown": Measured(0.011, 0.003)},
        when_s=None,
        flow_m3_s=None,
    )
    return report_on((coarse,), (), source="one.csv", window=WINDOW)


@pytest.fixture(params=["drifting", "single"])
def report(request: pytest.FixtureRequest) -> ProportionerReport:
    """Either: twenty checks that drift, or one with a refractometer."""
    return _drifting() if request.param == "drifting" else _single()


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_text_fits_and_is_clean(report: ProportionerReport, units: str) -> None:
    """At most 100 columns and no control characters; both rules are named."""
    text = proportioner_text(report, units)
    assert max(len(line) for line in text.splitlines()) <= 100
    assert "\x1b" not in text
    assert "mix window:" in text
    assert "foam practice:" in text


def test_a_refractometer_is_told_that_it_cannot_tell() -> None:
    """In words, by both rules, with what to do instead."""
    text = " ".join(proportioner_text(_single(), "us").split())
    assert text.count("cannot tell with this method") == 2
    assert "Time a longer draw, weigh the can" in text


def test_what_to_set_and_the_drift_are_told() -> None:
    """Delivers under 80 % of 1 %: more must be set; and it drifts leaner."""
    text = " ".join(proportioner_text(_drifting(), "us").split())
    assert "% to get 1.00 % by volume" in text
    assert "DRIFTING leaner" in text
    assert 'delivered_low = "' in text
    assert "mend it first" in text


def test_the_json_follows_its_schema(report: ProportionerReport) -> None:
    """Valid by the packaged schema, which is itself sound."""
    schema = packaged_schema("proportioner")
    Draft202012Validator.check_schema(schema)
    document = json.loads(proportioner_json_text(report))
    Draft202012Validator(schema).validate(document)
    assert document["devices"][0]["checks"][0]["rulings"][0]["rule"] == "mix window"


def test_the_run_chart_is_sound(report: ProportionerReport) -> None:
    """Well-formed and inside its frame; filled squares from the alarm on, none without one."""
    root = ElementTree.fromstring(run_chart_svg(report))
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    for stroke in root.iter(f"{SVG}line"):
        assert all(0.0 <= float(stroke.attrib.get(end, 0)) <= width for end in ("x1", "x2"))
        assert all(0.0 <= float(stroke.attrib.get(end, 0)) <= height for end in ("y1", "y2"))
    squares = [part for part in root.iter(f"{SVG}rect") if part.attrib.get("fill") == "black"]
    chart = report.devices[0].chart
    late = 0 if chart is None or chart.alarm_at is None else len(chart.factor) - chart.alarm_at
    assert len(squares) == late


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_form_is_one_page_to_fill_by_hand(units: str, paper: str) -> None:
    """One page of the paper asked for, in the reader's units, with both rules and the arithmetic;
    the same bytes each time.
    """
    made = proportioner_form_bytes(units=units, paper=paper)
    assert made == proportioner_form_bytes(units=units, paper=paper)
    pages = PdfReader(io.BytesIO(made)).pages
    assert len(pages) == 1
    assert float(pages[0].mediabox.width) == pytest.approx(612 if paper == "letter" else 595, abs=1)
    text = " ".join(pages[0].extract_text().split())
    assert ("gal/min" in text) == (units == "us")
    for words in ("Mix window", "Foam practice", "cannot tell", "What to set = wanted"):
        assert words in text
