"""The account of a job as text of at most 100 columns: still to do first, then what was used."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from stillwet.domain.after import After, AssetUse, CrewUse, LineUse, Residue
from stillwet.reports.after_words import (
    NOTE,
    amounts_row,
    clock_of_after,
    coats_words,
    concentrate_unit,
    cost_lines,
    dry_cells,
    due_lines,
    holding_lines,
    learned_line,
    look_cells,
    outcome_cells,
    residue_groups,
    spill_words,
    stock_lines,
    strip_lines,
    use_note,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.plan_rows import source_lines
from stillwet.reports.text_table import WIDTH, bullets, fill, pad, source_text, wrap_cells
from stillwet.reports.words import (
    Units,
    clean,
    count_words,
    short_name,
    unit_label,
)


def after_text(after: After, units: str) -> str:
    """The account for a terminal or a plain printer; ``units`` is "us" or "metric"."""
    reader, clock = Units(units), clock_of_after(after)
    blocks = [
        _heading(after, clock),
        bullets("STILL TO DO", due_lines(after, clock)),
        _residue(after, clock),
        bullets("GEL ALONG LINES NEAR WATER", strip_lines(after)),
        _spills(after, reader, clock),
        _use(after, reader),
        ["COST", *(f"  {pad(name + ':', 16)}{value}" for name, value in cost_lines(after, reader))],
        _holding(after, reader, clock),
        _outcomes(after, clock),
        bullets("NOTES", after.notes),
        bullets("CAUTIONS", after.cautions),
        source_text("WHAT THIS STANDS ON", source_lines(after.inputs, reader)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _heading(after: After, clock: LocalClock) -> list[str]:
    return [
        *fill(f"AFTER {clean(after.job_name)}: plan {after.plan_id}, {clean(after.product_name)}"),
        f"As of {clock.full(after.now_s)}; "
        + count_words(after.entries, "log entry", "log entries"),
        NOTE,
    ]


def _table(heads: Sequence[str], widths: Sequence[int], rows: Iterable[Sequence[str]]) -> list[str]:
    """A table whose cells wrap; widths and gaps of two add up to at most 100."""
    rule = "-" * WIDTH
    lines = ["  ".join(pad(head, wide) for head, wide in zip(heads, widths, strict=True)).rstrip()]
    lines.append(rule)
    for row in rows:
        cells = [wrap_cells(cell, wide) for cell, wide in zip(row, widths, strict=True)]
        for index in range(max(len(cell) for cell in cells)):
            parts = (
                pad(cell[index] if index < len(cell) else "", wide)
                for cell, wide in zip(cells, widths, strict=True)
            )
            lines.append("  ".join(parts).rstrip())
    return [*lines, rule]


def _residue(after: After, clock: LocalClock) -> list[str]:
    lines = []
    for state in Residue:
        faces = after.residue_in(state)
        if not faces:
            continue
        lines.append(f"  {str(state).upper()} ({count_words(len(faces), 'face')})")
        for row, labels in residue_groups(after, state):
            words = f"{clean(row.asset_name)}: {', '.join(labels)}"
            if state is Residue.OPEN:
                words += f"; best by {clock.short(row.due_s)}"
                words += f"; keep wash water from {' and '.join(row.wary)}" if row.wary else ""
            elif state is Residue.CLOSED:
                words += f"; {clock.short(row.washed_s)} by {clean(row.washed_by)}"
            lines += fill(words, first="  - ", rest="    ")
    return ["GEL ON FACES", *lines] if lines else []


def _spills(after: After, units: Units, clock: LocalClock) -> list[str]:
    told = (spill_words(spill, units, clock) for spill in after.spills)
    return bullets("SPILLS: REPORT THEM BY YOUR AGENCY'S RULE", told)


def _use(after: After, units: Units) -> list[str]:
    unit, of_concentrate = unit_label("m3", units), concentrate_unit(after, units)
    heads = (f"MIX {unit}", f"WATER {unit}", f"CONC. {of_concentrate}", "WORK min", "COATS")
    widths = (26, 16, 16, 14, 12, 6)
    rows = [[*amounts_row("All", after.planned, after.used, after, units), ""]]
    rows += [_use_row(row, after, units) for row in after.places]
    lines = _table(("USED OF PLANNED", *heads), widths, rows)
    crews = [_use_row(crew, after, units) for crew in after.crews]
    lines += ["", *_table(("BY CREW", *heads), widths, crews)]
    lines += fill(use_note(after), rest="")
    stock = stock_lines(after, units)
    return lines + [line for text in stock for line in fill(text, "  - ", "    ")]


def _use_row(row: AssetUse | LineUse | CrewUse, after: After, units: Units) -> list[str]:
    cells = amounts_row(short_name(row.name, 40), row.planned, row.used, after, units)
    return [*cells, coats_words(row)]


def _holding(after: After, units: Units, clock: LocalClock) -> list[str]:
    lines = ["HOLDING: PREDICTED AGAINST SEEN"]
    lines += [line for text in holding_lines(after) for line in fill(text, "  - ", "    ")]
    if after.learned:
        lines.append("  What the log says of the whole site (in brackets: 9 cases in 10):")
    lines += [line for one in after.learned for line in fill(learned_line(one), "  - ", "    ")]
    if after.holding.looks:
        heads = ("CHECKED", "WHEN", "CHANCE WET, DRY", "FELT", "WEIGHED (9 IN 10)")
        rows = [look_cells(look, units, clock) for look in after.holding.looks]
        lines += ["", *_table(heads, (36, 10, 17, 6, 23), rows)]
    if after.holding.dries:
        named = ("COAT", "LAID", "DRY, 9 IN 10", "LAST WET", "FIRST DRY", "SEEN")
        dries = [dry_cells(dry, after.holding.until_s, clock) for dry in after.holding.dries]
        lines += ["", *_table(named, (28, 9, 14, 9, 9, 21), dries)]
    return lines


def _outcomes(after: After, clock: LocalClock) -> list[str]:
    if not after.outcomes:
        return []
    heads = ("WHAT BECAME OF", "PLANNED", "LAST COAT", "FRONT", "NOT DRY", "LAST FELT", "FATE")
    rows = [outcome_cells(row, clock) for row in after.outcomes]
    return _table(heads, (20, 18, 9, 9, 10, 10, 10), rows)
