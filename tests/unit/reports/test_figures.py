"""The figures are sound SVG, keep inside their frame, and tell verdicts apart without colour."""

from __future__ import annotations

import math
import re
import struct
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import pytest

from stillwet.domain.plan import Plan
from stillwet.reports.figures import drying_figure_svg, map_svg, svg_to_png, timeline_svg
from stillwet.reports.local_time import clock_of

from .demand_fixture import make_demand
from .plan_fixture import CENTRE, HOUR, START, make_plan, rename

SVG = "{http://www.w3.org/2000/svg}"
ODD = "<script>&\"'</text> \x1b 🔥 בית ]]>"


def _root(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def _texts(svg: str) -> list[str]:
    return ["".join(text.itertext()) for text in _root(svg).iter(f"{SVG}text")]


def _size(svg: str) -> tuple[float, float]:
    root = _root(svg)
    return float(root.attrib["width"]), float(root.attrib["height"])


def _drying(**more: tuple[float, float]) -> str:
    return drying_figure_svg(make_demand(), time_zone="America/Denver", units="metric", **more)


def _all(plan: Plan) -> list[str]:
    clock = clock_of(plan)
    strips = [timeline_svg(asset, clock) for asset in plan.assets]
    return [map_svg(plan, units="us"), map_svg(plan, units="metric"), _drying(), *strips]


def test_names_are_escaped() -> None:
    """Markup in names is text in the picture: the XML stays whole and has no script."""
    plan = replace(rename(make_plan(), {0: ODD}), job_name=ODD, water_points_m=((ODD, 0.0, 0.0),))
    for svg in _all(plan):
        assert _root(svg).find(f".//{SVG}script") is None


def test_text_starts_and_ends_inside_the_picture() -> None:
    """No label runs out of its picture, by the mean width of the bundled face."""
    for svg in _all(make_plan()):
        width, height = _size(svg)
        for text in _root(svg).iter(f"{SVG}text"):
            wide = 0.5 * float(text.attrib["font-size"]) * len("".join(text.itertext()))
            shift = {"middle": 0.5, "end": 1.0}.get(text.attrib.get("text-anchor", ""), 0.0)
            left = float(text.attrib["x"]) - shift * wide
            assert left >= -1
            assert left + wide <= width + 1
            assert 0 < float(text.attrib["y"]) <= height


def test_nothing_black_covers_the_map() -> None:
    """No filled shape of the map is larger than a tenth of it, apart from white grounds."""
    svg = map_svg(make_plan(), units="us")
    width, height = _size(svg)
    for box in _root(svg).iter(f"{SVG}rect"):
        area = float(box.attrib["width"]) * float(box.attrib["height"])
        in_clip = box.attrib.get("fill") is None and box.attrib.get("stroke") is None
        if area > 0.1 * width * height and not in_clip:
            assert box.attrib["fill"] in {"white", "none"}


def _mark_spots(svg: str, count: int) -> list[tuple[float, float]]:
    numbers = {str(number) for number in range(1, count + 1)}
    return [
        (float(text.attrib["x"]), float(text.attrib["y"]))
        for text in _root(svg).iter(f"{SVG}text")
        if "".join(text.itertext()) in numbers and text.attrib.get("font-weight") == "bold"
    ]


@pytest.mark.parametrize("spread", [1.0, 0.02])
def test_every_asset_has_a_number_and_none_covers_another(spread: float) -> None:
    """Twenty numbered marks, apart by more than their size, even when assets crowd together."""
    plan = make_plan()
    x, y = CENTRE
    assets = tuple(
        replace(
            asset,
            x_m=x + spread * (asset.x_m - x),
            y_m=y + spread * (asset.y_m - y),
            footprint_m=None,
        )
        for asset in plan.assets
    )
    crowded = replace(plan, assets=assets, water_points_m=(), lines_m=(), streams_m=())
    spots = _mark_spots(map_svg(crowded, units="us"), len(assets))
    assert len(spots) == len(assets)
    assert min(math.dist(a, b) for a, b in combinations(spots, 2)) > 15


def test_scale_bar_is_as_long_as_it_says() -> None:
    """Two assets 500 m apart are, on the map, as far apart as the scale bar says."""
    plan = make_plan()
    first, second = plan.assets[0], plan.assets[1]
    x, y = CENTRE
    pair = (
        replace(first, x_m=x, y_m=y, footprint_m=None, fire_bearing_deg=None),
        replace(second, x_m=x + 500, y_m=y, footprint_m=None, fire_bearing_deg=None),
    )
    bare = replace(plan, assets=pair, water_points_m=(), lines_m=(), streams_m=())
    svg = map_svg(bare, units="metric")
    spots = _mark_spots(svg, 2)
    label = next(text for text in _texts(svg) if re.fullmatch(r"\d+ m", text))
    bars = [p.attrib["d"] for p in _root(svg).iter(f"{SVG}path") if p.attrib.get("fill") == "none"]
    ends = [float(step.split()[0]) for step in bars[-1][1:].split("L")]
    metres_per_unit = 500 / math.dist(*spots)
    assert (max(ends) - min(ends)) * metres_per_unit == pytest.approx(float(label[:-2]), rel=1e-3)


def test_verdicts_differ_in_shape_or_filling() -> None:
    """A photocopy tells the verdicts apart: circle, hatched square, black diamond, dashes."""
    svg = map_svg(make_plan(), units="us")
    assert 'fill="url(#doubt)"' in svg
    assert 'stroke-dasharray="3 2"' in svg
    assert {"holds", "doubtful", "will not hold", "do not coat"} <= set(_texts(svg))


def test_water_off_the_map_is_told_with_distance_and_bearing() -> None:
    """A hydrant 5 km east is named beside the legend, not squeezed onto the map."""
    plan = make_plan()
    east = max(asset.x_m for asset in plan.assets)
    far = replace(plan, water_points_m=(("Far hydrant", east + 5000.0, CENTRE[1]),))
    told = next(text for text in _texts(map_svg(far, units="us")) if "off map" in text)
    assert re.fullmatch(r"off map: Far hydrant 3\.\d mi east", told)


def test_strip_says_when_to_spray_and_until_when_it_is_wet() -> None:
    """The ranch house's own times stand on its strip."""
    plan = make_plan()
    texts = _texts(timeline_svg(plan.assets[6], clock_of(plan)))
    assert "Wed 13:00 to Wed 15:30" in texts
    assert "Wed 18:36 (90 %), Wed 20:12 (50 %)" in texts
    assert "Wed 16:15 to Wed 19:15, embers included" in texts


def test_strip_without_a_coat_says_so() -> None:
    """Nothing to spray: words, no bar."""
    plan = make_plan()
    texts = _texts(timeline_svg(plan.assets[0], clock_of(plan)))
    assert {"nothing to spray", "no coat"} <= set(texts)


def test_drying_figure_names_every_facing_and_the_fire_window() -> None:
    """Each facing is in the legend with its peak; the fire window is a band where it falls."""
    svg = _drying(fire_window_s=(START + 8 * HOUR, START + 12 * HOUR))
    texts = _texts(svg)
    assert {"south-west wall", "grass blade", "fire window", "peak 1.60"} <= set(texts)
    assert "fire window" not in _texts(_drying(fire_window_s=(START - 9 * HOUR, START - HOUR)))


def test_drying_figure_of_a_dead_calm_night_is_still_drawn() -> None:
    """No demand at all: an axis from zero, no division by zero."""
    demand = make_demand()
    still = replace(demand, demand_kg_m2_s=0.0 * demand.demand_kg_m2_s)
    svg = drying_figure_svg(still, time_zone="America/Denver", units="us")
    assert "peak 0.000" in _texts(svg)


def test_png_has_the_size_of_the_drawing() -> None:
    """192 dots to 96 units; a PNG header holds width and height (ISO/IEC 15948)."""
    png = svg_to_png(_drying())
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    wide, high = struct.unpack(">II", png[16:24])
    assert wide == pytest.approx(760 * 2, abs=2)
    assert high == pytest.approx(380 * 2, abs=2)
