"""The door: labelled text or numbers become SI; SI becomes the reader's units (US or metric).

Conversion factors are exact by definition (international foot, pound and US gallon; NIST SP 811,
Appendix B) unless a comment says otherwise. Nothing outside this module converts units.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from stillwet.errors import Problem, StillwetError, shown

_INCH = 0.0254
_FOOT = 0.3048
_MILE = 1609.344
_GALLON = 0.003785411784
_POUND = 0.45359237
_POUND_FORCE = 4.4482216152605
_PSI = _POUND_FORCE / _INCH**2
_BTU = 1055.05585262  # International Table


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: ``si = value * factor + offset``."""

    dimension: str
    factor: float
    offset: float = 0.0


def _units(dimension: str, **factors: float) -> dict[str, Unit]:
    return {name: Unit(dimension, factor) for name, factor in factors.items()}


# Names are compared after lower-casing and removing spaces, so "Gal/Min" and "gal/min" are one.
UNITS: dict[str, Unit] = {
    **_units("length", m=1.0, mm=1e-3, cm=1e-2, km=1e3, um=1e-6, ft=_FOOT, feet=_FOOT, foot=_FOOT),
    **_units("length", inch=_INCH, inches=_INCH, yd=3 * _FOOT, mi=_MILE, mile=_MILE, miles=_MILE),
    "in": Unit("length", _INCH),
    "m2": Unit("area", 1.0),
    "ft2": Unit("area", _FOOT**2),
    "sqft": Unit("area", _FOOT**2),
    "ha": Unit("area", 1e4),
    "acre": Unit("area", 4046.8564224),  # international acre
    "acres": Unit("area", 4046.8564224),
    **_units("volume", m3=1.0, l=1e-3, litre=1e-3, litres=1e-3, liter=1e-3, liters=1e-3, ml=1e-6),
    **_units("volume", gal=_GALLON, gallon=_GALLON, gallons=_GALLON, ft3=_FOOT**3),
    **_units("mass", kg=1.0, g=1e-3, lb=_POUND, lbs=_POUND, t=1e3),
    **_units("time", s=1.0, sec=1.0, min=60.0, h=3600.0, hr=3600.0, hour=3600.0, hours=3600.0),
    **_units("time", minutes=60.0, d=86400.0, day=86400.0, days=86400.0),
    "k": Unit("temperature", 1.0),
    "c": Unit("temperature", 1.0, 273.15),
    "degc": Unit("temperature", 1.0, 273.15),
    "f": Unit("temperature", 5 / 9, 273.15 - 32 * 5 / 9),
    "degf": Unit("temperature", 5 / 9, 273.15 - 32 * 5 / 9),
    "fraction": Unit("fraction", 1.0),
    "%": Unit("fraction", 0.01),
    "percent": Unit("fraction", 0.01),
    "m/s": Unit("speed", 1.0),
    "km/h": Unit("speed", 1 / 3.6),
    "kmh": Unit("speed", 1 / 3.6),
    "mph": Unit("speed", _MILE / 3600),
    "mi/h": Unit("speed", _MILE / 3600),
    "kt": Unit("speed", 1852 / 3600),
    "knots": Unit("speed", 1852 / 3600),
    "ft/min": Unit("speed", _FOOT / 60),
    "ch/h": Unit("speed", 66 * _FOOT / 3600),  # chain of 66 ft
    "m/min": Unit("speed", 1 / 60),
    "pa": Unit("pressure", 1.0),
    "kpa": Unit("pressure", 1e3),
    "hpa": Unit("pressure", 1e2),
    "mbar": Unit("pressure", 1e2),
    "bar": Unit("pressure", 1e5),
    "psi": Unit("pressure", _PSI),
    "inhg": Unit("pressure", 3386.388640341),  # conventional inch of mercury at 0 C
    "w/m2": Unit("heat_flux", 1.0),
    "kw/m2": Unit("heat_flux", 1e3),
    "btu/ft2/s": Unit("heat_flux", _BTU / _FOOT**2),
    "kw/m": Unit("line_intensity", 1e3),
    "w/m": Unit("line_intensity", 1.0),
    "btu/ft/s": Unit("line_intensity", _BTU / _FOOT),
    "deg": Unit("angle", 1.0),
    "degree": Unit("angle", 1.0),
    "degrees": Unit("angle", 1.0),
    "l/min": Unit("flow", 1e-3 / 60),
    "l/s": Unit("flow", 1e-3),
    "m3/s": Unit("flow", 1.0),
    "m3/h": Unit("flow", 1 / 3600),
    "gal/min": Unit("flow", _GALLON / 60),
    "gpm": Unit("flow", _GALLON / 60),
    "kg/m2": Unit("water_depth", 1.0),
    "l/m2": Unit("water_depth", 1.0),  # water at 1 kg/L, the trade's rounding
    "gal/100ft2": Unit("water_depth", _GALLON * 1000 / (100 * _FOOT**2)),
    "kg/m3": Unit("density", 1.0),
    "g/cm3": Unit("density", 1e3),
    "lb/gal": Unit("density", _POUND / _GALLON),
    "lb/ft3": Unit("density", _POUND / _FOOT**3),
    "pas": Unit("viscosity", 1.0),
    "mpas": Unit("viscosity", 1e-3),
    "cp": Unit("viscosity", 1e-3),
    "ppm": Unit("hardness", 1e-3),  # mg/L as CaCO3 -> kg/m3
    "mg/l": Unit("hardness", 1e-3),
    "g/l": Unit("hardness", 1.0),
    "gpg": Unit("hardness", 0.01711806),  # grain per US gallon
    "dh": Unit("hardness", 0.01 * 100.087 / 56.077),  # German degree: 10 mg/L of CaO
    "fh": Unit("hardness", 0.01),  # French degree: 10 mg/L of CaCO3
    "us/cm": Unit("conductivity", 1e-4),  # microsiemens; case is not looked at
    "ms/cm": Unit("conductivity", 0.1),
    "s/m": Unit("conductivity", 1.0),
    "t/ha": Unit("fuel_load", 0.1),
    "ton/ac": Unit("fuel_load", 907.18474 / 4046.8564224),
    "lb/ft2": Unit("fuel_load", _POUND / _FOOT**2),
    "j/kg": Unit("heat_content", 1.0),
    "kj/kg": Unit("heat_content", 1e3),
    "btu/lb": Unit("heat_content", _BTU / _POUND),
    "1/m": Unit("surface_to_volume", 1.0),
    "1/ft": Unit("surface_to_volume", 1 / _FOOT),
}

