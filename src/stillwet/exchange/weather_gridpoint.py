"""The public weather service's gridpoint JSON: values that hold over stretches become hours."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.weather import HOUR_S
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import EARLIEST_YEAR, LATEST_YEAR
from stillwet.exchange.fields import Cell, Quantity
from stillwet.exchange.findings import Findings
from stillwet.exchange.geo import need_degrees
from stillwet.exchange.vector import load_json, shape_of_json
from stillwet.exchange.weather_series import ELEVATION, NEEDED, WEATHER_QUANTITIES, Draft
from stillwet.units import is_unit

Array = NDArray[np.float64]

# The service's layer -> our column. Its wind is at 10 m.
_LAYERS = {
    "temperature": "air_temperature",
    "relativeHumidity": "relative_humidity",
    "windSpeed": "wind_speed",
    "windDirection": "wind_direction",
    "skyCover": "cloud_cover",
    "quantitativePrecipitation": "precipitation",
    "pressure": "pressure",
}
_UNITS = {"km_h-1": "km/h", "m_s-1": "m/s", "degree_(angle)": "deg"}  # others as they are
_WIND_DIRECTION = Quantity("wind_direction", "angle", 0.0, 360.0, "deg")
_WIND_HEIGHT_M = 10.0
_STRETCH = re.compile(r"^P(?:(\d{1,4})W)?(?:(\d{1,4})D)?(?:T(?:(\d{1,4})H)?(?:(\d{1,4})M)?)?$")
_LONGEST_HOURS = 24 * 30


def read_gridpoint(content: bytes, *, name: str, findings: Findings) -> Draft:
    """A gridpoint forecast as a draft in the hours that all needed layers share.

    Raises StillwetError with every fault. The service writes each value once with the stretch it
    holds for (an ISO 8601 interval); rain is a sum over its stretch and is spread evenly.
    """
    data = load_json(content, name=name, key="[weather] file")
    properties = data.get("properties") if isinstance(data, dict) else None
    if not isinstance(properties, dict):
        wanted = "a gridpoint forecast with properties"
        raise StillwetError(Problem("[weather] file", wanted, "something else", name))
    own = Findings()
    layers = _layers(properties, name, own)
    with own.catching():
        longitude, latitude = _middle(data.get("geometry"), name)
    with own.catching():
        elevation_m = _elevation(properties, name)
    own.need_none()
    first, last = _shared(layers, name)
    columns = _columns(layers, first, last, name, findings)
    return Draft(
        name=name,
        source=f"{name} (gridpoint forecast)",
        time_s=HOUR_S * np.arange(first, last + 1, dtype=np.float64),
        columns=columns,
        latitude_deg=latitude,
        longitude_deg=longitude,
        elevation_m=elevation_m,
        wind_height_m=_WIND_HEIGHT_M,
        time_zone="UTC",
        issued_s=_issued(properties, name),
        basis={
            **{column: Basis(BasisKind.PUBLISHED, f"{name}, forecast") for column in columns},
            "wind_height": Basis(BasisKind.PUBLISHED, "the service's surface wind is at 10 m"),
        },
    )


def _layers(
    properties: Mapping[str, Any], name: str, findings: Findings
) -> dict[str, dict[int, float]]:
    """The layers that the file has, by our columns; faults are noted."""
    layers: dict[str, dict[int, float]] = {}
    for layer, column in _LAYERS.items():
        with findings.catching():
            hours = _layer(properties, layer, column, name)
            if hours is not None:
                layers[column] = hours
    return layers


def _layer(
    properties: Mapping[str, Any], layer: str, column: str, name: str
) -> dict[int, float] | None:
    """A layer's values by hour since the epoch; None when the file leaves the layer out."""
    found = properties.get(layer)
    raw: dict[str, Any] = found if isinstance(found, dict) else {}
    values = raw.get("values")
    if not values:
        if column in NEEDED:
            raise StillwetError(Problem(layer, "values by hour", "none", name))
        return None
    if not isinstance(values, list):
        raise StillwetError(Problem(layer, "a list of values", shown(values), name))
    spec = _WIND_DIRECTION if column == "wind_direction" else WEATHER_QUANTITIES[column]
    unit = _unit(raw.get("uom"), spec, layer, name)
    hours: dict[int, float] = {}
    problems: list[Problem] = []
    for number, item in enumerate(values, start=1):
        try:
            hours.update(_hours(item, spec, unit, f"{name}, {layer} value {number}"))
        except StillwetError as error:
            problems.extend(error.problems)
    if problems:
        raise StillwetError(problems)
    return hours


