"""Use case: the desk's forms: steps, fields, choices, and every default with its source."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

from stillwet.domain.basis import Input
from stillwet.tables import load_table
from stillwet.units import DOLLAR, SYSTEMS, from_si, si_name

if TYPE_CHECKING:
    from stillwet.exchange.fields import Default, Quantity
    from stillwet.exchange.tabular import Columns

_TIMES = frozenset(
    ("start", "finish", "issued", "arrival_from", "arrival_to", "shift_from", "shift_to")
)
_FLAGS = frozenset(
    ("released", "must", "recoat", "energised", "heritage", "has_windows", "collects_rain")
) | {"ignite", "foam_in_equipment"}
# What a quantity looks like as people write it, first US, then metric.
_LIKE = {
    "length": ("12 ft", "3.5 m"),
    "volume": ("500 gal", "2000 L"),
    "flow": ("30 gal/min", "115 L/min"),
    "speed": ("10 mph", "16 km/h"),
    "time": ("45 min", "45 min"),
    "angle": ("22 deg", "22 deg"),
    "fraction": ("1 %", "1 %"),
    "mass": ("40 lb", "18 kg"),
    "temperature": ("58 F", "14 C"),
    "water_depth": ("1/16 in", "1.6 mm"),
    "heat_flux": ("40 kW/m2", "40 kW/m2"),
    "density": ("8.6 lb/gal", "1030 kg/m3"),
    "pressure": ("50 psi", "350 kPa"),
    "hardness": ("120 ppm", "120 mg/L"),
    "money": (f"180 {DOLLAR}", f"180 {DOLLAR}"),
    "": ("", ""),
}
# The unit by which the reader's words know a dimension, where it is not the dimension's own name.
_WORD_UNITS = {
    "temperature": "K",
    "heat_flux": "W/m2",
    "density": "kg/m3",
    "pressure": "Pa",
    "hardness": "mg/L",
}
_BY = {"assets": "kind", "fire": "fire.exposure", "product": "product.type"}


def desk_form(units: str) -> dict[str, Any]:
    """The forms for the browser, in the reader's units ("us" or "metric")."""
    steps = [
        {**step, "parts": [_part(part, units) for part in step["parts"]]}
        for step in load_table("desk")["step"]
    ]
    return {"steps": steps, "defaults": _defaults(units), "by": _BY} | {
        "zones": _zones(),
        "doubts": load_table("doubts")["changes"],
    }


@cache
def _zones() -> list[str]:
    import zoneinfo

    return sorted(name for name in zoneinfo.available_timezones() if "/" in name)


def _part(part: Mapping[str, Any], units: str) -> dict[str, Any]:
    place = part.get("section") or part.get("list")
    if place is None:
        return dict(part)
    sides = {side: [_field(place, name, units) for name in part[side]] for side in ("main", "more")}
    return {**part, **sides}


def _field(place: str, name: str, units: str) -> dict[str, Any]:
    table = load_table("desk")
    labels, says = table["labels"], table["says"]
    key = f"{place}.{name}"
    spec = _specs(place).get(name)
    choices = _choices(place).get(name)
    example = _LIKE[spec.dimension][units == "metric"] if spec is not None else ""
    if name in _TIMES:
        example = "2026-08-14 15:00"
    if _is_bearing(place, name):
        example = "SW"
    told = says.get(key) or says.get(name) or (f"such as {example}" if example else "")
    kind = "choice" if choices else "flag" if name in _FLAGS else "text"
    plain = name.replace("_", " ")
    label = labels.get(key) or labels.get(name) or plain[0].upper() + plain[1:]
    return {"name": name, "label": label, "says": told, "kind": kind, "choices": choices or []}


def _is_bearing(place: str, name: str) -> bool:
    return name in ("from", "fire_from", "facing", "aspect") or (
        place == "lines" and name in ("wind_from", "wind_to")
    )


@cache
def _specs(place: str) -> Mapping[str, Quantity]:
    from stillwet.exchange import fire, local, positions, practice, products, weather_series
    from stillwet.exchange.draft_shape import LIST_COLUMNS
    from stillwet.exchange.fields import Quantity

    found: Iterable[Quantity] = ()
    if place in LIST_COLUMNS:
        columns: Columns = LIST_COLUMNS[place]
        found = [q for name, q in columns.quantities.items() if name not in ("x", "y")]
    elif place == "fire":
        found = fire.FIRE_QUANTITIES.values()
    elif place == "product":
        found = (
            *products.LABEL_QUANTITIES,
            products.RATIO_LOW,
            products.RATIO_HIGH,
            products.PACK_VOLUME,
        )
    elif place == "practice":
        found = practice.PRACTICE
    elif place == "local":
        found = (local.GROUND_BUFFER, local.WELL_BUFFER, local.WIND_LIMIT)
    elif place == "weather":
        found = (weather_series.ELEVATION, weather_series.WIND_HEIGHT)
    elif place == "uncertainty":
        spread = Quantity("spread", "", 0.0, 2.0)
        found = (practice.PERSISTENCE, spread)
    degrees = positions.POSITION_QUANTITIES
    return {spec.name: spec for spec in found if spec.name not in degrees}


