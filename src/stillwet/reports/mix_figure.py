"""The mix window as one picture: what clings against the ratio, the walls below, what to set."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stillwet.domain.mix_window import CrewWindow, Fit, MixWindow, Wall, WallKind
from stillwet.reports.mix_words import headline, name_of, percent
from stillwet.reports.svg import Point, box, document, hatch, line, path, shape, text_width, words
from stillwet.reports.text_table import wrap_cells
from stillwet.reports.words import Units, clean, coat, ratio_basis, shorten, unit_label
from stillwet.units import to_si

_WIDTH = 760.0
_LEFT, _RIGHT = 178.0, 20.0
_TOP, _CURVE = 64.0, 190.0
_LANE, _GAP = 22.0, 8.0
_MOST_CREWS = 6
_NOTE_LETTERS = 132
_STEPS = (0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05)


@dataclass(frozen=True, slots=True)
class _Scale:
    """From ratio and coat to the picture."""

    most_ratio: float
    most_coat: float

    def x(self, ratio: float) -> float:
        """Across, held inside the frame."""
        share = min(max(ratio / self.most_ratio, 0.0), 1.0)
        return _LEFT + share * (_WIDTH - _LEFT - _RIGHT)

    def y(self, coat_kg_m2: float) -> float:
        """Down, held inside the frame."""
        share = min(max(coat_kg_m2 / self.most_coat, 0.0), 1.0)
        return _TOP + _CURVE * (1.0 - share)


def mix_figure_svg(window: MixWindow, *, units: str) -> str:
    """The picture; ``units`` is "us" or "metric"."""
    scale = _scale(window)
    lanes = _lanes(window)
    base = _TOP + _CURVE + 34.0 + len(lanes) * (_LANE + _GAP)
    notes = [part for text in _notes(window) for part in wrap_cells(text, _NOTE_LETTERS)]
    height = base + 20.0 + 13.0 * len(notes)
    about = shorten(clean(window.asset_name or window.job_name), 60)
    title = f"Mix window: {about}"
    parts = [
        words(16, 24, title, 15, font_weight="bold"),
        words(16, 43, shorten(headline(window), 120), 11),
        *_curve(window, scale, Units(units)),
    ]
    for index, lane in enumerate(lanes):
        parts += lane.drawn(scale, _TOP + _CURVE + 34.0 + index * (_LANE + _GAP))
    parts += _chosen(window, scale, base)
    parts += _ratio_axis(window, scale)
    parts += [
        words(16, base + 14 + 13 * index, note, 10, fill="#333333")
        for index, note in enumerate(notes)
    ]
    return document(_WIDTH, height, parts, title=title, defs=hatch("refused", gap=5, width=0.7))


def _scale(window: MixWindow) -> _Scale:
    curve = window.curve
    needed = curve.needed_kg_m2 if math.isfinite(curve.needed_kg_m2) else 0.0
    top = max(1.6 * max(curve.middle_kg_m2), 1.25 * needed, 1.0)
    return _Scale(curve.ratio[-1], min(top, 25.0))


def _curve(window: MixWindow, scale: _Scale, units: Units) -> list[str]:
    curve = window.curve

    def points(values: tuple[float, ...]) -> list[Point]:
        return [(scale.x(r), scale.y(v)) for r, v in zip(curve.ratio, values, strict=True)]

    band = points(curve.low_kg_m2) + points(curve.high_kg_m2)[::-1]
    bottom, right = _TOP + _CURVE, _WIDTH - _RIGHT
    parts = [
        shape(band, fill="#DDDDDD"),
        path(points(curve.middle_kg_m2), stroke="black", stroke_width=2.0),
        path(points(curve.counted_kg_m2), stroke="black", stroke_dasharray="5 3"),
        line((_LEFT, _TOP), (_LEFT, bottom)),
        line((_LEFT, bottom), (right, bottom)),
    ]
    parts += _coat_axis(scale, units)
    if math.isfinite(curve.needed_kg_m2):
        y = scale.y(curve.needed_kg_m2)
        told = f"needed: {coat(curve.needed_kg_m2, units)}"
        parts.append(line((_LEFT, y), (right, y), stroke_dasharray="8 3 2 3", stroke_width=1.3))
        parts.append(words(right - 4, y - 4, told, 10, halo=True, text_anchor="end"))
    told = shorten(clean(curve.face), 60)
    parts.append(words(_LEFT + 8, _TOP + 4, f"thickest coat that clings: {told}", 10, halo=True))
    if window.best.ratio <= scale.most_ratio:
        x = scale.x(window.best.ratio)
        parts.append(line((x, _TOP + 10), (x, bottom), stroke_dasharray="1 3"))
        parts.append(words(x, _TOP + 20, "best", 10, halo=True, text_anchor="middle"))
    return parts


def _coat_axis(scale: _Scale, units: Units) -> list[str]:
    """Round steps in the reader's own unit."""
    unit = to_si(1.0, "in", dimension="water_depth") if units is Units.US else 1.0
    steps = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
    step = next((s for s in steps if scale.most_coat / (s * unit) <= 6), 10.0)
    parts = []
    for index in range(1, math.floor(scale.most_coat / (step * unit)) + 1):
        y = scale.y(index * step * unit)
        parts.append(line((_LEFT - 4, y), (_LEFT, y)))
        parts.append(words(_LEFT - 7, y + 3.5, f"{index * step:g}", 10, text_anchor="end"))
    parts.append(words(_LEFT - 7, _TOP - 6, unit_label("kg/m2", units), 10, text_anchor="end"))
    return parts


