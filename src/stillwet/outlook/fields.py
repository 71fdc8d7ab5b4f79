"""Which variable of a forecast is which of our quantities, in which unit, over which interval."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import Problem, StillwetError, shown
from stillwet.units import is_unit, names_of, to_si

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity we can use: dimension of its unit and physical bounds after conversion to SI."""

    dimension: str
    low: float
    high: float
    unit: str


# Bounds as those of one place's weather (world records): outside is a unit slip.
QUANTITIES = {
    "air_temperature": Quantity("temperature", 213.15, 333.15, "K"),
    "dew_point": Quantity("temperature", 173.15, 318.15, "K"),
    "relative_humidity": Quantity("fraction", 0.0, 1.1, "fraction"),
    "specific_humidity": Quantity("mass_share", 0.0, 0.06, "kg/kg"),
    "wind_speed": Quantity("speed", 0.0, 120.0, "m/s"),
    "eastward_wind": Quantity("speed", -120.0, 120.0, "m/s"),
    "northward_wind": Quantity("speed", -120.0, 120.0, "m/s"),
    "pressure": Quantity("pressure", 40e3, 110e3, "Pa"),
    "ghi": Quantity("heat_flux", -5.0, 1600.0, "W/m2"),
    "dni": Quantity("heat_flux", -5.0, 1500.0, "W/m2"),
    "dhi": Quantity("heat_flux", -5.0, 1200.0, "W/m2"),
    "cloud_cover": Quantity("fraction", 0.0, 1.01, "fraction"),
    "elevation": Quantity("length", -500.0, 9000.0, "m"),
    "geopotential": Quantity("geopotential", -5000.0, 90000.0, "m2/s2"),
}
# CF standard names, and the short names of WMO parameters as GRIB readers give them.
_STANDARD_NAMES = {
    "air_temperature": "air_temperature",
    "dew_point_temperature": "dew_point",
    "relative_humidity": "relative_humidity",
    "specific_humidity": "specific_humidity",
    "wind_speed": "wind_speed",
    "eastward_wind": "eastward_wind",
    "northward_wind": "northward_wind",
    "surface_air_pressure": "pressure",
    "surface_downwelling_shortwave_flux_in_air": "ghi",
    "integral_of_surface_downwelling_shortwave_flux_in_air_wrt_time": "ghi",
    "surface_direct_along_beam_shortwave_flux_in_air": "dni",
    "surface_diffuse_downwelling_shortwave_flux_in_air": "dhi",
    "cloud_area_fraction": "cloud_cover",
    "surface_altitude": "elevation",
    "surface_geopotential": "geopotential",
}
_SHORT_NAMES = {
    "t2m": "air_temperature",
    "2t": "air_temperature",
    "d2m": "dew_point",
    "2d": "dew_point",
    "r2": "relative_humidity",
    "2r": "relative_humidity",
    "sh2": "specific_humidity",
    "2sh": "specific_humidity",
    "si10": "wind_speed",
    "10si": "wind_speed",
    "u10": "eastward_wind",
    "10u": "eastward_wind",
    "v10": "northward_wind",
    "10v": "northward_wind",
    "sp": "pressure",
    "ssrd": "ghi",
    "dswrf": "ghi",
    "sdswrf": "ghi",
    "avg_sdswrf": "ghi",
    "tcc": "cloud_cover",
    "orog": "elevation",
}
_CF_UNITS = {
    "1": "fraction",
    "(0 - 1)": "fraction",
    "0-1": "fraction",
    "celsius": "degC",
    "degree_celsius": "degC",
    "degrees_celsius": "degC",
    "kelvin": "K",
    "fahrenheit": "degF",
    "w m-2": "w/m2",
    "w m**-2": "w/m2",
    "m s-1": "m/s",
    "m s**-1": "m/s",
    "km h-1": "km/h",
    "knot": "kt",
    "millibar": "mbar",
    "gpm": "m",
}
_OWN_UNITS = {  # of dimensions that nothing else in the house has
    "mass_share": {"1": 1.0, "kg kg-1": 1.0, "kg kg**-1": 1.0, "g kg-1": 1e-3, "kg/kg": 1.0},
    "geopotential": {"m2 s-2": 1.0, "m**2 s**-2": 1.0},
}
_SUMMED = {"j m-2": 1.0, "j m**-2": 1.0, "kj m-2": 1e3, "mj m-2": 1e6, "wh m-2": 3600.0}
_SUMMED |= {"w m-2 s": 1.0, "w m**-2 s": 1.0, "kwh m-2": 3.6e6}
_SOLIDUS = re.compile(r"\s+([a-z]+)-1", re.IGNORECASE)
_SUN = ("ghi", "dni", "dhi")
STATIC = ("elevation", "geopotential")
INTERVAL = "interval_bounds"  # attribute of a GRIB field: the name of its own intervals
_EXTREME = re.compile(r"time: (maximum|minimum|range|standard_deviation|variance)")