_MONEY = "money"  # counted in the job's own currency and never converted

# What a reader most likely meant by a bare number, US and metric, for the message that refuses it.
_USUAL = {
    "length": ("ft", "m"),
    "volume": ("gal", "L"),
    "flow": ("gal/min", "L/min"),
    "speed": ("mph", "km/h"),
    "temperature": ("F", "C"),
    "mass": ("lb", "kg"),
    "pressure": ("psi", "kPa"),
    "time": ("min", "h"),
    "fraction": ("%",),
    "hardness": ("mg/L",),
    "heat_flux": ("kW/m2",),
    "water_depth": ("in", "mm"),
    _MONEY: ("USD", "AUD"),
}

# The codes of money in use (ISO 4217:2015 and its amendments up to 2025; no funds, no metals), and
# those of them without a smaller coin.
_MONIES = """
AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD
CAD CDF CHF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP
GMD GNF GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD
KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN
NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD SCR SDG SEK SGD SHP
SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYU UZS VED VES
VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
"""
_WHOLE = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF"
CURRENCIES, WHOLE_MONEY = frozenset(_MONIES.split()), frozenset(_WHOLE.split())
DOLLAR = "USD"  # where a job names no currency
A_CURRENCY = "the ISO 4217 code of a currency, such as USD, EUR or AUD"

# How a reader may want numbers, in the order of preference where nobody says.
SYSTEMS = ("us", "metric")

# A coat's thickness is also a water depth: 1 mm of water is 1 kg/m2 (rho = 1000 kg/m3).
_DEPTH_PER_LENGTH = 1000.0

_QUANTITY = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")
_MIXED_FRACTION = re.compile(r"^\s*(?:(\d+)[ -]+)?(\d+)/(\d+)\s*([^\d/].*?)?\s*$")


def _key(unit: str) -> str:
    return (
        unit.strip()
        .lower()
        .replace(" ", "")
        .replace("²", "2")
        .replace("³", "3")
        .replace("°", "deg")
        .replace("µ", "u")  # the micro sign, and the Greek letter that looks like it
        .replace("μ", "u")
        .replace("·", "")
    )


def names_of(dimension: str) -> str:
    """The unit names a user may write for this dimension, for a message."""
    if dimension == _MONEY:
        return A_CURRENCY
    wanted = ("water_depth", "length") if dimension == "water_depth" else (dimension,)
    return ", ".join(name for name, unit in UNITS.items() if unit.dimension in wanted)


def si_name(dimension: str) -> str:
    """The name of the dimension's own SI unit, which changes no digit on the way in or out.

    Money has none: any code stands for it, and that of the job is written where a job is.
    """
    if dimension == _MONEY:
        return DOLLAR
    return next(name for name, unit in UNITS.items() if unit == Unit(dimension, 1.0))


