"""The ranked bars: sound SVG, bars as long as their shares, legible in black and white."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from stillwet.domain.chain import Share
from stillwet.reports.figures import chain_figure_svg, job_shares_figure_svg, svg_to_png

from .chain_fixture import make_chain, make_job_shares
from .plan_fixture import make_plan, rename

SVG = "{http://www.w3.org/2000/svg}"


def _root(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def _texts(svg: str) -> list[str]:
    return ["".join(text.itertext()) for text in _root(svg).iter(f"{SVG}text")]


def _bars(svg: str) -> list[tuple[float, str]]:
    """Width and filling of every bar, top to bottom, the whole before its solid part."""
    boxes = [box.attrib for box in _root(svg).iter(f"{SVG}rect") if "stroke" in box.attrib]
    return [(float(box["width"]), box["fill"]) for box in boxes]


def test_bars_are_in_proportion_and_ranked() -> None:
    """Widths are as 0.44 to 0.41, 0.40 to 0.36 and so on; hatched behind, solid before."""
    bars = _bars(chain_figure_svg(make_chain()))
    unit = bars[0][0] / 0.44
    assert [width / unit for width, _ in bars] == pytest.approx(
        [0.44, 0.41, 0.40, 0.36, 0.08, 0.08], abs=1e-3
    )
    assert [fill for _, fill in bars] == ["url(#together)", "#333333"] * 3


def test_labels_say_cause_and_share() -> None:
    """Each bar has its words and percent; small shares are named below."""
    texts = _texts(chain_figure_svg(make_chain()))
    assert {"evenness of the coat (coat variation)", "44 %", "40 %", "8 %"} <= set(texts)
    assert "Under 1 % each: flux, yield stress." in texts
    assert texts[0] == "What the answer hangs on: Ranch house"
    assert texts[1] == "HOLDS; south-west wall; plan 3f9a12cd"
    assert _texts(job_shares_figure_svg(make_job_shares()))[0].endswith("Sill Creek ranch")


@pytest.mark.parametrize("name", ["<script>&\"'</text> \x1b 🔥 ]]>", "W" * 300])
def test_text_stays_inside_and_is_escaped(name: str) -> None:
    """No label runs out of the picture, and markup in a name stays text."""
    svg = chain_figure_svg(make_chain(rename(make_plan(), {6: name})))
    root = _root(svg)
    assert root.find(f".//{SVG}script") is None
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    for text in root.iter(f"{SVG}text"):
        wide = 0.5 * float(text.attrib["font-size"]) * len("".join(text.itertext()))
        shift = {"middle": 0.5, "end": 1.0}.get(text.attrib.get("text-anchor", ""), 0.0)
        left = float(text.attrib["x"]) - shift * wide
        assert left >= -1
        assert left + wide <= width + 1
        assert 0 < float(text.attrib["y"]) <= height


def test_shares_outside_their_range_stay_on_the_axis() -> None:
    """A share of 1.06 ends where all of it ends; a negative part is no bar."""
    odd = (Share("wind", 1.04, 1.06), Share("sun", -0.05, 0.02))
    whole = _bars(chain_figure_svg(replace(make_chain(), shares=(Share("wind", 1.0, 1.0),))))
    bars = _bars(chain_figure_svg(replace(make_chain(), shares=odd)))
    assert bars[0] == whole[0]
    assert bars[3][0] == 0.0


def test_nothing_to_draw_is_said() -> None:
    """An empty figure says why."""
    svg = chain_figure_svg(replace(make_chain(), shares=()))
    assert "Nothing that is drawn moves this answer." in _texts(svg)
    assert svg_to_png(svg).startswith(b"\x89PNG")
