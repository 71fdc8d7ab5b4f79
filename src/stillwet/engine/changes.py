"""What if: one plain key and one change make another job from this one.

``wind=+30%`` scales, ``temperature=+3 C`` or ``arrival=-2 h`` shifts, ``wind=20 mph`` sets.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np

from stillwet.domain.assets import Asset, FireExposure
from stillwet.domain.job import Job
from stillwet.errors import Problem, StillwetError, shown
from stillwet.units import difference_to_si, read_quantity


class How(StrEnum):
    """How a change acts on a number."""

    SCALE = "scale"
    SHIFT = "shift"
    SET = "set"


@dataclass(frozen=True, slots=True)
class Change:
    """One change: what it acts on, how, and by how much (factor, or SI)."""

    key: str
    how: How
    amount: float
    text: str  # as typed

    def on(self, value: float) -> float:
        """The changed number."""
        if self.how is How.SCALE:
            return value * self.amount
        return self.amount if self.how is How.SET else value + self.amount


_NUMBER = re.compile(r"^\s*([-+])?\s*(\d+\.?\d*|\.\d+)\s*(.*?)\s*$")


def read_change(text: str) -> Change:
    """Read "key=change". Raises StillwetError naming the key, what was wanted and what came."""
    key, equals, rest = text.partition("=")
    key = key.strip().replace("_", " ").lower()
    if not equals or key not in KEYS:
        raise StillwetError(
            Problem(
                "set", "one of " + ", ".join(sorted(KEYS)) + ", then = and a change", shown(text)
            )
        )
    match = _NUMBER.match(rest)
    if match is None:
        raise StillwetError(
            Problem(key, "a change such as +30%, -2 h or 20 mph", shown(rest.strip()))
        )
    sign, number, unit = match[1], float(match[2]), match[3]
    signed = -number if sign == "-" else number
    if unit == "%" and sign is not None and KEYS[key].dimension != "fraction":
        return Change(key, How.SCALE, 1.0 + signed / 100.0, text)
    dimension = KEYS[key].dimension
    if sign is None:
        amount = read_quantity(f"{number} {unit}".strip(), dimension=dimension, field=key)
        return Change(key, How.SET, amount, text)
    amount = difference_to_si(signed, unit, dimension=dimension, field=key)
    return Change(key, How.SHIFT, amount, text)


def _on_fires(job: Job, make: Callable[[FireExposure], FireExposure]) -> Job:
    def changed(asset: Asset) -> Asset:
        return replace(asset, fire=make(asset.fire))

    return replace(job, assets=tuple(changed(asset) for asset in job.assets))


def _weather(column: str, low: float, high: float) -> Callable[[Job, Change], Job]:
    def apply(job: Job, change: Change) -> Job:
        values = getattr(job.weather, column)
        moved = np.array([change.on(float(value)) for value in values])
        return replace(job, weather=replace(job.weather, **{column: np.clip(moved, low, high)}))

    return apply


def _sun(job: Job, change: Change) -> Job:
    weather = job.weather
    if np.isnan(weather.ghi_w_m2).any():
        raise StillwetError(
            Problem(
                "sun", "weather with irradiance", "weather with cloud cover only", "", "set cloud"
            )
        )
    columns = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")
    moved = {name: np.clip(getattr(weather, name) * change.amount, 0.0, 1400.0) for name in columns}
    return replace(job, weather=replace(weather, **moved))


def _arrival(job: Job, change: Change) -> Job:
    if change.how is not How.SHIFT:
        raise StillwetError(Problem("arrival", "a shift such as -2 h or +30 min", change.text))
    return _on_fires(
        job,
        lambda fire: replace(
            fire,
            arrival_from_s=fire.arrival_from_s + change.amount,
            arrival_to_s=fire.arrival_to_s + change.amount,
        ),
    )


def _fire(name: str) -> Callable[[Job, Change], Job]:
    def changed(fire: FireExposure, change: Change) -> FireExposure:
        moved: dict[str, Any] = {name: change.on(getattr(fire, name))}
        return replace(fire, **moved)

    return lambda job, change: _on_fires(job, lambda fire: changed(fire, change))


def _practice(name: str) -> Callable[[Job, Change], Job]:
    def apply(job: Job, change: Change) -> Job:
        moved: dict[str, Any] = {name: change.on(getattr(job.practice, name))}
        return replace(job, practice=replace(job.practice, **moved))

    return apply


@dataclass(frozen=True, slots=True)
class Key:
    """A key that may be changed: the dimension of its numbers and what it does to a job."""

    dimension: str
    apply: Callable[[Job, Change], Job]


KEYS: dict[str, Key] = {
    "wind": Key("speed", _weather("wind_speed_m_s", 0.0, 60.0)),
    "temperature": Key("temperature", _weather("air_temperature_k", 213.15, 333.15)),
    "humidity": Key("fraction", _weather("relative_humidity", 0.0, 1.0)),
    "cloud": Key("fraction", _weather("cloud_cover", 0.0, 1.0)),
    "sun": Key("heat_flux", _sun),
    "arrival": Key("time", _arrival),
    "flame length": Key("length", _fire("flame_length_m")),
    "spread rate": Key("speed", _fire("spread_rate_m_s")),
    "residence": Key("time", _fire("residence_s")),
    "setback": Key("length", _fire("setback_m")),
    "egress lead": Key("time", _practice("egress_lead_s")),
    "work window": Key("time", _practice("work_window_s")),
    "ember period": Key("time", _practice("ember_period_s")),
    "ember reserve": Key("water_depth", _practice("ember_reserve_kg_m2")),
    "transfer efficiency": Key("fraction", _practice("transfer_efficiency")),
    "water efficiency": Key("fraction", _practice("water_efficiency")),
    "thinnest coat": Key("water_depth", _practice("thinnest_coat_kg_m2")),
}


def change_job(job: Job, changes: tuple[Change, ...]) -> Job:
    """Another job with the changes made in order; the same seed, so that only they tell apart."""
    for change in changes:
        job = KEYS[change.key].apply(job, change)
    return job
