"""Composite functions for the spread and AS 3959 reference cases, in the sources' units."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stillwet.physics.as3959 import exposure_as3959
from stillwet.physics.fuel_bed import fuel_bed
from stillwet.physics.fuel_models import fuel_model
from stillwet.physics.spread import FuelMoisture, SurfaceSpread, WindLimit, surface_spread
from stillwet.units import from_si, to_si

# Scott & Burgan 2005, RMRS-GTR-153, moisture scenarios in percent (from memory).
DEAD_PERCENT = {"D1": (3, 4, 5), "D2": (6, 7, 8), "D3": (9, 10, 11), "D4": (12, 13, 14)}
LIVE_PERCENT = {"L1": (30, 60), "L2": (60, 90), "L3": (90, 120), "L4": (120, 150)}
SPREAD_LIMITS_CH_H = (2.0, 5.0, 20.0, 50.0, 150.0)
FLAME_LIMITS_FT = (1.0, 4.0, 8.0, 12.0, 25.0)


def scenario_moisture(scenario: str) -> FuelMoisture:
    """The moisture of a printed scenario such as "D2L2"."""
    percents = (*DEAD_PERCENT[scenario[:2]], *LIVE_PERCENT[scenario[2:]])
    one, ten, hundred, herb, woody = (percent / 100 for percent in percents)
    return FuelMoisture(one_hour=one, ten_hour=ten, hundred_hour=hundred, herb=herb, woody=woody)


def _miles_per_hour(speed: float) -> float:
    return to_si(speed, "mi/h", dimension="speed")


def characteristic_surface_to_volume(*, fuel: str) -> NDArray[np.float64]:
    """Characteristic surface to volume ratio [1/m] of the uncured bed, as the tables print it."""
    return fuel_bed(fuel=fuel_model(fuel)).characteristic_surface_to_volume_1_m


def relative_packing_ratios(*, fuels: str) -> list[float]:
    """Packing over optimum [-] of several models, codes separated by blanks."""
    return [float(fuel_bed(fuel=fuel_model(code)).relative_packing_ratio) for code in fuels.split()]


def adjective_classes(*, fuel: str, wind_limit: str = "none") -> list[int]:
    """Classes of spread and flame length, 0 very low to 5 extreme, at D2L2 and 5 mi/h, level."""
    fire = surface_spread(
        fuel=fuel_model(fuel),
        moisture=scenario_moisture("D2L2"),
        midflame_wind_m_s=_miles_per_hour(5.0),
        wind_limit=WindLimit(wind_limit),
    )
    spread_ch_h = from_si(float(fire.spread_rate_m_s), "ch/h")
    flame_ft = from_si(float(fire.flame_length_m), "ft")
    return [
        int(np.digitize(spread_ch_h, SPREAD_LIMITS_CH_H)),
        int(np.digitize(flame_ft, FLAME_LIMITS_FT)),
    ]


def anderson_1982(*, fuel: str) -> SurfaceSpread:
    """Anderson's text conditions: dead 8 %, live 100 %, midflame 5 mi/h, level."""
    moisture = FuelMoisture(one_hour=0.08, ten_hour=0.08, hundred_hour=0.08, herb=1.0, woody=1.0)
    return surface_spread(
        fuel=fuel_model(fuel), moisture=moisture, midflame_wind_m_s=_miles_per_hour(5.0)
    )


def point(
    *, fuel: str, scenario: str, midflame_mi_h: float, slope_tangent: float
) -> NDArray[np.float64]:
    """Spread [ch/h] and [m/min], reaction [Btu/ft2/min], intensity [kW/m], flame length [m]."""
    fire = surface_spread(
        fuel=fuel_model(fuel),
        moisture=scenario_moisture(scenario),
        midflame_wind_m_s=_miles_per_hour(midflame_mi_h),
        slope_deg=float(np.degrees(np.arctan(slope_tangent))),
    )
    rate = float(fire.spread_rate_m_s)
    return np.array(
        [
            from_si(rate, "ch/h"),
            from_si(rate, "m/min"),
            from_si(float(fire.reaction_intensity_w_m2), "btu/ft2/s") * 60,
            from_si(float(fire.fireline_intensity_w_m), "kw/m"),
            float(fire.flame_length_m),
        ]
    )


def as3959_steps(
    *, vegetation: str, fire_danger_index: float, slope_deg: float, distance_m: float
) -> NDArray[np.float64]:
    """Spread [km/h], intensity [kW/m], flame [m], angle [deg], path [m], factor, air, kW/m2."""
    found = exposure_as3959(
        vegetation=vegetation,
        fire_danger_index=fire_danger_index,
        slope_deg=slope_deg,
        distance_m=distance_m,
    )
    return np.array(
        [
            from_si(found.front.spread_rate_m_s, "km/h"),
            from_si(found.front.intensity_w_m, "kw/m"),
            found.front.flame_length_m,
            found.flame_angle_deg,
            found.path_m,
            found.view_factor,
            found.transmissivity,
            from_si(found.heat_flux_w_m2, "kw/m2"),
        ]
    )


def limited_spread(*, fuel: str) -> list[float]:
    """Spread [m/s] at D2L2 and 5 mi/h, level: without a wind limit, and with that of 1972."""
    return [
        float(
            surface_spread(
                fuel=fuel_model(fuel),
                moisture=scenario_moisture("D2L2"),
                midflame_wind_m_s=_miles_per_hour(5.0),
                wind_limit=limit,
            ).spread_rate_m_s
        )
        for limit in (WindLimit.NONE, WindLimit.ROTHERMEL)
    ]
