"""The map of the job: numbered assets by verdict, water, lines, streams and where fire comes from.

Verdicts differ in shape and filling, never in colour alone, so that a photocopy still tells them.
North is the grid north of the plan's CRS.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from stillwet.domain.plan import AssetPlan, Plan, Verdict
from stillwet.reports.svg import (
    Attribute,
    Point,
    box,
    document,
    element,
    hatch,
    line,
    path,
    shape,
    text_width,
    words,
)
from stillwet.reports.words import VERDICT_WORDS, Units, clean, compass, shorten
from stillwet.units import from_si

_MARK = 8.0  # half the size of a numbered mark
_LEGEND_HEIGHT = 32.0
_LEAST_SPAN_M = 60.0
_INSET = 24.0  # between the outermost asset and the frame

_FOOTPRINT: dict[Verdict, dict[str, Attribute]] = {
    Verdict.HOLDS: {"fill": "white", "stroke": "black"},
    Verdict.DOUBTFUL: {"fill": "url(#doubt)", "stroke": "black"},
    Verdict.WILL_NOT_HOLD: {"fill": "black", "stroke": "black"},
    Verdict.DO_NOT_COAT: {"fill": "white", "stroke": "black", "stroke_dasharray": "3 2"},
}


def map_svg(plan: Plan, *, units: str, width: float = 300.0, height: float = 230.0) -> str:
    """The map with its legend, scale bar and north arrow; numbers are those of the plan's table."""
    return _Map(plan, Units(units), width, height).svg()