@dataclass(frozen=True, slots=True)
class Field:
    """One variable of the file: SI = factor * value + offset, in sums divided by their interval.

    ``kind``: "moment", "mean" over the step before its stamp, "sum" over that step, or "since
    start", a sum that grows from the start of the forecast. ``bounds`` names the variable (T, 2)
    that tells the interval of a mean or sum stamp by stamp; with it nothing is taken for granted.
    """

    name: str
    factor: float
    offset: float
    kind: str
    bounds: str | None = None


def recognise(data: xr.Dataset, place: str) -> dict[str, Field]:
    """Our quantities in a data set; raises with every fault found."""
    found: dict[str, Field] = {}
    problems: list[Problem] = []
    for label, variable in data.variables.items():
        quantity = _quantity_of(str(label), variable)
        if quantity is None or (label in data.coords and quantity not in STATIC):
            continue
        if quantity in found:
            got = f"{found[quantity].name} and {label}"
            problems.append(Problem(quantity, "one variable", got, place, "drop the other"))
            continue
        try:
            field = _field(quantity, str(label), variable, place)
            found[quantity] = replace(field, bounds=_bounds_of(field, data))
        except StillwetError as error:
            problems.extend(error.problems)
    if problems:
        raise StillwetError(problems)
    _need_enough(found, data, place)
    return found


def _bounds_of(field: Field, data: xr.Dataset) -> str | None:
    """The variable of a mean's or sum's intervals: CF bounds of its time, or GRIB's own."""
    if field.kind == "moment":
        return None
    variable = data[field.name]
    names = [variable.attrs.get(INTERVAL)]
    times = (c for c in variable.coords.values() if np.issubdtype(c.dtype, np.datetime64))
    names += [axis.attrs.get("bounds") or axis.encoding.get("bounds") for axis in times]
    return next((str(n) for n in names if n and n in data.variables), None)


def _quantity_of(label: str, variable: Any) -> str | None:
    attributes = variable.attrs
    if _EXTREME.search(str(attributes.get("cell_methods", ""))):
        return None  # a day's highest temperature is no temperature of the hour
    for name in (
        label,
        str(attributes.get("GRIB_shortName", "")),
        str(attributes.get("GRIB_cfVarName", "")),
    ):
        if name in _SHORT_NAMES:
            return _SHORT_NAMES[name]
    if label in QUANTITIES:
        return label
    return _STANDARD_NAMES.get(str(attributes.get("standard_name", "")))


def _field(quantity: str, label: str, variable: Any, place: str) -> Field:
    spec = QUANTITIES[quantity]
    written = str(variable.attrs.get("units", "")).strip()
    key = written.lower()
    where = f"{place}, variable {label}"
    if variable.dtype.kind not in "fiu":
        got = "text" if variable.dtype.kind in "OSUT" else str(variable.dtype)
        raise StillwetError(Problem(quantity, "numbers", got, where))
    if quantity in _SUN and key in _SUMMED:
        growing = str(variable.attrs.get("GRIB_stepType", "")) == "accum"
        kind = "since start" if growing else "sum"
        return Field(label, _SUMMED[key], 0.0, kind)
    kind = _mean_or_moment(variable) if quantity in _SUN else _mean_if_said(variable)
    own = _OWN_UNITS.get(spec.dimension)
    if own is not None:
        if key not in own:
            wanted = "a unit out of " + ", ".join(own)
            raise StillwetError(Problem(quantity, wanted, shown(written or "none"), where))
        return Field(label, own[key], 0.0, kind)
    unit = _CF_UNITS.get(key, _SOLIDUS.sub(r"/\1", written))
    if not written or not is_unit(unit, spec.dimension):
        wanted = f"a units attribute of {spec.dimension} ({names_of(spec.dimension)})"
        raise StillwetError(Problem(quantity, wanted, shown(written) if written else "none", where))
    zero = to_si(0.0, unit, dimension=spec.dimension)
    return Field(label, to_si(1.0, unit, dimension=spec.dimension) - zero, zero, kind)


