"""Short chains of flux, demand and ignition functions, for reference cases."""

from __future__ import annotations

from typing import Any

import numpy as np

from stillwet.physics.demand import water_demand, wet_face_loss
from stillwet.physics.flux import FLAME_TEMPERATURE, emissive_power, flame_flux
from stillwet.physics.view_factor import (
    face_normal,
    view_factor_element_parallel,
    view_factor_element_perpendicular,
    view_factor_flame_panel,
    view_factor_parallel_rectangles,
    view_factor_perpendicular_rectangles,
)


def strip_mean_parallel(*, width: float, height: float, gap: float) -> float:
    """A strip's mean view factor to a parallel rectangle, from the point's, averaged along it.

    Each point of the strip sees two rectangles that share its foot as a corner.
    """
    nodes, weights = np.polynomial.legendre.leggauss(64)
    foot = 0.5 * width * (nodes + 1)
    total = 0.0
    for part in (foot, width - foot):
        total += float(
            0.5 * weights @ view_factor_element_parallel(width=part, height=height, gap=gap)
        )
    return total


def strip_mean_perpendicular(*, width: float, height: float, gap: float) -> float:
    """The same for a strip at a right angle to the rectangle, ``gap`` off it."""
    nodes, weights = np.polynomial.legendre.leggauss(64)
    foot = 0.5 * width * (nodes + 1)
    total = 0.0
    for part in (foot, width - foot):
        total += float(
            0.5 * weights @ view_factor_element_perpendicular(height=height, width=part, gap=gap)
        )
    return total


def offset_perpendicular(*, width: float, start: float, end: float, edge: float) -> float:
    """From a rectangle touching the edge to a strip of wall from ``start`` to ``end`` off it."""
    upper = view_factor_perpendicular_rectangles(width=width, height=end, common_edge=edge)
    lower = view_factor_perpendicular_rectangles(width=width, height=start, common_edge=edge)
    return float(upper - lower)


def parallel(*, width: float, depth: float, gap: float) -> Any:
    """Equal opposed rectangles."""
    return view_factor_parallel_rectangles(width=width, depth=depth, gap=gap)


def panel_at_middle(
    *, flame_length: Any, angle_from_horizontal: Any, distance: Any, flame_width: float = 100.0
) -> Any:
    """A wall's view factor at the height of the flame's middle, exact leaning sheet."""
    angle = np.radians(angle_from_horizontal)
    return view_factor_flame_panel(
        distance_m=distance,
        flame_length_m=flame_length,
        flame_width_m=flame_width,
        flame_tilt_deg=90.0 - np.asarray(angle_from_horizontal),
        face_height_m=0.5 * np.asarray(flame_length) * np.sin(angle),
        normal=face_normal(tilt_deg=90.0, azimuth_deg=0.0, fire_bearing_deg=None),
    )


def black_panel_on_ground(*, height: Any, width: Any, distance: Any, temperature: float) -> Any:
    """Flux [W/m2] on a wall at ground level from a black upright flame, clear air left out."""
    factor = view_factor_flame_panel(
        distance_m=distance,
        flame_length_m=height,
        flame_width_m=width,
        flame_tilt_deg=0.0,
        face_height_m=0.0,
        normal=face_normal(tilt_deg=90.0, azimuth_deg=0.0, fire_bearing_deg=None),
    )
    return factor * emissive_power(flame_temperature_k=temperature, emissivity=1.0)


def black_panel_at_middle(*, height: Any, width: Any, distance: Any, temperature: float) -> Any:
    """The same, level with the flame's middle."""
    factor = panel_at_middle(
        flame_length=height, angle_from_horizontal=90.0, distance=distance, flame_width=width
    )
    return factor * emissive_power(flame_temperature_k=temperature, emissivity=1.0)


def upright_flux(
    *,
    flame_length: float,
    distance: float,
    air_temperature: float,
    relative_humidity: float,
) -> Any:
    """Flux [W/m2] level with the middle of an upright flame 100 m wide, at 1090 K."""
    return flame_flux(
        distance_m=distance,
        flame_length_m=flame_length,
        flame_width_m=100.0,
        flame_tilt_deg=0.0,
        face_height_m=flame_length / 2,
        normal=face_normal(tilt_deg=90.0, azimuth_deg=0.0, fire_bearing_deg=None),
        air_temperature_k=air_temperature,
        relative_humidity=relative_humidity,
        flame_temperature_k=FLAME_TEMPERATURE,
    )


def loss_free_seconds_per_coat(*, absorbed_flux: Any, coat: Any, start_temperature: float) -> Any:
    """Seconds a coat lasts when every watt goes into the water: from the demand of one second."""
    air = 373.15  # air at the boiling point: the wet face loses nothing
    flux = np.atleast_1d(np.asarray(absorbed_flux, dtype=float))
    assert wet_face_loss(air_temperature_k=air, convection_w_m2k=20.0) == 0.0
    per_second = water_demand(
        time_s=[0.0, 1.0],
        flux_w_m2=np.stack([flux, flux], axis=-1),
        absorptivity=1.0,
        start_temperature_k=start_temperature,
        air_temperature_k=air,
        convection_w_m2k=20.0,
        water_efficiency=1.0,
        bare_limit_w_m2=12e3,
    )
    return np.asarray(coat) / per_second
