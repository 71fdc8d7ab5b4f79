"""The run chart of a proportioner: delivered over set, check by check, and the drift sums."""

from __future__ import annotations

import math

from stillwet.domain.proportioner import DeviceReport, ProportionerReport
from stillwet.reports.local_time import LocalClock
from stillwet.reports.svg import box, document, hatch, line, path, shape, words
from stillwet.reports.words import clean, percent_number, shorten

_WIDTH = 760.0
_LEFT, _RIGHT = 66.0, 24.0
_TOP, _UPPER, _BETWEEN, _LOWER = 66.0, 190.0, 44.0, 110.0
_BLOCK = _TOP + _UPPER + _BETWEEN + _LOWER + 46.0
_MOST_DEVICES = 4


def run_chart_svg(report: ProportionerReport) -> str:
    """One chart a proportioner, the first four of them, one below the other."""
    devices = report.devices[:_MOST_DEVICES]
    clock = LocalClock(report.time_zone)
    parts = [
        part for index, one in enumerate(devices) for part in _chart(one, clock, index, report)
    ]
    height = max(_BLOCK * len(devices), 80.0)
    title = f"Proportioner checks: {shorten(clean(report.source), 60)}"
    return document(_WIDTH, height, parts, title=title, defs=hatch("outside", gap=5, width=0.7))


def _chart(
    device: DeviceReport, clock: LocalClock, index: int, report: ProportionerReport
) -> list[str]:
    top = _BLOCK * index
    told = f"{shorten(clean(device.device), 50)}: delivered over set, %"
    parts = [words(16, top + 24, told, 15, font_weight="bold")]
    parts.append(words(16, top + 43, _under(device, report), 11))
    parts += _points(device, clock, top + _TOP)
    parts += _sums(device, top + _TOP + _UPPER + _BETWEEN)
    return parts


def _under(device: DeviceReport, report: ProportionerReport) -> str:
    chart = device.chart
    state = "too few checks for drift sums"
    if chart is not None:
        state = "no drift seen"
        if chart.alarm_at is not None:
            way = "richer" if chart.is_rich else "leaner"
            state = f"drifting {way}, seen at check {chart.alarm_at + 1}"
    if report.window is None:
        return state
    low, high = report.window
    return f"{state}; mix window {percent_number(low)} to {percent_number(high)} %"


def _across(count: int, index: int) -> float:
    span = _WIDTH - _LEFT - _RIGHT
    return _LEFT + span * (index + 0.5) / max(count, 1)


def _points(device: DeviceReport, clock: LocalClock, top: float) -> list[str]:
    values = [one.ratio / one.check.dial.value for one in device.checks]
    errors = [one.expanded / one.check.dial.value for one in device.checks]
    low = min([0.9, *(v - e for v, e in zip(values, errors, strict=True))])
    high = max([1.35, *(v + e for v, e in zip(values, errors, strict=True))])
    span = high - low
    low, high = max(low - 0.06 * span, 0.0), high + 0.06 * span

    def y(value: float) -> float:
        share = (min(max(value, low), high) - low) / (high - low)
        return top + _UPPER * (1.0 - share)

    right, bottom = _WIDTH - _RIGHT, top + _UPPER
    rich = _foam_rich(device)
    foam = f"foam practice: 100 to {100 * rich:.0f} %"
    parts = [
        box(_LEFT, y(rich), right - _LEFT, y(1.0) - y(rich), fill="#E4E4E4"),
        words(right - 4, y(rich) + 12, foam, 10, text_anchor="end"),
        line((_LEFT, top), (_LEFT, bottom)),
        line((_LEFT, bottom), (right, bottom)),
        line((_LEFT, y(1.0)), (right, y(1.0)), stroke_dasharray="6 3"),
    ]
    step = next(s for s in (0.05, 0.1, 0.2, 0.5, 1.0, 10.0) if (high - low) / s <= 8)
    for count in range(math.ceil(low / step), math.floor(high / step) + 1):
        at = y(count * step)
        parts.append(line((_LEFT - 4, at), (_LEFT, at)))
        shown = f"{100 * count * step:.0f}"
        parts.append(words(_LEFT - 7, at + 3.5, shown, 10, text_anchor="end"))
    if device.chart is not None:
        at = y(device.chart.target)
        parts.append(line((_LEFT, at), (right, at), stroke_dasharray="2 2"))
        parts.append(words(_LEFT + 4, at - 4, "as at first", 10, halo=True))
    for index, (value, error) in enumerate(zip(values, errors, strict=True)):
        x = _across(len(values), index)
        parts.append(line((x, y(value - error)), (x, y(value + error)), stroke_width=1.2))
        parts.append(_mark(x, y(value), is_alarm=_is_alarm(device, index)))
    return parts + _dates(device, clock, bottom)


def _foam_rich(device: DeviceReport) -> float:
    """How rich foam practice lets the settings that were tried run; the strictest of them."""
    return min(one.rulings[-1].high / one.check.dial.value for one in device.checks)


def _is_alarm(device: DeviceReport, index: int) -> bool:
    chart = device.chart
    return chart is not None and chart.alarm_at is not None and index >= chart.alarm_at


def _mark(x: float, y: float, *, is_alarm: bool) -> str:
    """A dot; a black square from the alarm on."""
    if is_alarm:
        return box(x - 5, y - 5, 10, 10, fill="black")
    corners = [(x, y - 5), (x + 5, y), (x, y + 5), (x - 5, y)]
    return shape(corners, fill="white", stroke="black", stroke_width=1.4)


def _dates(device: DeviceReport, clock: LocalClock, bottom: float) -> list[str]:
    count = len(device.checks)
    every = max(1, math.ceil(count / 12))
    parts = []
    for index, one in enumerate(device.checks):
        if index % every:
            continue
        when = one.check.when_s
        told = str(index + 1) if when is None else (clock.iso(when) or "")[5:10]
        x = _across(count, index)
        parts.append(words(x, bottom + 15, told, 10, text_anchor="middle"))
    return parts


def _sums(device: DeviceReport, top: float) -> list[str]:
    chart = device.chart
    right, bottom = _WIDTH - _RIGHT, top + _LOWER
    if chart is None:
        return [words(_LEFT, top + 16, "Drift sums need seven checks with their times.", 11)]
    most = max(chart.limit * 1.25, *chart.high, *chart.low) * 1.05

    def y(value: float) -> float:
        return top + _LOWER * (1.0 - min(value / most, 1.0))

    def points(values: tuple[float, ...]) -> list[tuple[float, float]]:
        return [(_across(len(values), i), y(value)) for i, value in enumerate(values)]

    limit = y(chart.limit)
    told = f"drift sums: richer (line), leaner (dashed); alarm above {chart.limit:g}"
    return [
        words(_LEFT, top - 6, told, 10),
        box(_LEFT, top, right - _LEFT, limit - top, fill="url(#outside)"),
        line((_LEFT, limit), (right, limit), stroke_width=2.0),
        line((_LEFT, top), (_LEFT, bottom)),
        line((_LEFT, bottom), (right, bottom)),
        words(_LEFT - 7, limit + 3.5, f"{chart.limit:g}", 10, text_anchor="end"),
        words(_LEFT - 7, bottom + 3.5, "0", 10, text_anchor="end"),
        path(points(chart.high), stroke="black", stroke_width=2.0),
        path(points(chart.low), stroke="black", stroke_width=1.6, stroke_dasharray="5 3"),
    ]