class _Map:
    """The scale of one map: metres in the plan's CRS to units of the picture."""

    def __init__(self, plan: Plan, units: Units, width: float, height: float) -> None:
        self.plan, self.units, self.width, self.height = plan, units, width, height
        self.frame_height = height - _LEGEND_HEIGHT
        west, south, east, north = _extent(plan)
        self.middle = ((west + east) / 2, (south + north) / 2)
        self.scale = min(
            (width - 2 * _INSET) / max(east - west, _LEAST_SPAN_M),
            (self.frame_height - 2 * _INSET) / max(north - south, _LEAST_SPAN_M),
        )
        self.placed: list[Point] = []

    def at(self, point: Point) -> Point:
        x = self.width / 2 + (point[0] - self.middle[0]) * self.scale
        return x, self.frame_height / 2 - (point[1] - self.middle[1]) * self.scale

    def svg(self) -> str:
        fires = self._fire_arrows()
        water = self._water_points()
        scale = self._scale_and_north()
        drawn = [*self._streams(), *self._lines(), *self._footprints(), *fires, *water]
        drawn += self._marks()
        frame = {"width": self.width - 1, "height": self.frame_height - 1, "x": 0.5, "y": 0.5}
        clip = element("clipPath", element("rect", **frame), id="frame")
        parts = [element("g", "".join(drawn), clip_path="url(#frame)")]
        parts += [element("rect", fill="none", stroke="black", **frame), *scale, *self._legend()]
        title = f"Map of {clean(self.plan.job_name)}"
        defs = hatch("doubt", gap=3.5, width=0.5) + clip
        return document(self.width, self.height, parts, title=title, defs=defs)

    def _streams(self) -> Iterable[str]:
        for track in self.plan.streams_m:
            points = [self.at(point) for point in track]
            yield path(points, stroke="#7A9BB5", stroke_width=3.0)
            yield path(points, stroke="white", stroke_width=1.0)

    def _lines(self) -> Iterable[str]:
        for track in self.plan.lines_m:
            points = [self.at(point) for point in track]
            yield path(points, stroke="black", stroke_width=2.2, stroke_dasharray="8 3")

    def _footprints(self) -> Iterable[str]:
        for asset in self.plan.assets:
            if asset.footprint_m:
                ring = [self.at(point) for point in asset.footprint_m]
                yield shape(ring, **_FOOTPRINT[asset.verdict])

    def _water_points(self) -> list[str]:
        parts = []
        for _, x, y in self.plan.water_points_m:
            at = self.at((x, y))
            if self._is_inside(at):
                self.placed.append(at)
                parts.append(water_mark(at))
        return parts

    def _is_inside(self, at: Point, margin: float = 9.0) -> bool:
        across = margin <= at[0] <= self.width - margin
        return across and margin <= at[1] <= self.frame_height - margin

    def _fire_arrows(self) -> list[str]:
        """One arrow for each direction (to 15 degrees) that fire is expected from."""
        groups: dict[int, list[int]] = {}
        for number, asset in enumerate(self.plan.assets, start=1):
            if asset.fire_bearing_deg is not None:
                groups.setdefault(round(asset.fire_bearing_deg / 15) * 15 % 360, []).append(number)
        parts = []
        for bearing, numbers in groups.items():
            told = "fire" if len(groups) == 1 else f"fire: {runs(numbers)}"
            parts.append(self._fire_arrow(float(bearing), shorten(told, 24)))
        return parts

    def _fire_arrow(self, bearing_deg: float, label: str) -> str:
        east = math.sin(math.radians(bearing_deg))
        down = -math.cos(math.radians(bearing_deg))
        reach = min(
            (self.width / 2 - 14) / max(abs(east), 1e-6),
            (self.frame_height / 2 - 14) / max(abs(down), 1e-6),
        )
        middle = (self.width / 2, self.frame_height / 2)
        tail = (middle[0] + east * reach, middle[1] + down * reach)
        tip = (tail[0] - east * 34, tail[1] - down * 34)
        self.placed += [tail, tip, ((tail[0] + tip[0]) / 2, (tail[1] + tip[1]) / 2)]
        return _arrow(tail, tip) + self._fire_label(tail, tip, label)

    def _fire_label(self, tail: Point, tip: Point, label: str) -> str:
        """The label below, above or beside the arrow: the first place that covers no asset."""
        wide, middle = text_width(label, 9) * 1.1, (tail[0] + tip[0]) / 2
        low, high = max(tail[1], tip[1]), min(tail[1], tip[1])
        right, left = max(tail[0], tip[0]) + 6, min(tail[0], tip[0]) - wide - 6
        centred = middle - wide / 2
        places = [(centred, low + 14), (centred, high - 8), (right, low), (left, low)]
        places += [(right, high + 8), (left, high + 8)]
        anchors = [self.at((asset.x_m, asset.y_m)) for asset in self.plan.assets]
        fitting = [spot for spot in places if self._holds_label(spot, wide)] or [(4.0, high)]
        x, y = next(
            (spot for spot in fitting if _is_clear(spot, wide, anchors + self.placed[:-3])),
            fitting[0],
        )
        self.placed += _along((x, y - 3), wide)
        return words(x, y, label, 9, halo=True, font_weight="bold")

    def _holds_label(self, spot: Point, wide: float) -> bool:
        across = spot[0] >= 3 and spot[0] + wide <= self.width - 3
        return across and 12 <= spot[1] <= self.frame_height - 4

    def _marks(self) -> Iterable[str]:
        anchors = [self.at((asset.x_m, asset.y_m)) for asset in self.plan.assets]
        spots = [self._free_spot(anchor, anchors) for anchor in anchors]
        for anchor, spot in zip(anchors, spots, strict=True):
            if math.dist(anchor, spot) > _MARK:
                yield line(anchor, spot, stroke_width=0.8)
                yield element("circle", cx=anchor[0], cy=anchor[1], r=1.6)
        for number, (asset, spot) in enumerate(zip(self.plan.assets, spots, strict=True), start=1):
            yield verdict_mark(asset.verdict, spot, str(number))

    def _free_spot(self, anchor: Point, anchors: Sequence[Point]) -> Point:
        """The nearest place to the asset where its mark covers no other mark nor asset."""
        for ring in (0.0, 15.0, 22.0, 30.0, 40.0, 52.0, 66.0, 82.0):
            for step in range(16 if ring else 1):
                angle = math.radians(22.5 * step - 90)
                spot = (anchor[0] + ring * math.cos(angle), anchor[1] + ring * math.sin(angle))
                others = [other for other in anchors if other != anchor]
                if self._is_free(spot, others):
                    self.placed.append(spot)
                    return spot
        return anchor

    def _is_free(self, spot: Point, others: Sequence[Point]) -> bool:
        if not self._is_inside(spot, _MARK + 2):
            return False
        if any(math.dist(spot, taken) < 2 * _MARK + 1.5 for taken in self.placed):
            return False
        return all(math.dist(spot, other) > _MARK + 1 for other in others)

    def _scale_and_north(self) -> list[str]:
        length_m, label = scale_bar(0.28 * self.width / self.scale, self.units)
        long = length_m * self.scale
        y = self.frame_height - 8
        right = self.width - 8
        ends = [(right - long, y - 4), (right - long, y), (right, y), (right, y - 4)]
        middle = right - long / 2
        parts = [path(ends, stroke="black", stroke_width=1.6)]
        parts.append(words(middle, y - 4, label, 8.5, halo=True, text_anchor="middle"))
        self.placed += _along((right - long, y - 4), long)
        top = (self.width - 14, 10.0)
        head = [(top[0], top[1]), (top[0] + 5, top[1] + 16), (top[0], top[1] + 12)]
        head.append((top[0] - 5, top[1] + 16))
        parts.append(shape(head))
        parts.append(words(top[0], top[1] + 26, "N", 9, text_anchor="middle", font_weight="bold"))
        self.placed += [(top[0], top[1] + 4), (top[0], top[1] + 20)]
        return parts

    def _legend(self) -> list[str]:
        """Two rows below the frame: verdicts of this plan, then the other signs on it."""
        present = {asset.verdict for asset in self.plan.assets}
        y, x, parts = self.frame_height + 10, 6.0, []
        for verdict, told in VERDICT_WORDS.items():
            if verdict in present:
                parts.append(verdict_mark(verdict, (x + 4, y), "", half=4.5))
                parts.append(words(x + 12, y + 3, told.lower(), 8.5))
                x += 18 + text_width(told.lower(), 8.5)
        return parts + self._signs(self.frame_height + 25)

    def _signs(self, y: float) -> list[str]:
        x, parts = 6.0, []
        if self.plan.water_points_m:
            parts += [water_mark((x + 4, y), half=4.5), words(x + 12, y + 3, "water", 8.5)]
            x += 46
        if self.plan.lines_m:
            parts.append(line((x, y), (x + 19, y), stroke_width=2.2, stroke_dasharray="8 3"))
            parts.append(words(x + 23, y + 3, "line", 8.5))
            x += 46
        if self.plan.streams_m:
            parts.append(line((x, y), (x + 16, y), stroke="#7A9BB5", stroke_width=3.0))
            parts.append(line((x, y), (x + 16, y), stroke="white"))
            parts.append(words(x + 20, y + 3, "stream", 8.5))
            x += 56
        return parts + self._far_water(x, y)

    def _far_water(self, x: float, y: float) -> list[str]:
        far = [p for p in self.plan.water_points_m if not self._is_inside(self.at(p[1:]))]
        if not far:
            return []
        told = "; ".join(self._far_words(*point) for point in far)
        room = int((self.width - x) / text_width("x", 8.5))
        return [words(x, y + 3, shorten(f"off map: {told}", max(4, room)), 8.5)]

    def _far_words(self, name: str, x: float, y: float) -> str:
        east, north = x - self.middle[0], y - self.middle[1]
        away = math.hypot(east, north)
        bearing = math.degrees(math.atan2(east, north)) % 360
        unit = "mi" if self.units is Units.US else "km"
        return f"{clean(name)} {from_si(away, unit):.1f} {unit} {compass(bearing)}"


