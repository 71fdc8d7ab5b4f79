"""The reader's words: numbers in US or metric units, ratios, and names made safe to print."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable
from enum import StrEnum

from stillwet.domain.basis import Basis, BasisKind, Input
from stillwet.domain.plan import Verdict
from stillwet.domain.products import NO_PRICE
from stillwet.units import WHOLE_MONEY, depth_in_inches, from_si

NONE = "-"  # what a table shows where there is no such number


class Units(StrEnum):
    """The units a reader asked for."""

    US = "us"
    METRIC = "metric"


VERDICT_WORDS = {
    Verdict.WILL_NOT_HOLD: "WILL NOT HOLD",
    Verdict.DO_NOT_COAT: "DO NOT COAT",
    Verdict.DOUBTFUL: "DOUBTFUL",
    Verdict.HOLDS: "HOLDS",
}

# SI unit of a number -> (name in the door, shown label, decimals), first US, then metric.
_READER_UNITS: dict[str, tuple[tuple[str, str, int], tuple[str, str, int]]] = {
    "kg/m2": (("in", "in", 2), ("kg/m2", "mm", 1)),
    "kg/m2/h": (("in", "in/h", 3), ("kg/m2", "mm/h", 2)),
    "m3": (("gal", "gal", 0), ("l", "L", 0)),
    "m3/s": (("gal/min", "gpm", 0), ("l/min", "L/min", 0)),
    "m2": (("ft2", "ft2", 0), ("m2", "m2", 0)),
    "m": (("ft", "ft", 0), ("m", "m", 1)),
    "K": (("degf", "F", 0), ("degc", "C", 0)),
    "m/s": (("mph", "mph", 0), ("km/h", "km/h", 0)),
    "m/s on foot": (("ft/min", "ft/min", 0), ("m/min", "m/min", 0)),
    "m of a blade": (("inch", "in", 2), ("mm", "mm", 1)),
    "kg": (("lb", "lb", 0), ("kg", "kg", 0)),
    "W/m2": (("kw/m2", "kW/m2", 0), ("kw/m2", "kW/m2", 0)),
    "fraction": (("percent", "%", 0), ("percent", "%", 0)),
    "kg/m3 as CaCO3": (("mg/l", "mg/L", 0), ("mg/l", "mg/L", 0)),
}


def unit_label(unit: str, units: Units) -> str:
    """The reader's label for numbers of this SI unit: "m3" -> "gal"."""
    return _READER_UNITS[unit][units is Units.METRIC][1]


def number(value: float | None, unit: str, units: Units) -> str:
    """An SI number in the reader's units, without the label; "-" for none or infinite.

    ``value`` in ``unit`` (a key of the reader's units). Numbers that would show fewer than two
    figures get more decimals, up to three, so that 0.4 gal does not become 0.
    """
    if value is None or not math.isfinite(value):
        return NONE
    name, _, decimals = _READER_UNITS[unit][units is Units.METRIC]
    shown = depth_in_inches(value) if name == "in" else from_si(value, name)
    if unit != "K" and 0 < abs(shown) < 10 ** (1 - decimals):
        decimals = min(3, decimals + 1 if abs(shown) >= 10**-decimals else decimals + 2)
    text = f"{shown:,.{decimals}f}"
    return text[1:] if float(text.replace(",", "")) == 0 and text.startswith("-") else text


def quantity(value: float | None, unit: str, units: Units) -> str:
    """An SI number with the reader's label: "320 gal", "4.4 mm"; "-" for none."""
    shown = number(value, unit, units)
    return shown if shown == NONE else f"{shown} {unit_label(unit, units)}"


def coat(water_kg_m2: float | None, units: Units) -> str:
    """A coat or a water demand as a depth of water: "4.4 mm" or "0.17 in"."""
    return quantity(water_kg_m2, "kg/m2", units)


def coat_detail(water_kg_m2: float, units: Units) -> str:
    """A coat told the other ways: what a gauge shows, the other system, the coverage."""
    if units is Units.METRIC:
        return f"{coat(water_kg_m2, Units.US)}; {number(water_kg_m2, 'kg/m2', units)} L/m2"
    coverage = from_si(water_kg_m2, "gal/100ft2")
    metric = coat(water_kg_m2, Units.METRIC)
    return f"{gauge(water_kg_m2)}; {metric}; {coverage:.1f} gal per 100 ft2"


