"""A plan's records from arrays over all faces: each number from its own row, sums by hand."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from job_fixture import HOUR, START_S, make_asset, make_fire, make_job
from stillwet.domain.plan import AssetPlan, Verdict
from stillwet.engine.asset_plan import Answer, asset_plans
from stillwet.engine.prepared import Prepared, prepare
from stillwet.physics.ignition import protection_time
from stillwet.physics.materials import materials

# Of each array its first face's number and the step from face to face, all different.
NUMBERS = {
    "coat": (2.0, 0.1),
    "needed": (1.9, 0.1),
    "cling": (7.0, 0.1),
    "ratio": (0.01, 0.0),
    "lay_s": (START_S + 5 * HOUR, 1.0),
    "apply_from_s": (START_S + 2 * HOUR, 1.0),
    "apply_until_s": (START_S + 6 * HOUR, 1.0),
    "probability": (0.95, 0.001),
    "hold_50_s": (START_S + 11 * HOUR, 1.0),
    "hold_90_s": (START_S + 9 * HOUR, 1.0),
    "drying": (1.1, 0.01),
    "left": (0.5, 0.01),
}


@cache
def _prepared() -> Prepared:
    """A house of six faces and after it a pole of four, met by the fire an hour apart."""
    later = make_fire(
        arrival_from_s=START_S + 8 * HOUR, arrival_to_s=START_S + 9 * HOUR, setback_m=4.0
    )
    pole = make_asset(id="a2", name="Pole", kind="pole", width_m=0.3, x_m=60.0, fire=later)
    return prepare(make_job(assets=(make_asset(note="blue door"), pole), members=8))


def _answer(**changes: Any) -> Answer:
    assert {item.name for item in fields(Answer)} == set(NUMBERS)
    rows = np.arange(len(_prepared().surfaces))
    told = {name: first + step * rows for name, (first, step) in NUMBERS.items()}
    return Answer(**(told | changes))


def _plans(answer: Answer) -> tuple[AssetPlan, ...]:
    prepared = _prepared()
    return asset_plans(prepared.job, prepared.faces, prepared.asks, answer)


def test_every_number_is_that_of_its_own_face() -> None:
    """Row by row through both assets, however they are sorted."""
    faces = {face.surface.id: face for plan in _plans(_answer()) for face in plan.surfaces}
    answer = _answer()
    for row, surface in enumerate(_prepared().surfaces):
        face = faces[surface.id]
        told = {
            "coat": face.coat_kg_m2,
            "needed": face.coat_needed_kg_m2,
            "cling": face.cling_limit_kg_m2,
            "ratio": face.mix_ratio,
            "lay_s": face.lay_time_s,
            "apply_from_s": face.apply_from_s,
            "apply_until_s": face.apply_until_s,
            "probability": face.probability,
            "hold_50_s": face.hold_until_50_s,
            "hold_90_s": face.hold_until_90_s,
            "drying": face.drying_to_arrival_kg_m2,
        }
        assert told == {name: getattr(answer, name)[row] for name in told}


def test_what_the_fire_asks_is_that_of_its_own_face() -> None:
    """Median and nine tenths of eight members, from their sorted demands; the peak; how long the
    water that is left and the bare face stand it.
    """
    prepared = _prepared()
    timed = set()
    for plan in _plans(_answer()):
        ask = prepared.asks[plan.asset_id]
        for index, face in enumerate(plan.surfaces):
            demand = sorted(ask.water_demand_kg_m2[index].tolist())
            assert face.water_demand_50_kg_m2 == pytest.approx(0.5 * (demand[3] + demand[4]))
            assert face.water_demand_90_kg_m2 == pytest.approx(0.7 * demand[6] + 0.3 * demand[7])
            assert face.peak_flux_w_m2 == ask.peak_flux_w_m2[index]
            assert face.bare_ignition_s == ask.bare_ignition_s[index]
            row = [surface.id for surface in prepared.surfaces].index(face.surface.id)
            stands = protection_time(
                material=materials()["wood siding"],
                flux_w_m2=float(ask.peak_flux_w_m2[index]),
                coat_kg_m2=0.5 + 0.01 * row,
                start_temperature_k=ask.air_temperature_k,
                air_temperature_k=ask.air_temperature_k,
                convection_w_m2k=15.0,
                water_efficiency=0.7,
            )
            assert (face.protection_s or math.inf) == pytest.approx(float(stands))
            if face.protection_s is not None:
                timed.add(plan.asset_id)
    assert "a2" in timed


def test_amounts_by_hand() -> None:
    """Water on the face over what of the mix stays (75 %) and is water (99 %), at 1.89 L/s; ten
    minutes of setting up come on top, once an asset.
    """
    for plan in _plans(_answer()):
        for face in plan.surfaces:
            litres = face.surface.area_m2 * face.coat_kg_m2 / 0.75 / 0.99
            assert face.mix_m3 == pytest.approx(litres / 1000.0)
            assert face.water_m3 == pytest.approx(0.99 * litres / 1000.0)
            assert face.concentrate_m3 == pytest.approx(0.01 * litres / 1000.0)
            assert face.spray_s == pytest.approx(litres / 1.89)
        assert plan.mix_m3 == pytest.approx(sum(face.mix_m3 for face in plan.surfaces))
        assert plan.water_m3 == pytest.approx(0.99 * plan.mix_m3)
        assert plan.concentrate_m3 == pytest.approx(0.01 * plan.mix_m3)
        assert plan.work_s == pytest.approx(600.0 + 1000.0 * plan.mix_m3 / 1.89)
        assert plan.area_m2 == pytest.approx(sum(face.surface.area_m2 for face in plan.surfaces))


def test_an_asset_says_whose_it_is_and_when_its_fire_comes() -> None:
    """The window closes an ember period (2 h) after the latest arrival."""
    plans = {plan.asset_id: plan for plan in _plans(_answer())}
    house, pole = plans["a1"], plans["a2"]
    assert (house.name, house.kind, house.value) == ("Invented house", "house", 100.0)
    assert (house.note, pole.note, pole.x_m, pole.y_m) == ("blue door", "", 60.0, 0.0)
    assert (house.exposure, house.fire_bearing_deg) == ("brush fire", 225.0)
    assert house.fire_window_from_s == START_S + 7 * HOUR
    assert house.arrival_to_s == START_S + 8 * HOUR
    assert house.fire_window_to_s == START_S + 10 * HOUR
    assert pole.fire_window_to_s == START_S + 11 * HOUR


def test_the_weakest_face_governs_and_the_weakest_asset_comes_first() -> None:
    """By chance where all hold; of faces with one chance, that which asks for the thicker coat."""
    rows = np.arange(10.0)
    first, second = _plans(_answer(probability=0.99 - 0.001 * rows))
    assert (first.asset_id, second.asset_id) == ("a2", "a1")
    assert first.governing.surface.id == first.surfaces[3].surface.id
    assert second.governing.surface.id == second.surfaces[5].surface.id
    alike, other = _plans(_answer(probability=np.full(10, 0.95)))
    assert (alike.asset_id, other.asset_id) == ("a1", "a2")  # its fire comes first
    assert alike.governing.coat_needed_kg_m2 == pytest.approx(1.9 + 0.5)


def test_where_one_face_is_hopeless_none_is_sprayed() -> None:
    """The last face of the house fails in seven cases of ten: no coat, no work, no times; the pole
    is laid as planned.
    """
    chance = np.where(np.arange(10) == 5, 0.3, 0.95)
    house, pole = _plans(_answer(probability=chance))
    assert (house.asset_id, house.verdict) == ("a1", Verdict.WILL_NOT_HOLD)
    assert house.governing.surface.id == house.surfaces[5].surface.id
    assert (house.mix_m3, house.work_s) == (0.0, 0.0)
    for face in house.surfaces:
        assert (face.coat_kg_m2, face.mix_m3, face.spray_s) == (0.0, 0.0, 0.0)
        assert face.apply_from_s is face.apply_until_s is None
        assert face.hold_until_50_s is face.hold_until_90_s is None
    assert house.surfaces[0].verdict is Verdict.HOLDS
    assert house.surfaces[0].coat_needed_kg_m2 == 1.9
    assert pole.mix_m3 > 0.0


def test_a_coat_that_may_be_laid_at_no_time_has_no_earliest() -> None:
    """Not a number on the way in, none on the way out; the latest stays."""
    start = _answer().apply_from_s.copy()
    start[0] = math.nan
    plans = {plan.asset_id: plan for plan in _plans(_answer(apply_from_s=start))}
    face, beside = plans["a1"].surfaces[:2]
    assert face.apply_from_s is None
    assert face.apply_until_s == START_S + 6 * HOUR
    assert beside.apply_from_s == START_S + 2 * HOUR + 1.0


def test_what_may_not_be_coated_says_so_whatever_its_chance() -> None:
    """A pole that nobody released comes last, without work."""
    prepared = _prepared()
    house, pole = prepared.job.assets
    job = replace(prepared.job, assets=(house, replace(pole, released=False)))
    plans = asset_plans(job, prepared.faces, prepared.asks, _answer())
    assert [plan.verdict for plan in plans] == [Verdict.HOLDS, Verdict.DO_NOT_COAT]
    assert plans[1].mix_m3 == plans[1].work_s == 0.0
    assert {face.governs for face in plans[1].surfaces} == {"rule"}
