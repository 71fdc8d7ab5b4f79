"""The drying exponent from weights: found again, and refused where nothing can be found."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.domain.trials import DryingSeries
from stillwet.errors import StillwetError
from stillwet.evidence.drying_fit import demand_sum, fit_drying, water_left
from stillwet.physics.product_types import product_type
from trial_fixture import SOLIDS, made_series, weighing

KIND = product_type(name="superabsorbent_dispersion")


@pytest.mark.parametrize("exponent", [0.5, 0.75, 1.0])
def test_the_exponent_is_found_again(exponent: float) -> None:
    """From exact weights the band closes round the exponent that made them."""
    fit = fit_drying([made_series(exponent, seed=0, hours=10.0, noise=0.0)], KIND)
    assert fit.low - 0.03 <= exponent <= fit.high + 0.03
    assert fit.high - fit.low < 0.3
    assert fit.odd == 0


def test_bands_hold_the_exponent_nine_times_in_ten() -> None:
    """Exponent, weather and scales drawn as the fit supposes: 32 to 40 of 40 lie in the bands."""
    held = 0
    for seed in range(40):
        random = np.random.default_rng(seed)
        exponent = float(np.clip(0.75 + 0.152 * random.standard_normal(), 0.0, 1.0))
        factor = float(np.exp(0.25 * random.standard_normal()))
        fit = fit_drying([made_series(exponent, seed=seed, factor=factor)], KIND)
        held += fit.low <= exponent <= fit.high
    assert 32 <= held <= 40


def test_wrong_weather_is_laid_to_the_weather() -> None:
    """A coat that dries a third faster than the weather says: factor above 1, exponent kept."""
    fit = fit_drying([made_series(0.75, seed=1, factor=1.35, noise=0.01)], KIND)
    assert fit.factors[0] > 1.15
    assert fit.low <= 0.75 <= fit.high


def test_two_coats_say_more_than_one() -> None:
    """The exponent is shared, so a second coat narrows its band."""
    one = fit_drying([made_series(0.75, seed=1)], KIND)
    two = fit_drying([made_series(0.75, seed=1), made_series(0.75, seed=2)], KIND)
    assert two.high - two.low < one.high - one.low


def test_few_hours_leave_the_default() -> None:
    """Weighed while hardly anything is gone, every exponent looks alike: the prior's band stays."""
    fit = fit_drying([made_series(0.75, seed=1, hours=0.4)], KIND)
    assert fit.high - fit.low > 0.8 * 0.45
    assert fit.least_left > 0.6


def test_an_odd_weighing_is_flagged() -> None:
    """One slip of the scales is named and does not carry the exponent away."""
    series = made_series(0.75, seed=3, noise=0.005)
    slips = list(series.weighings)
    slips[5] = weighing(slips[5].when_s, slips[5].mass_kg_m2 + 0.6)
    soiled = DryingSeries("c1", "p", SOLIDS, 90.0, 0.3, tuple(slips))
    clean, odd = fit_drying([series], KIND), fit_drying([soiled], KIND)
    assert clean.odd == 0
    assert odd.odd == 1
    assert odd.median == pytest.approx(clean.median, abs=0.12)


def test_more_wind_and_drier_air_take_more() -> None:
    """The weather at the coupon counts, weighing by weighing."""
    times = (0.0, 3600.0, 7200.0)

    def total(**air: float) -> float:
        looks = tuple(weighing(when, 2.0, **air) for when in times)
        return float(demand_sum(DryingSeries("c", "p", 0.0, 90.0, 0.3, looks))[-1])

    assert total(wind=8.0) > total() > total(wind=1.0)
    assert total(humidity=0.1) > total() > total(humidity=0.6)


def test_solids_do_not_dry() -> None:
    """A coat of 2 mm with 5 % solids holds 1.9 mm of water, and 0.9 mm once it weighs half."""
    looks = (weighing(0.0, 2.0), weighing(3600.0, 1.0))
    series = DryingSeries("c", "p", 0.05, 90.0, 0.3, looks)
    np.testing.assert_allclose(water_left(series), [1.9, 0.9])


def test_weights_that_say_nothing_are_refused() -> None:
    """All equal, lighter than the solids alone, or wet air: each gets its own answer."""
    hours = (0.0, 3600.0, 7200.0)

    def series(masses: tuple[float, ...], humidity: float = 0.2) -> DryingSeries:
        looks = tuple(
            weighing(when, mass, humidity=humidity)
            for when, mass in zip(hours, masses, strict=True)
        )
        return DryingSeries("c", "p", 0.2, 90.0, 0.3, looks)

    with pytest.raises(StillwetError, match="all weights equal"):
        fit_drying([series((2.0, 2.0, 2.0))], KIND)
    with pytest.raises(StillwetError, match="less than the solids alone"):
        fit_drying([series((2.0, 1.0, 0.1))], KIND)
    with pytest.raises(StillwetError, match="air in which nothing dries"):
        fit_drying([series((2.0, 1.9, 1.8), humidity=1.0)], KIND)
    with pytest.raises(StillwetError, match="at least one coat"):
        fit_drying([], KIND)
