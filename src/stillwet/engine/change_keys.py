"""What may be changed in a what-if, and what each change does to a job."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Asset
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.comparison import WhatIf
from stillwet.domain.fire import FireExposure
from stillwet.domain.job import Job
from stillwet.domain.weather import COLUMNS
from stillwet.errors import Problem, StillwetError

Array = NDArray[np.float64]


class How(StrEnum):
    """How a change acts on a number."""

    SCALE = "scale"
    SHIFT = "shift"
    SET = "set"


ANY = frozenset(How)


@dataclass(frozen=True, slots=True)
class Change:
    """One change: what it acts on, how, and by how much (factor, or SI)."""

    key: str
    how: How
    amount: float
    text: str  # as typed
    words: str  # what it was taken to mean

    @property
    def what_if(self) -> WhatIf:
        """The change as it is told."""
        return WhatIf(self.text, self.words)

    def on(self, value: float) -> float:
        """The changed number."""
        if self.how is How.SCALE:
            return value * self.amount
        return self.amount if self.how is How.SET else value + self.amount

    def on_all(self, values: Array) -> Array:
        """The changed numbers."""
        if self.how is How.SET:
            return np.full_like(values, self.amount)
        return values * self.amount if self.how is How.SCALE else values + self.amount


Apply = Callable[[Job, Change], Job]


@dataclass(frozen=True, slots=True)
class Key:
    """A key that may be changed: the dimension of its numbers, what it does, how it may."""

    dimension: str
    apply: Apply
    hows: frozenset[How] = ANY
    wanted: str = ""  # what is wanted where not every how may be
    is_flame: bool = False  # a number that fuel and weather may decide


def _remark(job: Job, change: Change, text: str) -> Job:
    return replace(job, remarks=(*job.remarks, f"What if {change.text}: {text}"))


# ---- weather


def _weather(column: str) -> Apply:
    _, low, high, _ = COLUMNS[column]

    def apply(job: Job, change: Change) -> Job:
        weather = job.weather
        moved = change.on_all(getattr(weather, column))
        held = np.clip(moved, low, high)
        ensemble = dict(weather.ensemble)
        if column in ensemble:
            ensemble[column] = np.clip(change.on_all(ensemble[column]), low, high)
        changed: dict[str, Any] = {column: held, "ensemble": ensemble}
        found = replace(job, weather=replace(weather, **changed))
        hours = int((held != moved).sum())
        if not hours:
            return found
        return _remark(found, change, f"held inside its range in {hours} of {weather.hours} hours")

    return apply


def _cloud(job: Job, change: Change) -> Job:
    weather = job.weather
    if np.isnan(weather.cloud_cover).any():
        got = "weather with irradiance only"
        raise StillwetError(Problem("cloud", "weather with cloud cover", got, "", "change sun"))
    found = _weather("cloud_cover")(job, change)
    if np.isnan(weather.ghi_w_m2).any():
        return found
    return _remark(found, change, "the sun stays as the weather file has it; change sun as well")


def _sun(job: Job, change: Change) -> Job:
    weather = job.weather
    columns = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")
    if any(np.isnan(getattr(weather, name)).any() for name in columns):
        got = "weather with cloud cover only"
        raise StillwetError(Problem("sun", "weather with irradiance", got, "", "change cloud"))
    moved: dict[str, Any] = {name: getattr(weather, name) * change.amount for name in columns}
    moved["ensemble"] = {
        name: values * change.amount if name in columns else values
        for name, values in weather.ensemble.items()
    }
    return replace(job, weather=replace(weather, **moved))


# ---- the fire and the asset


def _on_fires(job: Job, make: Callable[[FireExposure], FireExposure]) -> Job:
    def changed(asset: Asset) -> Asset:
        try:
            return replace(asset, fire=make(asset.fire))
        except StillwetError as error:
            raise StillwetError(replace(item, place=asset.id) for item in error.problems) from error

    return replace(job, assets=tuple(changed(asset) for asset in job.assets))


def _arrival(job: Job, change: Change) -> Job:
    return _on_fires(
        job,
        lambda fire: replace(
            fire,
            arrival_from_s=fire.arrival_from_s + change.amount,
            arrival_to_s=fire.arrival_to_s + change.amount,
        ),
    )


def _fire(name: str) -> Apply:
    word = _basis_word(name)

    def apply(job: Job, change: Change) -> Job:
        def changed(fire: FireExposure) -> FireExposure:
            moved: dict[str, Any] = {name: change.on(getattr(fire, name))}
            # Of a flame from fuel only what was given stays put: the changed number is given now.
            known = None if fire.fuel is not None else fire.basis.get(word)
            basis = {**fire.basis, word: _what_if(known, change)}
            return replace(fire, **moved, basis=basis)

        found = _on_fires(job, changed)
        typed = sum(asset.fire.flux_peak_w_m2 is not None for asset in job.assets)
        if not typed:
            return found
        told = f"no effect on {typed} of {len(job.assets)} assets, whose flux is typed in"
        return _remark(found, change, told)

    return apply


def _sheltering(job: Job, change: Change) -> Job:
    def changed(asset: Asset) -> Asset:
        basis = {
            **asset.basis,
            "sheltering": _what_if(asset.basis.get("sheltering"), change, 0.05, 1.5),
        }
        return replace(asset, sheltering=change.on(asset.sheltering), basis=basis)

    return replace(job, assets=tuple(changed(asset) for asset in job.assets))


# ---- practice, product, water, start


def _basis_word(name: str) -> str:
    """The key of a field's basis: the field without its unit."""
    for ending in ("_kg_m2", "_m_s", "_pa", "_s", "_m"):
        if name.endswith(ending):
            return name.removesuffix(ending)
    return name


