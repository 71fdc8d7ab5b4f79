"""All crews and all coated faces on one picture: who is where when, and how the water runs out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stillwet.domain.crew_plan import CrewPlan, CrewRun, FaceBand, StepKind
from stillwet.reports.crew_rows import crew_clock
from stillwet.reports.svg import box, document, hatch, line, text_width, words
from stillwet.reports.words import clean, short_name, shorten

_LEFT, _RIGHT, _TOP, _FOOT = 190.0, 14.0, 30.0, 40.0
_CREW_ROW, _FACE_ROW, _GAP = 30.0, 15.0, 24.0
_HOUR_S = 3600.0
_SIZE = 10.0
_LETTERS = 34  # that the margin has room for


def crew_timeline_svg(
    plan: CrewPlan, *, bands: Sequence[FaceBand] | None = None, width: float = 1000.0
) -> str:
    """Crews on top, each stop numbered; below them a row a face; the fire window over all.

    A face is wet from its laying: black while 90 % sure, hatched down to 50 %. ``bands``: only
    these faces, for a page that cannot hold all.
    """
    return _Picture(plan, plan.bands if bands is None else bands, width).svg()


def rows_within(height: float, crews: int) -> int:
    """How many faces a picture of this height has room for below so many crews."""
    return max(8, int((height - _TOP - _CREW_ROW * crews - _GAP - _FOOT) / _FACE_ROW))


class _Picture:
    """The scale of the picture and its rows from the top."""

    def __init__(self, plan: CrewPlan, bands: Sequence[FaceBand], width: float) -> None:
        self.plan, self.bands, self.width = plan, bands, width
        self.clock = crew_clock(plan)
        starts = [run.steps[0].arrive_s for run in plan.crews if run.steps]
        starts += [band.laid_s for band in bands]
        ends = [run.end_s for run in plan.crews] + [band.fire_to_s for band in bands]
        first, last = min(starts, default=plan.made_s), max(ends, default=plan.made_s)
        last = max(last, first + _HOUR_S)
        self.first, self.last = first - 0.02 * (last - first), last + 0.06 * (last - first)
        self.faces_top = _TOP + _CREW_ROW * len(plan.crews) + _GAP
        self.height = self.faces_top + _FACE_ROW * len(bands) + _FOOT

    def x(self, time_s: float) -> float:
        share = (min(max(time_s, self.first), self.last) - self.first) / (self.last - self.first)
        return _LEFT + share * (self.width - _LEFT - _RIGHT)

    def svg(self) -> str:
        parts = [*self._axis(), *self._crews(), *self._faces(), *self._legend()]
        patterns = hatch("even", gap=4.0, width=0.7) + hatch("fire", gap=6.0, width=0.5, angle=-45)
        title = f"Crews and coats of {clean(self.plan.job_name)}"
        return document(self.width, self.height, parts, title=title, defs=patterns)

    def _axis(self) -> Iterator[str]:
        hours = (self.last - self.first) / _HOUR_S
        step = next((each for each in (1, 2, 3, 6, 12) if hours / each <= 14), 24)
        bottom = self.height - _FOOT
        for time_s in self.clock.whole_hours(self.first, self.last, step):
            at = self.x(time_s)
            yield line((at, _TOP - 8), (at, bottom), stroke="#BBBBBB", stroke_width=0.8)
            label = self.clock.hour_label(time_s)
            yield words(at, _TOP - 13, label, _SIZE + 1, text_anchor="middle")

    def _crews(self) -> Iterator[str]:
        for row, run in enumerate(self.plan.crews):
            top = _TOP + row * _CREW_ROW
            name = short_name(run.name, 26)
            yield words(4, top + 18, name, _SIZE + 2, font_weight="bold")
            yield line((_LEFT, top + 26), (self.width - _RIGHT, top + 26), stroke="#BBBBBB")
            yield from self._run(run, top)

    def _run(self, run: CrewRun, top: float) -> Iterator[str]:
        for number, step in enumerate(run.steps, start=1):
            left, right = self.x(step.start_s), self.x(step.finish_s)
            is_coat = step.kind is StepKind.COAT
            fill = "#D8D8D8" if is_coat else "white"
            dash = {} if is_coat else {"stroke_dasharray": "3 2"}
            yield box(left, top + 4, max(2.0, right - left), 18, fill=fill, stroke="black", **dash)
            if right - left >= text_width(str(number), _SIZE):
                middle = (left + right) / 2
                yield words(middle, top + 16.5, str(number), _SIZE, text_anchor="middle")

    def _faces(self) -> Iterator[str]:
        top, before = self.faces_top, ""
        yield words(
            4,
            top - 8,
            "Coats, in the order laid (>: wet for longer than shown)",
            _SIZE,
            font_weight="bold",
        )
        for band in self.bands:
            yield from self._face(band, top, is_first=band.asset_id != before)
            before, top = band.asset_id, top + _FACE_ROW

    def _face(self, band: FaceBand, top: float, *, is_first: bool) -> Iterator[str]:
        if is_first:
            yield line((4, top), (self.width - _RIGHT, top), stroke="#888888", stroke_width=0.8)
        fire = self.x(band.fire_from_s)
        until = self.x(band.fire_to_s) - fire
        yield box(fire, top + 0.5, until, _FACE_ROW - 0.5, fill="url(#fire)")
        told = shorten(clean(band.label), 18)
        if is_first:
            told = f"{short_name(band.asset_name, _LETTERS - len(told))}: {told}"
        yield words(4, top + 11, told, _SIZE)
        laid, sure, even = (self.x(t) for t in (band.laid_s, band.hold_90_s, band.hold_50_s))
        yield box(
            sure, top + 4, even - sure, 8, fill="url(#even)", stroke="black", stroke_width=0.7
        )
        yield box(laid, top + 4, max(1.5, sure - laid), 8, fill="black")
        for edge in (fire, fire + until):
            yield line((edge, top), (edge, top + _FACE_ROW), stroke_width=1.0)
        if band.hold_50_s > self.last:
            yield words(self.width - 12, top + 12, ">", _SIZE, font_weight="bold")

    def _legend(self) -> Iterator[str]:
        y, x = self.height - 14.0, 4.0
        signs = (
            ("#D8D8D8", "spraying"),
            ("white", "filling, loading"),
            ("black", "wet, 90 % sure"),
            ("url(#even)", "wet, 50 to 90 %"),
            ("url(#fire)", "fire and embers"),
        )
        for fill, told in signs:
            yield box(x, y - 9, 22, 10, fill=fill, stroke="black", stroke_width=0.7)
            yield words(x + 26, y, told, _SIZE)
            x += 38 + text_width(told, _SIZE)
