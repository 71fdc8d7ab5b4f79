"""Composites of the air, convection and drying functions that the published examples ask for."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np

from stillwet.constants import STEFAN_BOLTZMANN, ZERO_CELSIUS
from stillwet.physics import air, convection, drying, fao56, sun, wind
from stillwet.physics.guards import Numbers


def moist_air(*, temperature_k: float, wet_bulb_k: float, pressure_pa: float) -> dict[str, Any]:
    """ASHRAE example 1: what dry and wet bulb say about the air."""
    ratio = air.humidity_ratio_from_wet_bulb_ashrae(
        temperature_k=temperature_k, wet_bulb_k=wet_bulb_k, pressure_pa=pressure_pa
    )
    vapour = air.vapour_pressure_from_humidity_ratio(humidity_ratio=ratio, pressure_pa=pressure_pa)
    density = air.air_density(
        temperature_k=temperature_k, vapour_pressure_pa=vapour, pressure_pa=pressure_pa
    )
    celsius = temperature_k - ZERO_CELSIUS
    return {
        "humidity_ratio": ratio,
        "dew_point_k": air.dew_point_ashrae(vapour_pressure_pa=vapour),
        "relative_humidity": vapour / air.saturation_pressure_ashrae(temperature_k=temperature_k),
        "enthalpy_j_kg": 1006.0 * celsius + ratio * (2501e3 + 1860.0 * celsius),
        "volume_m3_kg": (1 + ratio) / density,
        "wet_bulb_k": air.wet_bulb_ashrae(
            temperature_k=temperature_k, vapour_pressure_pa=vapour, pressure_pa=pressure_pa
        ),
    }


def wet_bulb(*, temperature_k: Numbers, relative_humidity: Numbers, pressure_pa: float) -> Numbers:
    """Thermodynamic wet bulb of air given by its relative humidity."""
    return air.wet_bulb_ashrae(
        temperature_k=temperature_k,
        vapour_pressure_pa=air.vapour_pressure(
            temperature_k=temperature_k, relative_humidity=relative_humidity
        ),
        pressure_pa=pressure_pa,
    )


def saturated_humidity_ratio(*, temperature_k: Numbers, pressure_pa: float) -> Numbers:
    """Humidity ratio of saturated air."""
    return air.humidity_ratio(
        vapour_pressure_pa=air.saturation_pressure_ashrae(temperature_k=temperature_k),
        pressure_pa=pressure_pa,
    )


def water_to_dry_energy(*, start_temperature_k: float) -> float:
    """Heat that takes liquid water from the start to dry at 100 C [J/kg]: sensible and latent."""
    from iapws import IAPWS97

    liquid = [IAPWS97(T=t, P=0.101325).h for t in (start_temperature_k, 373.12)]
    return 1e3 * float(liquid[1] - liquid[0]) + float(air.latent_heat(temperature_k=373.15))


def sunny_day(
    *,
    extraterrestrial_w_m2: float,
    sunshine_share: float,
    highest_k: float,
    lowest_k: float,
    vapour_pressure_pa: float,
    albedo: float = 0.23,
) -> dict[str, float]:
    """FAO-56 examples 10 to 12: global, net long-wave, net short-wave and net radiation."""
    solar = float(
        fao56.solar_radiation_angstrom_fao56(
            extraterrestrial_w_m2=extraterrestrial_w_m2, sunshine_share=sunshine_share
        )
    )
    longwave = float(
        fao56.net_longwave_fao56(
            highest_k=highest_k,
            lowest_k=lowest_k,
            vapour_pressure_pa=vapour_pressure_pa,
            solar_share=solar / (0.75 * extraterrestrial_w_m2),
        )
    )
    day = fao56.MEGAJOULE_DAY
    return {
        "solar": solar / day,
        "longwave": longwave / day,
        "shortwave": (1 - albedo) * solar / day,
        "net": ((1 - albedo) * solar - longwave) / day,
    }


def extraterrestrial_mj(*, latitude_deg: float, day_of_year: float) -> float:
    """FAO-56 example 8, in its units of MJ/m2d."""
    radiation = fao56.extraterrestrial_radiation_fao56(
        latitude_deg=latitude_deg, day_of_year=day_of_year
    )
    return float(radiation) / fao56.MEGAJOULE_DAY


def grass_day(
    *,
    latitude_deg: float,
    elevation_m: float,
    day_of_year: float,
    highest_k: float,
    lowest_k: float,
    vapour_pressure_pa: float,
    wind_m_s: float,
    wind_height_m: float,
    sunshine_h: float,
    ground_mj: float = 0.0,
) -> dict[str, float]:
    """FAO-56 examples 17 and 18: reference evapotranspiration of a day from the weather."""
    extra = float(
        fao56.extraterrestrial_radiation_fao56(latitude_deg=latitude_deg, day_of_year=day_of_year)
    )
    hours = float(fao56.daylight_hours_fao56(latitude_deg=latitude_deg, day_of_year=day_of_year))
    solar = float(
        fao56.solar_radiation_angstrom_fao56(
            extraterrestrial_w_m2=extra, sunshine_share=sunshine_h / hours
        )
    )
    clear = (0.75 + 2e-5 * elevation_m) * extra
    longwave = float(
        fao56.net_longwave_fao56(
            highest_k=highest_k,
            lowest_k=lowest_k,
            vapour_pressure_pa=vapour_pressure_pa,
            solar_share=solar / clear,
        )
    )
    tetens = air.saturation_pressure_tetens_fao56
    saturated = 0.5 * (tetens(temperature_k=highest_k) + tetens(temperature_k=lowest_k))
    net = 0.77 * solar - longwave
    wind_2m = float(wind.wind_at_2m_fao56(speed_m_s=wind_m_s, from_height_m=wind_height_m))
    evaporated = fao56.reference_evapotranspiration_fao56(
        net_radiation_w_m2=net,
        ground_heat_w_m2=ground_mj * fao56.MEGAJOULE_DAY,
        temperature_k=0.5 * (highest_k + lowest_k),
        wind_2m_m_s=wind_2m,
        saturation_pressure_pa=saturated,
        vapour_pressure_pa=vapour_pressure_pa,
        pressure_pa=air.pressure_at_elevation(elevation_m=elevation_m),
    )
    return {
        "net_mj": net / fao56.MEGAJOULE_DAY,
        "solar_mj": solar / fao56.MEGAJOULE_DAY,
        "wind_2m": wind_2m,
        "saturated_kpa": float(saturated) / 1e3,
        "mm_day": float(evaporated) * fao56.DAY_S,
    }


def grass_hour(
    *,
    net_mj_h: float,
    ground_mj_h: float,
    temperature_k: float,
    relative_humidity: float,
    wind_2m_m_s: float,
    elevation_m: float,
) -> float:
    """FAO-56 example 19: reference evapotranspiration of an hour [mm/h]."""
    saturated = air.saturation_pressure_tetens_fao56(temperature_k=temperature_k)
    evaporated = fao56.reference_evapotranspiration_fao56(
        net_radiation_w_m2=net_mj_h * 1e6 / 3600,
        ground_heat_w_m2=ground_mj_h * 1e6 / 3600,
        temperature_k=temperature_k,
        wind_2m_m_s=wind_2m_m_s,
        saturation_pressure_pa=saturated,
        vapour_pressure_pa=saturated * relative_humidity,
        pressure_pa=air.pressure_at_elevation(elevation_m=elevation_m),
        coefficient=37.0 * 24,
    )
    return float(evaporated) * 3600


def open_water_days(
    *,
    net_mj: Numbers,
    highest_k: Numbers,
    lowest_k: Numbers,
    vapour_pressure_pa: Numbers,
    wind_2m_m_s: Numbers,
    elevation_m: float,
) -> Numbers:
    """Penman 1956 open water from daily means [mm/d]."""
    tetens = air.saturation_pressure_tetens_fao56
    return fao56.DAY_S * fao56.open_water_evaporation_penman(
        net_radiation_w_m2=net_mj * fao56.MEGAJOULE_DAY,
        temperature_k=0.5 * (highest_k + lowest_k),
        wind_2m_m_s=wind_2m_m_s,
        saturation_pressure_pa=0.5
        * (tetens(temperature_k=highest_k) + tetens(temperature_k=lowest_k)),
        vapour_pressure_pa=vapour_pressure_pa,
        pressure_pa=air.pressure_at_elevation(elevation_m=elevation_m),
    )


def laminar_plate_loss(
    *,
    wind_m_s: float,
    length_m: float,
    viscosity_m2_s: float,
    conductivity_w_mk: float,
    prandtl: float,
    difference_k: float,
) -> dict[str, float]:
    """Incropera example 7.1: heat lost by a plate a metre wide."""
    reynolds = wind_m_s * length_m / viscosity_m2_s
    nusselt = float(convection.nusselt_plate_mixed_incropera(reynolds=reynolds, prandtl=prandtl))
    h = nusselt * conductivity_w_mk / length_m
    return {"nusselt": nusselt, "h": h, "w_per_m": h * length_m * difference_k}


def pool_loss(
    *,
    wind_m_s: float,
    pool_length_m: float,
    pool_width_m: float,
    deck_m: float,
    viscosity_m2_s: float,
    diffusivity_m2_s: float,
    saturated_kg_m3: float,
    relative_humidity: float,
) -> float:
    """Incropera example 7.3: water a pool loses [kg/d], air turbulent from the deck's edge."""
    total = pool_length_m + deck_m
    sherwood = convection.nusselt_plate_turbulent_incropera(
        reynolds=wind_m_s * total / viscosity_m2_s, prandtl=viscosity_m2_s / diffusivity_m2_s
    )
    # Incropera 7.46: a starting length that gives off nothing, turbulent (p = 8)
    start = (1 - (deck_m / total) ** 0.9) ** (8 / 9) * total / pool_length_m
    transfer = sherwood * start * diffusivity_m2_s / total
    area = pool_length_m * pool_width_m
    return float(transfer * area * saturated_kg_m3 * (1 - relative_humidity) * 86400)


