"""Moisture of dead fuel from the air, and the forest fire danger index.

Equilibrium relations (Simard, wood handbook, Van Wagner) say where fuel would end in steady air;
one-hour relations (Fosberg & Deeming, the handbook's reference table) say what fine fuel holds by
day, sun included. They disagree by a few points; ``fine_dead_moisture`` gives one with the spread
of its siblings. Moisture is a fraction of dry weight.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.constants import ZERO_CELSIUS
from stillwet.errors import Problem, StillwetError, shown
from stillwet.physics.guards import Numbers, need_within, outside
from stillwet.tables import load_table
from stillwet.units import from_si, to_si

_F_AT_ZERO_K = from_si(0.0, "f")
_F_PER_K = from_si(1.0, "f") - _F_AT_ZERO_K
_PERCENT = to_si(1.0, "%", dimension="fraction")
_PER_KM_H = from_si(1.0, "km/h")
_SLOPE_STEP = 0.305  # the table's rows end at 30 % and begin at 31 %


class SiteHeight(StrEnum):
    """Where the fire is against the weather site: 1000 to 2000 ft below, level, or above."""

    BELOW = "below"
    LEVEL = "level"
    ABOVE = "above"


@dataclass(frozen=True, slots=True)
class FineMoisture:
    """Fine dead moisture [fraction], the least and most its siblings give, model and flags."""

    moisture: Numbers
    low: Numbers
    high: Numbers
    model: str
    flags: tuple[str, ...]


def _need_air(air_temperature_k: Numbers, relative_humidity: Numbers) -> None:
    need_within("air_temperature", air_temperature_k, 213.15, 343.15, "K", "is it in C or F?")
    need_within("relative_humidity", relative_humidity, 0.0, 1.0, "fraction", "is it in percent?")


def _fahrenheit(air_temperature_k: Numbers) -> Numbers:
    return _F_AT_ZERO_K + _F_PER_K * np.asarray(air_temperature_k)


def _percent(relative_humidity: Numbers) -> Numbers:
    return np.asarray(relative_humidity) / _PERCENT


def equilibrium_moisture_simard(
    *, air_temperature_k: Numbers, relative_humidity: Numbers
) -> Numbers:
    """Moisture [fraction] that wood reaches in steady air, from three fitted pieces.

    Percent and deg F: below 10 % humidity ``0.03229 + 0.281073 H - 0.000578 H T``; to 50 %
    ``2.22749 + 0.160107 H - 0.01478 T``; above ``21.0606 + 0.005565 H^2 - 0.00035 H T - 0.483199
    H``. Known faults: steps of 0.4 points where the pieces meet (published so); prints with
    0.014784 and 0.0003505 are about. Source: Simard 1968, as in Bradshaw et al. 1983.

    >>> round(float(equilibrium_moisture_simard(
    ...     air_temperature_k=294.26, relative_humidity=0.30)), 4)
    0.06
    """
    _need_air(air_temperature_k, relative_humidity)
    t, h = _fahrenheit(air_temperature_k), _percent(relative_humidity)
    dry = 0.03229 + 0.281073 * h - 0.000578 * h * t
    middle = 2.22749 + 0.160107 * h - 0.01478 * t
    damp = 21.0606 + 0.005565 * h**2 - 0.00035 * h * t - 0.483199 * h
    percent: Numbers = np.maximum(np.where(h < 10, dry, np.where(h < 50, middle, damp)), 0.0)
    return percent * _PERCENT


def equilibrium_moisture_wood_handbook(
    *, air_temperature_k: Numbers, relative_humidity: Numbers
) -> Numbers:
    """Moisture [fraction] of wood in steady air by the two-hydrate sorption equation.

    ``M = 1800/W [K h/(1 - K h) + (K1 K h + 2 K1 K2 K^2 h^2)/(1 + K1 K h + K1 K2 K^2 h^2)]``,
    percent, with W, K, K1, K2 quadratic in deg C. Range: 0 to 70 C; species and hysteresis are not
    in it. Source: Hailwood & Horrobin 1946 as fitted by Simpson 1998, FPL-RN-0268; Wood Handbook
    ch. 4.
    """
    _need_air(air_temperature_k, relative_humidity)
    t, h = np.asarray(air_temperature_k) - ZERO_CELSIUS, np.asarray(relative_humidity)
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    hydrates = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    percent: Numbers = 1800.0 / w * (kh / (1 - kh) + hydrates)
    return percent * _PERCENT


def equilibrium_moisture_van_wagner(
    *, air_temperature_k: Numbers, relative_humidity: Numbers
) -> tuple[Numbers, Numbers]:
    """Moisture [fraction] of pine litter in steady air: (when drying to it, when wetting to it).

    Percent and deg C: ``a H^b + c exp((H - 100)/10) + 0.18 (21.1 - T)(1 - exp(-0.115 H))`` with
    (a, b, c) of (0.942, 0.679, 11) drying and (0.618, 0.753, 10) wetting. Range: H to 100 %.
    Source: Van Wagner & Pickett 1985, Canadian fine fuel moisture code (from memory).
    """
    _need_air(air_temperature_k, relative_humidity)
    t, h = np.asarray(air_temperature_k) - ZERO_CELSIUS, _percent(relative_humidity)
    warmth = 0.18 * (21.1 - t) * (1.0 - np.exp(-0.115 * h))
    drying, wetting = (
        np.maximum(a * h**b + c * np.exp((h - 100.0) / 10.0) + warmth, 0.0) * _PERCENT
        for a, b, c in ((0.942, 0.679, 11.0), (0.618, 0.753, 10.0))
    )
    return drying, wetting


# Fosberg & Deeming 1971: air at the fuel in sun, by cloud cover up to this tenth (from memory):
# deg F warmer, humidity times.
_SUN_AT_FUEL = ((0.1, 25.0, 0.75), (0.5, 19.0, 0.83), (0.9, 12.0, 0.92), (1.0, 5.0, 1.0))


def one_hour_moisture_fosberg(
    *,
    air_temperature_k: Numbers,
    relative_humidity: Numbers,
    cloud_cover: Numbers,
    is_sunlit: bool | NDArray[np.bool_],
) -> Numbers:
    """Moisture [fraction] of 1-h dead fuel: ``1.03 EMC`` of the air right at the fuel.

    In sun that air is 5 to 25 deg F warmer and its humidity 0.75 to 1 times, by cloud cover
    [fraction]; out of sun (night, canopy) it is the air itself. EMC after Simard. Known faults:
    no memory of rain or of the hours before. Source: Fosberg & Deeming 1971, RM-207, with the sky
    classes of Cohen & Deeming 1985, PSW-82 (from memory).
    """
    _need_air(air_temperature_k, relative_humidity)
    need_within("cloud_cover", cloud_cover, 0.0, 1.0, "fraction", "is it in percent?")
    upper = np.array([row[0] for row in _SUN_AT_FUEL[:-1]])
    row = np.digitize(cloud_cover, upper, right=True)
    warmer = np.take([entry[1] for entry in _SUN_AT_FUEL], row) / _F_PER_K
    drier = np.take([entry[2] for entry in _SUN_AT_FUEL], row)
    return 1.03 * equilibrium_moisture_simard(
        air_temperature_k=np.asarray(air_temperature_k) + np.where(is_sunlit, warmer, 0.0),
        relative_humidity=np.asarray(relative_humidity) * np.where(is_sunlit, drier, 1.0),
    )


def reference_moisture_rothermel(
    *, air_temperature_k: Numbers, relative_humidity: Numbers
) -> Numbers:
    """Reference fuel moisture [fraction], Table A by day: full-sun noon fuel before corrections.

    A step table in 20 deg F and 5 % humidity; below 10 F it keeps its coldest row. 1 to 2 points
    under equilibrium by design. Source: Rothermel 1983, INT-143; nwcg.gov PMS 437 (from memory).
    """
    _need_air(air_temperature_k, relative_humidity)
    table = load_table("fuel_moisture_tables")["day"]
    row = np.digitize(_fahrenheit(air_temperature_k) + 1e-6, table["from_f"][1:])
    column = np.floor(_percent(relative_humidity) / 5.0 + 1e-9).astype(int)
    percent: Numbers = np.array(table["percent"], dtype=float)[row, column]
    return percent * _PERCENT


def _season(month: int) -> dict[str, Any]:
    seasons: list[dict[str, Any]] = load_table("fuel_moisture_tables")["season"]
    found = [season for season in seasons if month in season["months"]]
    if not found:
        raise StillwetError(Problem("month", "1 to 12", shown(month)))
    return found[0]


def moisture_correction_rothermel(
    *,
    month: int,
    local_hour: float,
    aspect: str,
    slope_fraction: float,
    is_shaded: bool,
    site: SiteHeight = SiteHeight.LEVEL,
) -> float:
    """What Tables B to D add [fraction] for season, hour, aspect, slope, shade and height.

    Parameters: month 1 to 12; local_hour [h], 8 to under 20; aspect "N", "E", "S" or "W";
    slope_fraction [rise over run]; is_shaded, half or more; site, the fire against the weather.
    Source: Rothermel 1983, INT-143 (from memory, a few cells could be off by 1 point).
    """
    need_within("local_hour", local_hour, 8.0, 19.9999, "h", "the day tables run from 0800 to 1959")
    need_within("slope", slope_fraction, 0.0, 2.0, "rise over run", "is it in percent?")
    rows: dict[str, list[str]] = _season(month)["shaded" if is_shaded else "exposed"]
    steep = "" if is_shaded else ("0" if slope_fraction < _SLOPE_STEP else "31")
    if aspect + steep not in rows:
        raise StillwetError(Problem("aspect", "one of N, E, S, W", shown(aspect)))
    cell = rows[aspect + steep][int((local_hour - 8.0) // 2.0)]
    return int(cell[list(SiteHeight).index(site)]) * _PERCENT


def fine_dead_moisture_rothermel(
    *,
    air_temperature_k: Numbers,
    relative_humidity: Numbers,
    month: int,
    local_hour: float,
    aspect: str,
    slope_fraction: float,
    is_shaded: bool,
    site: SiteHeight = SiteHeight.LEVEL,
) -> Numbers:
    """Fine dead moisture [fraction] by the handbook: Table A plus the correction of Tables B to D.

    Parameters as its two parts. Day only, 0800 to 1959. Source: Rothermel 1983, INT-143.
    Sibling of ``one_hour_moisture_fosberg``.
    """
    return reference_moisture_rothermel(
        air_temperature_k=air_temperature_k, relative_humidity=relative_humidity
    ) + moisture_correction_rothermel(
        month=month,
        local_hour=local_hour,
        aspect=aspect,
        slope_fraction=slope_fraction,
        is_shaded=is_shaded,
        site=site,
    )


def fine_dead_moisture(
    *,
    air_temperature_k: Numbers,
    relative_humidity: Numbers,
    cloud_cover: Numbers,
    is_sunlit: bool | NDArray[np.bool_],
) -> FineMoisture:
    """Fine dead moisture [fraction] from the air and sun, with the spread of five relations.

    Fosberg & Deeming is the choice, as it needs only weather and knows sun and shade; the interval
    spans it, Simard, the wood handbook and Van Wagner drying and wetting. Rain is not in it: after
    rain the fuel is wetter than all of them. Flags mark air outside the fits.

    >>> noon = fine_dead_moisture(air_temperature_k=305.0, relative_humidity=0.2, cloud_cover=0.0,
    ...     is_sunlit=True)
    >>> round(float(noon.low), 3), round(float(noon.moisture), 3), round(float(noon.high), 3)
    (0.03, 0.03, 0.055)
    """
    air = {"air_temperature_k": air_temperature_k, "relative_humidity": relative_humidity}
    chosen = one_hour_moisture_fosberg(**air, cloud_cover=cloud_cover, is_sunlit=is_sunlit)
    siblings = np.stack(
        np.broadcast_arrays(
            chosen,
            equilibrium_moisture_simard(**air),
            equilibrium_moisture_wood_handbook(**air),
            *equilibrium_moisture_van_wagner(**air),
        )
    )
    return FineMoisture(
        moisture=chosen,
        low=siblings.min(axis=0),
        high=siblings.max(axis=0),
        model=one_hour_moisture_fosberg.__name__,
        flags=outside("air outside 0 to 50 C", air_temperature_k, 273.15, 323.15),
    )


def coarse_dead_moisture_rothermel(*, one_hour: Numbers) -> tuple[Numbers, Numbers]:
    """Moisture [fraction] of 10-h and 100-h fuel where only 1-h is known: 1 and 2 points more.

    Source: the steps of the printed moisture scenarios, Scott & Burgan 2005 (from memory). Known
    fault: after a wet spell coarse fuel is far wetter than this.
    """
    return np.asarray(one_hour) + 0.01, np.asarray(one_hour) + 0.02


def forest_fire_danger_index_noble(
    *,
    drought_factor: Numbers,
    air_temperature_k: Numbers,
    relative_humidity: Numbers,
    wind_speed_m_s: Numbers,
) -> Numbers:
    """McArthur's Mark 5 forest fire danger index [-] as an equation.

    ``F = 2 exp(-0.45 + 0.987 ln D - 0.0345 H + 0.0338 T + 0.0234 V)``: D drought factor 0 to 10, H
    percent, T deg C, V km/h at 10 m. Range: eucalypt forest; F of 100 was the 1939 fires.
    Source: Noble, Bary & Gill 1980, Australian Journal of Ecology 5. Feeds ``front_as3959``.

    >>> round(float(forest_fire_danger_index_noble(drought_factor=10.0, air_temperature_k=313.15,
    ...     relative_humidity=0.15, wind_speed_m_s=50 / 3.6)), 2)
    91.86
    """
    _need_air(air_temperature_k, relative_humidity)
    need_within("drought_factor", drought_factor, 0.01, 10.0, "")
    need_within("wind_speed", wind_speed_m_s, 0.0, 60.0, "m/s", "is it in km/h?")
    celsius = np.asarray(air_temperature_k) - ZERO_CELSIUS
    return 2.0 * np.exp(
        -0.45
        + 0.987 * np.log(drought_factor)
        - 0.0345 * _percent(relative_humidity)
        + 0.0338 * celsius
        + 0.0234 * np.asarray(wind_speed_m_s) * _PER_KM_H
    )
