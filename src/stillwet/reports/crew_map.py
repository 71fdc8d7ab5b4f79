"""One crew's small map: its stops in order, water and other assets, for paper without colour."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stillwet.domain.crew_plan import CrewPlan, CrewRun, Point, StepKind
from stillwet.reports.map_figure import scale_bar, water_mark
from stillwet.reports.svg import document, element, line, path, shape, words
from stillwet.reports.words import Units, clean

_INSET, _MARK, _LEAST_SPAN_M = 26.0, 9.0, 60.0
_NEAR_M = 5.0  # stops this near share one mark


def crew_map_svg(
    plan: CrewPlan, run: CrewRun, *, units: str, width: float = 240.0, height: float = 200.0
) -> str:
    """The crew's way from S through its numbered stops; grid north is up."""
    return _Map(plan, run, Units(units), width, height).svg()


class _Map:
    """The scale of one map and the marks on it."""

    def __init__(
        self, plan: CrewPlan, run: CrewRun, units: Units, width: float, height: float
    ) -> None:
        self.plan, self.run, self.units = plan, run, units
        self.width, self.height = width, height
        places = [run.start_at_m, *((step.x_m, step.y_m) for step in run.steps)]
        east, north = [x for x, _ in places], [y for _, y in places]
        self.middle = ((min(east) + max(east)) / 2, (min(north) + max(north)) / 2)
        self.scale = min(
            (width - 2 * _INSET) / max(max(east) - min(east), _LEAST_SPAN_M),
            (height - 2 * _INSET) / max(max(north) - min(north), _LEAST_SPAN_M),
        )

    def at(self, point: Point) -> Point:
        x = self.width / 2 + (point[0] - self.middle[0]) * self.scale
        return x, self.height / 2 - (point[1] - self.middle[1]) * self.scale

    def svg(self) -> str:
        frame = {"x": 0.5, "y": 0.5, "width": self.width - 1, "height": self.height - 1}
        clip = element("clipPath", element("rect", **frame), id="frame")
        drawn = [*self._ground(), *self._way(), *self._marks()]
        parts = [element("g", "".join(drawn), clip_path="url(#frame)")]
        parts += [element("rect", fill="none", stroke="black", **frame), *self._scale()]
        title = f"Map for {clean(self.run.name)}"
        return document(self.width, self.height, parts, title=title, defs=clip)

    def _ground(self) -> Iterator[str]:
        for track in self.plan.streams_m:
            points = [self.at(point) for point in track]
            yield path(points, stroke="#999999", stroke_width=3.0)
            yield path(points, stroke="white", stroke_width=1.2)
        for _, x, y, ring in self.plan.assets_m:
            if ring:
                corners = [self.at(point) for point in ring]
                yield shape(corners, fill="#E4E4E4", stroke="#666666", stroke_width=0.8)
            else:
                spot = self.at((x, y))
                yield element("circle", cx=spot[0], cy=spot[1], r=2.0, fill="#888888")

    def _way(self) -> Iterator[str]:
        places = [self.run.start_at_m, *((step.x_m, step.y_m) for step in self.run.steps)]
        points = [self.at(place) for place in places]
        if len(points) > 1:
            yield path(points, stroke="white", stroke_width=4.0)
            yield path(points, stroke="black", stroke_width=1.4, stroke_dasharray="5 2")

    def _marks(self) -> Iterator[str]:
        """One mark a place, with the numbers of all stops there."""
        groups: list[tuple[Point, bool, list[str]]] = [(self.run.start_at_m, False, ["S"])]
        for number, step in enumerate(self.run.steps, start=1):
            place = (step.x_m, step.y_m)
            known = next((g for g in groups if math.dist(g[0], place) <= _NEAR_M), None)
            if known is None:
                groups.append((place, step.kind is not StepKind.COAT, [str(number)]))
            else:
                known[2].append(str(number))
        taken = self._furniture()
        for place, is_supply, numbers in groups:
            anchor, told = self.at(place), ",".join(numbers)
            spot = _free(anchor, _mark_width(told), taken, self.width, self.height)
            taken.append((spot, _mark_width(told)))
            yield from self._mark(anchor, spot, told, is_supply=is_supply)

    def _furniture(self) -> list[tuple[Point, float]]:
        """North arrow and scale bar as marks that others keep off."""
        long = scale_bar(0.3 * self.width / self.scale, self.units)[0] * self.scale
        across = self.width - 14.0
        bar = (self.width - 8.0 - long / 2, self.height - 12.0)
        return [((across, 14.0), 14.0), ((across, 30.0), 14.0), (bar, long)]

    def _mark(self, anchor: Point, spot: Point, numbers: str, *, is_supply: bool) -> Iterator[str]:
        if math.dist(anchor, spot) > 1.0:
            yield line(anchor, spot, stroke_width=0.8)
        if is_supply:
            yield water_mark(anchor, half=5.0)
        wide = _mark_width(numbers)
        corner = {"x": spot[0] - wide / 2, "y": spot[1] - _MARK, "width": wide, "height": 2 * _MARK}
        dash = {"stroke_dasharray": "3 2"} if is_supply else {}
        yield element("rect", rx=_MARK, fill="white", stroke="black", **corner, **dash)
        yield words(spot[0], spot[1] + 4.2, numbers, 12.0, text_anchor="middle", font_weight="bold")

    def _scale(self) -> list[str]:
        length_m, label = scale_bar(0.3 * self.width / self.scale, self.units)
        long, y, right = length_m * self.scale, self.height - 8, self.width - 8
        ends = [(right - long, y - 4), (right - long, y), (right, y), (right, y - 4)]
        middle = right - long / 2
        top = (self.width - 14, 8.0)
        head = [(top[0], top[1]), (top[0] + 5, top[1] + 16), (top[0], top[1] + 12)]
        return [
            path(ends, stroke="black", stroke_width=1.6),
            words(middle, y - 4, label, 10, halo=True, text_anchor="middle"),
            shape([*head, (top[0] - 5, top[1] + 16)]),
            words(top[0], top[1] + 27, "N", 10, text_anchor="middle", font_weight="bold"),
        ]


def _mark_width(numbers: str) -> float:
    return max(2 * _MARK, 7.0 * len(numbers) + 6.0)


def _free(
    anchor: Point, wide: float, taken: list[tuple[Point, float]], width: float, height: float
) -> Point:
    """The nearest place to the anchor where a mark so wide covers no other."""
    for ring in (0.0, 16.0, 24.0, 34.0, 46.0, 60.0):
        for step in range(12 if ring else 1):
            angle = math.radians(30.0 * step - 90.0)
            spot = (anchor[0] + ring * math.cos(angle), anchor[1] + ring * math.sin(angle))
            inside = wide / 2 + 2 < spot[0] < width - wide / 2 - 2
            inside = inside and _MARK < spot[1] < height - _MARK
            apart = all(
                abs(spot[0] - other[0]) > (wide + its_width) / 2 + 3
                or abs(spot[1] - other[1]) > 2.2 * _MARK
                for other, its_width in taken
            )
            if inside and apart:
                return spot
    return anchor
