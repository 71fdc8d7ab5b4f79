"""What /api/draft, /api/runs, /api/plan, /api/explain and /api/compare answer, as JSON Schemas."""

from __future__ import annotations

from stillwet.services.draft_planning import LIST_UPLOADS, SLOT_UPLOADS
from stillwet.web.answers import PROBLEM
from stillwet.web.runs import RUN_STATES
from stillwet.web.schema import (
    COUNT,
    FLAG,
    SHARE,
    TEXT,
    either,
    keyed,
    listed,
    maybe,
    one_of,
    record,
    some,
)

_BECAME = one_of(("kept", "already here"))
_FILE = record(name=TEXT, sha256={"type": "string", "pattern": "^[0-9a-f]{64}$"})
_ROW = record(row=TEXT, fields=keyed(TEXT), shape=TEXT)  # shape: well-known text in degrees
DRAFT = record(
    file=TEXT,
    row=COUNT,
    can_undo=FLAG,
    can_redo=FLAG,
    is_ahead=FLAG,
    texts=keyed(TEXT),
    lists=record(**dict.fromkeys(LIST_UPLOADS, listed(_ROW))),
    files=some(**dict.fromkeys(SLOT_UPLOADS, _FILE)),
)

_FIELD = record(
    name=TEXT,
    label=TEXT,
    says=TEXT,
    kind=one_of(("choice", "flag", "text")),
    choices=listed(TEXT),
)
_FIELDS = {"main": listed(_FIELD), "more": listed(_FIELD)}
_PART = either(
    record(section=TEXT, title=TEXT, **_FIELDS),
    record(list=one_of(LIST_UPLOADS), title=TEXT, noun=TEXT, **_FIELDS),
    record(slot=one_of(SLOT_UPLOADS), title=TEXT, accept=TEXT, wants=TEXT),
    record(product={"const": True}, title=TEXT, accept=TEXT, wants=TEXT),
)
_DEFAULT = record(value=TEXT, interval=TEXT, kind=TEXT, source=TEXT)
FORM = record(
    steps=listed(record(id=TEXT, title=TEXT, says=TEXT, parts=listed(_PART))),
    defaults=keyed(keyed(keyed(_DEFAULT))),  # by place, by what decides them, by field
    by=keyed(TEXT),
    zones=listed(TEXT),
    doubts=listed(TEXT),
)
EDITED = record(edits=listed(record(id=TEXT, became=_BECAME)))
UNDONE = record(done=FLAG)
BROUGHT = record(became=_BECAME, rows=COUNT, remarks=listed(TEXT))
_SPOT = record(key=TEXT, list=TEXT, row=TEXT, field=TEXT)
CHECKED = record(
    row=COUNT,
    is_sound=FLAG,
    problems=listed(record(**PROBLEM["properties"], spot=_SPOT)),
    remarks=listed(TEXT),
)
_RESULT = either(
    record(),  # while it runs, and where it came to none
    record(plan_id=TEXT, row=COUNT),
    record(plan_id=TEXT, missing=listed(TEXT)),
)
RUN = record(
    id=TEXT,
    kind=TEXT,
    state=one_of(RUN_STATES),
    label=TEXT,
    share=SHARE,
    result=_RESULT,
    problems=listed(PROBLEM),
)

_PLAN_ROW = record(
    asset_id=TEXT,
    name=TEXT,
    verdict=TEXT,
    chance=TEXT,
    coat=TEXT,
    mix=TEXT,
    water=TEXT,
    apply_from=TEXT,
    apply_until=TEXT,
    hold_90=TEXT,
    hold_50=TEXT,
    fire_from=TEXT,
    fire_to=TEXT,
    governs=TEXT,
)
_FINDING = record(
    verdict=TEXT,
    count=COUNT,
    meaning=TEXT,
    reasons=listed(record(names=TEXT, reason=TEXT)),
)
PLAN = record(
    plan=maybe(
        record(
            plan_id=TEXT,
            times=TEXT,
            tally=listed(record(verdict=TEXT, count=COUNT)),
            findings=listed(_FINDING),
            rows=listed(_PLAN_ROW),
        )
    ),
    has_packet=FLAG,
    trials_since=TEXT,
    run=maybe(RUN),
)

_INPUT = record(name=TEXT, value=TEXT, interval=TEXT, kind=TEXT, source=TEXT, is_untested=FLAG)
_LINK = record(quantity=TEXT, value=TEXT, model=TEXT, source=TEXT)
WHY = record(
    asset_id=TEXT,
    name=TEXT,
    verdict=TEXT,
    chance=TEXT,
    reason=TEXT,
    face=TEXT,
    shares=listed(record(words=TEXT, percent=TEXT, alone=TEXT, fraction=SHARE)),
    shares_mean=TEXT,
    advice=listed(TEXT),
    steps=listed(record(question=TEXT, links=listed(_LINK), inputs=listed(_INPUT))),
)
FLIPS = record(
    comparisons=listed(
        record(
            change=TEXT, flips=COUNT, flip_words=TEXT, let_down_words=TEXT, warnings=listed(TEXT)
        )
    ),
    not_tried=listed(record(change=TEXT, reason=TEXT)),
)
