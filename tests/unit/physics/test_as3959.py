"""AS 3959 Method 2: the whole chain against its tables, and its limits, directions and refusals."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics.as3959 import (
    attack_level,
    distance_for_flux_as3959,
    distances_for_levels_as3959,
    emissive_power_as3959,
    exposure_as3959,
    front_as3959,
    grass_index_paired,
    vegetation_named,
    view_factor_as3959,
)
from stillwet.tables import load_table

TABLES = Path(__file__).parents[2] / "reference" / "as3959.toml"
NAMES = [row["name"] for row in load_table("as3959")["vegetation"]]
LEVELS_W_M2 = (40e3, 29e3, 19e3, 12.5e3)


def _table_rows() -> list[tuple[dict[str, object], list[float]]]:
    cases = tomllib.loads(TABLES.read_text(encoding="utf-8"))["case"]
    return [
        (case["inputs"], case["expected"])
        for case in cases
        if case["name"].startswith("distances, ")
    ]


def _whole_metre_hits(flux_factor: float, *, only_level: bool) -> tuple[int, int]:
    """Table cells that round to the printed metre with every limit scaled, and all cells."""
    hits = cells = 0
    for inputs, printed in _table_rows():
        if only_level and inputs["slope_deg"] != 0.0:
            continue
        for limit, metres in zip(LEVELS_W_M2, printed, strict=True):
            found = distance_for_flux_as3959(
                vegetation=str(inputs["vegetation"]),
                fire_danger_index=float(str(inputs["fire_danger_index"])),
                slope_deg=float(str(inputs["slope_deg"])),
                heat_flux_w_m2=limit * flux_factor,
            )
            hits += abs(found - metres) <= 0.5
            cells += 1
    return hits, cells


def test_nearly_all_table_cells_round_to_the_printed_metre() -> None:
    """At least 131 of the 140 recalled cells agree to the metre (the rest within 1.1 m)."""
    hits, cells = _whole_metre_hits(1.0, only_level=False)
    assert cells == 140
    assert hits >= 131


@pytest.mark.parametrize("wrong", [0.95, 1.05])
def test_the_tables_notice_five_percent_of_flux(wrong: float) -> None:
    """A chain 5 % off (a black flame is) would lose more than a third of the level cells."""
    hits, cells = _whole_metre_hits(wrong, only_level=True)
    assert cells == 28
    assert hits < 0.67 * cells


def test_emissive_power_is_the_published_76_kw_m2() -> None:
    """0.95 * 5.67e-8 * 1090^4 = 76.03 kW/m2, worked by hand."""
    assert emissive_power_as3959() == pytest.approx(76.03e3, rel=1e-4)


def test_flux_falls_with_distance_and_rises_with_slope_and_danger() -> None:
    """Nearer, steeper and worse weather never lower the flux, for every vegetation.

    Where the flame reaches the face the flux stays at its most, within 0.1 % for whole degrees.
    """
    step = 1e-3 * emissive_power_as3959()
    for name in NAMES:

        def flux(name: str = name, **changes: float) -> float:
            inputs = {"fire_danger_index": 80.0, "slope_deg": 5.0, "distance_m": 20.0, **changes}
            return exposure_as3959(vegetation=name, **inputs).heat_flux_w_m2

        by_distance = [flux(distance_m=metres) for metres in (1.0, 5.0, 20.0, 50.0, 100.0, 300.0)]
        assert np.all(np.diff(by_distance) < step)
        assert np.all(np.diff(by_distance)[2:] < 0)
        by_slope = [flux(slope_deg=slope) for slope in (0.0, 5.0, 10.0, 15.0, 20.0)]
        assert np.all(np.diff(by_slope) > -step)
        assert by_slope[1] > by_slope[0]
        by_danger = [flux(fire_danger_index=index) for index in (40.0, 50.0, 80.0, 100.0)]
        assert np.all(np.diff(by_danger) >= 0)
        assert flux(distance_m=0.01) < emissive_power_as3959()


def test_a_narrower_flame_gives_less() -> None:
    """Width 50 m gives less flux than the Standard's 100 m, and 100 m is the default."""
    base = {
        "vegetation": "forest",
        "fire_danger_index": 100.0,
        "slope_deg": 0.0,
        "distance_m": 40.0,
    }
    narrow = exposure_as3959(**base, flame_width_m=50.0)  # type: ignore[arg-type]
    wide = exposure_as3959(**base, flame_width_m=100.0)  # type: ignore[arg-type]
    plain = exposure_as3959(**base)  # type: ignore[arg-type]
    assert narrow.heat_flux_w_m2 < wide.heat_flux_w_m2 == plain.heat_flux_w_m2


def test_upright_flame_matches_the_exact_infinite_strip() -> None:
    """A very wide upright flame seen from mid-height is sin(half angle), an exact view factor."""
    factor, path = view_factor_as3959(
        flame_length_m=10.0,
        flame_angle_deg=90.0,
        distance_m=10.0,
        slope_deg=0.0,
        flame_width_m=1e7,
    )
    assert float(path) == pytest.approx(10.0)
    assert float(factor) == pytest.approx(np.sin(np.arctan(0.5)), rel=1e-5)


def test_a_flame_over_the_receiver_is_not_counted() -> None:
    """A flat flame longer than twice the gap would stand behind the face: factor and path are 0."""
    factor, path = view_factor_as3959(
        flame_length_m=30.0,
        flame_angle_deg=np.array([5.0, 85.0]),
        distance_m=5.0,
        slope_deg=0.0,
        flame_width_m=100.0,
    )
    assert np.asarray(factor)[0] == 0.0
    assert np.asarray(path)[0] == 0.0
    assert 0.0 < np.asarray(factor)[1] < 1.0


