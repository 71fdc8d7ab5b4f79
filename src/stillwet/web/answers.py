"""What the JSON API answers, resource by resource, as JSON Schemas (2020-12)."""

from __future__ import annotations

from stillwet.services.field_log import kept_entry_schema
from stillwet.services.ground import GROUND_LAYERS
from stillwet.services.view import UNITS
from stillwet.web.door import Role
from stillwet.web.schema import (
    COUNT,
    FLAG,
    MOMENT,
    NUMBER,
    SHARE,
    TEXT,
    either,
    fixed,
    listed,
    maybe,
    one_of,
    record,
)

_UNITS = one_of(UNITS)
_POINT = fixed(NUMBER, NUMBER)  # metres east and north in the job's projected system
_TRACK = listed(_POINT)
_DEGREES = fixed(NUMBER, NUMBER)  # longitude and latitude, WGS 84

PROBLEM = record(field=TEXT, wanted=TEXT, got=TEXT, place=TEXT, hint=TEXT)
PROBLEMS = record(problems={**listed(PROBLEM), "minItems": 1})

JOB = record(
    name=TEXT,
    time_zone=TEXT,
    crs=TEXT,
    start=MOMENT,
    plan_id=TEXT,
    plan_made=maybe(MOMENT),
    crew_plan_id=TEXT,
    weather_source=TEXT,
    weather_issued=maybe(MOMENT),
    log_row=COUNT,
    assets=listed(
        record(
            id=TEXT,
            name=TEXT,
            kind=TEXT,
            at_m=_POINT,
            outline_m=maybe(_TRACK),
            at_deg=_DEGREES,
            outline_deg=maybe(listed(_DEGREES)),
            fire_from=MOMENT,
            fire_to=MOMENT,
            note=TEXT,
            faces=listed(record(id=TEXT, label=TEXT)),
        )
    ),
    lines=listed(record(id=TEXT, name=TEXT, track_m=_TRACK, track_deg=listed(_DEGREES))),
    crews=listed(record(id=TEXT, name=TEXT, people=COUNT)),
    water_points=listed(record(id=TEXT, name=TEXT, at_m=_POINT, at_deg=_DEGREES)),
    streams_m=listed(_TRACK),
    streams_deg=listed(listed(_DEGREES)),
    cautions=listed(TEXT),
)

GROUND = record(
    layers=listed(
        record(
            id=one_of(GROUND_LAYERS),
            name=TEXT,
            credit=TEXT,
            version=TEXT,
            bounds_deg=fixed(NUMBER, NUMBER, NUMBER, NUMBER),
            min_zoom=COUNT,
            max_zoom=COUNT,
        )
    )
)

_COAT = record(
    laid=MOMENT,
    laid_by=TEXT,
    laid_mm=NUMBER,
    left_mm=NUMBER,
    left_low_mm=NUMBER,
    left_high_mm=NUMBER,
    share_left=SHARE,
    hold_90=MOMENT,
    hold_50=MOMENT,
    chance=SHARE,
    verdict=TEXT,
    checks=COUNT,
    flags=listed(TEXT),
)
_FACE = record(
    surface_id=TEXT,
    asset_id=TEXT,
    asset_name=TEXT,
    label=TEXT,
    state=TEXT,
    state_words=TEXT,
    coat_from=maybe(MOMENT),
    coat_by=maybe(MOMENT),
    fire_from=MOMENT,
    fire_to=MOMENT,
    crew=TEXT,
    crew_at=maybe(MOMENT),
    coat=maybe(_COAT),
    words=record(look=TEXT, left=TEXT, hold=TEXT, fire=TEXT, coat_by=TEXT, who=TEXT, chance=TEXT),
)
BOARD = record(
    at=MOMENT,
    now=MOMENT,
    is_now=FLAG,
    time_zone=TEXT,
    units=_UNITS,
    plan_id=TEXT,
    log_row=COUNT,
    **{"from": MOMENT},
    to=MOMENT,
    faces=listed(_FACE),
    alarms=listed(record(id=TEXT, kind=TEXT, surface_id=TEXT, says=TEXT)),
    weather=record(issued=maybe(MOMENT), seen=maybe(MOMENT), words=TEXT),
    washed=listed(TEXT),
    passed=listed(TEXT),
    notes=listed(TEXT),
    checks=COUNT,
)

