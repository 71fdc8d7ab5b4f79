"""What /api/trials, /api/mix and /api/proportioner answer, as JSON Schemas.

Numbers carry their unit in their name, or stand beside it where it is the reader's own.
"""

from __future__ import annotations

from stillwet.web.schema import (
    COUNT,
    FLAG,
    NUMBER,
    TEXT,
    fixed,
    keyed,
    listed,
    maybe,
    one_of,
    record,
)

_PAIR = fixed(TEXT, TEXT)
_NUMBERS = listed(NUMBER)

FORM = record(
    ways=listed(TEXT),
    fields=listed(
        record(
            name=TEXT,
            says=TEXT,
            unit=TEXT,
            example=TEXT,
            choices=listed(TEXT),
            ways=listed(TEXT),
        )
    ),
)
TRIALS = record(
    trials=listed(record(id=TEXT, is_odd=FLAG, typed=keyed(TEXT), says=TEXT)),
    form=FORM,
    usual_coat=TEXT,
)
KEPT_TRIALS = record(kept=COUNT, already_here=COUNT, ids=listed(TEXT), remarks=listed(TEXT))

_SEEN = record(
    trial_id=TEXT,
    method=TEXT,
    ratio_percent=NUMBER,
    yield_pa=NUMBER,
    bound={"enum": [-1, 0, 1]},  # the reading is at most, is, or is at least the stress
    is_odd=FLAG,
)
_WATER = record(
    name=TEXT,
    ratio_percent=_NUMBERS,
    low_pa=_NUMBERS,
    middle_pa=_NUMBERS,
    high_pa=_NUMBERS,
    seen=listed(_SEEN),
    table=listed(fixed(TEXT, TEXT, TEXT, TEXT)),
)
FIT = record(
    product=TEXT,
    asked=TEXT,
    lowest=listed(TEXT),
    rests_on=listed(TEXT),
    odd=listed(TEXT),
    rulings=listed(record(what=TEXT, is_accepted=FLAG, says=TEXT, against=listed(TEXT))),
    numbers=listed(_PAIR),
    figure=maybe(
        record(
            asked_pa=NUMBER,
            label_percent=fixed(NUMBER, NUMBER),
            unseen=COUNT,
            waters=listed(_WATER),
        )
    ),
)
NEXT = record(
    next=listed(
        record(says=TEXT, reason=TEXT, band=TEXT, ratio=TEXT, hardness=TEXT, age=TEXT, method=TEXT)
    )
)

_DEPTHS = listed(maybe(NUMBER))  # in the figure's coat_unit; null where none can be said
MIX = record(
    verdict=TEXT,
    asked=TEXT,
    pairs=listed(_PAIR),
    signs=listed(_PAIR),
    figure=record(
        coat_unit=TEXT,
        ratio_percent=_NUMBERS,
        low=_DEPTHS,
        middle=_DEPTHS,
        high=_DEPTHS,
        counted=_DEPTHS,
        needed=maybe(NUMBER),
        chosen_percent=NUMBER,
        walls=listed(
            record(name=one_of(("slides off", "falls off", "pump", "label")), percent=NUMBER)
        ),
    ),
    sliders=listed(record(name=TEXT, unit=TEXT, low=NUMBER, high=NUMBER, step=NUMBER, at=NUMBER)),
)

_RUN_CHART = record(
    number=listed(COUNT),
    percent_of_set=_NUMBERS,
    low_percent_of_set=_NUMBERS,
    high_percent_of_set=_NUMBERS,
    target_percent_of_set=maybe(NUMBER),
    alarm_at=maybe(COUNT),  # the number of a check
)
JUDGED = record(
    window=TEXT,
    devices=listed(
        record(
            name=TEXT,
            dials=listed(record(says=TEXT, rules=listed(_PAIR))),
            settings=listed(TEXT),
            over=listed(TEXT),
            notes=listed(TEXT),
            checks=listed(fixed(TEXT, TEXT, TEXT, TEXT, TEXT)),
            figure=_RUN_CHART,
        )
    ),
)
