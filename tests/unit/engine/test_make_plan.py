"""The whole plan: the same by the same seed, and saying what must be said."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from job_fixture import (
    HOUR,
    START_S,
    make_asset,
    make_fire,
    make_job,
    make_practice,
    make_product,
    with_fire,
)
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, Plan, Verdict
from stillwet.engine.make_plan import make_plan
from stillwet.errors import StillwetError


def _plan(**changes: Any) -> Plan:
    return make_plan(make_job(**changes), now_s=START_S)


def _house(**changes: Any) -> AssetPlan:
    return _plan(**changes).assets[0]


def _two_houses() -> Job:
    """The house, and one like it that is nearer to the fire and worth more."""
    near = make_asset(id="a2", name="Near house", x_m=60.0, value=300.0)
    return make_job(assets=(make_asset(), with_fire(near, setback_m=4.0)))


def test_same_job_same_plan_to_the_bit() -> None:
    """Every number of two plans of one job is the same; when it is made is only written down."""
    first, again = _plan(), make_plan(make_job(), now_s=START_S + 999.0)
    assert again == replace(first, made_s=START_S + 999.0)


def test_another_seed_is_another_plan_of_the_same_job() -> None:
    """Id and probabilities differ, the verdict of a clear case does not."""
    first, other = _plan(members=128), _plan(members=128, seed=2)
    assert first.id != other.id
    chances = [[face.probability for face in plan.assets[0].surfaces] for plan in (first, other)]
    assert chances[0] != chances[1]
    assert first.assets[0].verdict is other.assets[0].verdict is Verdict.HOLDS


def test_an_asset_is_planned_alike_alone_and_among_others() -> None:
    """Neighbours and their order in the list change nothing in an asset's own plan."""
    job = _two_houses()
    both = make_plan(job, now_s=START_S)
    turned = make_plan(replace(job, assets=job.assets[::-1]), now_s=START_S)
    assert turned.assets == both.assets
    for asset in job.assets:
        (alone,) = make_plan(replace(job, assets=(asset,)), now_s=START_S).assets
        assert alone == next(item for item in both.assets if item.asset_id == asset.id)


def test_the_worst_asset_and_its_weakest_face_come_first() -> None:
    """Worst verdict first; the governing face is the one with the least chance."""
    hopeless = with_fire(
        make_asset(id="a3", name="Hopeless"), flux_peak_w_m2=80e3, flux_duration_s=1800.0
    )
    plan = _plan(assets=(make_asset(), hopeless))
    assert [asset.asset_id for asset in plan.assets] == ["a3", "a1"]
    assert plan.assets[0].verdict is Verdict.WILL_NOT_HOLD
    for asset in plan.assets:
        assert asset.governing in asset.surfaces
        assert asset.governing.probability == min(face.probability for face in asset.surfaces)


def test_a_planned_coat_does_what_it_says() -> None:
    """Where it holds: at least 90 % of members, no thinner than can be laid, no thicker than
    clings, at least what is needed, and holding at 90 % past the latest arrival.
    """
    house = _house()
    assert house.verdict is Verdict.HOLDS
    for face in house.surfaces:
        assert face.probability >= 0.9
        assert 1.6 <= face.coat_kg_m2 <= face.cling_limit_kg_m2 + 1e-9
        assert face.coat_kg_m2 >= min(face.coat_needed_kg_m2, face.cling_limit_kg_m2)
        assert face.apply_from_s is not None
        assert face.apply_until_s is not None
        assert START_S <= face.apply_from_s <= face.apply_until_s
        assert face.hold_until_90_s is not None
        assert face.hold_until_50_s is not None
        assert house.arrival_to_s <= face.hold_until_90_s <= face.hold_until_50_s


def test_load_is_the_sum_of_what_is_laid() -> None:
    """Asset and job totals are their faces' sums; concentrate and water make the mix."""
    plan = make_plan(_two_houses(), now_s=START_S)
    faces = [face for asset in plan.assets for face in asset.surfaces]
    for name in ("mix_m3", "water_m3", "concentrate_m3"):
        whole = sum(getattr(face, name) for face in faces)
        assert getattr(plan.load, name) == pytest.approx(whole)
    for face in faces:
        assert face.water_m3 + face.concentrate_m3 == pytest.approx(face.mix_m3)
        assert face.concentrate_m3 == pytest.approx(face.mix_m3 * face.mix_ratio)


def test_one_ratio_an_asset() -> None:
    """A crew does not turn the dial between the faces of a house."""
    for asset in make_plan(_two_houses(), now_s=START_S).assets:
        assert len({face.mix_ratio for face in asset.surfaces}) == 1