def _unit(uom: Any, spec: Quantity, layer: str, name: str) -> str:
    code = str(uom).rpartition(":")[2]
    unit = _UNITS.get(code, code)
    if not isinstance(uom, str) or not is_unit(unit, spec.dimension):
        wanted = f'a unit of {spec.dimension} such as "wmoUnit:degC"'
        raise StillwetError(Problem(f"{layer} uom", wanted, shown(uom), name))
    return unit


def _hours(item: Any, spec: Quantity, unit: str, place: str) -> dict[int, float]:
    if not isinstance(item, dict):
        raise StillwetError(Problem(spec.name, "a value with its time", shown(item), place))
    first, count = _interval(item.get("validTime"), place)
    if item.get("value") is None:
        if spec is _WIND_DIRECTION:
            return {}
        raise StillwetError(Problem(spec.name, "a number", "null", place))
    value = spec.read(Cell(item["value"], place, unit))
    if spec.name == "precipitation":
        value /= count
    return dict.fromkeys(range(first, first + count), value)


def _interval(text: Any, place: str) -> tuple[int, int]:
    """First hour since the epoch and number of hours of an ISO 8601 interval with a duration."""
    wanted = 'an interval such as "2026-08-14T06:00:00+00:00/PT3H"'
    start, _, stretch = text.partition("/") if isinstance(text, str) else ("", "", "")
    match = _STRETCH.match(stretch)
    if match is None:
        raise StillwetError(Problem("validTime", wanted, shown(text), place))
    begin = _instant(start, wanted, place)
    weeks, days, hours, minutes = (int(part or 0) for part in match.groups())
    count = (weeks * 7 + days) * 24 + hours
    if begin % HOUR_S or minutes or not 1 <= count <= _LONGEST_HOURS:
        raise StillwetError(Problem("validTime", wanted + ", whole hours", shown(text), place))
    return int(begin // HOUR_S), count


def _instant(text: Any, wanted: str, place: str) -> float:
    try:
        found = datetime.fromisoformat(text)
    except (TypeError, ValueError):
        found = datetime.min  # no zone: refused below
    if found.tzinfo is None or not EARLIEST_YEAR <= found.year <= LATEST_YEAR:
        raise StillwetError(Problem("validTime", wanted, shown(text), place))
    return found.timestamp()


def _issued(properties: Mapping[str, Any], name: str) -> float | None:
    text = properties.get("updateTime")
    return None if text is None else _instant(text, "an ISO 8601 time with its zone", name)


def _middle(geometry: Any, name: str) -> tuple[float, float]:
    cell = shape_of_json(geometry, wanted="the grid cell's polygon", place=name)
    need_degrees(cell, name)
    middle = cell.centroid
    return float(middle.x), float(middle.y)


def _elevation(properties: Mapping[str, Any], name: str) -> float:
    raw = properties.get("elevation")
    if not isinstance(raw, dict) or "value" not in raw:
        raise StillwetError(Problem("elevation", "a value with its unit", shown(raw), name))
    unit = _unit(raw.get("unitCode", raw.get("uom")), ELEVATION, "elevation", name)
    return ELEVATION.read(Cell(raw["value"], name, unit))


def _shared(layers: Mapping[str, Mapping[int, float]], name: str) -> tuple[int, int]:
    """First and last hour that every needed layer has, and cloud, which the sun needs."""
    needed = [layers[column] for column in (*NEEDED, "cloud_cover") if column in layers]
    first, last = max(min(hours) for hours in needed), min(max(hours) for hours in needed)
    if last <= first:
        wanted = "hours that temperature, humidity, wind and sky cover share"
        raise StillwetError(Problem("validTime", wanted, "none", name))
    if last - first > _LONGEST_HOURS:
        wanted = f"at most {_LONGEST_HOURS} hours"
        raise StillwetError(Problem("validTime", wanted, f"{last - first + 1}", name))
    return first, last


def _columns(
    layers: Mapping[str, Mapping[int, float]],
    first: int,
    last: int,
    name: str,
    findings: Findings,
) -> dict[str, Array]:
    columns: dict[str, Array] = {}
    for column, hours in layers.items():
        values = np.array([hours.get(hour, np.nan) for hour in range(first, last + 1)])
        missing = int(np.isnan(values).sum())
        if missing and column == "precipitation":
            findings.tell(f"{name}: rain is not forecast for {missing} of the hours; taken as none")
            values = np.nan_to_num(values)
        elif missing and column == "pressure":
            continue  # a partial column is no use: the elevation's own is taken
        columns[column] = values
    return columns
