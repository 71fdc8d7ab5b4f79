"""The mix window told: text that fits, JSON by its schema, a sound picture, a card to print."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from jsonschema import Draft202012Validator
from pypdf import PdfReader

from gear_fixture import GPM, PSI, make_gear
from job_fixture import make_crew, make_job
from stillwet.domain.job import Job
from stillwet.domain.mix_window import Fit, MixWindow
from stillwet.domain.plan import Plan
from stillwet.domain.products import WaterPoint
from stillwet.engine.make_plan import make_plan
from stillwet.engine.mix_window import make_mix_window
from stillwet.reports.mix_card import card_model, mix_card_bytes
from stillwet.reports.mix_figure import mix_figure_svg
from stillwet.reports.mix_json import mix_json_text
from stillwet.reports.mix_text import mix_text
from stillwet.reports.plan_json import packaged_schema
from stillwet.reports.words import Units

SVG = "{http://www.w3.org/2000/svg}"
ODD = 'Pump <b>"&" #[x] \x1b[31m בית'


def _job(**changes: object) -> Job:
    crews = (
        make_crew(name=ODD, gear=make_gear(), spray_flow_m3_s=30 * GPM),
        make_crew(id="c2", name="Weak", gear=make_gear(pump_pressure_pa=(60 * PSI,))),
    )
    return make_job(crews=crews, **changes)


@pytest.fixture(scope="module")
def plan() -> Plan:
    """The plan of the job."""
    job = _job()
    return make_plan(job, now_s=job.start_s)


@pytest.fixture(scope="module")
def open_window(plan: Plan) -> MixWindow:
    """A window that is open for one crew."""
    return make_mix_window(_job(), plan)


@pytest.fixture(scope="module")
def closed_window(plan: Plan) -> MixWindow:
    """The same coats in very hard water."""
    hard = WaterPoint("w1", "Hard well", 100.0, 0.0, 0.01, 1.5, 288.15)
    return make_mix_window(_job(water_points=(hard,)), plan)


@pytest.fixture(params=["open", "closed"])
def window(
    request: pytest.FixtureRequest, open_window: MixWindow, closed_window: MixWindow
) -> MixWindow:
    """Either."""
    return open_window if request.param == "open" else closed_window


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_text_fits_and_is_clean(window: MixWindow, units: str) -> None:
    """At most 100 columns, no control characters; every section and the caution on foam."""
    text = mix_text(window, units)
    assert max(len(line) for line in text.splitlines()) <= 100
    assert "\x1b" not in text
    for head in ("WHAT TO SET", "WALLS", "WATER", "LEAVES AND BLADES", "WHAT A GOOD MIX SHOWS"):
        assert head in text
    assert "Never mix gel with foam" in text


def test_the_open_window_says_what_to_set(open_window: MixWindow) -> None:
    """The ratio to set with its basis, the flow that comes out, and who cannot pump it."""
    text = mix_text(open_window, "us")
    assert f"set {100 * open_window.crews[0].ratio:.2f} % by volume" in text
    assert "set a of hose coefficients" in text
    assert "set b of hose coefficients" in text
    assert "Weak: cannot" in text


def test_a_window_closed_by_hard_water_says_so(closed_window: MixWindow) -> None:
    """In the headline, in the reason, and with the hardness at which it closes."""
    text = " ".join(mix_text(closed_window, "us").split())
    assert "The window is closed by hard water" in text
    assert "Hard water closes 1 window here: at 1500 mg/L" in text
    assert "Soft water would need" in text
    assert "closes it. Test the water" in text


def test_a_closed_window_never_contradicts_the_sheets_of_the_crews(
    closed_window: MixWindow,
) -> None:
    """A crew's sheet names a ratio: the card names the same, says that it is not sure, and whether
    the crew's pump brings it. Only where the sheets name none does it say "do not mix".
    """
    told = f"{100 * closed_window.plan_ratio:.2f} %"
    strong_one, weak_one = closed_window.crews
    low = replace(weak_one.pumps[0], ratio=0.5 * closed_window.plan_ratio)
    closed_window = replace(closed_window, crews=(strong_one, replace(weak_one, pumps=(low, low))))
    strong, weak = card_model(closed_window, Units.US)["crews"]
    assert strong["set"] == f"{told}, not sure"
    assert weak["set"] == "test the pattern"
    text = " ".join(mix_text(closed_window, "us").split())
    assert f"The sheets' {told} by volume is for coats told as DOUBTFUL" in text
    assert f"if it has any, are mixed at {told}" in text
    assert "no longer comes out (most" in text
    idle = replace(closed_window, plan_ratio=0.0)
    assert [row["set"] for row in card_model(idle, Units.US)["crews"]] == ["do not mix"] * 2
    assert "sheets" not in mix_text(idle, "us")


def test_a_window_that_a_pump_misses_never_contradicts_the_crews_sheet(
    window: MixWindow,
) -> None:
    """The crew's sheet names a ratio and asks for a test of the pattern: so does the card."""
    low = replace(window.crews[0].pumps[0], ratio=0.5 * window.plan_ratio)
    weak = replace(window.crews[0], fit=Fit.CLOSED, tank=None, pumps=(low, low))
    rows = card_model(replace(window, crews=(weak,)), Units.US)["crews"]
    assert [row["set"] for row in rows] == ["test the pattern"]