def test_not_released_is_not_coated_and_costs_nothing() -> None:
    """The verdict says so, the reason too; nothing is laid and no water is counted."""
    house = _house(assets=(make_asset(released=False),))
    assert house.verdict is Verdict.DO_NOT_COAT
    assert house.reason.startswith("Not released by its owner or utility")
    assert house.governing.governs == "rule"
    assert house.mix_m3 == house.water_m3 == house.concentrate_m3 == house.work_s == 0.0
    assert all(face.apply_until_s is None for face in house.surfaces)
    plan = _plan(assets=(make_asset(released=False),))
    assert plan.load.mix_m3 == plan.load.packs == plan.mix_ratio == 0


def test_too_late_is_a_matter_of_time() -> None:
    """The front may come before crews could be clear: no coat, whatever it would hold."""
    soon = make_fire(arrival_from_s=START_S + 0.5 * HOUR, arrival_to_s=START_S + HOUR)
    house = _house(assets=(make_asset(fire=soon),))
    assert house.verdict is Verdict.WILL_NOT_HOLD
    assert house.governing.governs == "time"
    assert house.governing.probability == 0.0
    assert house.reason.startswith("No time")
    assert house.mix_m3 == 0.0


def test_conditions_on_laying_are_told_where_a_coat_is_laid() -> None:
    """Laid more than three hours before the front may come: a caution, but none where the mix is
    too weak for any coat.
    """
    waiting = {"practice": replace(make_job().practice, longest_wait_s=8 * HOUR)}
    late = make_fire(arrival_from_s=START_S + 6 * HOUR, arrival_to_s=START_S + 7 * HOUR)
    laid = _house(assets=(make_asset(fire=late),), **waiting)
    weak = make_product(yield_coefficient_pa=1e4, basis={})
    bare = _house(assets=(make_asset(fire=late),), product=weak, **waiting)
    assert laid.mix_m3 > 0
    assert any("It is to be laid" in told for told in laid.cautions)
    assert bare.mix_m3 == 0
    assert not any("laid" in told for told in (*bare.cautions, *bare.conditions))


def test_no_crew_is_refused_before_any_plan() -> None:
    """A job without a crew is an error that says what is missing."""
    with pytest.raises(StillwetError, match="crews: wanted at least one crew, got none"):
        _plan(crews=())


@pytest.mark.parametrize(
    ("strength", "verdict", "words"),
    [
        (2e4, Verdict.DOUBTFUL, "The thickest coat that clings,"),
        (1e4, Verdict.WILL_NOT_HOLD, "clings. In the middle case the weather takes"),
    ],
)
def test_a_weak_mix_cannot_hold_a_wall(strength: float, verdict: Verdict, words: str) -> None:
    """Doubtful, then hopeless, as the mix gets too weak to cling as thick as is needed; only the
    hopeless one is not sprayed.
    """
    house = _house(product=make_product(yield_coefficient_pa=strength, basis={}))
    assert house.verdict is verdict
    assert words in house.reason
    assert house.governing.governs == "cling"
    assert house.governing.coat_needed_kg_m2 > house.governing.cling_limit_kg_m2
    assert (house.mix_m3 == 0.0) is (verdict is Verdict.WILL_NOT_HOLD)


def test_flames_on_the_face_are_told() -> None:
    """A front that comes to the wall itself asks more water and says that flames reach it."""
    touched = _house(assets=(with_fire(make_asset(), setback_m=0.0),))
    assert touched.reason.endswith("Flames reach the face.")
    assert touched.governing.water_demand_50_kg_m2 > _house().governing.water_demand_50_kg_m2


def test_crews_leave_before_the_earliest_arrival_by_the_egress_lead() -> None:
    """Apply-until is the earliest arrival less the lead."""
    for lead_h in (0.75, 2.0):
        house = _house(practice=make_practice(egress_lead_s=lead_h * HOUR))
        wanted = make_fire().arrival_from_s - lead_h * HOUR
        assert {face.apply_until_s for face in house.surfaces} == {wanted}


def test_a_longer_work_window_never_makes_the_coat_thinner() -> None:
    """A coat that may be laid earlier has to be thicker."""
    coats = [
        [
            face.coat_kg_m2
            for face in _house(practice=make_practice(work_window_s=h * HOUR)).surfaces
        ]
        for h in (0.5, 2.0, 4.0)
    ]
    assert (np.diff(np.array(coats), axis=0) >= -1e-9).all()
    assert coats[2] != coats[0]


def test_progress_runs_from_nothing_to_done() -> None:
    """Each step is named, and shares never go back."""
    told: list[tuple[str, float]] = []
    make_plan(make_job(), now_s=START_S, progress=lambda step, share: told.append((step, share)))
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert all(step for step, _ in told)


def test_a_pole_alone_has_a_mix_too() -> None:
    """Litres of it count as much as cubic metres: the plan names the ratio that is sprayed."""
    pole = make_asset(kind="pole", width_m=0.3, length_m=0.3, eave_height_m=3.0)
    plan = _plan(assets=(pole,))
    faces = [face for asset in plan.assets for face in asset.surfaces]
    assert 0.0 < sum(face.mix_m3 for face in faces) < 0.5
    assert plan.mix_ratio == max(face.mix_ratio for face in faces) > 0.0
