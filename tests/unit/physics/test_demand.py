"""Water demand: energy, thresholds, shapes, directions, and when a coat is used up."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97
from scipy import optimize

from stillwet.constants import BOILING_POINT
from stillwet.physics.demand import (
    coat_used_up_time,
    energy_to_dry,
    water_demand,
    water_time,
    wet_face_boiling_heat,
    wet_face_loss,
)
from stillwet.physics.flux import flux_from_peak, front_flux_history

FACE: dict[str, Any] = {
    "absorptivity": 0.95,
    "start_temperature_k": 300.0,
    "air_temperature_k": 308.0,
    "convection_w_m2k": 15.0,
    "water_efficiency": 0.7,
    "bare_limit_w_m2": 12e3,
}


def _demand(peak: float, duration: float, **changes: Any) -> Any:
    time, flux = flux_from_peak(flux_peak_w_m2=peak, flux_duration_s=duration)
    return water_demand(time_s=time, flux_w_m2=flux, **{**FACE, **changes})


@pytest.mark.parametrize("celsius", [1.0, 20.0, 40.0, 60.0, 80.0, 99.0])
def test_energy_is_that_of_the_steam_tables(celsius: float) -> None:
    """Liquid at its temperature to saturated vapour at 1 atm, IAPWS-97, to 0.1 %."""
    start = celsius + 273.15
    liquid, vapour = IAPWS97(T=start, x=0).h, IAPWS97(T=BOILING_POINT, x=1).h
    assert energy_to_dry(start) == pytest.approx((vapour - liquid) * 1e3, rel=1e-3)


@pytest.mark.parametrize("flux", [12e3, 25e3, 60e3])
def test_pulse_lies_between_hand_reckoned_bounds(flux: float) -> None:
    """Demand is under that of a face losing nothing, over that of one losing all it could."""
    lost = 0.95 * 5.670374e-8 * (373.15**4 - 308.0**4) + 15.0 * 65.15
    per_water = 0.7 * (4190 * 73.15 + 2256470)
    least, most = ((0.95 * flux - loss) * 100 / per_water for loss in (lost, 0.0))
    assert least < _demand(flux, 100.0)[0] < most
    assert wet_face_loss(air_temperature_k=308.0, convection_w_m2k=15.0) == pytest.approx(
        lost, rel=1e-6
    )


def test_wet_face_balance_is_that_of_scipy() -> None:
    """The settled temperature of a wet face, by root finder and steam tables: the same heat."""
    air, convection = 308.0, 15.0

    def balance(surface: float, absorbed: float) -> float:
        pressure = IAPWS97(T=surface, x=0).P / 0.101325
        share = 0.622 * pressure / (1 - 0.378 * pressure)
        rate = convection / 1007.0 * np.log((1 - 0.006) / (1 - share))
        blow = rate * 2000.0 / convection
        lost = 0.95 * 5.670374e-8 * (surface**4 - air**4)
        lost += convection * blow / np.expm1(blow) * (surface - air)
        return float(
            absorbed
            - lost
            - rate * IAPWS97(T=surface, x=1).h * 1e3
            + rate * IAPWS97(T=surface, x=0).h * 1e3
        )

    for absorbed in (2e3, 5e3, 15e3, 50e3):
        surface = optimize.brentq(balance, 309.0, 373.1, args=(absorbed,))
        pressure = IAPWS97(T=surface, x=0).P / 0.101325
        share = 0.622 * pressure / (1 - 0.378 * pressure)
        rate = convection / 1007.0 * np.log((1 - 0.006) / (1 - share))
        heat = rate * (IAPWS97(T=surface, x=1).h - IAPWS97(T=surface, x=0).h) * 1e3
        ours = wet_face_boiling_heat(
            absorbed_w_m2=absorbed, air_temperature_k=air, convection_w_m2k=convection
        )
        assert ours == pytest.approx(heat, rel=5e-3)


def test_small_flux_asks_nothing_of_wood_but_vinyl_must_stay_wet() -> None:
    """Under what the wet face sheds: nothing if the face bears it; if not, no loss is credited."""
    assert _demand(1.2e3, 600.0)[0] == 0.0
    vinyl = _demand(1.2e3, 600.0, bare_limit_w_m2=1e3)[0]
    assert vinyl == pytest.approx(0.95 * 1.2e3 * 600 / (0.7 * energy_to_dry(300.0)))
    assert _demand(8e3, 600.0)[0] > 0.0


def test_coarse_history_is_fine_enough() -> None:
    """A flux of straight lines: three points and 3001 give one demand, to 2 %."""
    coarse = np.array([0.0, 50.0, 150.0])
    flux = np.array([0.0, 10e3, 0.0])
    fine = np.linspace(0.0, 150.0, 3001)
    asked = [
        water_demand(time_s=time, flux_w_m2=np.interp(time, coarse, flux), **FACE)
        for time in (coarse, fine)
    ]
    assert asked[0] == pytest.approx(asked[1], rel=2e-2)


def test_faces_by_members() -> None:
    """(S, T) flux and (M,) efficiencies and temperatures give (S, M), each as if alone."""
    time, flux = flux_from_peak(flux_peak_w_m2=20e3, flux_duration_s=60.0, faces=2)
    flux[1] *= 2
    eta, start = np.array([0.5, 0.7, 1.0]), np.array([290.0, 300.0, 310.0])
    grid = water_demand(
        time_s=time,
        flux_w_m2=flux,
        **{**FACE, "water_efficiency": eta, "start_temperature_k": start},
    )
    assert grid.shape == (2, 3)
    for member in range(3):
        one = _demand(40e3, 60.0, water_efficiency=eta[member], start_temperature_k=start[member])
        assert grid[1, member] == pytest.approx(one[0])


@given(
    length=st.floats(0.5, 20.0),
    longer=st.floats(1.0, 2.0),
    setback=st.floats(1.0, 40.0),
    closer=st.floats(0.2, 1.0),
    eta=st.floats(0.5, 1.0),
)
def test_closer_longer_fire_never_asks_less(
    length: float, longer: float, setback: float, closer: float, eta: float
) -> None:
    """A nearer front, a longer flame, a lower efficiency: never less water."""

    def asked(flame: float, distance: float, efficiency: float) -> float:
        time, flux = front_flux_history(
            flame_length_m=flame,
            flame_width_m=80.0,
            flame_tilt_deg=20.0,
            spread_rate_m_s=0.5,
            residence_s=30.0,
            setback_m=distance,
            face_tilt_deg=[90.0],
            face_azimuth_deg=[0.0],
            face_height_m=[1.5],
            fire_bearing_deg=None,
            air_temperature_k=308.0,
            relative_humidity=0.2,
        )
        face = {**FACE, "water_efficiency": efficiency}
        return float(water_demand(time_s=time, flux_w_m2=flux, **face)[0])

    base = asked(length, setback, eta)
    slack = 1 - 1e-3
    assert asked(length * longer, setback, eta) >= base * slack
    assert asked(length, setback * closer, eta) >= base * slack
    assert asked(length, setback, 0.5 * eta) >= base


def test_coat_of_exactly_the_demand_lasts_to_the_end() -> None:
    """Just under the demand the coat goes at the end of the pulse; just over, never."""
    time, flux = flux_from_peak(flux_peak_w_m2=30e3, flux_duration_s=120.0)
    need = _demand(30e3, 120.0)[0]
    under, over = (
        coat_used_up_time(time_s=time, flux_w_m2=flux, coat_kg_m2=need * share, **FACE)[0]
        for share in (0.999, 1.001)
    )
    assert under == pytest.approx(120.0, rel=2e-3)
    assert over == np.inf


def test_steady_water_time_is_the_pulse_time() -> None:
    """The closed form for a steady flux is the history's answer; endless without flux."""
    face = {key: value for key, value in FACE.items() if key != "bare_limit_w_m2"}
    time, flux = flux_from_peak(flux_peak_w_m2=40e3, flux_duration_s=5000.0)
    history = coat_used_up_time(time_s=time, flux_w_m2=flux, coat_kg_m2=4.0, **FACE)[0]
    assert water_time(flux_w_m2=40e3, coat_kg_m2=4.0, **face) == pytest.approx(history)
    assert water_time(flux_w_m2=0.0, coat_kg_m2=4.0, **face) == np.inf


def test_units_rescale() -> None:
    """Seconds stretched and fluxes shrunk alike leave the demand of a loss-free face unchanged."""
    air = {"air_temperature_k": BOILING_POINT}
    assert _demand(40e3, 50.0, **air)[0] == pytest.approx(_demand(20e3, 100.0, **air)[0], rel=1e-3)