def gauge(water_kg_m2: float) -> str:
    """A coat as a gauge of sixteenths shows it: "1/8 in", "1/8 to 3/16 in", "under 1/16 in".

    Between two marks both are told: a step of the gauge is half of a thin coat, so that the lower
    mark alone would lay too little and the upper alone might slough.
    """
    marks = depth_in_inches(water_kg_m2) * 16
    if abs(marks - round(marks)) <= _ON_A_MARK and round(marks) > 0:
        return f"{_sixteenths(round(marks))} in"
    upper = f"{_sixteenths(math.ceil(marks))} in"
    return f"under {upper}" if marks < 1 else f"{_sixteenths(math.floor(marks))} to {upper}"


def _sixteenths(count: int) -> str:
    """So many sixteenths, reduced: 2 -> "1/8", 19 -> "1 3/16", 16 -> "1"."""
    whole, rest = divmod(count, 16)
    if rest == 0:
        return str(whole)
    divisor = math.gcd(rest, 16)
    part = f"{rest // divisor}/{16 // divisor}"
    return f"{whole} {part}" if whole else part


def ratio(fraction: float, basis: str) -> str:
    """A mix ratio with what it is a share of: "1.20 % by volume"."""
    return f"{percent_number(fraction)} % {ratio_basis(basis)}"


def is_by_mass(ratio_basis: str) -> bool:
    """True where a mix ratio is a share by mass: a powder, which is weighed and never scooped."""
    return ratio_basis.startswith("mass")


def concentrate_words(volume_m3: float, mass_kg: float, ratio_basis: str, units: Units) -> str:
    """Concentrate of this volume and mass: liquids by volume, powders by mass.

    A scoop of powder holds half as much or twice as much: powders are weighed.
    """
    return mass(mass_kg, units) if is_by_mass(ratio_basis) else quantity(volume_m3, "m3", units)


def mass(mass_kg: float, units: Units) -> str:
    """A mass to the tenth where it is small: "5.5 lb", "11 kg"."""
    unit = unit_label("kg", units)
    shown = from_si(mass_kg, unit)
    return f"{shown:,.1f} {unit}" if shown < _COARSE else f"{shown:,.0f} {unit}"


def packs_words(packs: float) -> str:
    """Packs to the next tenth: "2 packs", "2.4 packs", "1 pack"."""
    tenths = math.ceil(10 * packs - 1e-6) / 10
    return "1 pack" if tenths == 1 else f"{tenths:g} packs"


def percent_number(fraction: float) -> str:
    """A fraction as percent with two decimals, without the sign: "1.20"."""
    return f"{from_si(fraction, 'percent'):.2f}"


def ratio_basis(basis: str) -> str:
    """The short form of a ratio's basis: "by volume" or "by mass"."""
    return "by mass" if basis.startswith("mass") else "by volume"


def chance(probability: float) -> str:
    """A probability in whole percent, never rounded up to certainty: "95 %", "over 99 %"."""
    percent = from_si(probability, "percent")
    if percent > 99:
        return "over 99 %"
    return "under 1 %" if percent < 1 else f"{math.floor(percent)} %"


def minutes(seconds: float | None) -> str:
    """How long work takes, rounded up: "45 s", "12 min", "2 h 05 min"; "-" for none."""
    return _span(seconds, math.ceil)


def minutes_held(seconds: float | None) -> str:
    """How long something lasts or is free, cut down, never up: "44 s", "11 min"; "-" for none."""
    return _span(seconds, math.floor)


def _span(seconds: float | None, whole_of: Callable[[float], int]) -> str:
    if seconds is None or not math.isfinite(seconds):
        return NONE
    if seconds < 90:
        return f"{whole_of(round(seconds, 3))} s"
    whole = whole_of(round(seconds / 60, 6))  # dust of floats must not move it by a minute
    return f"{whole} min" if whole < 90 else f"{whole // 60} h {whole % 60:02d} min"


def count_words(count: int, noun: str, plural: str = "") -> str:
    """A count with its noun: "1 asset", "3 assets", "2 people"."""
    return f"{count} {noun}" if count == 1 else f"{count} {plural or f'{noun}s'}"


def bore(across_m: float, units: Units) -> str:
    """How wide a hose is inside, as hoses are called: "1.5 in", "38 mm"."""
    if units is Units.US:
        return f"{from_si(across_m, 'in'):.3g} in"
    return f"{from_si(across_m, 'mm'):.0f} mm"


