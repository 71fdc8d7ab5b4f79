"""Holding as predicted against holding as seen: chances found true, and when coats were dry.

Black, white and grey only, so that it survives a photocopier.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from stillwet.domain.after import After, ChanceBin, Dried, DrySeen
from stillwet.reports.after_words import clock_of_after
from stillwet.reports.local_time import LocalClock
from stillwet.reports.svg import box, document, element, line, shape, words
from stillwet.reports.words import clean, count_words, shorten

_WIDTH = 760.0
_TOP, _SIDE = 66.0, 260.0  # of the square of chances
_LEFT = 58.0
_NAMES, _DAY, _RIGHT = 376.0, 530.0, 16.0  # where the names and the times of the other panel begin
_ROW = 26.0
_MOST_COATS = 14
_FIRST = (Dried.SOONER, Dried.LATER, Dried.WITHIN, Dried.OPEN)


def holding_figure_svg(after: After) -> str:
    """Both panels. Without a touch the figure says so."""
    dries = sorted(after.holding.dries, key=lambda dry: _FIRST.index(dry.dried))[:_MOST_COATS]
    height = max(_TOP + _SIDE + 56.0, _TOP + _ROW * len(dries) + 78.0)
    title = f"Holding, predicted against seen: {shorten(clean(after.job_name), 50)}"
    parts = [words(16, 26, title, 15, font_weight="bold")]
    parts.append(words(16, 44, f"{after.holding.verdict.capitalize()}.", 11))
    parts += _chances(after)
    if dries:
        parts += _coats(after, dries, clock_of_after(after))
    return document(_WIDTH, height, parts, title=title)


def _chances(after: After) -> list[str]:
    """The share found wet over the predicted chance; the dashed line is a perfect prediction."""

    def at(predicted: float, found: float) -> tuple[float, float]:
        return _LEFT + _SIDE * predicted, _TOP + _SIDE * (1.0 - found)

    parts = [
        box(_LEFT, _TOP, _SIDE, _SIDE, fill="none", stroke="black"),
        line(at(0, 0), at(1, 1), stroke_dasharray="6 4"),
    ]
    for percent in (0, 20, 40, 60, 80, 100):
        x, y = at(percent / 100, percent / 100)
        bottom = _TOP + _SIDE
        parts.append(line((x, bottom), (x, bottom + 4)))
        parts.append(words(x, bottom + 16, f"{percent}", 10, text_anchor="middle"))
        parts.append(line((_LEFT - 4, y), (_LEFT, y)))
        parts.append(words(_LEFT - 7, y + 3.5, f"{percent}", 10, text_anchor="end"))
    middle = _LEFT + _SIDE / 2
    parts.append(
        words(middle, _TOP + _SIDE + 34, "predicted chance wet, %", 11, text_anchor="middle")
    )
    turn = f"rotate(-90 18 {_TOP + _SIDE / 2:.0f})"
    parts.append(
        words(18, _TOP + _SIDE / 2, "found wet, %", 11, text_anchor="middle", transform=turn)
    )
    if not after.holding.bins:
        parts.append(words(middle, _TOP + _SIDE / 2, "nothing touched", 12, text_anchor="middle"))
    for one in after.holding.bins:
        low, high = at(0, one.found_low)[1], at(0, one.found_high)[1]
        parts += _bin(one, at(one.predicted, one.found), low, high)
    return parts


def _bin(one: ChanceBin, middle: tuple[float, float], low_y: float, high_y: float) -> list[str]:
    """A dot with its 90 % interval and the number of checks behind it."""
    x, y = middle
    is_right = x > _LEFT + _SIDE * 0.8
    label = words(
        x - 8 if is_right else x + 8,
        y - 6,
        count_words(one.count, "check"),
        10,
        halo=True,
        text_anchor="end" if is_right else "start",
    )
    return [
        line((x, low_y), (x, high_y), stroke_width=1.2),
        *(line((x - 4, end), (x + 4, end), stroke_width=1.2) for end in (low_y, high_y)),
        element("circle", cx=x, cy=y, r=4.5, fill="black"),
        label,
    ]


def _coats(after: After, dries: list[DrySeen], clock: LocalClock) -> list[str]:
    """One row a coat: grey where it was to be dry, 9 cases in 10; black where it was seen to be."""
    until_s = after.holding.until_s
    first = min(dry.laid_s for dry in dries)
    ends = [time for dry in dries for time in (*dry.predicted_s, dry.wet_at_s, dry.dry_at_s)]
    last = max((t for t in ends if t is not None and math.isfinite(t)), default=first) + 1800.0
    if any(not math.isfinite(time) for dry in dries for time in dry.predicted_s):
        last = max(last, min(until_s, first + 12 * 3600.0))
    span = max(last - first, 3600.0)
    right = _WIDTH - _RIGHT

    def at(time_s: float) -> float:
        return _DAY + (right - _DAY) * min(max((time_s - first) / span, 0.0), 1.0)

    bottom = _TOP + _ROW * len(dries)
    parts = [words(_NAMES, _TOP - 8, "When coats were dry to the touch", 11, font_weight="bold")]
    for number, dry in enumerate(dries):
        parts += _coat(dry, _TOP + _ROW * number, at)
    parts.append(line((_DAY, bottom), (right, bottom)))
    step = next(hours for hours in (1, 2, 3, 6, 12, 24) if span / 3600.0 / hours <= 5)
    for hour in clock.whole_hours(first, first + span, step):
        parts.append(line((at(hour), _TOP), (at(hour), bottom), stroke="#BBBBBB", stroke_width=0.6))
        parts.append(
            words(at(hour), bottom + 14, clock.hour_label(hour), 9.5, text_anchor="middle")
        )
    legend = bottom + 32
    parts.append(box(_NAMES, legend - 8, 22, 9, fill="#CFCFCF", stroke="black", stroke_width=0.6))
    parts.append(words(_NAMES + 28, legend, "predicted dry, 9 cases in 10 (arrow: or later)", 10))
    parts.append(line((_NAMES, legend + 13), (_NAMES + 22, legend + 13), stroke_width=3.0))
    seen = "seen: from last not dry to first dry (arrow: not yet)"
    parts.append(words(_NAMES + 28, legend + 17, seen, 10))
    return parts


def _coat(dry: DrySeen, top: float, at: Callable[[float], float]) -> list[str]:
    """One coat: name, verdict, the band and what was seen."""
    low, middle, high = dry.predicted_s
    right = _WIDTH - _RIGHT
    name = shorten(f"{clean(dry.asset_name)}, {clean(dry.label)}", 29)
    is_off = dry.dried in (Dried.SOONER, Dried.LATER)
    weight = "bold" if is_off else "normal"
    parts = [words(_NAMES, top + 11, name, 10, font_weight=weight)]
    parts.append(words(_NAMES, top + 21, str(dry.dried), 9, fill="#333333"))
    start = at(low) if math.isfinite(low) else right - 10
    end = at(high) if math.isfinite(high) else right - 6
    parts.append(
        box(start, top + 4, end - start, 9, fill="#CFCFCF", stroke="black", stroke_width=0.6)
    )
    if not math.isfinite(high):
        parts.append(shape([(right - 6, top + 3), (right, top + 8.5), (right - 6, top + 14)]))
    if math.isfinite(middle):
        parts.append(line((at(middle), top + 4), (at(middle), top + 13), stroke_width=1.2))
    seen = at(dry.laid_s if dry.wet_at_s is None else dry.wet_at_s)
    if dry.dry_at_s is None:
        parts.append(line((seen, top + 18), (seen + 12, top + 18), stroke_width=3.0))
        parts.append(shape([(seen + 12, top + 14), (seen + 19, top + 18), (seen + 12, top + 22)]))
        return parts
    parts.append(line((seen, top + 18), (at(dry.dry_at_s), top + 18), stroke_width=3.0))
    return parts
