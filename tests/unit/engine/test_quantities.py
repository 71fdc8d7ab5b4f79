"""Amounts by hand arithmetic: mix, water, concentrate, fills, minutes, money."""

from __future__ import annotations

import pytest

from job_fixture import START_S, make_crew, make_job, make_product
from stillwet.domain.products import RatioBasis
from stillwet.engine.make_plan import make_plan
from stillwet.engine.quantities import amount_for, load_for, reference_crew
from stillwet.errors import StillwetError


def test_amount_by_hand() -> None:
    """3 mm on 100 m2 is 300 L of water that stays; at 75 % transfer 400 L leave the nozzle; with
    2 % concentrate the mix is 400 / 0.98 = 408.2 L, and 2 L/s take 204 s.
    """
    found = amount_for(
        make_product(),
        area_m2=100.0,
        coat_kg_m2=3.0,
        ratio=0.02,
        transfer_efficiency=0.75,
        flow_m3_s=0.002,
    )
    assert found.water_m3 == pytest.approx(0.400)
    assert found.mix_m3 == pytest.approx(0.40816, rel=1e-4)
    assert found.concentrate_m3 == pytest.approx(0.008163, rel=1e-4)
    assert found.spray_s == pytest.approx(204.08, rel=1e-4)


def test_a_powder_takes_no_room() -> None:
    """1 % by mass of a powder: mix and water are the same, 4 kg of powder in 400 L."""
    powder = make_product(ratio_basis=RatioBasis.MASS, density_kg_m3=500.0)
    found = amount_for(
        powder,
        area_m2=100.0,
        coat_kg_m2=3.0,
        ratio=0.01,
        transfer_efficiency=0.75,
        flow_m3_s=0.002,
    )
    assert found.mix_m3 == found.water_m3 == pytest.approx(0.400)
    assert found.concentrate_m3 * powder.density_kg_m3 == pytest.approx(4.0)


def test_load_of_the_whole_job() -> None:
    """Sums of the assets; packs of 20 L at 120 dollars; fills of tank less reserve."""
    crews = (
        make_crew(id="a", name="Small", tank_m3=0.5, reserve_m3=0.25, spray_flow_m3_s=0.001),
        make_crew(id="b", name="All reserve", tank_m3=0.3, reserve_m3=0.3),
    )
    job = make_job(crews=crews)
    plan = make_plan(job, now_s=START_S)
    load = load_for(job, plan.assets)
    mix = sum(face.mix_m3 for face in plan.assets[0].surfaces)
    assert load.mix_m3 == pytest.approx(mix)
    assert load.water_m3 + load.concentrate_m3 == pytest.approx(mix)
    assert load.packs - 1 < load.concentrate_m3 / 0.02 <= load.packs
    assert load.cost == 120.0 * load.packs
    assert load.concentrate_kg == pytest.approx(1050.0 * load.concentrate_m3)
    small, none = load.crews
    assert small.fills is not None
    assert (small.fills - 1) * 0.25 < mix <= small.fills * 0.25
    assert small.spray_s == pytest.approx(mix / 0.001)
    assert none.fills is None
    assert load.reference_crew == "Small"


def test_minutes_are_reckoned_with_the_first_crew() -> None:
    """Half the flow, twice the nozzle time; set-up is added once an asset."""
    fast, slow = (make_job(crews=(make_crew(spray_flow_m3_s=flow),)) for flow in (0.002, 0.001))
    quick, lengthy = (make_plan(job, now_s=START_S).assets[0] for job in (fast, slow))
    assert lengthy.work_s - 600.0 == pytest.approx(2 * (quick.work_s - 600.0))


def test_no_crew_is_told() -> None:
    """A job without a crew cannot tell minutes, and says what it wants."""
    with pytest.raises(StillwetError, match="crews: wanted at least one crew, got none"):
        reference_crew(make_job(crews=()))