@cache
def _choices(place: str) -> Mapping[str, list[str]]:
    from stillwet.domain.lines import Beginning, LinePurpose, Side, WetSides
    from stillwet.domain.suitability import Delivery, Task
    from stillwet.exchange.fire_fuel import fuel_codes
    from stillwet.exchange.local import WELL_KINDS
    from stillwet.exchange.weather_section import FORMATS, IRRADIANCE_OVER

    named = list(load_table("exposures"))
    fuel = list(fuel_codes())
    return {
        "job": {"units": list(SYSTEMS)},
        "assets": {
            "kind": list(load_table("kinds")["kind"]),
            "material": list(load_table("materials")),
            "shading": ["open", "shaded"],
            "task": [task.value for task in Task],
            "delivery": [one.value for one in Delivery],
            "coats": ["1", "2"],
            "exposure": named,
            "fuel_model": fuel,
        },
        "lines": {
            "purpose": [one.value for one in LinePurpose],
            "fire_side": [one.value for one in Side],
            "wet_sides": [one.value for one in WetSides],
            "beginning": [one.value for one in Beginning],
            "fuel_model": fuel,
        },
        "fire": {"exposure": named, "fuel_model": fuel},
        "product": {"type": list(load_table("product_types")), "ratio_basis": ["volume", "mass"]},
        "weather": {"format": list(FORMATS), "irradiance_over": list(IRRADIANCE_OVER)},
        "wells": {"kind": list(WELL_KINDS)},
    }.get(place, {})


def _defaults(units: str) -> dict[str, dict[str, dict[str, Any]]]:
    """Defaults by place, by what decides them (a kind, a fire, a product; "" where nothing)."""
    from stillwet.exchange import assets, crews, fire, gear, line_fields, practice, products

    def of(place: str, found: Mapping[str, Default]) -> dict[str, Any]:
        known = _names(place)
        return {n: _default(place, n, d, units) for n, d in found.items() if n in known}

    kinds = load_table("kinds")["kind"]
    return {
        "assets": {kind: of("assets", assets.defaults_of_kind(kind)) for kind in kinds},
        "fire": {name: of("fire", fire.named_fire(name)) for name in load_table("exposures")},
        "product": {
            kind: of("product", products.type_defaults(kind))
            for kind in load_table("product_types")
        },
        "crews": {"": of("crews", {**crews.crew_defaults(), **gear.gear_defaults()})},
        "water": {"": of("water", crews.water_defaults())},
        "depots": {"": of("depots", crews.depot_defaults())},
        "lines": {"": of("lines", line_fields.line_defaults())},
        "practice": {"": of("practice", practice.practice_defaults())},
    }


def _names(place: str) -> frozenset[str]:
    """The fields that a default is shown beside; a price left out is no price of nothing."""
    from stillwet.exchange.draft_shape import LIST_COLUMNS, SECTIONS

    known = LIST_COLUMNS[place].names if place in LIST_COLUMNS else SECTIONS[place]
    return frozenset(known) - {"cost_per_pack"}


def _default(place: str, name: str, default: Default, units: str) -> dict[str, str]:
    from stillwet.reports.words import Units, clean, input_interval, input_value

    item = _in_words(Input(name, default.value, _word_unit(place, name), default.basis))
    return {
        "value": input_value(item, Units(units)),
        "interval": input_interval(item, Units(units)),
        "kind": default.basis.kind.value,
        "source": clean(default.basis.source),
    }


def _word_unit(place: str, name: str) -> str:
    spec = _specs(place).get(name)
    if _is_bearing(place, name):
        return "deg"
    if spec is None or not spec.dimension:
        return ""
    if name == "blade_width":
        return "m of a blade"
    return _WORD_UNITS.get(spec.dimension) or si_name(spec.dimension)


def _in_words(item: Input) -> Input:
    """Hardness is told in mg/L, as test strips tell it; all else as it is."""
    if item.unit != "mg/L" or isinstance(item.value, str):
        return item
    low, high = (None if end is None else from_si(end, "mg/l") for end in _ends(item))
    basis = replace(item.basis, low=low, high=high)
    return Input(item.name, from_si(item.value, "mg/l"), item.unit, basis)


def _ends(item: Input) -> tuple[float | None, float | None]:
    return item.basis.low, item.basis.high
