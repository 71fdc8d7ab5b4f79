"""A fresh coat on an early one: the least that makes it sure, never thinner than an even coat."""

from __future__ import annotations

from dataclasses import replace

import pytest

from after_fixture import after_job, scene
from job_fixture import HOUR
from stillwet.engine.coating import COAT_STEP_KG_M2
from stillwet.engine.lay_windows import lay_windows
from stillwet.engine.prepared import Prepared, prepare
from stillwet.engine.recoating import Recoat, recoats, recoats_as_sprayed
from stillwet.engine.verdicts import CONFIDENT

EARLY_H = 5.0  # before crews must be gone, when the first coat is laid


def prepared_with(**practice: float) -> Prepared:
    """The invented job with some of its practice changed."""
    job = after_job()
    return prepare(replace(job, practice=replace(job.practice, **practice)))  # type: ignore[arg-type]


def times(prepared: Prepared, before_h: float) -> dict[str, float]:
    """When each face is sprayed: so long before crews must be gone."""
    found = lay_windows(prepared)
    return {name: one.until_s - before_h * HOUR for name, one in found.items()}


def second_coats(prepared: Prepared) -> dict[str, Recoat]:
    """The second coats on first ones laid hours early."""
    return recoats(
        prepared,
        scene().plan.assets,
        first_s=times(prepared, EARLY_H),
        second_s=times(prepared, 0.1),
    )


def as_sprayed(prepared: Prepared, planned: dict[str, Recoat]) -> dict[str, Recoat]:
    """What these second coats are worth on the same first ones."""
    return recoats_as_sprayed(
        prepared,
        scene().plan.assets,
        planned,
        first_s=times(prepared, EARLY_H),
        second_s=times(prepared, 0.1),
    )


def test_a_second_coat_is_the_least_that_makes_it_sure() -> None:
    """One step of coat less, and fewer than nine cases in ten meet the demand."""
    prepared = scene().prepared
    found = second_coats(prepared)
    sure = {name: one for name, one in found.items() if one.probability >= CONFIDENT}
    assert sure
    assert all(one.first_probability < CONFIDENT for one in sure.values())
    thinner = {
        name: replace(one, coat_kg_m2=one.coat_kg_m2 - COAT_STEP_KG_M2)
        for name, one in sure.items()
        if one.coat_kg_m2 > prepared.job.practice.thinnest_coat_kg_m2 + 0.5 * COAT_STEP_KG_M2
    }
    assert thinner
    for one in as_sprayed(prepared, thinner).values():
        assert one.probability < CONFIDENT


def test_no_second_coat_is_thinner_than_an_even_one() -> None:
    """Where less would do, the thinnest coat that can be laid evenly is laid, not a step less."""
    thinnest = 4.0
    found = second_coats(prepared_with(thinnest_coat_kg_m2=thinnest))
    assert found
    assert min(one.coat_kg_m2 for one in found.values()) == pytest.approx(thinnest)


def test_a_larger_reserve_is_held_for_a_shorter_time() -> None:
    """Of the same two coats: what must be left for embers is no longer there for drying."""
    little, much = (prepared_with(ember_reserve_kg_m2=reserve) for reserve in (0.1, 0.9))
    planned = second_coats(little)
    before, after = as_sprayed(little, planned), as_sprayed(much, planned)
    assert before
    for name, one in before.items():
        assert after[name].hold_90_s < one.hold_90_s
        assert after[name].hold_50_s < one.hold_50_s
