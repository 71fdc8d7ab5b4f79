"""The drying demand of each facing over the hours, drawn to read in black and white too."""

from __future__ import annotations

import math

from stillwet.domain.facing import FacingDemand
from stillwet.reports.local_time import LocalClock
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
from stillwet.reports.words import Units, clean, number, shorten, unit_label
from stillwet.units import depth_in_inches

_RATE = "kg/m2/h"
_HOUR_S = 3600.0
_WIDTH, _HEIGHT = 760.0, 380.0
_LEFT, _TOP, _BOTTOM = 58.0, 40.0, 46.0
_LEGEND = 172.0

# Told apart three ways: colour (safe for colour-blind readers: Okabe and Ito 2008), dash, marker.
_STYLES = (
    ("#000000", "", "circle"),
    ("#D55E00", "7 3", "square"),
    ("#0072B2", "2 2", "triangle"),
    ("#009E73", "9 3 2 3", "diamond"),
    ("#CC79A7", "4 2", "cross"),
    ("#E69F00", "12 4", "circle"),
    ("#56B4E9", "1 3", "square"),
    ("#555555", "6 2 1 2 1 2", "triangle"),
)


def drying_figure_svg(
    demand: FacingDemand,
    *,
    time_zone: str,
    units: str,
    fire_window_s: tuple[float, float] | None = None,
) -> str:
    """Drying demand against local time, one line a facing; the fire window as a hatched band.

    ``units`` is "us" (in/h) or "metric" (mm/h); ``fire_window_s`` in epoch seconds.
    """
    return _DryingFigure(demand, LocalClock(time_zone), Units(units), fire_window_s).svg()