def _along(start: Point, wide: float) -> list[Point]:
    """Points along a label, close enough that no mark fits between them."""
    steps = max(1, round(wide / _MARK))
    return [(start[0] + wide * step / steps, start[1]) for step in range(steps + 1)]


def _is_clear(spot: Point, wide: float, taken: Sequence[Point]) -> bool:
    """True when a label at this place is not within a mark's reach of any taken point."""
    points = _along((spot[0], spot[1] - 3), wide)
    return all(math.dist(point, other) > _MARK + 3 for point in points for other in taken)


def _extent(plan: Plan) -> tuple[float, float, float, float]:
    """West, south, east, north of the assets, and of the water that is not far from them."""
    corners = [corner for asset in plan.assets for corner in _corners(asset)]
    west, south, east, north = _bounds(corners)
    reach = 0.35 * max(east - west, north - south, _LEAST_SPAN_M)
    near = [
        (x, y)
        for _, x, y in plan.water_points_m
        if west - reach <= x <= east + reach and south - reach <= y <= north + reach
    ]
    return _bounds(corners + near)


def _corners(asset: AssetPlan) -> tuple[Point, ...]:
    return asset.footprint_m or ((asset.x_m, asset.y_m),)


def _bounds(points: Sequence[Point]) -> tuple[float, float, float, float]:
    across, up = [x for x, _ in points], [y for _, y in points]
    return min(across), min(up), max(across), max(up)


