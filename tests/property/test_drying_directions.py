"""Which way drying may go: a thicker coat, damper air, less wind or sun never leave less."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from stillwet.physics import coat, kernel

HOURS = 6

temperatures = st.floats(275.0, 325.0)
humidities = st.floats(0.02, 0.98)
winds = st.floats(0.0, 20.0)
suns = st.floats(0.0, 1000.0)
shares = st.floats(0.0, 1.0)
codes = st.integers(0, 3)
exponents = st.floats(0.0, 1.0)
coats = st.floats(0.05, 10.0)
demands = st.floats(0.0, 30.0)


def demand(
    *, code: int, kelvin: float, humidity: float, wind: float, sun: float, sky: float = 380.0
) -> float:
    """Drying demand [kg/m2s] of one face in one hour."""
    length = (2.5, 5.0, 0.3, 0.003)[code]
    one: dict[str, Any] = {
        "air_temperature_k": [[kelvin]],
        "relative_humidity": [[humidity]],
        "wind_speed_m_s": [[wind]],
        "pressure_pa": [95000.0],
        "irradiance_w_m2": [[sun]],
        "irradiance_factor": [[1.0]],
        "sky_longwave_w_m2": [[sky]],
        "tilt_deg": [90.0],
        "length_m": [length],
        "height_m": [1.5],
        "geometry": [code],
        "sheltering": [1.0],
    }
    return float(kernel.drying_demand_grid(**one)[0, 0, 0])


@given(codes, temperatures, humidities, humidities, winds, suns)
def test_damper_air_never_takes_more(
    code: int, kelvin: float, first: float, second: float, wind: float, sun: float
) -> None:
    """At the same temperature, wind and radiation the damper air takes no more water."""
    dry, damp = sorted((first, second))
    state: dict[str, Any] = {"code": code, "kelvin": kelvin, "wind": wind, "sun": sun}
    assert demand(**state, humidity=damp) <= demand(**state, humidity=dry) + 1e-12


@given(codes, temperatures, humidities, winds, suns, suns)
def test_less_sun_never_takes_more(
    code: int, kelvin: float, humidity: float, wind: float, first: float, second: float
) -> None:
    """With less sun on the face no more water goes."""
    weak, strong = sorted((first, second))
    state: dict[str, Any] = {"code": code, "kelvin": kelvin, "wind": wind, "humidity": humidity}
    assert demand(**state, sun=weak) <= demand(**state, sun=strong) + 1e-12


@given(codes, temperatures, st.floats(0.02, 0.5), winds, winds)
def test_less_wind_never_takes_more_where_the_air_is_warmer_than_the_coat(
    code: int, kelvin: float, humidity: float, first: float, second: float
) -> None:
    """No sun, a sky no warmer than the air: the coat is cooler than the air, wind only dries."""
    slow, fast = sorted((first, second))
    sky = 0.8 * 5.670374419e-8 * kelvin**4
    state: dict[str, Any] = {
        "code": code,
        "kelvin": kelvin,
        "humidity": humidity,
        "sun": 0.0,
        "sky": sky,
    }
    assert demand(**state, wind=slow) <= demand(**state, wind=fast) + 1e-12


@given(codes, temperatures, humidities, winds, suns)
def test_demand_is_never_negative(
    code: int, kelvin: float, humidity: float, wind: float, sun: float
) -> None:
    """Dew is floored: the weather never gives water to a coat."""
    found = demand(code=code, kelvin=kelvin, humidity=humidity, wind=wind, sun=sun, sky=250.0)
    assert 0.0 <= found < 0.01


@given(coats, coats, demands, exponents)
def test_thicker_coat_never_leaves_less(
    first: float, second: float, drying: float, exponent: float
) -> None:
    """Of two coats under the same weather the thicker has no less water left."""
    thin, thick = sorted((first, second))
    left = [
        coat.coat_left(coat_kg_m2=m, drying_kg_m2=drying, exponent=exponent) for m in (thin, thick)
    ]
    assert left[0] <= left[1] + 1e-12 * thick


@given(coats, coats, shares, exponents)
def test_thicker_coat_never_lasts_shorter(
    first: float, second: float, share: float, exponent: float
) -> None:
    """The demand a coat stands until a given water is left never falls with its thickness."""
    thin, thick = sorted((first, second))
    target = share * thin
    lasting = [
        coat.drying_until(coat_kg_m2=m, target_kg_m2=target, exponent=exponent)
        for m in (thin, thick)
    ]
    assert lasting[0] <= lasting[1] * (1 + 1e-9) + 1e-12


@given(coats, st.lists(st.floats(-1.0, 2.0), min_size=HOURS, max_size=HOURS), exponents)
def test_nothing_that_falls_on_a_coat_restores_it(
    laid: float, hourly: list[float], exponent: float
) -> None:
    """Hour by hour, hours of dew or rain (a demand below 0) among them, the water never rises."""
    history = [laid]
    for step in hourly:
        left = coat.coat_left_from(
            water_kg_m2=history[-1], coat_kg_m2=laid, drying_kg_m2=step, exponent=exponent
        )
        history.append(float(left))
    assert all(later <= earlier for earlier, later in pairwise(history))
    assert history[-1] >= 0.0


@given(coats, coats, demands, exponents)
def test_wetting_a_dried_coat_again_counts_for_nothing_above_what_was_laid(
    laid: float, added: float, drying: float, exponent: float
) -> None:
    """Water claimed above the coat laid is taken as the coat laid, no more."""
    swollen = coat.coat_left_from(
        water_kg_m2=laid + added, coat_kg_m2=laid, drying_kg_m2=drying, exponent=exponent
    )
    fresh = coat.coat_left(coat_kg_m2=laid, drying_kg_m2=drying, exponent=exponent)
    assert abs(float(swollen) - float(fresh)) <= 1e-9 * laid
