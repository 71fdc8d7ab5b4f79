"""One asset's hours on a strip: when to spray, until when it is wet, when the fire is due."""

from __future__ import annotations

from stillwet.domain.plan import AssetPlan
from stillwet.reports.local_time import LocalClock
from stillwet.reports.svg import box, document, hatch, line, text_width, words

_HEIGHT = 90.0
_LEFT, _RIGHT, _TOP = 46.0, 10.0, 4.0
_ROW, _BAR = 22.0, 14.0
_HOUR_S = 3600.0


def timeline_svg(asset: AssetPlan, clock: LocalClock, *, width: float = 520.0) -> str:
    """The strip of the asset's governing face.

    Rows: "spray" from apply-from to apply-until, or from the reckoned laying where only late is
    good enough; "wet" from that laying to hold-until, black while 90 % sure and hatched down to
    50 %; "fire" black for the front's arrival and hatched for the embers after it.
    """
    return _Strip(asset, clock, width).svg()


class _Strip:
    """The scale of one strip."""

    def __init__(self, asset: AssetPlan, clock: LocalClock, width: float) -> None:
        self.asset, self.clock, self.width = asset, clock, width
        face = asset.governing
        moments = [asset.fire_window_from_s, asset.fire_window_to_s]
        wanted = (face.apply_from_s, face.apply_until_s, face.hold_until_90_s, face.hold_until_50_s)
        moments += [time for time in wanted if time is not None]
        if face.coat_kg_m2 > 0:
            moments.append(face.lay_time_s)
        margin = 0.04 * (max(moments) - min(moments)) + 0.25 * _HOUR_S
        self.first, self.last = min(moments) - margin, max(moments) + margin

    def x(self, time_s: float) -> float:
        share = (time_s - self.first) / (self.last - self.first)
        return _LEFT + share * (self.width - _LEFT - _RIGHT)

    def svg(self) -> str:
        parts = self._axis() + self._spray() + self._wet() + self._fire()
        patterns = hatch("even", gap=4.5, width=0.6) + hatch(
            "embers", gap=4.5, width=0.6, angle=-45
        )
        title = f"{self.asset.name}: spray, wet and fire hours"
        return document(self.width, _HEIGHT, parts, title=title, defs=patterns)

    def _axis(self) -> list[str]:
        base = _TOP + 3 * _ROW
        parts = [line((_LEFT, base), (self.width - _RIGHT, base))]
        hours = (self.last - self.first) / _HOUR_S
        step = next((each for each in (1, 2, 3, 6, 12) if hours / each <= 11), 24)
        for time in self.clock.whole_hours(self.first, self.last, step):
            x = self.x(time)
            parts.append(line((x, _TOP), (x, base + 3), stroke="#CCCCCC"))
            parts.append(words(x, base + 13, self.clock.hour_label(time), 9, text_anchor="middle"))
        due = self.x(self.asset.fire_window_from_s)
        parts.append(line((due, _TOP), (due, base), stroke_dasharray="4 2", stroke_width=1.4))
        for row, name in enumerate(("spray", "wet", "fire")):
            parts.append(words(4, self._middle(row) + 3.5, name, 10, font_weight="bold"))
        return parts

    def _middle(self, row: int) -> float:
        return _TOP + (row + 0.5) * _ROW

    def _bar(self, row: int, start: float, end: float, fill: str) -> str:
        left, right = self.x(start), self.x(end)
        top = self._middle(row) - _BAR / 2
        return box(left, top, max(1.5, right - left), _BAR, fill=fill, stroke="black")

    def _beside(self, row: int, start: float, end: float, text: str) -> str:
        """The text right of the bar, or left of it, or on it where neither side has room."""
        size, y = 9.0, self._middle(row) + 3.2
        need = text_width(text, size) + 6
        if self.x(end) + need <= self.width - 2:
            return words(self.x(end) + 4, y, text, size, halo=True)
        if self.x(start) - need >= _LEFT:
            return words(self.x(start) - 4, y, text, size, halo=True, text_anchor="end")
        wide, middle = need - 2, (self.x(start) + self.x(end)) / 2
        middle = min(max(middle, _LEFT + wide / 2), self.width - wide / 2 - 2)
        plate = box(middle - wide / 2, y - 9, wide, 12, fill="white", stroke="black")
        return plate + words(middle, y, text, size, text_anchor="middle")

    def _nothing(self, row: int, text: str) -> list[str]:
        return [words(_LEFT + 6, self._middle(row) + 3.2, text, 9, halo=True)]

    def _spray(self) -> list[str]:
        face = self.asset.governing
        start, end = face.apply_from_s, face.apply_until_s
        if end is None:
            return self._nothing(0, "nothing to spray")
        if start is None:
            told = f"as late as crews may stay, done by {self.clock.short(end)}"
            laid = min(face.lay_time_s, end)
            return [self._bar(0, laid, end, "#DDDDDD"), self._beside(0, laid, end, told)]
        times = f"{self.clock.short(start, up=True)} to {self.clock.short(end)}"
        return [self._bar(0, start, end, "#DDDDDD"), self._beside(0, start, end, times)]

    def _wet(self) -> list[str]:
        face = self.asset.governing
        sure, even = face.hold_until_90_s, face.hold_until_50_s
        laid = face.lay_time_s
        ends = [time for time in (sure, even) if time is not None]
        if face.coat_kg_m2 <= 0 or not ends:
            return self._nothing(1, "no coat holds" if face.coat_kg_m2 > 0 else "no coat")
        parts, told = [], []
        if even is not None:
            parts.append(self._bar(1, sure if sure is not None else laid, even, "url(#even)"))
        if sure is not None:
            parts.append(self._bar(1, laid, sure, "black"))
            told.append(f"{self.clock.short(sure)} (90 %)")
        if even is not None:
            told.append(f"{self.clock.short(even)} (50 %)")
        return [*parts, self._beside(1, laid, max(ends), ", ".join(told))]

    def _fire(self) -> list[str]:
        asset = self.asset
        start, front, end = asset.fire_window_from_s, asset.arrival_to_s, asset.fire_window_to_s
        parts = [self._bar(2, start, front, "black"), self._bar(2, front, end, "url(#embers)")]
        times = f"{self.clock.short(start)} to {self.clock.short(end, up=True)}, embers included"
        return [*parts, self._beside(2, start, end, times)]