def is_unit(unit: str, dimension: str) -> bool:
    """True when the unit's name is known and measures this dimension."""
    if dimension == _MONEY:
        return unit.strip().upper() in CURRENCIES
    found = UNITS.get(_key(unit))
    if found is None:
        return False
    return found.dimension == dimension or (
        dimension == "water_depth" and found.dimension == "length"
    )


def to_si(
    value: float, unit: str, *, dimension: str, field: str = "value", place: str = ""
) -> float:
    """Convert a number with its unit to SI.

    Parameters: value [unit]; unit, a name in ``UNITS``; dimension it must measure; field and place
    for the message. Returns SI (kelvin, kg/m2 for coat depths, degrees for angles).
    Raises StillwetError for an unknown unit, a unit of another dimension, or a value not finite.
    """
    if not math.isfinite(value):
        raise StillwetError(Problem(field, "a finite number", shown(value), place))
    if not is_unit(unit, dimension):
        raise StillwetError(
            Problem(field, f"a unit of {dimension} ({names_of(dimension)})", shown(unit), place)
        )
    if dimension == _MONEY:
        return value
    found = UNITS[_key(unit)]
    scale = _DEPTH_PER_LENGTH if dimension == "water_depth" and found.dimension == "length" else 1.0
    return (value * found.factor + found.offset) * scale


def difference_to_si(
    value: float, unit: str, *, dimension: str, field: str = "value", place: str = ""
) -> float:
    """Convert a difference (so many degrees warmer) to SI: as ``to_si`` but without an offset."""
    zero = to_si(0.0, unit, dimension=dimension, field=field, place=place)
    return to_si(value, unit, dimension=dimension, field=field, place=place) - zero


def from_si(value: float, unit: str) -> float:
    """Convert an SI number to the named unit; for coat depths in inches see ``depth_in_inches``."""
    found = UNITS[_key(unit)]
    return (value - found.offset) / found.factor


def depth_in_inches(water_kg_m2: float) -> float:
    """A coat's water depth [kg/m2 = mm] in inches."""
    return water_kg_m2 / _DEPTH_PER_LENGTH / _INCH


def read_quantity(
    text: object, *, dimension: str, field: str, place: str = "", unit: str | None = None
) -> float:
    """Read "12 gal/min", "1/8 in" or a bare number that has its unit from elsewhere, to SI.

    ``unit`` is the label of a column or key for numbers that carry none; without it a bare number
    is refused, because an unlabelled number is how feet become metres.
    """
    if isinstance(text, bool) or not isinstance(text, (int, float, str)):
        raise StillwetError(
            Problem(field, f"a number with a unit of {dimension}", shown(text), place)
        )
    if isinstance(text, str):
        found = _number_and_unit(text)
        if found is None:
            raise StillwetError(
                Problem(field, f"a number with a unit of {dimension}", shown(text), place)
            )
        value, label = found[0], found[1] or unit
    else:
        value, label = _as_float(text), unit
    if label is None and dimension == "fraction" and 0 <= value <= 1:
        label = "fraction"
    if label is None:
        raise StillwetError(
            Problem(
                field,
                f"a unit after the number ({names_of(dimension)})",
                shown(text),
                place,
                _with_unit(value, dimension),
            )
        )
    return to_si(value, label, dimension=dimension, field=field, place=place)


def _as_float(number: float) -> float:
    """The number as a float: infinity, which no field takes, for a whole one that is too large."""
    try:
        return float(number)
    except OverflowError:
        return math.inf if number > 0 else -math.inf


def _number_and_unit(text: str) -> tuple[float, str] | None:
    """The number of "12 gal/min" or "1 1/8 in" and what stands after it, or None without one."""
    fraction = _MIXED_FRACTION.match(text)
    if fraction and float(fraction[3]) != 0.0:
        return float(fraction[1] or 0) + float(fraction[2]) / float(fraction[3]), fraction[4] or ""
    match = _QUANTITY.match(text)
    return None if match is None else (float(match[1]), match[2])


def currency_of(text: object) -> str:
    """The code behind an amount of money: "150 aud" -> "AUD"; empty where none is read."""
    found = _number_and_unit(text) if isinstance(text, str) else None
    code = found[1].strip().upper() if found else ""
    return code if code in CURRENCIES else ""


def _with_unit(value: float, dimension: str) -> str:
    """How a bare number would be written: with the reader's own unit, of which one is shown."""
    if not math.isfinite(value):
        return ""
    usual = _USUAL.get(dimension) or (si_name(dimension),)
    return "write it as " + " or ".join(f'"{value:g} {unit}"' for unit in usual)


def is_bounded(value: float, low: float, high: float) -> bool:
    """True when the value is a number inside the closed interval."""
    return math.isfinite(value) and low <= value <= high
