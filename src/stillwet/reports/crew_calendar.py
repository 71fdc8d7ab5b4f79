"""The crews' day as an iCalendar file (RFC 5545): one event a stop, times in UTC."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep, StepKind
from stillwet.reports.crew_rows import (
    FOOTER,
    chance_words,
    crew_clock,
    ratio_words,
    step_name,
    step_work,
)
from stillwet.reports.icalendar import calendar_text, escaped, utc
from stillwet.reports.local_time import LocalClock
from stillwet.reports.words import Units, clean, coat


def crew_calendar_text(plan: CrewPlan, *, units: str) -> str:
    """Every stop of every crew as an event; lines end in CRLF and are folded at 75 octets."""
    clock, reader = crew_clock(plan), Units(units)
    events = (
        line
        for run in plan.crews
        for number, step in enumerate(run.steps, start=1)
        for line in _event(plan, run, number, step, clock, reader)
    )
    return calendar_text("Crew plan", f"Crew plan {plan.id}: {plan.job_name}", events)


def _event(
    plan: CrewPlan, run: CrewRun, number: int, step: CrewStep, clock: LocalClock, units: Units
) -> Iterator[str]:
    """An event from arriving to being done: waiting is part of a crew's time."""
    summary = f"{run.name} {number}: {step_name(step)}, {step_work(step, plan, units)}"
    yield "BEGIN:VEVENT"
    yield f"UID:{plan.id}-{run.crew_id.encode().hex()}-{number}@stillwet.invalid"
    yield f"DTSTAMP:{utc(plan.made_s)}"
    yield f"DTSTART:{utc(step.arrive_s)}"
    yield f"DTEND:{utc(math.ceil(step.finish_s))}"
    yield f"SUMMARY:{escaped(summary)}"
    yield f"DESCRIPTION:{escaped(chr(10).join(_description(plan, step, clock, units)))}"
    yield f"LOCATION:{escaped(step.name)}"
    yield f"CATEGORIES:{escaped(str(step.kind))}"
    yield "END:VEVENT"


def _description(plan: CrewPlan, step: CrewStep, clock: LocalClock, units: Units) -> Iterator[str]:
    if step.kind is StepKind.COAT:
        yield f"GONE BY {clock.full(step.leave_by_s)}."
        yield f"Start work {clock.short(step.start_s, up=True)}. Mix {ratio_words(step, plan)}."
        for face in step.faces:
            yield f"{clean(face.label)}: {coat(face.coat_kg_m2, units)}"
        yield f"Chance that the asset's coat holds: {chance_words(step)}."
        yield from (clean(caution) for caution in step.cautions)
    yield FOOTER
