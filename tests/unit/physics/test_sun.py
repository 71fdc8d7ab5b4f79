"""Sun and sky: geometry against hand formulae, cloud, shade, measured weather."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from stillwet.physics import air, sun

from .greensboro import read_month

PLACE: dict[str, Any] = {"latitude_deg": 39.74, "longitude_deg": -105.18, "elevation_m": 1830.0}
DAY = np.asarray(
    datetime(2024, 7, 15, 7, 30, tzinfo=UTC).timestamp() + 3600.0 * np.arange(24), dtype=np.float64
)
WALLS = np.array([0.0, 90.0, 180.0, 270.0])


def walls(time_s: Any = DAY, *, shaded: bool = False, albedo: float = 0.2) -> Any:
    """North, east, south and west walls under a clear sky at Golden, Colorado."""
    sky = sun.clear_sky(time_s=time_s, **PLACE)
    return sun.face_irradiance(
        time_s=time_s,
        **PLACE,
        **sky._asdict(),
        tilt_deg=np.full(4, 90.0),
        azimuth_deg=WALLS,
        shaded=np.full(4, shaded),
        albedo=albedo,
    )


def test_level_face_gets_the_global_irradiance() -> None:
    """A roof of tilt 0 in the open gets beam on the level and all diffuse light: the global."""
    sky = sun.clear_sky(time_s=DAY, **PLACE)
    level = sun.face_irradiance(
        time_s=DAY,
        **PLACE,
        **sky._asdict(),
        tilt_deg=np.zeros(1),
        azimuth_deg=np.zeros(1),
        shaded=np.zeros(1, dtype=bool),
    )
    np.testing.assert_allclose(level[0], sky.ghi_w_m2, atol=8.0)


def test_walls_see_the_sun_on_their_side_of_the_day() -> None:
    """East peaks before west, south in between; at midsummer noon south beats north."""
    lit = walls()
    peaks = lit.argmax(axis=1)
    assert peaks[1] < peaks[2] < peaks[3]
    assert lit[2].max() > lit[0].max()
    assert (lit >= 0).all()


def test_shaded_wall_keeps_only_diffuse_and_ground_light() -> None:
    """A shaded wall gets the isotropic half of the sky, less the sun's ring, and the ground's."""
    shade, lit = walls(shaded=True), walls()
    sky = sun.clear_sky(time_s=DAY, **PLACE)
    most = 0.5 * sky.dhi_w_m2 + 0.5 * 0.2 * sky.ghi_w_m2
    assert (shade <= most + 1e-9).all()
    assert (shade <= lit + 1e-9).all()
    np.testing.assert_allclose(shade[0], shade[2])


def test_ground_light_follows_the_albedo() -> None:
    """A wall's light rises by half the albedo's rise times the global irradiance."""
    rise = walls(albedo=0.3) - walls(albedo=0.2)
    sky = sun.clear_sky(time_s=DAY, **PLACE)
    np.testing.assert_allclose(rise, np.tile(0.05 * sky.ghi_w_m2, (4, 1)), atol=1e-9)


def test_beam_on_a_wall_is_the_cosine_of_its_angle() -> None:
    """With no diffuse light a wall gets the beam times cos(angle), written out by hand."""
    angles = sun.sun_position(time_s=DAY, **PLACE)
    zenith, azimuth = np.radians(angles.zenith_deg), np.radians(angles.azimuth_deg)
    found = sun.face_irradiance(
        time_s=DAY,
        **PLACE,
        ghi_w_m2=np.zeros(24),
        dni_w_m2=np.full(24, 800.0),
        dhi_w_m2=np.zeros(24),
        tilt_deg=np.full(4, 90.0),
        azimuth_deg=WALLS,
        shaded=np.zeros(4, dtype=bool),
    )
    for row, facing in zip(found, np.radians(WALLS), strict=True):
        by_hand = 800.0 * np.maximum(np.sin(zenith) * np.cos(azimuth - facing), 0.0)
        np.testing.assert_allclose(row, np.where(zenith < np.pi / 2, by_hand, 0.0), atol=1e-6)


def test_more_cloud_means_less_sun_and_comes_back_from_it() -> None:
    """Global irradiance falls with cloud; from it the cloud is read back within 1e-9."""
    clear = sun.clear_sky(time_s=DAY, **PLACE).ghi_w_m2
    last = clear + 1e-9
    for cover in (0.0, 0.3, 0.6, 0.9, 1.0):
        sky = sun.irradiance_from_cloud(time_s=DAY, **PLACE, cloud_cover=np.full(24, cover))
        assert (sky.ghi_w_m2 <= last).all()
        last = sky.ghi_w_m2 + 1e-9
        back = sun.cloud_from_irradiance(ghi_w_m2=sky.ghi_w_m2, clear_sky_ghi_w_m2=clear)
        np.testing.assert_allclose(back, cover, atol=1e-9)
    np.testing.assert_allclose(last, 0.25 * clear, atol=1e-6)


def test_direct_and_diffuse_add_up_to_the_global() -> None:
    """The split under cloud keeps global = diffuse + direct on the level."""
    sky = sun.irradiance_from_cloud(time_s=DAY, **PLACE, cloud_cover=np.full(24, 0.4))
    zenith = np.radians(sun.sun_position(time_s=DAY, **PLACE).zenith_deg)
    level = sky.dhi_w_m2 + sky.dni_w_m2 * np.maximum(np.cos(zenith), 0.0)
    np.testing.assert_allclose(level, sky.ghi_w_m2, atol=1e-6)


def test_night_long_series_without_sun_counts_as_overcast() -> None:
    """No daylight at all: the cloud is unknown and taken as full, the faster-drying side."""
    found = sun.cloud_from_irradiance(ghi_w_m2=np.zeros(5), clear_sky_ghi_w_m2=np.zeros(5))
    assert (found == 1.0).all()


def test_clear_sky_reaches_the_clearest_hours_of_a_real_july() -> None:
    """At Greensboro the brightest measured hours of July lie within 12 % of the clear-sky model."""
    july = read_month(7)
    model = sun.clear_sky(
        time_s=july.time_s, latitude_deg=36.1, longitude_deg=-79.95, elevation_m=273.0
    ).ghi_w_m2
    high = model > 600.0
    clearest = np.quantile(july.ghi_w_m2[high] / model[high], 0.97)
    assert clearest == pytest.approx(1.0, abs=0.12)


def test_sky_radiation_siblings_agree_and_rise_with_cloud() -> None:
    """Prata lies within 8 % of Brutsaert and FAO-56 within 11 % from 5 to 25 hPa; cloud adds."""
    kelvin = 298.15
    for vapour in (500.0, 1000.0, 1500.0, 2500.0):
        state: dict[str, Any] = {"air_temperature_k": kelvin, "vapour_pressure_pa": vapour}
        main = sun.clear_sky_emissivity_brutsaert(**state)
        assert sun.clear_sky_emissivity_prata(**state) == pytest.approx(main, rel=0.08)
        brunt = sun.clear_sky_emissivity_brunt_fao56(vapour_pressure_pa=vapour)
        assert brunt == pytest.approx(main, rel=0.11)
        half, full = (sun.sky_longwave(**state, cloud_cover=c) for c in (0.5, 1.0))
        assert sun.sky_longwave(**state, cloud_cover=0.0) < half < full
        assert full < 5.670374419e-8 * kelvin**4


def test_sky_radiation_is_near_what_is_measured_in_the_open() -> None:
    """A clear summer night at 15 C and 60 % sends 300 to 330 W/m2 down, as BSRN stations see."""
    vapour = air.vapour_pressure(temperature_k=288.15, relative_humidity=0.6)
    sky = sun.sky_longwave(air_temperature_k=288.15, vapour_pressure_pa=vapour, cloud_cover=0.0)
    assert 300.0 < sky < 330.0