LOG = record(entries=listed(kept_entry_schema()), last=COUNT, more=FLAG)
POSTED = record(
    entries=listed(
        record(
            id=TEXT,
            became=one_of(("kept", "already here", "conflict", "refused")),
            problems=listed(PROBLEM),
        )
    )
)

_ROLE = one_of(role for role in Role if role is not Role.NOBODY)
PEOPLE = record(
    people=listed(record(id=COUNT, handle=TEXT, name=TEXT, role=_ROLE, is_out=FLAG)),
)
AUDIT = record(
    lines=listed(
        record(row=COUNT, when=MOMENT, who=TEXT, device=TEXT, address=TEXT, what=TEXT, words=TEXT)
    ),
    has_more=FLAG,
)
LET_IN = record(id=COUNT, name=TEXT, role=_ROLE, code=TEXT)
LET_OUT = record(let_out=FLAG)
JOINED = record(name=TEXT, role=_ROLE)
LEFT = record(left=FLAG)

_STEP = fixed(MOMENT, NUMBER)  # a moment and a distance along the line in metres
_STEPS = listed(_STEP)
_WET = record(wet=_STEPS, latest=_STEPS, dry_90=_STEPS, dry_50=_STEPS, is_guessed=FLAG)
_SEGMENT = record(
    id=TEXT,
    name=TEXT,
    from_m=NUMBER,
    to_m=NUMBER,
    state=TEXT,
    state_words=TEXT,
    words=record(
        stretch=TEXT,
        verdict=TEXT,
        wet=TEXT,
        lit=TEXT,
        lag=TEXT,
        lay=TEXT,
        walk=TEXT,
        wet_to=TEXT,
        lit_to=TEXT,
        latest=TEXT,
        spare=TEXT,
    ),
)
_LINE = record(
    id=TEXT,
    name=TEXT,
    purpose=TEXT,
    is_lit=FLAG,
    verdict=TEXT,
    reason=TEXT,
    length_m=NUMBER,
    **{"from": MOMENT},
    to=MOMENT,
    planned=record(wet=_STEPS, lit=_STEPS, latest=_STEPS, dry_90=_STEPS, dry_50=_STEPS),
    done=record(
        wet=listed(_WET), lit=listed(record(lit=_STEPS, is_guessed=FLAG)), torch=maybe(_STEP)
    ),
    fire=maybe(fixed(MOMENT, MOMENT)),
    segments=listed(_SEGMENT),
    alarms=listed(record(id=TEXT, kind=TEXT, says=TEXT)),
    unknown=listed(TEXT),
    pairs=listed(fixed(TEXT, TEXT)),
    steps=listed(TEXT),
    rules=listed(record(name=TEXT, rule=TEXT, forecast=TEXT, is_kept=FLAG)),
    against=listed(listed(TEXT)),
)
_NO_LINES = record(
    lines={"type": "array", "maxItems": 0}, log_row=COUNT, is_current=FLAG, job_lines=listed(TEXT)
)
LINES = either(
    _NO_LINES,
    record(
        now=MOMENT,
        time_zone=TEXT,
        units=_UNITS,
        length_unit=TEXT,
        plan_id=TEXT,
        made=TEXT,
        cautions=listed(TEXT),
        warnings=listed(TEXT),
        lines=listed(_LINE),
        log_row=COUNT,
        is_current=FLAG,
        trials_since=TEXT,
        job_lines=listed(TEXT),
    ),
)
KEPT = record(kept=TEXT)
DESCRIPTION = {
    "type": "object",
    "properties": {
        "openapi": {"const": "3.1.0"},
        "info": record(title=TEXT, version=TEXT, description=TEXT),
        "paths": {"type": "object", "minProperties": 1},
        "components": {"type": "object"},
    },
    "required": ["openapi", "info", "paths", "components"],
    "additionalProperties": False,
}