def test_distance_and_flux_undo_each_other() -> None:
    """The flux at the distance found for a flux is that flux, for every vegetation."""
    for name in NAMES:
        found = distance_for_flux_as3959(
            vegetation=name, fire_danger_index=80.0, slope_deg=8.0, heat_flux_w_m2=15e3
        )
        again = exposure_as3959(
            vegetation=name, fire_danger_index=80.0, slope_deg=8.0, distance_m=found
        )
        assert again.heat_flux_w_m2 == pytest.approx(15e3, rel=2e-3)


def test_levels_end_nearest_first() -> None:
    """BAL-FZ, -40, -29 and -19 end at growing distances."""
    for name in NAMES:
        metres = distances_for_levels_as3959(vegetation=name, fire_danger_index=50.0, slope_deg=0.0)
        assert np.all(np.diff(metres) > 0)


def test_levels_have_the_published_limits() -> None:
    """12.5, 19, 29 and 40 kW/m2 belong to the level they end; above 40 is the flame zone."""
    fluxes = [0.0, 12.5e3, 12.6e3, 19e3, 29e3, 29.1e3, 40e3, 40.1e3]
    names = ["BAL-12.5", "BAL-12.5", "BAL-19", "BAL-19", "BAL-29", "BAL-40", "BAL-40", "BAL-FZ"]
    assert [attack_level(heat_flux_w_m2=flux) for flux in fluxes] == names


def test_shrubs_ignore_the_danger_index_and_slope_away_counts_as_level() -> None:
    """Shrub fronts follow a fixed wind; a fire coming downhill is taken as level and flagged."""
    scrub = vegetation_named("scrub")
    calm = front_as3959(vegetation=scrub, fire_danger_index=40.0)
    fierce = front_as3959(vegetation=scrub, fire_danger_index=100.0)
    assert calm.spread_rate_m_s == fierce.spread_rate_m_s
    away = front_as3959(vegetation=scrub, fire_danger_index=100.0, slope_deg=-15.0)
    assert away.spread_rate_m_s == fierce.spread_rate_m_s
    assert away.flags == ("slope away from the building taken as level",)


def test_ten_degrees_double_the_spread() -> None:
    """McArthur's rule of thumb: each 10 deg of slope doubles the rate of spread."""
    forest = vegetation_named("forest")
    level, ten = (
        front_as3959(vegetation=forest, fire_danger_index=60.0, slope_deg=slope)
        for slope in (0.0, 10.0)
    )
    assert ten.spread_rate_m_s == pytest.approx(2 * level.spread_rate_m_s, rel=0.01)


def test_extrapolation_is_flagged() -> None:
    """Beyond 20 deg, beyond index 100 and under 10 m of path each carry a flag; inside, none."""
    inside = exposure_as3959(
        vegetation="forest", fire_danger_index=80.0, slope_deg=0.0, distance_m=40.0
    )
    assert inside.flags == ()
    beyond = exposure_as3959(
        vegetation="forest", fire_danger_index=120.0, slope_deg=25.0, distance_m=5.0
    )
    assert beyond.flags == (
        "slope steeper than the tables",
        "fire danger index beyond 100",
        "path outside the air's 10 to 200 m fit",
    )


def test_grass_index_passes_through_the_printed_pairs() -> None:
    """40, 50, 80 and 100 give 50, 70, 110 and 130; between them it lies between."""
    pairs = {40.0: 50.0, 50.0: 70.0, 80.0: 110.0, 100.0: 130.0}
    for forest, grass in pairs.items():
        assert grass_index_paired(fire_danger_index=forest) == grass
    assert 70.0 < grass_index_paired(fire_danger_index=60.0) < 110.0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"vegetation": "jungle"}, "vegetation: wanted one of forest, woodland, rainforest"),
        ({"slope_deg": 60.0}, "slope: wanted -45 to 45 deg, got 60.0; is it in percent?"),
        ({"distance_m": 0.0}, "distance: wanted 0.01 to 2000 m, got 0.0; at 0 m the flame touches"),
        ({"fire_danger_index": 0.0}, "fire_danger_index: wanted 1 to 200, got 0.0"),
        (
            {"vegetation": "grassland", "fire_danger_index": 20.0},
            "fire_danger_index: wanted 40 to 100 for grassland, got 20.0",
        ),
    ],
)
def test_impossible_inputs_are_refused_in_words(changes: dict[str, object], words: str) -> None:
    """Each refusal names the field, what was wanted and what came."""
    inputs = {
        "vegetation": "forest",
        "fire_danger_index": 80.0,
        "slope_deg": 0.0,
        "distance_m": 20.0,
    }
    with pytest.raises(StillwetError) as caught:
        exposure_as3959(**{**inputs, **changes})  # type: ignore[arg-type]
    assert str(caught.value).startswith(words)


def test_a_flux_in_kilowatts_is_refused_and_one_never_met_is_told() -> None:
    """29 instead of 29 000 W/m2 is out of reach within 2 km or refused with a hint."""
    call = {"vegetation": "forest", "fire_danger_index": 100.0, "slope_deg": 20.0}
    with pytest.raises(StillwetError, match="is it in kW/m2"):
        distance_for_flux_as3959(**call, heat_flux_w_m2=5.0)  # type: ignore[arg-type]
    with pytest.raises(StillwetError, match="a flux met within 2000 m, got 10 W/m2"):
        distance_for_flux_as3959(**call, heat_flux_w_m2=10.0)  # type: ignore[arg-type]