def scale_bar(most_m: float, units: Units) -> tuple[float, str]:
    """The longest round length that fits: (metres, label)."""
    names = ("mi", "ft") if units is Units.US else ("km", "m")
    for name in names:
        most = from_si(most_m, name)
        least = 0.5 if name in {"mi", "km"} else 0.0
        if most >= least:
            power = 10.0 ** math.floor(math.log10(most))
            length = next(power * each for each in (5, 2, 1) if power * each <= most)
            return length * most_m / most, f"{length:g} {name}"
    raise ValueError(f"no scale bar fits {most_m} m")


def verdict_mark(verdict: Verdict, at: Point, number: str, half: float = _MARK) -> str:
    """The mark of a verdict: white circle, hatched square, black diamond, or dashed square."""
    x, y = at
    ink = "white" if verdict is Verdict.WILL_NOT_HOLD else "black"
    size = half * (1.15 if len(number) < 3 else 0.85)
    halo = verdict is Verdict.DOUBTFUL
    told = {"text_anchor": "middle", "font_weight": "bold", "fill": ink}
    shown = words(x, y + size * 0.36, number, size, halo=halo, **told) if number else ""
    if verdict is Verdict.HOLDS:
        return element("circle", cx=x, cy=y, r=half, **_FOOTPRINT[verdict]) + shown
    if verdict is Verdict.WILL_NOT_HOLD:
        reach = half * 1.3
        ring = [(x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y)]
        return shape(ring, stroke="white", stroke_width=0.8) + shown
    side = half * 0.92
    return box(x - side, y - side, 2 * side, 2 * side, **_FOOTPRINT[verdict]) + shown


def water_mark(at: Point, half: float = 6.5) -> str:
    """A drop: a circle with a point on top."""
    x, y = at
    ring = (
        f"M{x:.2f} {y - 1.5 * half:.2f} Q{x + 1.5 * half:.2f} {y + half:.2f} {x:.2f} {y + half:.2f}"
    )
    ring += f" Q{x - 1.5 * half:.2f} {y + half:.2f} {x:.2f} {y - 1.5 * half:.2f} Z"
    return element("path", d=ring, fill="#DDEEF8", stroke="black", stroke_width=1.2)


def _arrow(tail: Point, tip: Point) -> str:
    """A broad arrow from tail to tip."""
    long = math.dist(tail, tip)
    along = ((tip[0] - tail[0]) / long, (tip[1] - tail[1]) / long)
    side = (-along[1], along[0])

    def spot(forward: float, across: float) -> Point:
        x = tail[0] + along[0] * forward + side[0] * across
        return x, tail[1] + along[1] * forward + side[1] * across

    ring = [spot(0, 3), spot(long - 13, 3), spot(long - 13, 8), spot(long, 0)]
    ring += [spot(long - 13, -8), spot(long - 13, -3), spot(0, -3)]
    return shape(ring, fill="#555555", stroke="white", stroke_width=1.0)


def runs(numbers: Sequence[int]) -> str:
    """Whole numbers in short: 1, 2, 3, 5 -> "1-3, 5"."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]}-{r[-1]}" for r in runs)
