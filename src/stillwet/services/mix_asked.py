"""What is asked of a mix, as a person writes it: its bounds, and the sliders that set it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stillwet.domain.job import Job
from stillwet.errors import Problem, StillwetError, shown
from stillwet.units import depth_in_inches, from_si, read_quantity

USUAL_COAT = "1/8 in"


@dataclass(frozen=True, slots=True)
class _Amount:
    """What one amount may be: bounds in SI, and the same in words; its slider, US then metric."""

    dimension: str
    low: float
    high: float
    words: str
    sliders: tuple[_Slider, _Slider] | None = None  # None: that of the ratio hangs on the label


_Slider = tuple[str, float, float, float]  # unit, from, to, step
_AMOUNTS = {
    "ratio": _Amount("fraction", 1e-4, 0.2, "0.01 to 20 %"),
    "hardness": _Amount("hardness", 0.0, 5.0, "0 to 5000 mg/L", (("mg/L", 0.0, 600.0, 10.0),) * 2),
    "temperature": _Amount(
        "temperature",
        273.15,
        323.15,
        "0 to 50 C (32 to 122 F)",
        (("F", 34.0, 104.0, 1.0), ("C", 1.0, 40.0, 1.0)),
    ),
    "coat": _Amount(
        "water_depth",
        0.1,
        50.0,
        "0.1 to 50 mm (0.004 to 1.9 in)",
        (("in", 0.02, 0.5, 0.005), ("mm", 0.5, 12.0, 0.1)),
    ),
    "tilt": _Amount("angle", 5.0, 90.0, "5 to 90 deg", (("deg", 5.0, 90.0, 5.0),) * 2),
}


def amount_asked(name: str, text: str, *, field: str = "") -> float:
    """One amount in SI; raises StillwetError for what is none or out of bounds.

    ``field`` is what the person who wrote it knows it by, where that is not its name.
    """
    amount, told = _AMOUNTS[name], field or name
    value = read_quantity(text, dimension=amount.dimension, field=told)
    if not amount.low <= value <= amount.high:
        raise StillwetError(Problem(told, amount.words, shown(text)))
    return value


def amounts_asked(asked: Mapping[str, str]) -> dict[str, float]:
    """The amounts that were given, in SI; raises StillwetError with every problem."""
    from stillwet.exchange.findings import Findings

    findings = Findings()
    found: dict[str, float] = {}
    for name, text in asked.items():
        if name in _AMOUNTS and text.strip():
            with findings.catching():
                found[name] = amount_asked(name, text)
    if findings.count:
        raise StillwetError(findings.problems())
    return found


def usual_amounts(job: Job) -> dict[str, float]:
    """Where the sliders stand at first: the middle of the label, the hardest of the waters."""
    water = max(job.water_points, key=lambda one: one.hardness_kg_m3, default=None)
    return {
        "ratio": 0.5 * (job.product.ratio_low + job.product.ratio_high),
        "hardness": 0.1 if water is None else water.hardness_kg_m3,
        "temperature": 293.15 if water is None else water.water_temperature_k,
        "coat": amount_asked("coat", USUAL_COAT),
        "tilt": 90.0,
    }


def sliders_json(values: Mapping[str, float], job: Job, units: str) -> list[dict[str, Any]]:
    """Where each slider may go and stands, in the reader's units."""
    most = max(0.02, 2.5 * job.product.ratio_high)
    of_ratio = ("%", 0.05, round(100.0 * most, 1), 0.05)
    found = []
    for name, amount in _AMOUNTS.items():
        slider = of_ratio if amount.sliders is None else amount.sliders[units == "metric"]
        unit, low, high, step = slider
        at = _in_unit(name, values[name], unit)
        found.append({"name": name, "unit": unit, "low": low, "high": high, "step": step, "at": at})
    return found


def _in_unit(name: str, value: float, unit: str) -> float:
    if name != "coat":
        return from_si(value, unit)
    return depth_in_inches(value) if unit == "in" else value
