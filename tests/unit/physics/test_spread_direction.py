"""Which way a fire runs: the ellipse by its geometry, the head by vectors, wind from its factor."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from stillwet.physics.fuel_models import fuel_model
from stillwet.physics.spread import FuelMoisture, SurfaceSpread, surface_spread
from stillwet.physics.spread_direction import (
    effective_wind_rothermel,
    length_to_width_andrews,
    spread_towards,
)

DRY = FuelMoisture(one_hour=0.05, ten_hour=0.06, hundred_hour=0.07, herb=0.6, woody=0.9)


def _fire(wind: float, slope: float = 0.0, angle: float = 0.0, code: str = "GR4") -> SurfaceSpread:
    return surface_spread(
        fuel=fuel_model(code),
        moisture=DRY,
        midflame_wind_m_s=wind,
        slope_deg=slope,
        wind_from_upslope_deg=angle,
    )


def _rates(wind: float, bearings: NDArray[np.float64]) -> NDArray[np.float64]:
    found = spread_towards(
        head=_fire(wind), upslope_deg=0.0, downwind_deg=45.0, towards_deg=bearings
    )
    return np.asarray(found.spread_rate_m_s)


@pytest.mark.parametrize("wind", [0.5, 2.0, 5.0])
def test_the_shape_is_the_ellipse_it_claims(wind: float) -> None:
    """Length (head and back) over greatest width, measured on the outline, is 1 + U/4."""
    bearings = np.linspace(0.0, 360.0, 72_001)
    rates = _rates(wind, bearings)
    gamma = np.radians(bearings - 45.0)
    length = np.ptp(rates * np.cos(gamma))
    width = np.ptp(rates * np.sin(gamma))
    shape = float(length_to_width_andrews(effective_wind_m_s=wind))
    assert length / width == pytest.approx(shape, rel=1e-4)
    assert shape == pytest.approx(1 + 0.25 * wind / 0.44704, rel=1e-9)


def test_head_runs_downwind_and_fastest() -> None:
    """On the level the head goes where the wind goes, at the head's rate, and the back slowest."""
    rates = _rates(4.0, np.array([45.0, 135.0, 315.0, 225.0]))
    assert rates[0] == pytest.approx(float(_fire(4.0).spread_rate_m_s))
    assert rates[1] == pytest.approx(rates[2])
    assert rates[0] > rates[1] > rates[3] > 0


def test_still_air_on_the_level_burns_a_circle() -> None:
    """Without wind and slope every direction has the no-wind rate."""
    fire = _fire(0.0)
    found = spread_towards(
        head=fire, upslope_deg=0.0, downwind_deg=0.0, towards_deg=np.array([0.0, 90.0, 180.0])
    )
    np.testing.assert_allclose(found.spread_rate_m_s, float(fire.no_wind_spread_rate_m_s))


def test_slope_turns_the_head_uphill() -> None:
    """Wind to the east across a slope that rises north: head between; no wind: straight up."""
    across = spread_towards(
        head=_fire(1.0, 25.0, 90.0), upslope_deg=0.0, downwind_deg=90.0, towards_deg=0.0
    )
    assert 0.0 < float(across.head_towards_deg) < 90.0
    up = spread_towards(
        head=_fire(0.0, 25.0), upslope_deg=200.0, downwind_deg=0.0, towards_deg=200.0
    )
    assert float(up.head_towards_deg) == pytest.approx(200.0)


@pytest.mark.parametrize("code", ["1", "GR2", "SH5", "TL8"])
@pytest.mark.parametrize("wind", [0.3, 2.0, 8.0])
def test_wind_comes_back_from_its_factor(code: str, wind: float) -> None:
    """The effective wind of a fire on the level is the wind it was given."""
    fire = _fire(wind, code=code)
    found = effective_wind_rothermel(fire=fire, factor=fire.wind_factor)
    assert float(found) == pytest.approx(wind, rel=1e-6)


def test_back_fire_is_near_the_no_wind_rate() -> None:
    """A back fire is commonly taken at about the no-wind rate (Rothermel 1983); here 0.2 to 1.5."""
    for code in ("1", "3", "GR2", "GR4", "GS2"):
        fire = _fire(2.0, code=code)
        back = spread_towards(head=fire, upslope_deg=0.0, downwind_deg=0.0, towards_deg=180.0)
        ratio = float(back.spread_rate_m_s) / float(fire.no_wind_spread_rate_m_s)
        assert 0.2 < ratio < 1.5
