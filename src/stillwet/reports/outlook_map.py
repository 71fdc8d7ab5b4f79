"""A small map of one face: where a coat laid in time holds, with the zones' outlines.

White holds in nine of ten, hatched in half, black does not; spots without an answer are dotted. The
same shades as the verdicts of a plan, so that a photocopy tells them apart.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from itertools import groupby

from stillwet.domain.outlook_brief import FaceMap, Holding, ZoneGroup
from stillwet.reports.svg import (
    Attribute,
    Point,
    box,
    document,
    element,
    hatch,
    shape,
    text_width,
    words,
)

_FILL: dict[Holding, str] = {
    Holding.SURE: "white",
    Holding.EVEN: "url(#even)",
    Holding.NOT: "#222222",
    Holding.UNKNOWN: "url(#unknown)",
}
HOLDING_WORDS = {
    Holding.SURE: "holds, 9 in 10",
    Holding.EVEN: "holds, 1 in 2",
    Holding.NOT: "does not hold",
    Holding.UNKNOWN: "no answer",
}
_LABEL_SIZE = 8.0

Place = Callable[[float, float], Point]  # longitude and latitude [deg] -> a spot on the map


def outlook_map_svg(group: ZoneGroup, face: FaceMap, *, width: float = 230.0) -> str:
    """One face's map; zones carry the numbers of the page's table."""
    west, south, east, north = group.bounds_deg
    flat = math.cos(math.radians((south + north) / 2))
    height = min(max(width * (north - south) / ((east - west) * flat), 0.4 * width), 0.95 * width)

    def at(longitude: float, latitude: float) -> Point:
        x = (longitude - west) / (east - west) * width
        return x, (north - latitude) / (north - south) * height

    parts = [*_spots(face, width, height), *_outlines(group, at), *_numbers(group, at)]
    frame = box(0.5, 0.5, width - 1, height - 1, fill="none", stroke="black")
    title = f"{face.face}: where a coat holds"
    return document(width, height, [*parts, frame], title=title, defs=_patterns())


def legend_svg(width: float = 480.0) -> str:
    """What the shades mean, in one row."""
    x, parts = 1.0, []
    for holding, told in reversed(HOLDING_WORDS.items()):
        parts.append(box(x, 2, 18, 11, fill=_FILL[holding], stroke="black"))
        parts.append(words(x + 23, 11, told, 9))
        x += 36 + text_width(told, 9)
    return document(width, 15.0, parts, title="What the shades mean", defs=_patterns())


def _patterns() -> str:
    dot = element("rect", width=6, height=6, fill="white")
    dot += element("circle", cx=3, cy=3, r=0.8, fill="black")
    unknown = element(
        "pattern", dot, id="unknown", width=6, height=6, patternUnits="userSpaceOnUse"
    )
    return hatch("even", gap=4.0, width=0.8) + unknown


def _spots(face: FaceMap, width: float, height: float) -> Iterable[str]:
    """Runs of equal spots as one box; a hair of overlap keeps seams from showing."""
    high, wide = height / len(face.spots), width / len(face.spots[0])
    for row, spots in enumerate(face.spots):
        column = 0
        for holding, run in groupby(spots):
            long = len(list(run))
            yield box(column * wide, row * high, long * wide + 0.3, high + 0.3, fill=_FILL[holding])
            column += long


def _outlines(group: ZoneGroup, at: Place) -> Iterable[str]:
    rim: dict[str, Attribute] = {"fill": "none", "stroke": "white", "stroke_width": 3.0}
    ink: dict[str, Attribute] = {"fill": "none", "stroke": "black", "stroke_width": 1.4}
    rings = [
        [at(x, y) for x, y in ring]
        for answer in group.zones
        for polygon in answer.zone.polygons
        for ring in polygon
    ]
    for style in (rim, ink):
        for ring in rings:
            yield shape(ring, **style)


def _numbers(group: ZoneGroup, at: Place) -> Iterable[str]:
    from shapely import Polygon

    for number, answer in enumerate(group.zones, start=1):
        largest = max((Polygon(p[0], p[1:]) for p in answer.zone.polygons), key=lambda p: p.area)
        spot = largest.representative_point()
        x, y = at(float(spot.x), float(spot.y))
        yield element("circle", cx=x, cy=y, r=7.5, fill="white", stroke="black")
        yield words(x, y + 3, str(number), _LABEL_SIZE, text_anchor="middle", font_weight="bold")