def volatile_cooler(
    *,
    air_temperature_k: float,
    molar_mass_kg_kmol: float,
    latent_heat_j_kg: float,
    saturation_pressure_pa: float,
    diffusivity_m2_s: float,
    density_kg_m3: float,
    specific_heat_j_kgk: float,
    thermal_diffusivity_m2_s: float,
) -> float:
    """Incropera example 6.7: temperature of a container cooled by a volatile liquid [K]."""
    h = 20.0  # any coefficient: it cancels

    def evaporation(temperature_k: float, coefficient_w_m2k: float) -> float:
        transfer = drying.transfer_coefficient_chilton_colburn(
            coefficient_w_m2k=coefficient_w_m2k,
            volumetric_heat_j_m3k=density_kg_m3 * specific_heat_j_kgk,
            lewis=thermal_diffusivity_m2_s / diffusivity_m2_s,
        )
        vapour = molar_mass_kg_kmol * saturation_pressure_pa / (8314.5 * temperature_k)
        # the balance multiplies by the latent heat of water
        share = latent_heat_j_kg / float(air.latent_heat(temperature_k=temperature_k))
        return float(transfer * vapour * share)

    return drying.solve_balance(
        absorbed_w_m2=0.0,
        air_temperature_k=air_temperature_k,
        coefficient_w_m2k=lambda _t: h,
        evaporation_kg_m2_s=evaporation,
        emissivity=0.0,
        back_conductance_w_m2k=0.0,
        back_temperature_k=air_temperature_k,
    ).temperature_k


