"""Ratio and cling: by hand in soft water, and turned round."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from job_fixture import make_asset, make_job, make_practice, make_product
from stillwet.domain.job import Job
from stillwet.domain.products import RatioBasis, WaterPoint
from stillwet.engine import mixing
from stillwet.engine.faces import faces_of
from stillwet.engine.members import draw_members

FACES = faces_of(make_asset())
WALL = next(face for face in FACES if face.label == "south wall")
ROOF = next(face for face in FACES if face.label == "south roof")


def _mix(job: Job | None = None, **product: Any) -> mixing.Mix:
    job = job or make_job(product=make_product(**product))
    return mixing.make_mix(job, draw_members(job))


def _in_water(hardness_kg_m3: float) -> Job:
    point = WaterPoint("w", "Pond", 0.0, 0.0, 0.01, hardness_kg_m3, 293.15)
    return make_job(water_points=(point,))


def test_cling_by_hand_in_soft_water() -> None:
    """5e4 (0.013 - 0.003)^1.5 = 50 Pa holds 50 / 9.81 = 5.1 mm on a wall; a 20 degree roof holds
    1 / sin 20 = 2.92 times that (handbook trigonometry).
    """
    mix = _mix(make_job(water_points=()))
    wall, roof = mixing.cling_median(mix, (WALL, ROOF), np.array([0.013, 0.013]))
    assert wall == pytest.approx(50.0 / 9.80665, rel=0.03)  # the stress is stated for 21 C
    assert roof / wall == pytest.approx(2.924, rel=1e-3)


def test_what_is_counted_on_is_the_smaller_of_safety_and_the_weak_tenth() -> None:
    """1 / 1.5 where the yield stress is known to a fifth; its 10 % point where it is not."""
    assert _mix().keep == pytest.approx(1 / 1.5)
    wide = {"yield_coefficient": replace(make_product().basis["yield_coefficient"], low=1e4)}
    assert _mix(basis=wide).keep == pytest.approx(0.2, rel=0.1)
    assert _mix(make_job(practice=make_practice(cling_safety=1.0))).keep < 1.0


@pytest.mark.parametrize("coat", [1.0, 2.0, 3.5, 5.0])
def test_ratio_for_keeps_the_coat_and_a_step_less_does_not(coat: float) -> None:
    """The ratio told keeps the coat with its safety; one step of the dial lower sloughs."""
    mix = _mix()
    coats = np.full(2, coat)
    ratio = mixing.ratio_for(mix, (WALL, ROOF), coats)
    assert (mixing.cling_median(mix, (WALL, ROOF), ratio) * mix.keep >= coats - 1e-9).all()
    lower = mixing.cling_median(mix, (WALL, ROOF), ratio - mixing.RATIO_STEP) * mix.keep
    at_the_label = ratio <= mix.product.ratio_low + 1e-12
    assert ((lower < coats) | at_the_label).all()
    assert ratio / mixing.RATIO_STEP == pytest.approx(np.round(ratio / mixing.RATIO_STEP))


def test_ratio_stays_on_the_label() -> None:
    """A film needs no less than the label's lowest; what no ratio keeps gets the best."""
    mix = _mix()
    low, high = mixing.ratio_for(mix, (WALL, WALL), np.array([0.01, 20.0]))
    assert low == mix.product.ratio_low
    assert high == mixing.best_ratio(mix, 1)[0] <= mix.product.ratio_high


def test_hard_water_asks_for_a_richer_mix() -> None:
    """The same coat takes a higher ratio in hard water, and the hardest of the waters counts."""
    ratios = [
        mixing.ratio_for(_mix(_in_water(hardness)), (WALL,), np.array([2.0]))[0]
        for hardness in (0.0, 0.1, 0.3)
    ]
    assert ratios[0] < ratios[1] < ratios[2]
    both = replace(
        _in_water(0.3),
        water_points=(_in_water(0.0).water_points[0], _in_water(0.3).water_points[0]),
    )
    assert mixing.ratio_for(_mix(both), (WALL,), np.array([2.0]))[0] == ratios[2]


def test_a_mix_too_stiff_to_wet_the_face_is_not_asked_for() -> None:
    """A product so strong that its richest mix falls off: the best ratio is below the label's
    highest and clings thicker than it.
    """
    mix = _mix(yield_coefficient_pa=5e5, basis={})
    best = mixing.best_ratio(mix, 1)
    assert best[0] < mix.product.ratio_high
    thickest = mixing.cling_median(mix, (WALL,), best)[0]
    assert thickest > mixing.cling_median(mix, (WALL,), np.array([mix.product.ratio_high]))[0]
    asked = mixing.ratio_for(mix, (WALL,), np.array([50.0]))[0]
    assert asked == best[0]


def test_shares_of_the_mix_by_hand() -> None:
    """1 % by volume is 1 % concentrate, 99 % water. 1 % by mass of a powder of 500 kg/m3 is 10 kg,
    20 L in bulk, in a cubic metre of water.
    """
    liquid = make_product()
    powder = make_product(ratio_basis=RatioBasis.MASS, density_kg_m3=500.0)
    assert mixing.concentrate_share(liquid, 0.01) == pytest.approx(0.01)
    assert mixing.water_share(liquid, 0.01) == pytest.approx(0.99)
    assert mixing.concentrate_share(powder, 0.01) == pytest.approx(0.02)
    assert mixing.water_share(powder, 0.01) == 1.0


@pytest.mark.parametrize(("litres", "packs"), [(0.0, 0), (20.0, 1), (100.0, 5), (100.1, 6)])
def test_packs_are_whole(litres: float, packs: int) -> None:
    """In packs of 20 L."""
    assert mixing.packs_for(make_product(), litres / 1000.0) == packs
