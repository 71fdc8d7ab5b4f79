"""The crews' day as an iCalendar file (RFC 5545): one event a stop, times in UTC."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime

from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep, StepKind
from stillwet.reports.crew_rows import (
    FOOTER,
    chance_words,
    crew_clock,
    ratio_words,
    step_name,
    step_work,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.words import Units, clean, coat

_LINE_OCTETS = 75  # section 3.1: no line longer, without its break


def crew_calendar_text(plan: CrewPlan, *, units: str) -> str:
    """Every stop of every crew as an event; lines end in CRLF and are folded at 75 octets."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Stillwet//Crew plan//EN"]
    lines += ["CALSCALE:GREGORIAN", "METHOD:PUBLISH"]
    lines.append(f"X-WR-CALNAME:{_escaped(f'Crew plan {plan.id}: {plan.job_name}')}")
    clock, reader = crew_clock(plan), Units(units)
    for run in plan.crews:
        for number, step in enumerate(run.steps, start=1):
            lines += _event(plan, run, number, step, clock, reader)
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _event(
    plan: CrewPlan, run: CrewRun, number: int, step: CrewStep, clock: LocalClock, units: Units
) -> Iterator[str]:
    """An event from arriving to being done: waiting is part of a crew's time."""
    summary = f"{run.name} {number}: {step_name(step)}, {step_work(step, units)}"
    yield "BEGIN:VEVENT"
    yield f"UID:{plan.id}-{run.crew_id.encode().hex()}-{number}@stillwet.invalid"
    yield f"DTSTAMP:{_utc(plan.made_s)}"
    yield f"DTSTART:{_utc(step.arrive_s)}"
    yield f"DTEND:{_utc(math.ceil(step.finish_s))}"
    yield f"SUMMARY:{_escaped(summary)}"
    yield f"DESCRIPTION:{_escaped(chr(10).join(_description(plan, step, clock, units)))}"
    yield f"LOCATION:{_escaped(step.name)}"
    yield f"CATEGORIES:{_escaped(str(step.kind))}"
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


def _utc(time_s: float) -> str:
    return datetime.fromtimestamp(math.floor(time_s), UTC).strftime("%Y%m%dT%H%M%SZ")


def _escaped(text: str) -> str:
    """Text as a value (section 3.3.11): backslash, semicolon, comma and line break escaped."""
    kept = "\n".join(clean(line) for line in text.split("\n"))
    for plain, shown in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        kept = kept.replace(plain, shown)
    return kept


def _folded(line: str) -> Iterator[str]:
    """The line in pieces of at most 75 octets, never inside a character; all but the first
    begin with a space.
    """
    piece, size = "", 0
    for character in line:
        octets = len(character.encode("utf-8", "replace"))
        if size + octets > _LINE_OCTETS:
            yield piece
            piece, size = " ", 1
        piece, size = piece + character, size + octets
    yield piece
