"""The pumping wall: where a crew's flow no longer comes, and what it is told."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from gear_fixture import GPM, PSI, make_gear
from job_fixture import make_crew, make_job
from stillwet.domain.gear import Gear
from stillwet.domain.job import Job
from stillwet.domain.products import WaterPoint
from stillwet.engine.mix_draws import draw_mix, flow_at
from stillwet.engine.mix_pumping import brings, flows_at, lay_of, pump_note, pump_wall
from stillwet.physics.hose import CoefficientSet
from stillwet.physics.pump import operating_point
from stillwet.physics.rheology import FlowCurve


def _job(hardness: float = 0.05, gear: Gear | None = None) -> Job:
    """A house to be coated, with gear and a product that a trial has fixed."""
    water = WaterPoint("w1", "Invented pond", 100.0, 0.0, 0.01, hardness, 294.15)
    crew = make_crew(gear=make_gear() if gear is None else gear, spray_flow_m3_s=30 * GPM)
    return make_job(crews=(crew,), water_points=(water,))


@pytest.mark.parametrize("length_m", [15.0, 90.0])
@pytest.mark.parametrize("which", ["a", "b"])
def test_at_the_pump_wall_the_wanted_flow_just_comes(
    which: CoefficientSet, length_m: float
) -> None:
    """A little leaner than the wall the crew's flow comes out, a little richer it does not; so also
    where the wall stands near water (1 % through six times the hose).
    """
    gear = make_gear(hoses_m=((1.75 * 0.0254, length_m),))
    job = _job(gear=gear)
    draws, crew = draw_mix(job), job.crews[0]
    wall = pump_wall(draws, crew, gear, which)
    pump, lay = lay_of(gear)

    def flow(ratio: float) -> float:
        curve = flow_at(draws.middle, np.array([ratio]))
        gel = FlowCurve(
            float(curve.yield_pa[0]), float(curve.consistency_pa_s[0]), float(curve.index[0]), 1e3
        )
        return operating_point(pump=pump, lay=lay, gel=gel, which=which).flow_m3_s

    assert flow(0.99 * wall.ratio) > crew.spray_flow_m3_s > flow(1.01 * wall.ratio)
    assert wall.low < wall.ratio < wall.high


def test_two_published_hose_sets_give_two_walls() -> None:
    """At 1.75 in they differ by 55 %, and the one that loses less lets a richer mix through."""
    job = _job()
    gear = make_gear()
    a, b = (pump_wall(draw_mix(job), job.crews[0], gear, which) for which in ("a", "b"))
    assert a.ratio < b.ratio


@pytest.mark.parametrize(
    "change",
    [
        {"hoses_m": ((1.75 * 0.0254, 90.0),)},
        {"hoses_m": ((1.5 * 0.0254, 15.0),)},
        {"hoses_m": ((1.75 * 0.0254, 15.0), (1.75 * 0.0254, 15.0))},
        {"lift_m": 30.0},
        {"pump_pressure_pa": (130 * PSI,)},
        {"eductor_flow_m3_s": 30 * GPM},
    ],
)
def test_harder_pumping_asks_for_a_leaner_mix(change: dict[str, object]) -> None:
    """A longer or thinner hose, a lift, a weaker pump, an eductor's loss: each moves the wall."""
    job = _job()
    draws = draw_mix(job)
    easy = pump_wall(draws, job.crews[0], make_gear(), "a")
    assert pump_wall(draws, job.crews[0], make_gear(**change), "a").ratio < easy.ratio


def test_a_pump_too_weak_for_water_has_no_ratio_and_a_strong_one_no_wall() -> None:
    """40 psi does not even push water through a 50 psi nozzle; a thin mix meets no wall."""
    job = _job()
    weak = make_gear(pump_pressure_pa=(40 * PSI,))
    assert pump_wall(draw_mix(job), job.crews[0], weak, "a").ratio == 0.0
    collapsed = draw_mix(_job(5.0))
    strong = make_gear(pump_pressure_pa=(700 * PSI,), hoses_m=((0.0635, 3.0),))
    assert math.isinf(pump_wall(collapsed, job.crews[0], strong, "a").ratio)


def test_the_flow_told_at_the_ratio_is_the_pressure_balance() -> None:
    """What the pump gives is what hose, lift and nozzle take."""
    gear = make_gear()
    for flow in flows_at(draw_mix(_job()), gear, 0.01):
        lift = 3.0 * 9.80665 * 1000.0
        assert flow.pump_pa == pytest.approx(flow.hose_pa + flow.nozzle_pa + lift, rel=1e-6)
        assert flow.reason == ""


@pytest.mark.parametrize(("share", "comes"), [(0.95, True), (1.05, False)])
def test_a_crew_is_warned_just_where_its_pumps_wall_stands(share: float, comes: bool) -> None:
    """Nobody is sent with a mix beyond both walls of the pump without being told so."""
    job = _job()
    draws, crew = draw_mix(job), job.crews[0]
    assert crew.gear is not None
    wall = max(pump_wall(draws, crew, crew.gear, which).ratio for which in ("a", "b"))
    assert math.isfinite(wall)
    assert brings(draws, crew, crew.gear, share * wall) is comes
    note = pump_note(draws, crew, share * wall)
    assert ("Test the pattern with that mix before it is sent" in note) is not comes
    assert f"{100 * share * wall:.2f} %" in note or comes


def test_a_crew_without_gear_or_work_is_not_warned() -> None:
    """Nothing is known, or nothing is sprayed: nothing is said."""
    job = _job()
    assert pump_note(draw_mix(job), replace(job.crews[0], gear=None), 0.2) == ""
    assert pump_note(draw_mix(job), job.crews[0], 0.0) == ""
