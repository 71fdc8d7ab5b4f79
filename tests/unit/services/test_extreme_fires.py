"""Fires that cannot be, or that no relation was tested for, are refused or flagged in the plan.

Every case goes the whole way: the job's files, the readers, the plan.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from job_folder import ASSETS, JOB, good, messages
from stillwet.domain.plan import Plan, Verdict
from stillwet.engine.make_plan import make_plan

PLACE = "(job.toml, [fire])"
EMBERS = "a low radiant flux does not make the face safe"


def fire(*lines: str) -> str:
    """The job with these lines more in its [fire] table."""
    return JOB.replace('from = "SW"\n', 'from = "SW"\n' + "".join(f"{line}\n" for line in lines))


def plan_of(tmp_path: Path, *lines: str, **files: str) -> Plan:
    """The plan of a job that reads."""
    return make_plan(good(tmp_path, job=fire(*lines), **files), now_s=0.0)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        # unit flips: a rate in metres a minute for metres a second, minutes for seconds, kW for W
        ('spread_rate = "40 m/s"', f"spread_rate: wanted 0 to 10 m/s, got '40 m/s' {PLACE}"),
        ('flame_length = "120 m"', f"flame_length: wanted 0 to 100 m, got '120 m' {PLACE}"),
        ('residence = "150 min"', f"residence: wanted 0 to 120 min, got '150 min' {PLACE}"),
        ("flame_length = 12", "flame_length: wanted a unit after the number"),
        ('flame_length = "12 kg"', "flame_length: wanted a unit of length"),
        ('spread_rate = "5 kW/m2"', "spread_rate: wanted a unit of speed"),
        # negative flame
        ('flame_length = "-3 m"', f"flame_length: wanted 0 to 100 m, got '-3 m' {PLACE}"),
        # distance below 0
        ('setback = "-1 ft"', f"setback: wanted 0 to 1640 ft, got '-1 ft' {PLACE}"),
        # slope 60 degrees, of fuel and of ground
        ('fuel_model = "4"\nfuel_slope = "60 deg"', "fuel_slope: wanted 0 to 45 deg, got '60 deg'"),
        ('ground_slope = "60 deg"', "ground_slope: wanted -45 to 45 deg, got '60 deg'"),
        ("flame_tilt = 95", f"flame_tilt: wanted 0 to 80 deg, got 95 {PLACE}"),
        # moisture 400 %, and percent for a fraction
        ('fuel_model = "4"\nmoisture_1h = "400 %"', "moisture_1h: wanted 0 to 200 %, got '400 %'"),
        ('fuel_model = "4"\nmoisture_woody = "400 %"', "moisture_woody: wanted 10 to 350 %"),
        ('fuel_model = "4"\nmoisture_1h = 8', "moisture_1h: wanted a unit after the number"),
        # half of a flux, and flux in W for kW
        ('flux_peak = "20 kW/m2"', "flux: wanted both a peak and a duration, got only one"),
        ('flux_peak = "500 kW/m2"', "flux_peak: wanted 0 to 300 kW/m2, got '500 kW/m2'"),
        # a standing fire further off than anything that heats a wall
        ('also = "burning fence 900 m from N"', "setback: wanted 0 to 500 m, got '900 m'"),
    ],
)
def test_the_impossible_is_refused(tmp_path: Path, line: str, message: str) -> None:
    """The message names the key, what was wanted, what came, and where it stood."""
    found = messages(tmp_path, job=fire(line))
    assert any(text.startswith(message) for text in found), found


def test_distance_zero_is_flame_contact(tmp_path: Path) -> None:
    """Flames on the wall: faces towards the fire get the contact flux, and the reason says so."""
    plan = plan_of(tmp_path, 'setback = "0 ft"')
    (house,) = [asset for asset in plan.assets if asset.asset_id == "h1"]
    by_face = {face.surface.label: face for face in house.surfaces}
    assert by_face["south wall"].peak_flux_w_m2 >= 130e3
    assert "Flames reach the face." in by_face["south wall"].reason
    assert house.verdict is Verdict.WILL_NOT_HOLD


def test_a_flame_of_nothing_is_not_safety(tmp_path: Path) -> None:
    """Flame length 0: no heat and no water for it, but a coat for the embers, and their words."""
    plan = plan_of(tmp_path, 'flame_length = "0 m"')
    for asset in plan.assets:
        assert asset.governing.water_demand_90_kg_m2 == pytest.approx(0.0, abs=1e-6)
        assert EMBERS in asset.cautions[0]
        assert asset.governing.coat_needed_kg_m2 > 0.5  # the embers' reserve and the drying


def test_a_flame_behind_the_wall_heats_the_other_side_only(tmp_path: Path) -> None:
    """Fire from the south-west: the north-east sides are cool, named, and told of embers."""
    assets = ASSETS.replace(",value", ",value,facing").replace(",9,100", ",9,100,SW")
    assets = assets.replace("14,60", "14,60,").replace("12,5", "12,5,")
    plan = plan_of(tmp_path, 'setback = "12 m"', assets=assets)
    (house,) = [asset for asset in plan.assets if asset.asset_id == "h1"]
    behind = next(face for face in house.surfaces if face.surface.label == "north-east wall")
    before = next(face for face in house.surfaces if face.surface.label == "south-west wall")
    assert behind.peak_flux_w_m2 < 0.05 * before.peak_flux_w_m2
    assert behind.water_demand_90_kg_m2 == 0.0
    (said,) = [line for line in house.cautions if EMBERS in line]
    assert "north-east wall" in said.lower()


def test_steep_ground_is_flagged_to_the_plan(tmp_path: Path) -> None:
    """44 degrees is steeper than any bed tested: reckoned, and said with asset and job."""
    plan = plan_of(tmp_path, 'fuel_model = "GR2"', 'fuel_slope = "44 deg"')
    for asset in plan.assets:
        assert any("slope steeper than the beds tested" in line for line in asset.cautions)
    assert any(
        line.startswith("3 of 3 assets meet a reckoned flame outside the range")
        for line in plan.warnings
    )


def test_wet_fuel_is_flagged_to_the_plan(tmp_path: Path) -> None:
    """Fuel at 150 % is possible and does not burn: the plan says no flame was reckoned with."""
    plan = plan_of(tmp_path, 'fuel_model = "GR2"', 'moisture_1h = "150 %"')
    for asset in plan.assets:
        assert any("this fire does not spread" in line for line in asset.cautions)
        assert any(EMBERS in line for line in asset.cautions)


def test_air_outside_the_published_transmissivity_is_flagged(tmp_path: Path) -> None:
    """At 5 % humidity the flux is extrapolated, and the plan warns of it once."""
    from job_folder import weather_lines

    dry = "\n".join(line.replace(",30,", ",5,") for line in weather_lines())
    warnings = [line for line in plan_of(tmp_path, weather=dry).warnings if "transmis" in line]
    assert len(warnings) == 1
    assert "3 of 3 assets" in warnings[0]


def test_where_a_reckoned_flame_came_from_reaches_the_plan(tmp_path: Path) -> None:
    """The asset's inputs name the fuel, its untested live moisture, and the published relations."""
    plan = plan_of(tmp_path, 'fuel_model = "SH5"', 'also = "burning shrub 2 m from N"')
    inputs = {item.name: item for item in plan.assets[0].inputs}
    assert inputs["fuel model"].value == "SH5"
    assert inputs["fuel moisture herb"].basis.low == pytest.approx(0.3)
    assert "Rothermel 1972" in inputs["flame length"].basis.source
    assert inputs["burning shrub: setback"].value == 2.0