def _what_if(
    basis: Basis | None, change: Change, low: float = 0.0, high: float = float("inf")
) -> Basis:
    """The basis of a changed number: its interval moves along, and a set number has none."""
    if basis is None or basis.low is None or basis.high is None or change.how is How.SET:
        return Basis(BasisKind.GIVEN, f"what if {change.text}")
    moved = [min(max(change.on(end), low), high) for end in (basis.low, basis.high)]
    return replace(
        basis, source=f"{basis.source}; what if {change.text}", low=moved[0], high=moved[1]
    )


def _practice(name: str, low: float = 0.0, high: float = float("inf")) -> Apply:
    word = _basis_word(name)

    def apply(job: Job, change: Change) -> Job:
        practice = job.practice
        moved: dict[str, Any] = {name: change.on(getattr(practice, name))}
        basis = {**practice.basis, word: _what_if(practice.basis.get(word), change, low, high)}
        return replace(job, practice=replace(practice, **moved, basis=basis))

    return apply


def _product(name: str, high: float = float("inf")) -> Apply:
    word = _basis_word(name)

    def apply(job: Job, change: Change) -> Job:
        product = job.product
        moved: dict[str, Any] = {name: change.on(getattr(product, name))}
        basis = {**product.basis, word: _what_if(product.basis.get(word), change, 0.0, high)}
        return replace(job, product=replace(product, **moved, basis=basis))

    return apply


def _hardness(job: Job, change: Change) -> Job:
    points = tuple(
        replace(point, hardness_kg_m3=max(0.0, change.on(point.hardness_kg_m3)))
        for point in job.water_points
    )
    if not points:
        raise StillwetError(Problem("hardness", "a job with water points", "none"))
    return replace(job, water_points=points)


def _start(job: Job, change: Change) -> Job:
    return replace(job, start_s=job.start_s + change.amount)


_SHIFT_ONLY = frozenset({How.SHIFT})
_SCALE_ONLY = frozenset({How.SCALE})
_NO_SCALE = frozenset({How.SHIFT, How.SET})
_A_SHIFT = "a shift such as -2 h or +30 min"
_A_SHARE = "a share such as +30% or -20%"

KEYS: dict[str, Key] = {
    "wind": Key("speed", _weather("wind_speed_m_s")),
    "temperature": Key(
        "temperature", _weather("air_temperature_k"), _NO_SCALE, "a shift such as +3 C, or a value"
    ),
    "humidity": Key("fraction", _weather("relative_humidity")),
    "cloud": Key("fraction", _cloud),
    "sun": Key("heat_flux", _sun, _SCALE_ONLY, _A_SHARE),
    "arrival": Key("time", _arrival, _SHIFT_ONLY, _A_SHIFT),
    "start": Key("time", _start, _SHIFT_ONLY, _A_SHIFT),
    "flame length": Key("length", _fire("flame_length_m"), is_flame=True),
    "spread rate": Key("speed", _fire("spread_rate_m_s"), is_flame=True),
    "residence": Key("time", _fire("residence_s"), is_flame=True),
    "setback": Key("length", _fire("setback_m")),
    "sheltering": Key("fraction", _sheltering),
    "egress lead": Key("time", _practice("egress_lead_s")),
    "longest wait": Key("time", _practice("longest_wait_s")),
    "work window": Key("time", _practice("work_window_s")),
    "ember period": Key("time", _practice("ember_period_s")),
    "ember reserve": Key("water_depth", _practice("ember_reserve_kg_m2")),
    "thinnest coat": Key("water_depth", _practice("thinnest_coat_kg_m2")),
    "transfer efficiency": Key("fraction", _practice("transfer_efficiency", 0.05, 1.0)),
    "water efficiency": Key("fraction", _practice("water_efficiency", 0.05, 1.0)),
    "coat variation": Key("fraction", _practice("coat_variation")),
    "drying exponent": Key("fraction", _product("drying_exponent", 1.0)),
    "yield stress": Key("pressure", _product("yield_coefficient_pa"), _SCALE_ONLY, _A_SHARE),
    "hardness": Key("hardness", _hardness),
}
