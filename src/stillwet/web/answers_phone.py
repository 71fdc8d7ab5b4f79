"""What /api/crew/{crew_id} and /api/clock answer, as JSON Schemas."""

from __future__ import annotations

from stillwet.web.door import Schema
from stillwet.web.schema import COUNT, FLAG, MOMENT, NUMBER, TEXT, keyed, listed, maybe, record

AHEAD = record(ahead_s=NUMBER)


def _both(part: Schema) -> Schema:
    """The same in each system of units: a phone without a network can switch."""
    return record(us=part, metric=part)


_STOP = record(
    number=COUNT,
    kind=TEXT,
    place_id=TEXT,
    start=MOMENT,
    leave_by=maybe(MOMENT),
    must=FLAG,
    faces=listed(TEXT),
)
_STOP_WORDS = record(
    **dict.fromkeys(
        (
            *("name", "work", "ratio", "concentrate", "where", "drive", "arrive", "start", "done"),
            *("gone_by", "tank", "chance", "turn", "note"),
        ),
        TEXT,
    ),
    needs=listed(TEXT),
    cautions=listed(TEXT),
    faces=listed(record(label=TEXT, coat=TEXT, share=TEXT, amount=TEXT)),
)
_ENTRY = record(
    id=TEXT,
    kind=TEXT,
    state=TEXT,
    when=MOMENT,
    clock=TEXT,
    says=_both(TEXT),
    by=TEXT,
    device=TEXT,
    note=TEXT,
    replaces=maybe(TEXT),
    faces=listed(TEXT),
    feel=TEXT,
)
CREW = record(
    schema={"const": "stillwet.phone/1"},
    job=TEXT,
    job_name=TEXT,
    crew=record(id=TEXT, name=TEXT),
    crew_plan_id=TEXT,
    made=maybe(MOMENT),
    stops=listed(_STOP),
    words=maybe(_both(record(day=TEXT, before=listed(TEXT), stops=listed(_STOP_WORDS)))),
    inputs=_both(record(asked=keyed(record(unit=TEXT, example=TEXT)), coats=listed(TEXT))),
    faces=listed(record(id=TEXT, label=TEXT)),
    log=record(entries=listed(_ENTRY), seen=listed(TEXT)),
    now=MOMENT,
    person=TEXT,
    may_log=FLAG,
)
