"""Time against distance along one line: wetting, lighting, drying out, and the time to spare."""

from __future__ import annotations

from stillwet.domain.line_plan import LineMark, LinePlan
from stillwet.reports.line_words import length
from stillwet.reports.local_time import LocalClock
from stillwet.reports.svg import (
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
from stillwet.reports.words import Units, short_name

_LEFT, _RIGHT, _TOP, _BOTTOM = 112.0, 14.0, 60.0, 40.0
_SPARE, _WET, _LATEST = "#DADADA", "black", "#555555"
_MARGIN = 0.03


def line_figure_svg(
    plan: LinePlan, clock: LocalClock, *, units: Units, width: float = 760.0, height: float = 400.0
) -> str:
    """Time runs to the right, distance along the line upward.

    Thick line: wetting. Dashed with torches: lighting. Grey between lighting and the latest moment
    it may be: time to spare. Hatched beyond: too late. Dotted: dried out, 90 and 50 %.
    """
    return _LineFigure(plan, clock, units, width, height).svg()


class _LineFigure:
    """The scales of one figure."""

    def __init__(
        self, plan: LinePlan, clock: LocalClock, units: Units, width: float, height: float
    ) -> None:
        self.plan, self.clock, self.units = plan, clock, units
        self.width, self.height = width, height
        moments = [plan.start_s]
        for mark in plan.marks:
            moments += [mark.wet_from_s, mark.wet_to_s, mark.latest_s, mark.dry_90_s]
            moments += [time for time in (mark.lit_to_s,) if time is not None]
        moments += [time for time in (plan.arrival_to_s,) if time is not None]
        first, last = min(moments), max(moments)
        spread = max(last - first, 600.0)
        self.first, self.last = first - _MARGIN * spread, last + 2 * _MARGIN * spread

    def x(self, time_s: float) -> float:
        share = (min(time_s, self.last) - self.first) / (self.last - self.first)
        return _LEFT + share * (self.width - _LEFT - _RIGHT)

    def y(self, distance_m: float) -> float:
        share = distance_m / self.plan.length_m
        return self.height - _BOTTOM - share * (self.height - _BOTTOM - _TOP)

    def svg(self) -> str:
        defs = hatch("late", gap=9.0, width=0.25) + hatch("fire", gap=4.0, width=0.7, angle=-45.0)
        parts = [*self._title(), *self._late(), *self._axes(), *self._spare(), *self._dry()]
        parts += [*self._fire(), *self._wetting(), *self._lighting(), *self._refills()]
        title = f"Time and distance along {self.plan.name}"
        return document(self.width, self.height, parts, title=title, defs=defs)

    def _title(self) -> list[str]:
        """Name and a row of samples, so that no colour has to be explained."""
        name = short_name(self.plan.name, 60)
        parts = [words(8, 20, f"{name}: {self.plan.purpose}", 13, font_weight="bold")]
        at = 8.0
        for sample, told in self._samples():
            parts.append(element("g", sample, transform=f"translate({at:.1f} 40)"))
            parts.append(words(at + 30, 43.5, told, 10))
            at += 30 + text_width(told, 10) + 16
        return parts

    def _samples(self) -> list[tuple[str, str]]:
        found = [(line((0, 0), (24, 0), stroke=_WET, stroke_width=3.4), "wetting")]
        if self.plan.is_lit:
            dash = line((0, 0), (24, 0), stroke_width=1.6, stroke_dasharray="6 3")
            found.append((dash + _torch(12, 0), "lighting"))
            found.append((box(0, -5, 24, 10, fill=_SPARE, stroke="black"), "time to spare"))
            found.append(
                (box(0, -5, 24, 10, fill="url(#late)", stroke="black"), "too late to light")
            )
        else:
            found.append((box(0, -5, 24, 10, fill="url(#fire)", stroke="black"), "fire comes"))
        dots = line((0, 0), (24, 0), stroke_width=1.8, stroke_dasharray="1.5 3")
        thin = line((0, 0), (24, 0), stroke_width=0.9, stroke_dasharray="1.5 5")
        return [*found, (dots, "dried out, 90 %"), (thin, "50 %")]

    def _axes(self) -> list[str]:
        base, right = self.y(0.0), self.width - _RIGHT
        parts = [line((_LEFT, base), (right, base)), line((_LEFT, _TOP), (_LEFT, base))]
        for time in self._ticks():
            x = self.x(time)
            parts.append(line((x, _TOP), (x, base + 4), stroke="#BBBBBB", stroke_width=0.6))
            parts.append(
                words(x, base + 16, self.clock.short(time).split()[-1], 10, text_anchor="middle")
            )
        label = f"time, {self.clock.days([self.plan.start_s])}"
        parts.append(words((_LEFT + right) / 2, self.height - 6, label, 10, text_anchor="middle"))
        return parts + self._segment_lines(base, right)

    def _ticks(self) -> list[float]:
        """Round moments of the clock, four to twelve of them."""
        spread = self.last - self.first
        step = next(
            (each for each in (300.0, 600.0, 900.0, 1800.0, 3600.0) if spread / each <= 12), 7200.0
        )
        count = int(self.first // step)
        times = [step * (count + index) for index in range(1, 16)]
        return [time for time in times if self.first < time < self.last]

    def _segment_lines(self, base: float, right: float) -> list[str]:
        parts = []
        for segment in self.plan.segments:
            top, bottom = self.y(segment.to_m), self.y(segment.from_m)
            parts.append(line((_LEFT, top), (right, top), stroke="#999999", stroke_width=0.6))
            middle = (top + bottom) / 2
            name = short_name(segment.name, 16)
            parts.append(words(_LEFT - 8, middle, name, 10, text_anchor="end", font_weight="bold"))
            told = f"{length(segment.to_m, self.units)}"
            parts.append(words(_LEFT - 8, top + 9, told, 9, text_anchor="end", fill="#444444"))
        zero = "0 m" if self.units is Units.METRIC else "0 ft"
        parts.append(words(_LEFT - 8, base, zero, 9, text_anchor="end", fill="#444444"))
        return parts

    def _wetting(self) -> list[str]:
        points: list[Point] = []
        for mark in self.plan.marks:
            points.append((self.x(mark.wet_from_s), self.y(mark.from_m)))
            points.append((self.x(mark.wet_to_s), self.y(mark.to_m)))
        return [path(points, stroke=_WET, stroke_width=3.4)] if points else []

    def _lit(self) -> list[LineMark]:
        return [mark for mark in self.plan.marks if mark.lit_to_s is not None]

    def _lighting(self) -> list[str]:
        points: list[Point] = []
        for mark in self._lit():
            assert mark.lit_from_s is not None
            assert mark.lit_to_s is not None
            points.append((self.x(mark.lit_from_s), self.y(mark.from_m)))
            points.append((self.x(mark.lit_to_s), self.y(mark.to_m)))
        if not points:
            return []
        every = max(1, len(points) // 14)
        torches = [_torch(x, y) for x, y in points[1::every]]
        return [path(points, stroke="black", stroke_width=1.6, stroke_dasharray="6 3"), *torches]

    def _edge(self, marks: list[LineMark], name: str) -> list[Point]:
        """A moment of each step as a curve up the line."""
        points = []
        for mark in marks:
            when = float(getattr(mark, name))
            points += [(self.x(when), self.y(mark.from_m)), (self.x(when), self.y(mark.to_m))]
        return points

    def _spare(self) -> list[str]:
        if not self.plan.is_lit:
            return []
        marks = self._lit()
        if not marks:
            return []
        area = self._edge(marks, "lit_to_s") + self._edge(marks, "latest_s")[::-1]
        border = path(self._edge(marks, "latest_s"), stroke=_LATEST, stroke_width=1.2)
        return [shape(area, fill=_SPARE, stroke="none"), border]

    def _late(self) -> list[str]:
        """All that lies beyond the latest moment, hatched."""
        marks = list(self.plan.marks)
        if not marks or not self.plan.is_lit:
            return []
        edge = self._edge(marks, "latest_s")
        right = self.width - _RIGHT
        corners = [(right, self.y(marks[-1].to_m)), (right, self.y(marks[0].from_m))]
        return [shape([*edge, *corners], fill="url(#late)", stroke="none")]

    def _dry(self) -> list[str]:
        marks = list(self.plan.marks)
        if not marks:
            return []
        sure = path(
            self._edge(marks, "dry_90_s"),
            stroke_width=1.8,
            stroke_dasharray="1.5 3",
            stroke="black",
        )
        inside = [mark for mark in marks if mark.dry_50_s <= self.last]
        even = path(
            self._edge(inside, "dry_50_s"),
            stroke_width=0.9,
            stroke_dasharray="1.5 5",
            stroke="black",
        )
        return [sure, even] if inside else [sure]

    def _fire(self) -> list[str]:
        start, end = self.plan.arrival_from_s, self.plan.arrival_to_s
        if start is None or end is None:
            return []
        left, right = self.x(start), self.x(end)
        area = box(left, _TOP, max(2.0, right - left), self.y(0.0) - _TOP, fill="url(#fire)")
        return [area, line((left, _TOP), (left, self.y(0.0)), stroke_width=1.6)]

    def _refills(self) -> list[str]:
        parts = []
        for refill in self.plan.refills:
            left, right, y = self.x(refill.leave_s), self.x(refill.back_s), self.y(refill.at_m)
            told = "refill"
            middle = (left + right) / 2
            parts.append(words(middle, y - 5, told, 9, halo=True, text_anchor="middle"))
            parts.append(
                words(
                    middle,
                    y + 12,
                    length(refill.at_m, self.units),
                    9,
                    halo=True,
                    text_anchor="middle",
                )
            )
        return parts


def _torch(x: float, y: float) -> str:
    """A small flame-shaped mark: a triangle standing on its side's middle."""
    return shape(
        [(x - 3.2, y + 3.0), (x + 3.2, y + 3.0), (x, y - 4.2)], fill="white", stroke="black"
    )
