"""Sun over a grid against pvlib place by place, and against the sun's own symmetries."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from pvlib.clearsky import lookup_linke_turbidity

from stillwet.physics import sun, sun_grid, sun_track
from stillwet.physics.air import vapour_pressure

LATITUDE = np.array([45.0, -33.0, 0.1, 64.0, -10.0, 78.0])
LONGITUDE = np.array([-120.0, 151.0, 10.0, -150.0, 179.9, -179.0])
ELEVATION = np.array([0.0, 300.0, 1200.0, 50.0, 2500.0, 800.0])
TIME_S = np.asarray(1780001234.0 + 3600.0 * np.arange(120), dtype=np.float64)
TILT = np.array([90.0, 90.0, 90.0, 90.0, 0.0, 30.0])
AZIMUTH = np.array([0.0, 90.0, 180.0, 270.0, 0.0, 135.0])


def turbidity() -> np.ndarray[Any, Any]:
    months = pd.DatetimeIndex([f"2026-{month:02d}-15" for month in range(1, 13)], tz="UTC")
    found = [
        lookup_linke_turbidity(months, north, east, interp_turbidity=False).to_numpy()
        for north, east in zip(LATITUDE, LONGITUDE, strict=True)
    ]
    return np.stack(found, axis=1)


def grid(source: sun_grid.SunFrom, given: np.ndarray[Any, Any], **parts: Any) -> sun_grid.GridLight:
    return sun_grid.grid_light(
        source=source,
        given=given,
        track=sun_track.sun_track(time_s=TIME_S),
        place=sun_track.places(
            latitude_deg=LATITUDE,
            longitude_deg=LONGITUDE,
            elevation_m=ELEVATION,
            turbidity=turbidity(),
        ),
        faces=sun_track.face_directions(tilt_deg=TILT, azimuth_deg=AZIMUTH),
        with_clear=True,
        **parts,
    )


def place(cell: int) -> dict[str, Any]:
    return {
        "time_s": TIME_S,
        "latitude_deg": float(LATITUDE[cell]),
        "longitude_deg": float(LONGITUDE[cell]),
        "elevation_m": float(ELEVATION[cell]),
    }


def faces_by_pvlib(cell: int, light: sun.Irradiance) -> np.ndarray[Any, Any]:
    return sun.face_irradiance(
        ghi_w_m2=light.ghi_w_m2,
        dni_w_m2=light.dni_w_m2,
        dhi_w_m2=light.dhi_w_m2,
        tilt_deg=TILT,
        azimuth_deg=AZIMUTH,
        shaded=np.zeros(6, dtype=bool),
        **place(cell),
    )


@pytest.mark.parametrize("cell", range(6))
def test_light_from_cloud_is_pvlibs(cell: int) -> None:
    """Position, refraction, clear sky, Erbs and Hay-Davies: within 1e-7 W/m2 of pvlib."""
    cloud = np.random.default_rng(1).random((TIME_S.size, 6))
    found = grid(sun_grid.SunFrom.CLOUD, cloud)
    light = sun.irradiance_from_cloud(cloud_cover=cloud[:, cell], **place(cell))
    np.testing.assert_allclose(
        found.faces_w_m2[:, :, cell], faces_by_pvlib(cell, light), atol=1e-7, rtol=0
    )
    clear = sun.clear_sky(**place(cell)).ghi_w_m2
    np.testing.assert_allclose(found.clear_ghi_w_m2[:, cell], clear, atol=1e-7, rtol=0)
    back = sun_grid.grid_cloud(ghi_w_m2=found.ghi_w_m2, clear_ghi_w_m2=found.clear_ghi_w_m2)
    wanted = sun.cloud_from_irradiance(ghi_w_m2=light.ghi_w_m2, clear_sky_ghi_w_m2=clear)
    np.testing.assert_allclose(back[:, cell], wanted, atol=1e-9)


def test_given_parts_are_taken_as_they_are() -> None:
    """With direct and diffuse given, the faces are pvlib's of those, beam gone with the sun."""
    rng = np.random.default_rng(2)
    shape = (TIME_S.size, 6)
    ghi, dni, dhi = 900 * rng.random(shape), 800 * rng.random(shape), 200 * rng.random(shape)
    found = grid(sun_grid.SunFrom.PARTS, ghi, direct_w_m2=dni, diffuse_w_m2=dhi)
    for cell in range(6):
        light = sun.Irradiance(ghi[:, cell], dni[:, cell], dhi[:, cell])
        np.testing.assert_allclose(
            found.faces_w_m2[:, :, cell], faces_by_pvlib(cell, light), atol=1e-7, rtol=0
        )


def test_longwave_is_the_skys() -> None:
    """The compiled long-wave against the plain one, members and hours apart."""
    rng = np.random.default_rng(3)
    kelvin, humidity = 250 + 70 * rng.random((9, 4, 3)), rng.random((9, 4, 3))
    cloud = rng.random((9, 4))
    found = sun_grid.grid_longwave(
        air_temperature_k=kelvin, relative_humidity=humidity, cloud_cover=cloud
    )
    vapour = vapour_pressure(temperature_k=kelvin, relative_humidity=humidity)
    wanted = sun.sky_longwave(
        air_temperature_k=kelvin, vapour_pressure_pa=vapour, cloud_cover=cloud[:, :, None]
    )
    np.testing.assert_allclose(found, wanted, rtol=1e-12)


def test_east_in_the_morning_is_west_in_the_afternoon() -> None:
    """About the solar noon of one place walls to both sides get nearly the same clear sun."""
    found = grid(sun_grid.SunFrom.CLOUD, np.zeros((TIME_S.size, 6)))
    east, west = found.faces_w_m2[1, :, 0], found.faces_w_m2[3, :, 0]
    assert east.sum() == pytest.approx(west.sum(), rel=0.02)
    assert np.argmax(east[:24]) != np.argmax(west[:24])