def _mean_or_moment(variable: Any) -> str:
    """Whether a flux is the mean of the step before its stamp; what says nothing is taken as one.

    Common practice of forecasts, no source; the same default as for one place's weather.
    """
    methods = str(variable.attrs.get("cell_methods", "")).lower()
    step_type = str(variable.attrs.get("GRIB_stepType", "")).lower()
    return "moment" if "point" in methods or step_type == "instant" else "mean"


def _mean_if_said(variable: Any) -> str:
    """Every field but the sun is of the moment, unless its cell methods call it a mean."""
    return "mean" if "time: mean" in str(variable.attrs.get("cell_methods", "")) else "moment"


def _need_enough(found: dict[str, Field], data: xr.Dataset, place: str) -> None:
    problems = []
    got = "only " + shown(", ".join(map(str, data.data_vars)) or "nothing", 160)

    def need(field: str, *choices: tuple[str, ...]) -> None:
        if not any(all(name in found for name in choice) for choice in choices):
            wanted = " or ".join(" with ".join(choice) for choice in choices)
            problems.append(Problem(field, f"a variable of {wanted}", got, place))

    need("temperature", ("air_temperature",))
    need("humidity", ("relative_humidity",), ("dew_point",), ("specific_humidity",))
    need("wind", ("wind_speed",), ("eastward_wind", "northward_wind"))
    need("sun", ("ghi",), ("cloud_cover",))
    if problems:
        raise StillwetError(problems)


def per_second(values: Array, kind: str, interval_s: Array) -> Array:
    """Fluxes (H, ...) from means or sums; a growing sum is differenced, anew where it falls.

    interval_s (H,): the step before each stamp. The first stamp of a growing sum stands for what
    came before it: where it is 0 (nothing summed yet), the second interval's flux is taken.
    """
    if kind in ("moment", "mean"):
        return values
    steps = interval_s.reshape(-1, *([1] * (values.ndim - 1)))
    if kind == "sum":
        return np.asarray(values / steps)
    rise = np.diff(values, axis=0)
    rise = np.where(rise < 0, values[1:], rise)
    first = np.where(values[:1] > 0, values[:1], rise[:1])
    return np.asarray(np.concatenate([first, rise]) / steps)


def flux_between(values: Array, *, is_sum: bool, bounds_s: Array) -> tuple[Array, Array]:
    """Fluxes (T, ...) and the middles (T,) [s] of what each covers, from intervals (T, 2) [s].

    A mean or sum whose interval begins where the one before began has grown on: between the two
    ends lies the difference of their amounts, for means n a_n - (n - 1) a_(n-1). Any other stands
    for its own interval. A first interval of no length, as a forecast's start has, says nothing.
    """
    start, end = bounds_s[:, 0], bounds_s[:, 1]
    length = end - start
    if (length[1:] <= 0).any() or length[0] < 0:
        got = f"{float(length[1:].min()) / 3600:g} h"
        raise StillwetError(Problem("time bounds", "intervals that have a length", got))
    shape = (-1, *([1] * (values.ndim - 1)))
    amount = values if is_sum else values * length.reshape(shape)
    amount = np.where(length.reshape(shape) > 0, amount, 0.0)
    grown = np.concatenate([[False], (start[1:] == start[:-1]) & (end[1:] > end[:-1])])
    since = np.where(grown, np.concatenate([start[:1], end[:-1]]), start)
    before = np.where(grown.reshape(shape), np.concatenate([amount[:1], amount[:-1]]), 0.0)
    covered = np.where(end > since, end - since, np.inf).reshape(shape)
    flux = (amount - before) / covered
    if length[0] == 0:
        flux[0] = flux[1]
    return np.asarray(flux), (since + end) / 2
