"""Dead fuel moisture: limits, directions, siblings, tables, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics.fuel_moisture import (
    SiteHeight,
    coarse_dead_moisture_rothermel,
    equilibrium_moisture_simard,
    equilibrium_moisture_van_wagner,
    equilibrium_moisture_wood_handbook,
    fine_dead_moisture,
    forest_fire_danger_index_noble,
    moisture_correction_rothermel,
    one_hour_moisture_fosberg,
    reference_moisture_rothermel,
)
from stillwet.tables import load_table

TABLE = load_table("fuel_moisture_tables")
HUMIDITY = np.linspace(0.02, 0.95, 94)
WARM = np.linspace(280.0, 315.0, 36)  # below 7 C the handbook's table is flat


def test_damper_air_never_holds_drier_fuel() -> None:
    """Each relation rises with humidity at 25 C, across the steps between its pieces."""
    series = [
        equilibrium_moisture_simard(air_temperature_k=298.15, relative_humidity=HUMIDITY),
        equilibrium_moisture_wood_handbook(air_temperature_k=298.15, relative_humidity=HUMIDITY),
        *equilibrium_moisture_van_wagner(air_temperature_k=298.15, relative_humidity=HUMIDITY),
        reference_moisture_rothermel(air_temperature_k=298.15, relative_humidity=HUMIDITY),
    ]
    for moisture in series:
        assert np.all(np.diff(np.asarray(moisture)) >= 0)
        assert np.asarray(moisture).max() < 0.35


def test_warmer_air_never_holds_damper_fuel() -> None:
    """Each relation falls, or stays, as the air warms at 30 % humidity."""
    series = [
        equilibrium_moisture_simard(air_temperature_k=WARM, relative_humidity=0.3),
        equilibrium_moisture_wood_handbook(air_temperature_k=WARM, relative_humidity=0.3),
        *equilibrium_moisture_van_wagner(air_temperature_k=WARM, relative_humidity=0.3),
        reference_moisture_rothermel(air_temperature_k=WARM, relative_humidity=0.3),
    ]
    for moisture in series:
        assert np.all(np.diff(np.asarray(moisture)) <= 1e-12)


def test_bone_dry_air_leaves_next_to_nothing() -> None:
    """At 0 % humidity no relation holds more than 0.1 point, and none is negative."""
    for moisture in (
        equilibrium_moisture_simard(air_temperature_k=300.0, relative_humidity=0.0),
        equilibrium_moisture_wood_handbook(air_temperature_k=300.0, relative_humidity=0.0),
        *equilibrium_moisture_van_wagner(air_temperature_k=300.0, relative_humidity=0.0),
    ):
        assert 0.0 <= float(moisture) < 1e-3


def test_siblings_agree_within_a_point_on_wood() -> None:
    """Simard and the wood handbook differ by under 1 point from 5 to 90 % humidity, 5 to 40 C."""
    warm, humid = np.meshgrid(np.linspace(278.0, 313.0, 15), np.linspace(0.05, 0.90, 40))
    simard = equilibrium_moisture_simard(air_temperature_k=warm, relative_humidity=humid)
    handbook = equilibrium_moisture_wood_handbook(air_temperature_k=warm, relative_humidity=humid)
    assert np.abs(np.asarray(simard) - np.asarray(handbook)).max() < 0.010


def test_fuel_dries_to_more_than_it_wets_to() -> None:
    """Hysteresis: the drying limit is above the wetting limit everywhere."""
    drying, wetting = equilibrium_moisture_van_wagner(
        air_temperature_k=295.0, relative_humidity=HUMIDITY
    )
    assert np.all(np.asarray(drying) > np.asarray(wetting))


def test_sun_dries_and_cloud_takes_it_back() -> None:
    """Sunlit fuel is drier than shaded; each class of more cloud is damper; shade ignores cloud."""
    sky = np.array([0.0, 0.3, 0.7, 1.0])
    sunlit, shaded = (
        np.asarray(
            one_hour_moisture_fosberg(
                air_temperature_k=303.0, relative_humidity=0.25, cloud_cover=sky, is_sunlit=is_lit
            )
        )
        for is_lit in (True, False)
    )
    assert np.all(np.diff(sunlit) > 0)
    assert np.all(sunlit < shaded)
    assert np.all(shaded == shaded[0])


def test_sun_may_change_through_a_series() -> None:
    """A day and night series equals the two cases hour by hour."""
    is_lit = np.array([True, False, True])
    series = one_hour_moisture_fosberg(
        air_temperature_k=np.full(3, 303.0),
        relative_humidity=0.25,
        cloud_cover=0.0,
        is_sunlit=is_lit,
    )
    for hour, lit in enumerate(is_lit):
        single = one_hour_moisture_fosberg(
            air_temperature_k=303.0,
            relative_humidity=0.25,
            cloud_cover=0.0,
            is_sunlit=bool(lit),
        )
        assert np.asarray(series)[hour] == float(single)


def test_the_chooser_spans_its_siblings_and_flags_frost() -> None:
    """The chosen value lies in its interval, the interval holds each sibling, frost is flagged."""
    air = {"air_temperature_k": np.array([265.0, 300.0]), "relative_humidity": np.array([0.6, 0.2])}
    found = fine_dead_moisture(**air, cloud_cover=0.2, is_sunlit=True)
    low, high = np.asarray(found.low), np.asarray(found.high)
    assert np.all((low <= np.asarray(found.moisture)) & (np.asarray(found.moisture) <= high))
    drying, wetting = equilibrium_moisture_van_wagner(**air)
    for sibling in (
        drying,
        wetting,
        equilibrium_moisture_simard(**air),
        equilibrium_moisture_wood_handbook(**air),
    ):
        assert np.all((low <= np.asarray(sibling)) & (np.asarray(sibling) <= high))
    assert found.flags == ("air outside 0 to 50 C",)
    assert found.model == "one_hour_moisture_fosberg"


def test_reference_table_is_whole_and_rises_along_its_rows() -> None:
    """Table A: 6 rows of 21, within 1 to 14 %, rising with humidity, never rising with warmth."""
    table = np.array(TABLE["day"]["percent"])
    assert table.shape == (6, 21)
    assert table.min() == 1
    assert table.max() == 14
    assert np.all(np.diff(table, axis=1) >= 0)
    assert np.all(np.diff(table, axis=0) <= 0)


def test_corrections_are_whole_and_ordered() -> None:
    """Tables B to D: 0 to 6 points; higher sites, shade and winter are wetter."""
    means: dict[str, dict[str, float]] = {}
    for season in TABLE["season"]:
        for shade in ("exposed", "shaded"):
            cells = np.array(
                [[[int(digit) for digit in cell] for cell in row] for row in season[shade].values()]
            )
            assert cells.shape == (8 if shade == "exposed" else 4, 6, 3)
            assert cells.min() >= 0
            assert cells.max() <= 6
            assert np.all(np.diff(cells, axis=2) >= 0)
            means.setdefault(season["table"], {})[shade] = float(cells.mean())
        assert means[season["table"]]["shaded"] > means[season["table"]]["exposed"]
    for shade in ("exposed", "shaded"):
        assert means["B"][shade] < means["C"][shade] < means["D"][shade]
    assert sorted(month for season in TABLE["season"] for month in season["months"]) == list(
        range(1, 13)
    )


def test_bins_change_at_their_printed_edges() -> None:
    """4 and 5 %, 69 and 70 F, 1159 and 1200, 30 and 31 % of slope fall in different cells."""

    def reference(fahrenheit: float, percent: float) -> float:
        kelvin = (fahrenheit - 32) / 1.8 + 273.15
        found = reference_moisture_rothermel(
            air_temperature_k=kelvin, relative_humidity=percent / 100
        )
        return round(float(found) * 100)

    assert (reference(60, 9), reference(60, 10)) == (2, 2)
    assert (reference(60, 4.99), reference(60, 5)) == (1, 2)
    assert (reference(69, 5), reference(70, 5)) == (2, 1)
    assert (reference(80, 99), reference(80, 100)) == (12, 13)
    assert reference(-5, 100) == reference(20, 100) == 14

    def correction(local_hour: float, slope: float, site: SiteHeight = SiteHeight.LEVEL) -> float:
        found = moisture_correction_rothermel(
            month=6,
            local_hour=local_hour,
            aspect="W",
            slope_fraction=slope,
            is_shaded=False,
            site=site,
        )
        return round(found * 100)

    assert (correction(9.99, 0.1), correction(10.0, 0.1)) == (3, 1)
    assert (correction(8.0, 0.30), correction(8.0, 0.31)) == (3, 5)
    assert correction(8.0, 0.1, SiteHeight.BELOW) == 2
    assert correction(8.0, 0.1, SiteHeight.ABOVE) == 4


def test_coarse_fuel_is_one_and_two_points_wetter() -> None:
    """6 % in 1-h fuel stands for 7 and 8 % in 10-h and 100-h, as the printed scenarios do."""
    ten, hundred = coarse_dead_moisture_rothermel(one_hour=0.06)
    assert (float(ten), float(hundred)) == pytest.approx((0.07, 0.08))


def test_danger_rises_with_each_of_its_drivers() -> None:
    """Drier, hotter, windier and longer without rain each raise the index."""
    base = {
        "drought_factor": 7.0,
        "air_temperature_k": 303.0,
        "relative_humidity": 0.3,
        "wind_speed_m_s": 8.0,
    }
    danger = float(forest_fire_danger_index_noble(**base))
    for name, worse in (
        ("drought_factor", 9.0),
        ("air_temperature_k", 308.0),
        ("relative_humidity", 0.2),
        ("wind_speed_m_s", 12.0),
    ):
        assert float(forest_fire_danger_index_noble(**{**base, name: worse})) > danger


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: equilibrium_moisture_simard(air_temperature_k=300.0, relative_humidity=30.0),
            "relative_humidity: wanted 0 to 1 fraction, got 30.0; is it in percent?",
        ),
        (
            lambda: equilibrium_moisture_wood_handbook(
                air_temperature_k=25.0, relative_humidity=0.3
            ),
            "air_temperature: wanted 213.15 to 343.15 K, got 25.0; is it in C or F?",
        ),
        (
            lambda: one_hour_moisture_fosberg(
                air_temperature_k=300.0, relative_humidity=0.3, cloud_cover=40.0, is_sunlit=True
            ),
            "cloud_cover: wanted 0 to 1 fraction, got 40.0; is it in percent?",
        ),
        (
            lambda: moisture_correction_rothermel(
                month=7, local_hour=22.0, aspect="N", slope_fraction=0.1, is_shaded=False
            ),
            "local_hour: wanted 8 to 19.9999 h, got 22.0; the day tables run from 0800 to 1959",
        ),
        (
            lambda: moisture_correction_rothermel(
                month=13, local_hour=12.0, aspect="N", slope_fraction=0.1, is_shaded=False
            ),
            "month: wanted 1 to 12, got 13",
        ),
        (
            lambda: moisture_correction_rothermel(
                month=7, local_hour=12.0, aspect="SW", slope_fraction=0.1, is_shaded=False
            ),
            "aspect: wanted one of N, E, S, W, got 'SW'",
        ),
        (
            lambda: forest_fire_danger_index_noble(
                drought_factor=0.0,
                air_temperature_k=300.0,
                relative_humidity=0.3,
                wind_speed_m_s=5.0,
            ),
            "drought_factor: wanted 0.01 to 10, got 0.0",
        ),
    ],
)
def test_impossible_inputs_are_refused_in_words(call: object, words: str) -> None:
    """Percent, Celsius, night hours and unknown words are named and explained."""
    assert callable(call)
    with pytest.raises(StillwetError) as caught:
        call()
    assert str(caught.value) == words
