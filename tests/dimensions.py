"""Base units rescaled at random: what a sum in physics must not notice.

The unit of an argument stands in its name (``flux_w_m2``), that of an answer in square brackets in
the docstring's first sentences; constants carry theirs in ``stillwet.constants`` or beside them.
"""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from types import FrameType
from typing import Any

import numpy as np
import pint

from stillwet import constants

BASES = ("[mass]", "[length]", "[time]", "[temperature]")
UREG: pint.UnitRegistry[float] = pint.UnitRegistry()

# Endings of names, longest first; "" for what has no dimension. Power laws are told apart by index.
ENDINGS = {
    "j2_m4k2s": "J**2/m**4/K**2/s",
    "w_m2k": "W/m**2/K",
    "w_mk": "W/m/K",
    "j_m3k": "J/m**3/K",
    "kg_m2_s": "kg/m**2/s",
    "m3_s": "m**3/s",
    "m2_s": "m**2/s",
    "kg_m3": "kg/m**3",
    "kg_m2": "kg/m**2",
    "w_m2": "W/m**2",
    "j_kg": "J/kg",
    "w_m": "W/m",
    "pa_s": "Pa*s",
    "per_k": "1/K",
    "1_m": "1/m",
    "1_s": "1/s",
    "m_s": "m/s",
    "m3": "m**3",
    "m2": "m**2",
    "kg": "kg",
    "pa": "Pa",
    "deg": "",
    "k": "K",
    "m": "m",
    "s": "s",
}
WHOLE_NAMES = {"seconds": "s", "funnel_seconds": "s", "water_seconds": "s"}
CONSTANTS = {
    "GRAVITY": "m/s**2",
    "STEFAN_BOLTZMANN": "W/m**2/K**4",
    "STANDARD_PRESSURE": "Pa",
    "GAS_CONSTANT_DRY_AIR": "J/kg/K",
    "GAS_CONSTANT_VAPOUR": "J/kg/K",
    "WATER_DENSITY": "kg/m**3",
    "ZERO_CELSIUS": "K",
    "BOILING_POINT": "K",
}
_ANSWER = re.compile(r"\[([^\]]*)\]")


@dataclass(frozen=True)
class Scale:
    """New base units in old ones: one factor each for mass, length, time and temperature."""

    factors: tuple[float, float, float, float]

    def of(self, unit: str) -> float:
        """What a number in this unit is multiplied by."""
        if not unit:
            return 1.0
        found = dict(UREG.parse_units(unit).dimensionality)
        powers = [float(str(found.pop(base, 0.0))) for base in BASES]
        assert not found, unit
        return float(np.prod(np.power(self.factors, powers)))


def unit_of_argument(name: str, arguments: Mapping[str, Any]) -> str:
    """The unit that an argument's name carries, for pint; "" when it has none."""
    if name in WHOLE_NAMES:
        return WHOLE_NAMES[name]
    if name in ("consistency_pa_s", "coefficient_pa_s") and "index" in arguments:
        return f"Pa*s**{float(np.ravel(arguments['index'])[0])!r}"
    for ending, unit in ENDINGS.items():
        if name == ending or name.endswith(f"_{ending}"):
            return unit
    return ""


def unit_of_answer(function: Callable[..., Any]) -> str | None:
    """The unit in the first square brackets of its docstring, for pint; None when there is none."""
    found = _ANSWER.search(inspect.getdoc(function) or "")
    if found is None:
        return None
    text = found.group(1).split(",")[0].strip()
    if text in ("-", "fraction", "deg", "fractions"):
        return ""
    text = re.sub(r"(?<=[A-Za-z])(\d)", r"**\1", text.replace("^n", ""))
    above, _, below = text.partition("/")
    parts = re.findall(r"kg|Pa|[mJWKsN](?:\*\*\d)?|\d", below)
    unit = "*".join(above.split()) + "".join(f"/{part}" for part in parts)
    try:
        UREG.parse_units(unit)
    except Exception:  # whatever pint makes of a sentence in brackets, it is no unit
        return None
    return unit


@contextmanager
def scaled_constants(scale: Scale) -> Iterator[None]:
    """The physical constants in the new units, wherever physics has taken them in."""
    changed: list[tuple[Any, str, float]] = []
    for module in [m for n, m in sys.modules.items() if n.startswith("stillwet.physics.")]:
        for name, unit in CONSTANTS.items():
            if vars(module).get(name) == getattr(constants, name, object()):
                changed.append((module, name, vars(module)[name]))
                setattr(module, name, vars(module)[name] * scale.of(unit))
    try:
        yield
    finally:
        for module, name, value in changed:
            setattr(module, name, value)


def rescaled(arguments: Mapping[str, Any], scale: Scale) -> dict[str, Any]:
    """The same arguments in the new units."""
    return {
        name: value
        if isinstance(value, bool | str | type(None))
        else np.asarray(value, dtype=float) * scale.of(unit_of_argument(name, arguments))
        for name, value in arguments.items()
    }


def arguments_seen(
    work: Callable[[], Any], names: set[tuple[str, str]]
) -> dict[tuple[str, str], dict[str, Any]]:
    """The first arguments with which each named function is entered during a piece of work."""
    seen: dict[tuple[str, str], dict[str, Any]] = {}

    def note(frame: FrameType, event: str, argument: object) -> None:
        key = (frame.f_globals.get("__name__", ""), frame.f_code.co_name)
        if event == "call" and key in names and key not in seen:
            code = frame.f_code
            count = code.co_argcount + code.co_kwonlyargcount
            seen[key] = {name: frame.f_locals[name] for name in code.co_varnames[:count]}

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        work()
    finally:
        sys.setprofile(before)
    return seen