def money(amount: float | None, currency: str, *, cents: bool = False) -> str:
    """An amount of money with its code: "AUD 1,200", "USD 180.00"; "no price given"."""
    if amount is None:
        return NO_PRICE
    places = 2 if cents and currency not in WHOLE_MONEY else 0
    return f"{currency} {amount:,.{places}f}"


_COARSE = 10.0  # below it a tenth is told
_ON_A_MARK = 0.15  # of a sixteenth, 0.24 mm: nobody reads a gauge closer
_COMPASS = "north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"


def compass(bearing_deg: float) -> str:
    """A bearing in words, eight points: 235 -> "south-west"."""
    return _COMPASS[round(bearing_deg / 45) % 8]


def compass_point(bearing_deg: float) -> str:
    """A bearing in letters, eight points: 235 -> "SW"."""
    return "".join(part[0].upper() for part in compass(bearing_deg).split("-"))


def clean(text: str) -> str:
    """A user's text without control and direction-override characters, on one line.

    Terminal escapes and bidirectional overrides could make a verdict read as another; joiners
    that scripts and emoji need stay.
    """
    joiners = {"\u200c", "\u200d"}
    kept = (
        " " if character in "\n\r\t" else character
        for character in text
        if character in "\n\r\t"
        or character in joiners
        or unicodedata.category(character) not in {"Cc", "Cf", "Cs", "Co", "Cn"}
    )
    return " ".join("".join(kept).split())


def shorten(text: str, limit: int) -> str:
    """The text cut to ``limit`` characters, with "..." where it was cut."""
    return text if len(text) <= limit else text[: limit - 3].rstrip() + "..."


def short_name(name: str, limit: int) -> str:
    """A user's name made safe, cut in its middle to ``limit`` characters.

    Names of one place begin alike, and what tells them apart often stands at their end.
    """
    text = clean(name)
    if len(text) <= limit:
        return text
    tail = (limit - 3) // 2
    return f"{text[: limit - 3 - tail].rstrip()}...{text[len(text) - tail :].lstrip()}"


def first_sentences(text: str, limit: int) -> str:
    """As many whole sentences as fit in ``limit`` characters; the first one cut where none does."""
    told = ""
    for sentence in re.split(r"(?<=[.!?]) (?=[A-Z])", text):
        if len(told) + len(sentence) > limit:
            break
        told = f"{told} {sentence}".lstrip()
    return told or shorten(text, limit)


def basis_words(basis: Basis) -> str:
    """Where a number came from: "given (assets.csv)", "untested default (wind at the asset)"."""
    return f"{basis.kind} ({clean(basis.source)})" if basis.source else str(basis.kind)


def is_untested(item: Input) -> bool:
    """True when the number is a placeholder that a trial should replace."""
    return item.basis.kind is BasisKind.UNTESTED


# Endings of input names that only repeat the unit, taken off because the unit follows the number.
_UNIT_ENDINGS = ("_kg_m2", "_kg_m3", "_w_m2", "_m3_s", "_m_s", "_m3", "_m2", "_deg", "_pa", "_k")
_OTHER_ENDINGS = ("_m", "_s")


def input_name(name: str) -> str:
    """An input's name in words: "contact_flux_w_m2" -> "contact flux"."""
    for ending in _UNIT_ENDINGS + _OTHER_ENDINGS:
        if name.endswith(ending):
            name = name[: -len(ending)]
            break
    return clean(name.replace("_", " "))


def input_value(item: Input, units: Units) -> str:
    """An input's value with its unit, in the reader's units."""
    return clean(item.value) if isinstance(item.value, str) else _shown(item.value, item, units)


def input_interval(item: Input, units: Units) -> str:
    """How far an input may be off: "0.3 to 1", for a word "or brick"; empty when not known."""
    low, high = item.basis.low, item.basis.high
    if low is None or high is None:
        return f"or {clean(item.basis.instead)}" if item.basis.instead else ""
    lowest, highest = _shown(low, item, units), _shown(high, item, units)
    unit = highest.partition(" ")[2]
    return f"{lowest.removesuffix(f' {unit}') if unit else lowest} to {highest}"


def _shown(value: float, item: Input, units: Units) -> str:
    special: dict[str, Callable[[float], str]] = {"s": minutes}
    if item.unit in special:
        return special[item.unit](value)
    if item.unit in _READER_UNITS:
        return quantity(value, item.unit, units)
    figures = f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.3g}"
    return f"{figures} {item.unit}".strip()
