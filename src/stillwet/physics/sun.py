"""Sun and sky: position, clear sky, cloud, radiation onto faces; pvlib does the astronomy.

Times are epoch seconds (UTC) of the moment meant: for an hourly mean pass the middle of its hour.
pvlib is imported inside the functions, so that nothing else waits for it.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.constants import STEFAN_BOLTZMANN
from stillwet.physics.air import pressure_at_elevation
from stillwet.physics.guards import Numbers, as_given

Hours = NDArray[np.float64]  # (H,)

# Light the ground sends back: untested default, 0.1 (dark soil, burnt ground) to 0.3 (dry grass,
# pale gravel). 0.2 is pvlib's default and about that of cured grass.
GROUND_ALBEDO = 0.2

# Kasten & Czeplak 1980, Solar Energy 24, 177-189 (from memory): G/G_clear = 1 - 0.75 c^3.4.
CLOUD_DEPTH = 0.75
CLOUD_EXPONENT = 3.4
CLOUD_LONGWAVE = 0.84  # Unsworth & Monteith 1975, see sky_longwave

LEAST_CLEAR_SKY_W_M2 = 50.0  # below this the cloud cannot be read from the sun


class SunPosition(NamedTuple):
    """Zenith (refracted) and azimuth [deg], azimuth clockwise from north; arrays (H,)."""

    zenith_deg: Hours
    azimuth_deg: Hours


class Irradiance(NamedTuple):
    """Global horizontal, direct normal and diffuse horizontal [W/m2]; arrays (H,)."""

    ghi_w_m2: Hours
    dni_w_m2: Hours
    dhi_w_m2: Hours


def _index(time_s: Hours) -> Any:
    import pandas as pd

    return pd.to_datetime(np.asarray(time_s, dtype=float), unit="s", utc=True)


def sun_position(
    *, time_s: Hours, latitude_deg: float, longitude_deg: float, elevation_m: float
) -> SunPosition:
    """Where the sun stands, by the NREL solar position algorithm (Reda & Andreas 2004) in pvlib.

    time_s (H,) epoch seconds UTC; longitude east positive. Good to 0.001 deg before refraction.
    """
    from pvlib.solarposition import get_solarposition

    found = get_solarposition(
        _index(time_s), latitude_deg, longitude_deg, altitude=elevation_m, method="nrel_numpy"
    )
    return SunPosition(found["apparent_zenith"].to_numpy(), found["azimuth"].to_numpy())


def clear_sky(
    *, time_s: Hours, latitude_deg: float, longitude_deg: float, elevation_m: float
) -> Irradiance:
    """Irradiance without cloud: Ineichen & Perez 2002 with the monthly turbidity map of pvlib.

    Smoke is not in it: near a fire the sun is weaker and the error is towards faster drying.
    """
    from pvlib.atmosphere import get_absolute_airmass, get_relative_airmass
    from pvlib.clearsky import ineichen, lookup_linke_turbidity
    from pvlib.irradiance import get_extra_radiation

    index = _index(time_s)
    zenith, _ = sun_position(
        time_s=time_s,
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m,
    )
    airmass = get_absolute_airmass(
        get_relative_airmass(zenith), pressure_at_elevation(elevation_m=elevation_m)
    )
    turbidity = lookup_linke_turbidity(
        index, latitude_deg, longitude_deg, interp_turbidity=False
    ).to_numpy()
    extra = get_extra_radiation(index.day_of_year.to_numpy())
    with np.errstate(divide="ignore", invalid="ignore"):  # pvlib divides by the night's zeros
        found = ineichen(zenith, airmass, turbidity, altitude=elevation_m, dni_extra=extra)
    return Irradiance(*(np.nan_to_num(np.asarray(found[k])) for k in ("ghi", "dni", "dhi")))


def irradiance_from_cloud(
    *,
    time_s: Hours,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float,
    cloud_cover: Hours,
) -> Irradiance:
    """Irradiance under cloud_cover (H,) [fraction] where a forecast gives no sun.

    Global: clear sky times ``1 - 0.75 c^3.4`` (Kasten & Czeplak 1980); direct and diffuse by Erbs
    et al. 1982 (pvlib). Thin high cloud lets more through: the spread of one hour is about 25 %.
    """
    from pvlib.irradiance import erbs

    place: dict[str, Any] = {
        "time_s": time_s,
        "latitude_deg": latitude_deg,
        "longitude_deg": longitude_deg,
        "elevation_m": elevation_m,
    }
    cover = np.clip(np.asarray(cloud_cover, dtype=float), 0.0, 1.0)
    ghi = np.asarray(
        clear_sky(**place).ghi_w_m2 * cloud_transmission_kasten_czeplak(cloud_cover=cover)
    )
    zenith = sun_position(**place).zenith_deg
    split = erbs(ghi, zenith, _index(time_s).day_of_year.to_numpy())
    return Irradiance(ghi, np.asarray(split["dni"]), np.asarray(split["dhi"]))


def cloud_transmission_kasten_czeplak(*, cloud_cover: Numbers) -> Numbers:
    """Global irradiance under cloud over clear sky [-], ``1 - 0.75 c^3.4``; c in 0 to 1."""
    transmission: Numbers = 1.0 - CLOUD_DEPTH * cloud_cover**CLOUD_EXPONENT
    return transmission


def cloud_from_irradiance(*, ghi_w_m2: Hours, clear_sky_ghi_w_m2: Hours) -> Hours:
    """Cloud cover (H,) [fraction] read back from the sun, for files that give no cloud.

    The inverse of `cloud_transmission_kasten_czeplak`. Hours with a clear sky under 50 W/m2 take
    the line between the daylight hours beside them; a series without daylight counts as overcast,
    the side of faster drying by night.
    """
    ghi = np.asarray(ghi_w_m2, dtype=float)
    clear = np.asarray(clear_sky_ghi_w_m2, dtype=float)
    is_day = clear >= LEAST_CLEAR_SKY_W_M2
    if not is_day.any():
        return np.ones(ghi.shape)
    lost = np.clip(1.0 - ghi[is_day] / clear[is_day], 0.0, CLOUD_DEPTH)
    hours = np.arange(ghi.size)
    cover = (lost / CLOUD_DEPTH) ** (1 / CLOUD_EXPONENT)
    return np.asarray(np.interp(hours, hours[is_day], cover))


def face_irradiance(
    *,
    time_s: Hours,
    latitude_deg: float,
    longitude_deg: float,
    elevation_m: float,
    ghi_w_m2: Hours,
    dni_w_m2: Hours,
    dhi_w_m2: Hours,
    tilt_deg: NDArray[np.float64],
    azimuth_deg: NDArray[np.float64],
    shaded: NDArray[np.bool_],
    albedo: float = GROUND_ALBEDO,
) -> NDArray[np.float64]:
    """Sun onto faces [W/m2], shape (S, H): beam, sky and ground.

    tilt_deg (S,) 0 up, 90 a wall; azimuth_deg (S,) the way the face looks, clockwise from north;
    shaded (S,) faces get no beam. Sky light by Hay & Davies 1980 (pvlib), because it keeps the
    bright ring round the sun with the beam, so that a shaded face loses it too; what is left
    is isotropic. Ground light ``albedo ghi (1 - cos tilt)/2``. Beam with the sun down counts as 0.
    """
    from pvlib.irradiance import aoi_projection, get_extra_radiation, haydavies

    sun = sun_position(
        time_s=time_s,
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m,
    )
    tilt = np.asarray(tilt_deg, dtype=float)[:, None]
    azimuth = np.asarray(azimuth_deg, dtype=float)[:, None]
    open_sky = 1.0 - np.asarray(shaded, dtype=float)[:, None]
    dni = np.where(sun.zenith_deg < 90.0, np.asarray(dni_w_m2, dtype=float), 0.0)
    facing = np.maximum(aoi_projection(tilt, azimuth, sun.zenith_deg, sun.azimuth_deg), 0.0)
    sky = haydavies(
        tilt,
        azimuth,
        np.asarray(dhi_w_m2, dtype=float),
        dni,
        get_extra_radiation(_index(time_s).day_of_year.to_numpy()),
        sun.zenith_deg,
        sun.azimuth_deg,
        return_components=True,
    )
    ground = albedo * np.asarray(ghi_w_m2, dtype=float) * 0.5 * (1 - np.cos(np.radians(tilt)))
    found = open_sky * (dni * facing + sky["poa_circumsolar"]) + sky["poa_isotropic"] + ground
    return np.asarray(found, dtype=float)


def clear_sky_emissivity_brutsaert(
    *, air_temperature_k: Numbers, vapour_pressure_pa: Numbers
) -> Numbers:
    """Emissivity of a clear sky, ``1.24 (e/T)^(1/7)`` with e in hPa.

    Brutsaert 1975, Water Resources Research 11, 742-744. Against 45 clear hours of measured sky
    radiation at Payerne (BSRN, June 2016) it is 16 W/m2 high, Prata as much, Brunt 25 W/m2.
    """
    return 1.24 * (vapour_pressure_pa / 100.0 / air_temperature_k) ** (1 / 7)


def clear_sky_emissivity_prata(
    *, air_temperature_k: Numbers, vapour_pressure_pa: Numbers
) -> Numbers:
    """Emissivity of a clear sky, ``1 - (1 + w) exp(-(1.2 + 3 w)^(1/2))``, w = 46.5 e/T (e in hPa).

    Prata 1996, Quarterly Journal of the Royal Meteorological Society 122, 1127-1151.
    Sibling of ``clear_sky_emissivity_brutsaert``.
    """
    water = 46.5 * vapour_pressure_pa / 100.0 / air_temperature_k
    return as_given(1 - (1 + water) * np.exp(-np.sqrt(1.2 + 3.0 * water)))


def clear_sky_emissivity_brunt_fao56(*, vapour_pressure_pa: Numbers) -> Numbers:
    """Emissivity of a clear sky implied by FAO-56 eq. 39: ``1 - (0.34 - 0.14 e^(1/2))``, e in kPa.

    Its surface counts as black. Sibling of ``clear_sky_emissivity_brutsaert``.
    """
    return 0.66 + 0.14 * (vapour_pressure_pa / 1000.0) ** 0.5


def sky_longwave(
    *, air_temperature_k: Numbers, vapour_pressure_pa: Numbers, cloud_cover: Numbers
) -> Numbers:
    """Long-wave radiation of the whole sky onto level ground [W/m2].

    Clear sky by Brutsaert 1975; with cloud c ``eps = (1 - 0.84 c) eps_clear + 0.84 c`` (Unsworth &
    Monteith 1975; Campbell & Norman 1998 eq. 10.12).
    """
    clear = clear_sky_emissivity_brutsaert(
        air_temperature_k=air_temperature_k, vapour_pressure_pa=vapour_pressure_pa
    )
    covered = CLOUD_LONGWAVE * cloud_cover
    return ((1 - covered) * clear + covered) * STEFAN_BOLTZMANN * air_temperature_k**4
