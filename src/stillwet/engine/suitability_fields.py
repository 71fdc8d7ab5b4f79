"""The fields that rules of suitability may speak of: what each holds, and how it is told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from stillwet.domain.suitability import Agent, Delivery, Scope, Task
from stillwet.tables import load_table
from stillwet.units import from_si

Value = str | bool | float
Facts = Mapping[str, Value | None]  # None: not known

_WORD, _FLAG, _TEXT = "word", "flag", "text"


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its scope, and "word" (with the words), "flag", "text" or a dimension."""

    name: str
    scope: Scope
    holds: str
    meaning: str
    words: tuple[str, ...] = ()

    @property
    def is_number(self) -> bool:
        """True for a quantity in SI."""
        return self.holds not in (_WORD, _FLAG, _TEXT)

    @property
    def is_word(self) -> bool:
        """True for one word of a list."""
        return self.holds == _WORD

    @property
    def is_flag(self) -> bool:
        """True for yes or no."""
        return self.holds == _FLAG


LINE_KIND = "line"


@cache
def all_fields() -> dict[str, Field]:
    """Every field by name."""
    kinds = load_table("kinds")["kind"]
    types = tuple(load_table("product_types"))
    task, job, place = Scope.TASK, Scope.JOB, Scope.PLACE
    listed = (
        Field("task", task, _WORD, "what is to be done", tuple(Task)),
        Field("agent", task, _WORD, "what is sprayed", tuple(Agent)),
        Field("product", job, _TEXT, "name of the product"),
        Field("product_type", job, _WORD, "type of the product", types),
        Field("product_approved", job, _FLAG, "it is on the job's list of approved products"),
        Field("foam_in_equipment", job, _FLAG, "the equipment holds or held foam"),
        Field("hardness", job, "hardness", "hardness of the hardest water"),
        Field("hardness_known", job, _FLAG, "every water's hardness was given"),
        Field("water_drawn", job, _FLAG, "the job has a layer of waterways"),
        Field("wells_drawn", job, _FLAG, "the job has a list of wells"),
        Field("ground_buffer", job, "length", "local distance from waterways"),
        Field("well_buffer", job, "length", "local distance from wells"),
        Field("wind_limit", job, "speed", "strongest wind to spray in, by the local rule"),
        Field("kind", place, _WORD, "kind of asset, or line", (*kinds, LINE_KIND)),
        Field("delivery", place, _WORD, "what it is sprayed or dropped from", tuple(Delivery)),
        Field("delivery_on_label", place, _FLAG, "the label names this delivery"),
        Field("delivery_allowed", place, _FLAG, "the job allows this delivery"),
        Field("released", place, _FLAG, "released by its owner or utility"),
        Field("energised", place, _FLAG, "carries current"),
        Field("heritage", place, _FLAG, "its surfaces are protected as heritage"),
        Field("has_roof", place, _FLAG, "has a roof"),
        Field("has_windows", place, _FLAG, "has windows"),
        Field("collects_rain", place, _FLAG, "its roof feeds a tank"),
        Field("water_distance", place, "length", "distance to the nearest waterway drawn"),
        Field("well_distance", place, "length", "distance to the nearest well drawn"),
        Field("ratio", place, "fraction", "mix ratio planned"),
        Field("ratio_low", place, "fraction", "lowest ratio on the label"),
        Field("ratio_high", place, "fraction", "highest ratio on the label"),
        Field("ratio_share", place, "fraction", "where the ratio stands in the label's range"),
        Field("wind_at_lay", place, "speed", "strongest forecast wind while it is laid"),
        Field("lay_to_fire", place, "time", "from laying to the latest arrival of the fire"),
    )
    return {field.name: field for field in listed}


def value_words(field: Field, value: Value | None) -> str:
    """A fact's value for both kinds of reader: "12 m (39 ft)", "yes", "not known"."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    told = {
        "length": lambda si: f"{_short(si)} m ({_short(from_si(si, 'ft'))} ft)",
        "speed": lambda si: f"{si:.1f} m/s ({from_si(si, 'mph'):.0f} mph)",
        "fraction": lambda si: f"{from_si(si, '%'):.2f} %",
        "hardness": lambda si: f"{from_si(si, 'mg/l'):.0f} mg/L ({from_si(si, 'gpg'):.0f} gpg)",
        "time": lambda si: f"{from_si(si, 'h'):.1f} h",
    }
    return told[field.holds](value)


def _short(number: float) -> str:
    """A length with one decimal below 10, so that 0.4 m is not told as none."""
    return f"{number:.1f}" if 0.0 < number < 10.0 else f"{number:.0f}"