def hot_window(
    *,
    height_m: float,
    width_m: float,
    surface_k: float,
    air_k: float,
    viscosity_m2_s: float,
    conductivity_w_mk: float,
    prandtl: float,
) -> float:
    """Incropera example 9.2: heat lost by a fireplace window in still air [W]."""
    rayleigh = convection.rayleigh_number(
        difference_k=surface_k - air_k,
        length_m=height_m,
        film_temperature_k=0.5 * (surface_k + air_k),
        viscosity_m2_s=viscosity_m2_s,
    )
    rayleigh *= prandtl / convection.PRANDTL_AIR
    nusselt = convection.nusselt_vertical_plate_churchill_chu(rayleigh=rayleigh, prandtl=prandtl)
    return float(nusselt * conductivity_w_mk / height_m * height_m * width_m * (surface_k - air_k))


def tray_drying(
    *,
    air_temperature_k: float,
    humidity_ratio: float,
    wind_m_s: float,
    pipe_temperature_k: float = 0.0,
    emissivity: float = 0.0,
    through_pan: bool = False,
) -> dict[str, float]:
    """Geankoplis examples 9.6-3 and 9.8-1: constant-rate drying of a tray [kg/m2h].

    The book's coefficient ``h = 0.0204 G^0.8`` and the Lewis relation (humidity-ratio form);
    9.8-1 adds radiation from steam pipes and heat through the pan.
    """
    pressure = 101325.0
    volume = (2.83e-3 + 4.56e-3 * humidity_ratio) * air_temperature_k  # Geankoplis 9.3-7
    flow = wind_m_s * 3600 * (1 + humidity_ratio) / volume
    h = 0.0204 * flow**0.8
    vapour = float(
        air.vapour_pressure_from_humidity_ratio(humidity_ratio=humidity_ratio, pressure_pa=pressure)
    )
    solid = 1 / (1 / h + 0.610e-3 / 43.3 + 25.4e-3 / 0.865) if through_pan else 0.0
    found = drying.solve_balance(
        absorbed_w_m2=emissivity * STEFAN_BOLTZMANN * pipe_temperature_k**4,
        air_temperature_k=air_temperature_k,
        coefficient_w_m2k=lambda _t: h,
        evaporation_kg_m2_s=lambda t, c: drying.evaporation_humidity_ratio_form(
            surface_temperature_k=t,
            coefficient_w_m2k=c,
            vapour_pressure_pa=vapour,
            pressure_pa=pressure,
        ),
        emissivity=emissivity,
        back_conductance_w_m2k=solid,
        back_temperature_k=air_temperature_k,
    )
    return {
        "h": h,
        "rate_kg_m2_h": found.evaporation_kg_m2_s * 3600,
        "surface_k": found.temperature_k,
        "pan_kg_h": found.evaporation_kg_m2_s * 3600 * 0.457**2,
    }


def sun_angles(
    *, utc: str, latitude_deg: float, longitude_deg: float, elevation_m: float
) -> list[float]:
    """Zenith and azimuth at one moment [deg]."""
    moment = datetime.fromisoformat(utc).replace(tzinfo=UTC).timestamp()
    found = sun.sun_position(
        time_s=np.array([moment]),
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m,
    )
    return [float(found.zenith_deg[0]), float(found.azimuth_deg[0])]
