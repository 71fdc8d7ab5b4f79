"""Air transmissivity: published range, limits and direction."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.physics.transmissivity import is_in_fuss_hamins_range, transmissivity_fuss_hamins

AS3959_AIR = {
    "air_temperature_k": 308.0,
    "flame_temperature_k": 1090.0,
    "relative_humidity": 0.25,
}


def test_longer_path_lets_less_through_over_the_whole_range() -> None:
    """Between 1 and 200 m, each further metre lowers the transmissivity, and it stays in 0..1."""
    tau = np.asarray(transmissivity_fuss_hamins(path_m=np.arange(1.0, 201.0), **AS3959_AIR))
    assert np.all(np.diff(tau) < 0)
    assert 0 < tau.min() < tau.max() < 1


def test_damper_air_lets_less_through() -> None:
    """Water vapour absorbs: transmissivity falls with humidity at every path length."""
    dry, damp = (
        np.asarray(
            transmissivity_fuss_hamins(
                path_m=np.array([10.0, 50.0, 150.0]),
                air_temperature_k=303.0,
                flame_temperature_k=1200.0,
                relative_humidity=humidity,
            )
        )
        for humidity in (0.25, 0.9)
    )
    assert np.all(damp < dry)


def test_paths_beyond_the_fit_keep_the_value_at_its_end() -> None:
    """The quartic is not followed past 200 m."""
    far, end = (transmissivity_fuss_hamins(path_m=path, **AS3959_AIR) for path in (500.0, 200.0))
    assert far == end


def test_range_is_the_published_one() -> None:
    """10 to 200 m, 19 to 35 C and 25 to 100 % humidity are inside; each edge passed is outside."""
    inside = {"path_m": 50.0, "air_temperature_k": 303.0, "relative_humidity": 0.5}
    assert is_in_fuss_hamins_range(**inside)
    for field, value in (
        ("path_m", 9.0),
        ("path_m", 201.0),
        ("air_temperature_k", 291.0),
        ("air_temperature_k", 309.0),
        ("relative_humidity", 0.2),
    ):
        assert not is_in_fuss_hamins_range(**{**inside, field: value})


@pytest.mark.parametrize(
    ("path_m", "temperature_c", "humidity", "is_in"),
    [
        (10.0, 25.0, 0.5, True),
        (200.0, 25.0, 0.5, True),
        (9.9, 25.0, 0.5, False),
        (201.0, 25.0, 0.5, False),
        (50.0, 25.0, 0.25, True),
        (50.0, 25.0, 1.0, True),
        (50.0, 25.0, 0.24, False),
        (50.0, 18.0, 0.5, False),
        (50.0, 36.0, 0.5, False),
    ],
)
def test_the_published_range_has_its_ends(
    path_m: float, temperature_c: float, humidity: float, is_in: bool
) -> None:
    """Fuss & Hamins 2002, abstract: 10 to 200 m, 19 to 35 C, 25 to 100 % humidity."""
    found = is_in_fuss_hamins_range(
        path_m=path_m, air_temperature_k=temperature_c + 273.15, relative_humidity=humidity
    )
    assert bool(found) is is_in