def _ratio_axis(window: MixWindow, scale: _Scale) -> list[str]:
    bottom = _TOP + _CURVE
    step = next((s for s in _STEPS if scale.most_ratio / s <= 8), _STEPS[-1])
    parts = []
    for index in range(math.floor(scale.most_ratio / step) + 1):
        x = scale.x(index * step)
        parts.append(line((x, bottom), (x, bottom + 4)))
        shown = f"{100 * index * step:g}"
        parts.append(words(x, bottom + 15, shown, 10, halo=True, text_anchor="middle"))
    told = f"% {ratio_basis(window.ratio_basis)}"
    parts.append(words(_LEFT - 7, bottom + 15, told, 10, text_anchor="end"))
    return parts


@dataclass(frozen=True, slots=True)
class _Lane:
    """One row below: what is refused is hatched; a bracket is where a wall may stand."""

    name: str
    low: float  # allowed from ...
    high: float  # ... to; above low: nothing is allowed
    walls: tuple[Wall, ...] = ()
    is_answer: bool = False
    dot: float | None = None  # a crew's ratio to set; the lane is then what it may deliver

    def drawn(self, scale: _Scale, top: float) -> list[str]:
        """The lane's strokes."""
        size = min(11.0, 11.0 * (_LEFT - 24) / max(text_width(self.name, 11.0), 1.0))
        weight = "bold" if self.is_answer else "normal"
        parts = [words(_LEFT - 8, top + 15, self.name, size, text_anchor="end", font_weight=weight)]
        if self.dot is not None:
            return parts + self._delivered(scale, top)
        end = _WIDTH - _RIGHT
        parts.append(box(_LEFT, top, end - _LEFT, _LANE, fill="url(#refused)", stroke="black"))
        if self.low < self.high:
            fill = "#777777" if self.is_answer else "white"
            x, until = scale.x(self.low), scale.x(self.high)
            parts.append(box(x, top, max(until - x, 1.5), _LANE, fill=fill, stroke="black"))
        for index, wall in enumerate(self.walls):
            share = (index + 1) / (len(self.walls) + 1)
            parts += _bracket(wall, scale, top, top + share * _LANE)
        return parts

    def _delivered(self, scale: _Scale, top: float) -> list[str]:
        middle = top + _LANE / 2
        x, until, dot = scale.x(self.low), scale.x(self.high), scale.x(self.dot or 0.0)
        stroke = {"stroke_width": 2.0}
        return [
            line((x, middle), (until, middle), **stroke),
            line((x, middle - 6), (x, middle + 6), **stroke),
            line((until, middle - 6), (until, middle + 6), **stroke),
            shape(
                [(dot, middle - 6), (dot + 6, middle), (dot, middle + 6), (dot - 6, middle)],
                fill="black",
            ),
            words(until + 6, middle + 4, f"set {percent(self.dot or 0.0)}", 10, halo=True),
        ]


def _bracket(wall: Wall, scale: _Scale, top: float, y: float) -> list[str]:
    """Thick where it is counted on; a thin bracket over where it may stand."""
    parts = []
    if wall.low < wall.high and wall.low < scale.most_ratio:
        x, until = scale.x(wall.low), scale.x(wall.high)
        parts.append(line((x, y), (until, y), stroke="white", stroke_width=4.0))
        parts.append(line((x, y), (until, y), stroke_width=1.3))
        for end, value in ((x, wall.low), (until, wall.high)):
            if value <= scale.most_ratio:
                parts.append(line((end, y - 4), (end, y + 4), stroke_width=1.3))
    if 0.0 < wall.ratio <= scale.most_ratio:
        x = scale.x(wall.ratio)
        parts.append(line((x, top - 2), (x, top + _LANE + 2), stroke_width=3.0))
    return parts


def _lanes(window: MixWindow) -> list[_Lane]:
    lower, upper = window.lower, window.upper
    falls = [face.fall for asset in window.assets if asset.is_open for face in asset.faces]
    fall = min(falls, key=lambda wall: wall.ratio, default=window.best)
    clings = [lower] if lower.kind is WallKind.CLING else []
    lanes = [
        _Lane("keeps the coat", lower.ratio, fall.ratio, (*clings, fall)),
        _Lane("on the label", window.label_low, window.label_high),
    ]
    shown = window.crews[:_MOST_CREWS]
    lanes += [
        _Lane(f"pumped by {name_of(crew.name)}", 0.0, _tight(crew).ratio, crew.pumps)
        for crew in shown
    ]
    lanes.append(_Lane("window", lower.ratio, upper.ratio, is_answer=True))
    lanes += [
        _Lane(
            f"{name_of(crew.name)} may deliver",
            crew.ratio * crew.delivered_low,
            crew.ratio * crew.delivered_high,
            dot=crew.ratio,
        )
        for crew in shown
        if crew.fit is not Fit.CLOSED
    ]
    return lanes


def _tight(crew: CrewWindow) -> Wall:
    return min(crew.pumps, key=lambda wall: wall.ratio)


def _chosen(window: MixWindow, scale: _Scale, base: float) -> list[str]:
    """The first crew's ratio through the whole picture."""
    first = next((crew for crew in window.crews if crew.fit is not Fit.CLOSED), None)
    if first is None:
        return []
    x = scale.x(first.ratio)
    return [line((x, _TOP), (x, base - _GAP), stroke_width=1.0, stroke_dasharray="3 2")]


def _notes(window: MixWindow) -> list[str]:
    notes = [
        "Above: middle (line), 90 % (grey), and what the plan counts on, with its safety (dashed). "
        "Below: hatched is refused; a thick stroke is a wall as counted on, a bracket is where it "
        "may stand (90 %). A pump has two walls, by two published sets of hose coefficients.",
    ]
    hidden = len(window.crews) - _MOST_CREWS
    if hidden > 0:
        notes.append(f"{hidden} more crews are told in the text.")
    return notes
