"""Invented jobs whose answers are kept.

Few members, so that they are quick; odd numbers, so that no verdict is a tie.
"""

from __future__ import annotations

from collections.abc import Callable

from kept.engine.places import (
    approved_here,
    every_kind,
    fires_from_fuel,
    local_rules,
    many_fires,
    one_house,
)
from kept.engine.products import clay, powder, starch, tried_product
from kept.engine.skies import (
    cloudy_ensemble,
    cool_morning,
    embers_alone,
    measured_sun,
    nothing_in_doubt,
    sun_and_cloud,
    sunny_ensemble,
    too_late,
)
from stillwet.domain.job import Job

PLACES: dict[str, Callable[[], Job]] = {
    "one house": one_house,
    "every kind": every_kind,
    "many fires": many_fires,
    "fires from fuel": fires_from_fuel,
    "local rules": local_rules,
    "approved here": approved_here,
    "too late": too_late,
    "cool morning": cool_morning,
    "embers alone": embers_alone,
    "powder": powder,
    "starch": starch,
    "clay": clay,
    "tried product": tried_product,
    "nothing in doubt": nothing_in_doubt,
    "measured sun": measured_sun,
    "sun and cloud": sun_and_cloud,
    "cloudy ensemble": cloudy_ensemble,
    "sunny ensemble": sunny_ensemble,
}
