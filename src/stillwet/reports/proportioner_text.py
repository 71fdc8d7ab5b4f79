"""What the checks of a proportioner say, as plain text of at most 100 columns."""

from __future__ import annotations

from stillwet.domain.proportioner import (
    AtDial,
    Delivered,
    DeviceReport,
    DialLine,
    FlowBias,
    Judgement,
    ProportionerReport,
    Ruling,
    ToSet,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.text_table import fill, pad
from stillwet.reports.words import (
    NONE,
    Units,
    clean,
    count_words,
    percent_number,
    quantity,
    ratio,
    ratio_basis,
    shorten,
)
from stillwet.units import from_si, to_si

_COLUMNS = ((12, False), (16, False), (13, False), (6, True), (9, True), (15, True), (20, False))
_HEADS = ("check", "when", "method", "set %", "flow", "delivered %", "most doubt")


def proportioner_text(report: ProportionerReport, units: str) -> str:
    """The report for a terminal; ``units`` is "us" or "metric"."""
    shown = Units(units)
    blocks = [_heading(report)]
    for device in report.devices:
        blocks += [
            _answer(device),
            _table(device, LocalClock(report.time_zone), shown),
            _bias(device, shown),
            _over_time(device, LocalClock(report.time_zone)),
            _notes(device),
        ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _heading(report: ProportionerReport) -> list[str]:
    lines = [f"PROPORTIONER CHECKS: {clean(report.source)}"]
    if report.window is None:
        lines.append(
            "No mix window is known (give --job or --window): foam practice alone is held up. No "
            "tolerance was found published for gel, where rich is a fault too."
        )
    else:
        low, high = report.window
        lines.append(
            f"Mix window: {percent_number(low)} to {percent_number(high)} %. Beside it stands "
            "foam practice, never lean and rich to 30 %: published for foam, not for gel."
        )
    return [part for line in lines for part in fill(line)]


def _answer(device: DeviceReport) -> list[str]:
    basis = ratio_basis(device.ratio_basis)
    lines = [shorten(clean(device.device), 60).upper()]
    for at in device.dials:
        lines += fill(dial_sentence(at, basis), "  - ", "    ")
        for ruling in at.rulings:
            lines += fill(f"{ruling.rule}: {ruling_sentence(ruling, at)}", "      ", "        ")
    for setting in device.settings:
        lines += fill(setting_sentence(setting, device), "  - ", "    ")
    return lines


def dial_sentence(at: AtDial, basis: str) -> str:
    """What is delivered at one setting."""
    return (
        f"set {percent_number(at.dial)} %: delivers {percent_number(at.ratio)} % {basis}, +- "
        f"{percent_number(at.expanded)} points (95 %, {count_words(at.count, 'check')})"
    )


def ruling_sentence(ruling: Ruling, at: AtDial | Delivered) -> str:
    """What a rule says, and why it cannot where it cannot."""
    wide = f"{percent_number(ruling.low)} to {percent_number(ruling.high)} %"
    if ruling.judgement is not Judgement.CANNOT_TELL:
        return f"{ruling.judgement} ({wide})"
    if not ruling.can_ever:
        return (
            f"cannot tell with this method ({wide}): +- {percent_number(at.expanded)} points do "
            "not fit into it. Time a longer draw, weigh the can, or use a better meter"
        )
    return f"cannot tell ({wide}): the interval lies across a limit. Check again"


def setting_sentence(setting: ToSet, device: DeviceReport) -> str:
    """What to set to get a ratio."""
    told = (
        f"set {percent_number(setting.dial)} % to get {ratio(setting.wanted, device.ratio_basis)} "
        f"(+- {percent_number(2.0 * setting.uncertainty)} points of the dial)"
    )
    if setting.is_beyond:
        return told + "; beyond what was tried: set it, then check there"
    return told


def _table(device: DeviceReport, clock: LocalClock, units: Units) -> list[str]:
    lines = ["  " + _row(_HEADS)]
    for one in device.checks:
        check = one.check
        flow = quantity(check.flow_m3_s, "m3/s", units) if check.flow_m3_s else NONE
        name, share = one.parts[0]
        cells = (
            shorten(clean(check.id), 12),
            NONE if check.when_s is None else (clock.iso(check.when_s) or NONE)[:16],
            str(check.method),
            percent_number(check.dial.value),
            flow,
            f"{percent_number(one.ratio)} +- {percent_number(one.expanded)}",
            shorten(f"{name.replace('_', ' ')} {100 * share:.0f} %", 20),
        )
        lines.append("  " + _row(cells))
    if any(one.check.water_stood_in for one in device.checks):
        lines += fill(
            "Water stood in for concentrate: it draws more easily, so such a check reads about 20 "
            "% high (published; 10 to 60 % untested) and has been divided by that.",
            "  ",
            "  ",
        )
    return lines


def _row(cells: tuple[str, ...]) -> str:
    shown = (
        pad(text, width, right=right) for text, (width, right) in zip(cells, _COLUMNS, strict=True)
    )
    return " ".join(shown).rstrip()


def _bias(device: DeviceReport, units: Units) -> list[str]:
    lines = ["  BIAS"]
    lines += fill(
        f"Delivers {100 * device.factor:.0f} % of what is set (+- "
        f"{100 * 2 * device.factor_uncertainty:.0f}, about 95 %).",
        "  - ",
        "    ",
    )
    if device.line is not None:
        lines += fill(line_sentence(device.line), "  - ", "    ")
    if device.flow is not None:
        lines += fill(flow_sentence(device.flow, units), "  - ", "    ")
    return lines


def line_sentence(line: DialLine) -> str:
    """The straight line through all checks."""
    return (
        f"Over the dial: delivered = {100 * line.intercept:+.3f} % + {line.slope:.3f} x set "
        f"(+- {200 * line.intercept_uncertainty:.3f} points, +- {2 * line.slope_uncertainty:.3f}; "
        f"errors in both; the points scatter {line.scatter:.1f} times their errors)."
    )


def flow_sentence(flow: FlowBias, units: Units) -> str:
    """Whether it runs richer or leaner as more flows."""
    name = "gal/min" if units is Units.US else "l/min"
    step = to_si(10.0 if units is Units.US else 50.0, name, dimension="flow")
    told = f"{from_si(step, name):.0f} {'gpm' if units is Units.US else 'L/min'}"
    change = 100 * flow.slope_per_m3_s * step
    reach = f"{quantity(flow.low_m3_s, 'm3/s', units)} to {quantity(flow.high_m3_s, 'm3/s', units)}"
    if not flow.matters:
        return (
            f"Over flow, {reach}: no change that the checks could see ({change:+.1f} % a {told})."
        )
    word = "richer" if change > 0 else "leaner"
    return f"Over flow, {reach}: {abs(change):.1f} % of the setting {word} for every {told} more."


def _over_time(device: DeviceReport, clock: LocalClock) -> list[str]:
    lines: list[str] = []
    chart, days = device.chart, device.days
    if chart is not None:
        lines += fill(chart_sentence(device, clock), "  - ", "    ")
    if days is not None:
        low, high = 100 * days.low, 100 * days.high
        lines += fill(
            f"Day to day ({count_words(days.days, 'day')}): delivered over set wanders by "
            f"{100 * days.between:.1f} % between days and {100 * days.within:.1f} % within one. On "
            f"a new day, 9 times in 10, it delivers {low:.0f} to {high:.0f} % of what is set. For "
            f'the job file: delivered_low = "{low:.0f} %", delivered_high = "{high:.0f} %".',
            "  - ",
            "    ",
        )
    return ["  OVER TIME", *lines] if lines else []


def chart_sentence(device: DeviceReport, clock: LocalClock) -> str:
    """Whether the run chart alarms, and since when."""
    chart = device.chart
    if chart is None:
        return "No run chart."
    if chart.alarm_at is None:
        return "Run chart: no drift seen. It finds a drift of one deviation in about ten checks."
    when = clock.full(chart.when_s[chart.alarm_at])
    way = "richer" if chart.is_rich else "leaner"
    return (
        f"Run chart: DRIFTING {way} than at first, seen at check {chart.alarm_at + 1} ({when}). "
        "Clean pick-up, strainer and valve, then check again from the start."
    )


def _notes(device: DeviceReport) -> list[str]:
    lines = [part for note in device.notes for part in fill(note, "  - ", "    ")]
    return ["  WHAT CANNOT BE SAID YET", *lines] if lines else []
