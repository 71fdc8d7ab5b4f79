"""Lines as plain text that fits 100 columns, what cannot be done first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from stillwet.domain.line_plan import LinePlan, LineSegmentPlan, LinesPlan
from stillwet.reports.line_rows import (
    hindrance_words,
    hour_row,
    line_pairs,
    refill_words,
    rule_words,
    segment_row,
    wait_words,
)
from stillwet.reports.line_words import (
    LINE_VERDICTS,
    clock_of_lines,
    coverage_label,
    coverage_to_lay,
    fire_words,
    length,
    lines_times,
    span,
    widest_wanted,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_rows import source_lines
from stillwet.reports.text_table import WIDTH, bullets, fill, pad, source_text
from stillwet.reports.words import Units, clean, ratio, short_name, unit_label

_SEGMENTS = (
    ("SEGMENT", 12, False),
    ("VERDICT", 13, False),
    ("FUEL", 4, False),
    ("COVER", 5, True),
    ("WALK", 9, True),
    ("WET", 11, False),
    ("LIT", 11, False),
    ("LAG", 7, True),
    ("SPARE", 7, True),
)
_HOURS = (
    ("WETTED", 9, False),
    ("AIR", 5, True),
    ("RH", 5, True),
    ("WIND", 9, True),
    ("DRIES", 6, True),
    ("WET 90 %", 8, True),
    ("50 %", 7, True),
    ("LONE", 6, True),
    ("WATER", 6, True),
    ("BLACK", 7, True),
    ("LAG", 7, True),
    ("COVER", 5, True),
    ("FLAME", 6, True),
)


def lines_text(plan: LinesPlan, units: str) -> str:
    """Every line for a terminal or a plain printer. ``units`` is "us" or "metric"."""
    told, clock = Units(units), clock_of_lines(plan)
    blocks = [_heading(plan, clock), bullets("CAUTION", plan.cautions[:1])]
    for line in plan.lines:
        blocks += _line(line, plan, told, clock)
    blocks += [
        bullets("WARNINGS", plan.warnings),
        bullets("CAUTIONS", plan.cautions[1:]),
        _sources(plan, told),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _heading(plan: LinesPlan, clock: LocalClock) -> list[str]:
    times = lines_times(plan)
    lines = [
        f"LINES {plan.id}: {clean(plan.job_name)}",
        f"Made {clock.full(plan.made_s)}",
        f"Times are {clock.zone_words(times)}: {clock.days(times)}",
        f"Product: {clean(plan.product_name)}",
    ]
    return [part for each in lines for part in fill(each)]


def _line(line: LinePlan, plan: LinesPlan, units: Units, clock: LocalClock) -> list[list[str]]:
    """The blocks of one line."""
    head = fill(
        f"{LINE_VERDICTS[line.verdict]}: {clean(line.name)}, {line.purpose}, "
        f"{length(line.length_m, units)}"
    )
    head += fill(clean(line.reason))
    if line.note:
        head += fill(f"Note: {clean(line.note)}")
    mix = f"Mix: {ratio(line.mix_ratio, plan.ratio_basis)} of the finished mix"
    blocks = [head, _hindrances(line, clock)]
    blocks.append(
        [
            *fill(mix),
            *_pairs(line_pairs(line, plan.ratio_basis, units, clock)),
            *_trips(line, units, clock),
        ]
    )
    blocks.append(_segments(line, units, clock))
    blocks += [_hours(line, segment, units, clock) for segment in line.segments]
    blocks.append(_rules(line, clock))
    return blocks


def _hindrances(line: LinePlan, clock: LocalClock) -> list[str]:
    lines = []
    for found in line.hindrances:
        reason, frees = hindrance_words(found, clock)
        lines += fill(f"{found.kind.upper()}: {reason}", "  ! ", "    ")
        lines += fill(f"What would free it: {frees}.", "    ", "    ")
    return ["WHAT STANDS AGAINST IT", *lines] if lines else []


def _pairs(pairs: Iterable[tuple[str, str]]) -> list[str]:
    lines: list[str] = []
    for name, value in pairs:
        lead = f"  {pad(name + ':', 24)} "
        lines += fill(value, lead, " " * len(lead))
    return lines


def _trips(line: LinePlan, units: Units, clock: LocalClock) -> list[str]:
    lines = [part for told in refill_words(line, units, clock) for part in fill(f"  Refill {told}")]
    return lines + [part for told in wait_words(line, units) for part in fill(f"  Wait: {told}")]


def _segments(line: LinePlan, units: Units, clock: LocalClock) -> list[str]:
    title = f"SEGMENTS in the order of work (coverage in {coverage_label(units)} at the nozzle)"
    lines = [title, _cells([name for name, _, _ in _SEGMENTS], _SEGMENTS), "-" * WIDTH]
    for segment in line.segments:
        row = segment_row(segment, units, clock)
        lines.append(
            _cells(
                [
                    short_name(row.name, 12),
                    row.verdict,
                    row.fuel,
                    row.coverage,
                    row.walk,
                    f"{row.wet}-{row.wet_end}",
                    f"{row.lit}-{row.lit_end}" if line.is_lit else "not lit",
                    row.lag,
                    row.slack,
                ],
                _SEGMENTS,
            )
        )
        lines += _details(line, segment, units, row.stretch)
    return [*lines, "-" * WIDTH]


def _details(line: LinePlan, segment: LineSegmentPlan, units: Units, stretch: str) -> list[str]:
    """What the columns have no room for."""
    told = (
        f"{stretch} along; {segment.fuel_name}; lay "
        f"{coverage_to_lay(segment.coverage_kg_m2)}; fire {fire_words(line, segment)}"
    )
    width = (
        f"flames {length(segment.flame_length_m, units)}, width "
        f"{length(segment.barrier_width_m, units)}: {widest_wanted(segment, units)}"
    )
    lines = fill(told, "    ", "    ") + fill(width, "    ", "    ")
    if segment.flags:
        lines += fill("beyond a model's range: " + "; ".join(segment.flags), "    ", "    ")
    if segment.note and segment.note != line.note:
        lines += fill(f"note: {clean(segment.note)}", "    ", "    ")
    return lines


def _hours(line: LinePlan, segment: LineSegmentPlan, units: Units, clock: LocalClock) -> list[str]:
    rate = unit_label("kg/m2/h", units)
    end = "lighting" if line.is_lit else "the fire"
    wanted = f"a lag of {span(line.lag_wanted_s)}" if line.is_lit else "the fire's latest arrival"
    heads = fill(
        f"{clean(segment.name).upper()} by the hour it is wetted in. DRIES: {rate} of ground. "
        "LONE: wet at 90 % were every blade alone in the wind, the least it can be. WATER: of the "
        f"same coverage of plain water. LAG: longest from wetting to {end} (90 %). COVER: least "
        f"for {wanted}. *: wind forbids lighting."
    )
    lines = [*heads, _cells([name for name, _, _ in _HOURS], _HOURS), "-" * WIDTH]
    for hour in segment.hours:
        row = hour_row(hour, units, clock)
        mark = "" if hour.may_light else "*"
        cells = [row.time + mark, row.air, row.humidity, row.wind, row.drying, row.hold_90]
        cells += [row.hold_50, row.alone, row.water, row.black, row.lag, row.coverage, row.flame]
        lines.append(_cells(cells, _HOURS))
    return lines


def _rules(line: LinePlan, clock: LocalClock) -> list[str]:
    lines = ["STOP RULES"]
    for rule in line.stop_rules:
        name, words, told = rule_words(rule, clock)
        lines += fill(f"{name}: {words} [{told}]", "  - ", "    ")
    return lines


def _cells(cells: Sequence[str], columns: Sequence[tuple[str, int, bool]]) -> str:
    shown = (
        pad(text, width, right=right)
        for text, (_, width, right) in zip(cells, columns, strict=True)
    )
    return " ".join(shown).rstrip()


def _sources(plan: LinesPlan, units: Units) -> list[str]:
    """Where the numbers came from, the lines' own first."""
    inputs = [item for line in plan.lines for item in line.inputs] + list(plan.inputs)
    return source_text("WHERE THE NUMBERS CAME FROM", source_lines(inputs, units))