class _DryingFigure:
    """Axes and scales shared by the parts of one figure."""

    def __init__(
        self,
        demand: FacingDemand,
        clock: LocalClock,
        units: Units,
        fire: tuple[float, float] | None,
    ) -> None:
        self.demand, self.clock, self.units, self.fire = demand, clock, units, fire
        self.first, self.last = float(demand.time_s[0]), float(demand.time_s[-1])
        top = self._shown(float(demand.demand_kg_m2_s.max()) * _HOUR_S)
        self.step = _tick_step(top)
        self.top = self.step * max(1, math.ceil(top / self.step - 1e-9))

    def _shown(self, rate_kg_m2_h: float) -> float:
        return depth_in_inches(rate_kg_m2_h) if self.units is Units.US else rate_kg_m2_h

    def x(self, time_s: float) -> float:
        span = max(_HOUR_S, self.last - self.first)
        share = (time_s - self.first) / span
        return _LEFT + share * (_WIDTH - _LEFT - _LEGEND)

    def y(self, rate: float) -> float:
        return _HEIGHT - _BOTTOM - rate / self.top * (_HEIGHT - _TOP - _BOTTOM)

    def svg(self) -> str:
        title = f"Drying demand, {unit_label(_RATE, self.units)} of water from a fully wet coat"
        parts = [words(_LEFT, 22, title, 14, font_weight="bold")]
        parts += self._fire_band() + self._value_axis() + self._time_axis()
        for index, label in enumerate(self.demand.labels):
            parts += self._facing(index, label)
        return document(_WIDTH, _HEIGHT, parts, title=title, defs=hatch("fire", gap=6, width=0.5))

    def _fire_band(self) -> list[str]:
        if self.fire is None or self.fire[1] < self.first or self.fire[0] > self.last:
            return []
        left, right = self.x(max(self.fire[0], self.first)), self.x(min(self.fire[1], self.last))
        width = max(2.0, right - left)
        band = box(left, _TOP, width, _HEIGHT - _TOP - _BOTTOM, fill="url(#fire)", stroke="black")
        name = words((left + right) / 2, _TOP - 4, "fire window", 11, text_anchor="middle")
        return [band, name]

    def _value_axis(self) -> list[str]:
        parts, right = [], _WIDTH - _LEGEND
        decimals = max(0, -math.floor(math.log10(self.step)))
        for count in range(round(self.top / self.step) + 1):
            value = count * self.step
            y = self.y(value)
            stroke = "black" if count == 0 else "#BBBBBB"
            parts.append(line((_LEFT, y), (right, y), stroke=stroke))
            shown = f"{value:.{decimals}f}"
            parts.append(words(_LEFT - 6, y + 4, shown, 11, text_anchor="end"))
        parts.append(words(8, _TOP - 6, unit_label(_RATE, self.units), 11))
        return parts

    def _time_axis(self) -> list[str]:
        parts, base = [], _HEIGHT - _BOTTOM
        hours = (self.last - self.first) / _HOUR_S
        step = next((each for each in (1, 2, 3, 6, 12) if hours / each <= 12), 24)
        times = self.clock.whole_hours(self.first, self.last, step)
        for time in times:
            x, label = self.x(time), self.clock.hour_label(time)
            parts.append(line((x, base), (x, base + 5)))
            weight = "normal" if ":" in label else "bold"
            parts.append(words(x, base + 18, label, 11, text_anchor="middle", font_weight=weight))
        zone = f"local time, {self.clock.zone_words([self.first, self.last])}"
        parts.append(words(_LEFT, _HEIGHT - 8, zone, 11))
        return parts

    def _facing(self, index: int, label: str) -> list[str]:
        colour, dash, marker = _STYLES[index % len(_STYLES)]
        rates = self.demand.demand_kg_m2_s[index] * _HOUR_S
        points = [
            (self.x(float(time)), self.y(self._shown(float(rate))))
            for time, rate in zip(self.demand.time_s, rates, strict=True)
        ]
        stroke: dict[str, Attribute] = {
            "stroke": colour,
            "stroke_width": 2.0,
            "stroke_dasharray": dash or "none",
        }
        parts = [path(points, **stroke)]
        spread = max(1, len(points) // 10)
        marked = points[index % spread :: spread]
        parts += [_marker(marker, point, colour) for point in marked]
        x, y = _WIDTH - _LEGEND + 10, _TOP + 10 + 34 * index
        parts.append(line((x, y), (x + 34, y), **stroke))
        parts.append(_marker(marker, (x + 17, y), colour))
        limit = int((_LEGEND - 54) / text_width("x", 11))
        parts.append(words(x + 40, y + 1, shorten(clean(label), limit), 11))
        peak = f"peak {number(float(rates.max()), _RATE, self.units)}"
        return [*parts, words(x + 40, y + 14, peak, 10, fill="#333333")]


def _tick_step(top: float) -> float:
    """A round step (1, 2 or 5 times a power of ten) that makes 4 to 8 ticks up to ``top``."""
    if top <= 0:
        return 0.1
    power = 10.0 ** math.floor(math.log10(top / 4))
    return next(power * each for each in (1, 2, 5, 10) if top / (power * each) <= 8)


def _marker(kind: str, at: Point, colour: str) -> str:
    x, y = at
    if kind == "circle":
        return element("circle", cx=x, cy=y, r=3.6, fill="white", stroke=colour, stroke_width=1.6)
    if kind == "cross":
        arms = path([(x - 4, y - 4), (x + 4, y + 4)], stroke=colour, stroke_width=2.0)
        return arms + path([(x - 4, y + 4), (x + 4, y - 4)], stroke=colour, stroke_width=2.0)
    corners = {
        "square": [(-3.5, -3.5), (3.5, -3.5), (3.5, 3.5), (-3.5, 3.5)],
        "triangle": [(0.0, -4.5), (4.3, 3.5), (-4.3, 3.5)],
        "diamond": [(0.0, -5.0), (4.5, 0.0), (0.0, 5.0), (-4.5, 0.0)],
    }[kind]
    ring = [(x + dx, y + dy) for dx, dy in corners]
    return shape(ring, fill="white", stroke=colour, stroke_width=1.6)
