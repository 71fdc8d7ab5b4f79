"""What is still to be done after a job, as an iCalendar file: coats again, and washing off."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stillwet.domain.after import After, Due
from stillwet.reports.after_words import NOTE
from stillwet.reports.icalendar import calendar_text, escaped, utc
from stillwet.reports.words import clean


def after_calendar_text(after: After) -> str:
    """One event a thing to do, from when it may begin to when it should be over."""
    events = (line for due in after.due for line in _event(after, due))
    return calendar_text("After", f"To do after {after.job_name}", events)


def _event(after: After, due: Due) -> Iterator[str]:
    mark = f"{due.kind}/{due.asset_id}".encode().hex()
    yield "BEGIN:VEVENT"
    yield f"UID:{after.plan_id}-{mark}@stillwet.invalid"
    yield f"DTSTAMP:{utc(after.now_s)}"
    yield f"DTSTART:{utc(math.ceil(due.from_s))}"
    yield f"DTEND:{utc(due.to_s)}"
    yield f"SUMMARY:{escaped(f'{due.kind.capitalize()}: {due.asset_name}')}"
    faces = f"Faces: {', '.join(clean(face) for face in due.faces)}."
    wary = [f"Keep wash water from {' and '.join(due.wary)}."] if due.wary else []
    yield f"DESCRIPTION:{escaped(chr(10).join((faces, due.words, *wary, NOTE)))}"
    yield f"LOCATION:{escaped(due.asset_name)}"
    yield f"CATEGORIES:{escaped(str(due.kind))}"
    yield "END:VEVENT"