def test_the_json_follows_its_schema(window: MixWindow) -> None:
    """Valid by the packaged schema, which is itself sound; no NaN, no infinity."""
    schema = packaged_schema("mix")
    Draft202012Validator.check_schema(schema)
    document = json.loads(mix_json_text(window), parse_constant=pytest.fail)
    Draft202012Validator(schema).validate(document)
    assert document["is_open"] is window.is_open


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_picture_is_sound_and_stays_inside(window: MixWindow, units: str) -> None:
    """Well-formed SVG in shades of grey whose strokes and boxes keep inside the frame."""
    svg = mix_figure_svg(window, units=units)
    root = ElementTree.fromstring(svg)
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    for stroke in root.iter(f"{SVG}line"):
        assert all(-6.0 <= float(stroke.attrib[end]) <= width for end in ("x1", "x2"))
        assert all(-6.0 <= float(stroke.attrib[end]) <= height for end in ("y1", "y2"))
    for rectangle in root.iter(f"{SVG}rect"):
        if "x" in rectangle.attrib:
            end = float(rectangle.attrib["x"]) + float(rectangle.attrib["width"])
            assert end <= width
    inks = {
        part.attrib[key]
        for part in root.iter()
        for key in ("fill", "stroke")
        if part.attrib.get(key, "").startswith("#")
    }
    assert all(ink[1:3] == ink[3:5] == ink[5:7] for ink in inks)
    texts = ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]
    assert "window" in texts
    assert ("best" in texts) == (window.best.ratio <= window.curve.ratio[-1])


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_card_stands_alone(window: MixWindow, paper: str) -> None:
    """What to set or that nothing is, the wait, the tests, the flush and the foam rule, on at most
    three pages of the paper asked for; the same bytes each time.
    """
    made = mix_card_bytes(window, units="us", paper=paper)
    assert made == mix_card_bytes(window, units="us", paper=paper)
    pages = PdfReader(io.BytesIO(made)).pages
    assert len(pages) <= 3
    assert float(pages[0].mediabox.width) == pytest.approx(612 if paper == "letter" else 595, abs=1)
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for words in ("Mixing card", "Wait", "slump of a cylinder", "not compatible", "strainer"):
        assert words in text
    if window.is_open:
        assert f"{100 * window.crews[0].ratio:.2f} %" in text
    else:
        assert "not sure" in text
        assert "do not mix" not in text  # the sheets of the crews name a ratio
        assert "closed by hard water" in text


def test_a_powder_is_told_by_weight(plan: Plan) -> None:
    """A ratio by mass is told by mass, and one tank takes so many pounds of powder."""
    from job_fixture import make_product
    from stillwet.domain.products import RatioBasis

    job = _job(product=make_product(ratio_basis=RatioBasis.MASS, density_kg_m3=700.0))
    window = make_mix_window(replace(job, crews=job.crews[:1]), plan)
    text = " ".join(
        page.extract_text()
        for page in PdfReader(io.BytesIO(mix_card_bytes(window, units="us", paper="letter"))).pages
    )
    crew = window.crews[0]
    assert crew.tank is not None
    assert "by mass" in text
    assert crew.tank.concentrate_kg == pytest.approx(1136.0 * crew.ratio)
    assert f"{crew.tank.concentrate_kg / 0.45359237:.0f} lb" in text
