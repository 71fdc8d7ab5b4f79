"""The crews' day as plain text that fits 100 columns: what is left out first, then each crew."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep, LeftOut, StepKind
from stillwet.reports.crew_rows import (
    chance_words,
    coverage_words,
    crew_clock,
    crew_times,
    free_words,
    run_words,
    settling_words,
    step_name,
    step_work,
    tank_words,
    turn_words,
    wait_words,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.text_table import WIDTH, bullets, fill, pad, wrap_cells
from stillwet.reports.words import VERDICT_WORDS, Units, clean, quantity

# Heading, width and right-alignment of a crew's table; widths and the spaces between stay in WIDTH.
_COLUMNS = (
    ("#", 3, True),
    ("ARRIVE", 9, False),
    ("START", 9, False),
    ("DONE", 9, False),
    ("WHERE", 25, False),
    ("WHAT", 17, False),
    ("TANK", 7, True),
    ("GONE BY", 9, False),
)
_INDENT = " " * sum(width + 1 for _, width, _ in _COLUMNS[:4])  # up to WHERE


def crew_text(plan: CrewPlan, units: str) -> str:
    """The crew plan for a terminal or a plain printer; ``units`` is "us" or "metric"."""
    reader = Units(units)
    clock = crew_clock(plan)
    blocks = [
        _heading(plan, clock),
        bullets("CHANGED SINCE THE PLAN BEFORE", plan.changes or ("nothing",))
        if plan.is_replan
        else [],
        _done(plan, clock),
        _left_out("LEFT OUT, AND WHY", plan.left_out, reader),
        _left_out("COATED EARLY AND NOT COATED AGAIN, AND WHY", plan.not_recoated, reader),
        *(_run(run, plan, clock, reader) for run in plan.crews),
        _not_sprayed(plan),
        bullets("WHAT THIS STANDS ON", _stands_on(plan)),
        bullets("WARNINGS", plan.warnings),
        bullets("CAUTIONS", plan.cautions),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _heading(plan: CrewPlan, clock: LocalClock) -> list[str]:
    times = crew_times(plan)
    lines = [
        f"CREW PLAN {plan.id}: {clean(plan.job_name)}",
        f"Made {clock.full(plan.made_s)} from plan {plan.plan_id}",
        f"Times are {clock.zone_words(times)}: {clock.days(times)}",
        coverage_words(plan),
        settling_words(plan),
    ]
    if plan.musts_missed:
        lines.insert(3, f"NOT POSSIBLE: {plan.musts_missed} of the musts cannot be covered.")
    return [part for line in lines for part in fill(line)]


def _done(plan: CrewPlan, clock: LocalClock) -> list[str]:
    told = [
        f"{clean(one.name)}: {clean(one.crew_name)}, {clock.short(one.time_s)}" for one in plan.done
    ]
    return bullets("DONE", told)


def _left_out(title: str, items: Sequence[LeftOut], units: Units) -> list[str]:
    told = [
        f"{'MUST: ' if one.must else ''}{clean(one.name)} (value {one.value:g}, "
        f"{quantity(one.mix_m3, 'm3', units)}): {clean(one.reason)} {free_words(one)}"
        for one in items
    ]
    return bullets(title, told)


def _not_sprayed(plan: CrewPlan) -> list[str]:
    told = [
        f"{'MUST: ' if one.must else ''}{clean(one.name)}: {VERDICT_WORDS[one.verdict]}. "
        f"{clean(one.reason)}"
        for one in plan.not_sprayed
    ]
    return bullets("NO CREW IS SENT TO THESE", told)


def _stands_on(plan: CrewPlan) -> list[str]:
    return [*(f"Driving: {words}." for words in plan.travel), *plan.assumed]


def _run(run: CrewRun, plan: CrewPlan, clock: LocalClock, units: Units) -> list[str]:
    lines = [clean(run.name).upper(), *fill(run_words(run, plan, clock, units), "  ", "  ")]
    if not run.steps:
        return lines
    lines += [_line([head for head, _, _ in _COLUMNS]), "-" * WIDTH]
    for number, step in enumerate(run.steps, start=1):
        lines += _step(number, step, plan, clock, units)
    return lines


def _step(
    number: int, step: CrewStep, plan: CrewPlan, clock: LocalClock, units: Units
) -> Iterator[str]:
    what = step_work(step, plan, units)
    if step.chance is not None:
        what += f", {chance_words(step)} sure"
    where = step_name(step) + (" MUST" if step.must else "")
    if step.kind is StepKind.COAT and (wait := wait_words(step)):
        where += f" ({wait})"
    cells = [
        (str(number),),
        (clock.short(step.arrive_s, up=True),),
        (clock.short(step.start_s, up=True),),
        (clock.short(step.finish_s, up=True),),
        wrap_cells(where, _COLUMNS[4][1]),
        wrap_cells(what, _COLUMNS[5][1]),
        (tank_words(step, units),),
        (clock.short(step.leave_by_s),),
    ]
    for row in range(max(len(cell) for cell in cells)):
        yield _line([cell[row] if row < len(cell) else "" for cell in cells])
    if told := turn_words(step, clock):
        yield from fill(told, _INDENT, _INDENT)


def _line(cells: Sequence[str]) -> str:
    shown = (
        pad(text, width, right=right)
        for text, (_, width, right) in zip(cells, _COLUMNS, strict=True)
    )
    return " ".join(shown).rstrip()
