"""The plan as plain text that fits 100 columns: only ASCII of our own, so any terminal shows it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from stillwet.domain.plan import Plan
from stillwet.reports.local_time import clock_of, plan_times
from stillwet.reports.plan_rows import (
    PlanRow,
    SourceLine,
    asset_rows,
    conditional,
    conditions,
    crew_lines,
    findings,
    load_lines,
    mix_words,
    source_lines,
    tally,
    untested_words,
    weather_lines,
)
from stillwet.reports.words import Units, clean

WIDTH = 100

# Heading lines, width and right-alignment of the plan table's columns; the widths and the gaps
# (one space after the number, two elsewhere) add up to WIDTH.
_COLUMNS = (
    (("", "#"), 3, True),
    (("ASSET", ""), 17, False),
    (("VERDICT", "chance"), 13, False),
    (("COAT", "mix %"), 7, True),
    (("WATER", ""), 9, True),
    (("APPLY from", "until"), 10, False),
    (("HOLD 90 %", "50 %"), 9, False),
    (("FIRE from", "to"), 9, False),
    (("GOVERNS", ""), 8, False),
)


def plan_text(plan: Plan, units: str) -> str:
    """The plan for a terminal or a plain printer: worst first, then load, cautions and sources.

    ``units`` is "us" or "metric".
    """
    units = Units(units)
    blocks = [
        _heading(plan),
        _findings(plan),
        table_text(plan, units) + fill(untested_words(plan)),
        _conditions(plan),
        _pairs("LOAD LIST", load_lines(plan, units)) + _crews(plan, units),
        _pairs("WEATHER", weather_lines(plan, units)),
        bullets("WARNINGS", plan.warnings),
        bullets("CAUTIONS", plan.cautions),
        source_text("WHERE THE JOB'S NUMBERS CAME FROM", source_lines(plan.inputs, units)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _heading(plan: Plan) -> list[str]:
    clock, times = clock_of(plan), plan_times(plan)
    lines = [f"PLAN {plan.id}: {clean(plan.job_name)}"]
    lines += [
        f"Made {clock.full(plan.made_s)}; spraying from {clock.full(plan.start_s, up=True)}",
        f"Times are {clock.zone_words(times)}: {clock.days(times)}",
        f"Mix: {mix_words(plan)}",
        ", ".join(f"{count} {words}" for words, count in tally(plan)),
    ]
    return [part for line in lines for part in fill(line)]


def _findings(plan: Plan) -> list[str]:
    lines: list[str] = []
    for found in findings(plan):
        lines += fill(f"{found.verdict} ({found.count} of {len(plan.assets)}): {found.meaning}")
        for names, reason in found.reasons:
            lines += fill(f"{names}: {reason}", first="  - ", rest="    ")
    return lines


def _conditions(plan: Plan) -> list[str]:
    told = [
        line
        for names, said in conditions(plan)
        for line in fill(f"{names}: {said}", first="  - ", rest="    ")
    ]
    head = f"GEL ONLY IF ({len(conditional(plan))} of {len(plan.assets)})"
    return [head, *told] if told else []


def table_text(plan: Plan, units: Units) -> list[str]:
    """The lines of the plan's table, at least two an asset."""
    heads = [[column[0][line] for column in _COLUMNS] for line in (0, 1)]
    rule = "-" * WIDTH
    lines = [_line(cells) for cells in heads] + [rule]
    for row in asset_rows(plan, units):
        lines += _row_lines(row)
    return [*lines, rule]


def _row_lines(row: PlanRow) -> list[str]:
    stacks = (
        (str(row.number),),
        (row.name,),
        (row.verdict, row.chance),
        (row.coat, row.mix),
        (row.water,),
        (row.apply_from, row.apply_until),
        (row.hold_90, row.hold_50),
        (row.fire_from, row.fire_to),
        (row.governs,),
    )
    cells = [
        [part for text in stack for part in wrap_cells(text, width)]
        for stack, (_, width, _) in zip(stacks, _COLUMNS, strict=True)
    ]
    height = max(len(cell) for cell in cells)
    padded = [cell + [""] * (height - len(cell)) for cell in cells]
    return [_line([cell[index] for cell in padded]) for index in range(height)]


def _line(cells: Sequence[str]) -> str:
    shown = (
        pad(text, width, right=right)
        for text, (_, width, right) in zip(cells, _COLUMNS, strict=True)
    )
    first, *rest = shown
    return f"{first} {'  '.join(rest)}".rstrip()


def _pairs(title: str, pairs: Iterable[tuple[str, str]]) -> list[str]:
    pairs = list(pairs)
    wide = min(34, max(_cells(name) for name, _ in pairs) + 1)
    lines = [title]
    for name, value in pairs:
        lead = f"  {pad(name + ':', wide)} "
        lines += fill(value, first=lead, rest=" " * _cells(lead))
    return lines


def _crews(plan: Plan, units: Units) -> list[str]:
    lines = ["  If one crew did it all:"]
    for name, usable, fills, nozzle in crew_lines(plan, units):
        text = f"{name}: {usable} usable, fills: {fills}"
        lines += fill(text if nozzle == "-" else f"{text}, nozzle time {nozzle}", "  - ", "    ")
    return lines


def bullets(title: str, texts: Iterable[str]) -> list[str]:
    """A list under its title; nothing where there is nothing to list."""
    lines = [line for text in texts for line in fill(clean(text), first="  - ", rest="    ")]
    return [title, *lines] if lines else []


def source_text(title: str, sources: Iterable[SourceLine]) -> list[str]:
    """Each number once with its interval and source, untested defaults marked; may be empty."""
    lines = [title]
    for source in dict.fromkeys(sources):
        span = f" ({source.interval})" if source.interval else ""
        mark = "! " if source.untested else "- "
        text = f"{source.name} {source.value}{span}: {source.source}"
        lines += fill(text, first=f"  {mark}", rest="    ")
    return lines if len(lines) > 1 else []


def fill(text: str, first: str = "", rest: str = "  ") -> list[str]:
    """The text broken into lines of at most 100 terminal columns."""
    lines, lead = [], first
    for part in wrap_cells(text, WIDTH - max(_cells(first), _cells(rest))):
        lines.append(lead + part)
        lead = rest
    return lines


def wrap_cells(text: str, width: int) -> list[str]:
    """Break text at spaces, or inside words that are too long, by terminal columns."""
    if text.isascii():
        return textwrap.wrap(text, width) or [""]
    lines = [""]
    for word in text.split():
        for piece in _pieces(word, width):
            joined = f"{lines[-1]} {piece}" if lines[-1] else piece
            if _cells(joined) <= width:
                lines[-1] = joined
            else:
                lines.append(piece)
    return lines


def _pieces(word: str, width: int) -> list[str]:
    pieces = [""]
    for character in word:
        if _cells(pieces[-1] + character) > width:
            pieces.append("")
        pieces[-1] += character
    return pieces


def pad(text: str, width: int, *, right: bool = False) -> str:
    """The text filled with spaces to ``width`` terminal columns."""
    gap = " " * max(0, width - _cells(text))
    return gap + text if right else text + gap


def _cells(text: str) -> int:
    if text.isascii():
        return len(text)
    from rich.cells import cell_len

    return cell_len(text)
