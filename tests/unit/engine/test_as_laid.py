"""Coats already on: what they were planned for they keep, and what gets worse lets them down."""

from __future__ import annotations

from dataclasses import replace

import pytest

from job_fixture import HOUR, START_S, make_asset, make_job, make_practice, with_fire
from stillwet.domain.job import Job
from stillwet.domain.plan import Verdict
from stillwet.engine.as_laid import as_laid
from stillwet.engine.changes import change_job, read_change
from stillwet.engine.make_plan import make_plan
from stillwet.engine.prepared import prepare


def _chance(job: Job, *changes: str) -> float:
    """The weakest coated face's chance when the coats planned for the job meet the changed one."""
    plan = make_plan(job, now_s=START_S)
    changed = change_job(job, tuple(read_change(text) for text in changes))
    return as_laid(job, plan, prepare(changed))["a1"].probability


def test_nothing_changed_is_the_plan_itself() -> None:
    """The same job gives the plan's own probability, bit by bit, and its verdict."""
    job = make_job()
    plan = make_plan(job, now_s=START_S)
    found = as_laid(job, plan, prepare(job))["a1"]
    assert found.probability == plan.assets[0].governing.probability
    assert found.verdict is plan.assets[0].verdict
    assert found.surface == plan.assets[0].governing.surface.label


@pytest.mark.parametrize(
    "change",
    ["wind=+50%", "humidity=-8 %", "transfer efficiency=0.6", "arrival=+2 h", "yield stress=-60%"],
)
def test_what_makes_life_harder_lets_coats_down(change: str) -> None:
    """Drier, windier, less that stays, a later fire, a weaker mix: less chance than planned."""
    assert _chance(make_job(), change) < _chance(make_job())


def test_what_is_decided_before_spraying_changes_no_coat() -> None:
    """Lead, window and start are the planner's; a coat that is on does not know them."""
    changes = ("egress lead=+30 min", "work window=-1 h", "start=+1 h")
    assert _chance(make_job(), *changes) == pytest.approx(_chance(make_job()), abs=0.05)
    assert _chance(make_job(), "egress lead=+30 min") == _chance(make_job())


def test_half_the_efficiency_is_half_the_coat() -> None:
    """What left the nozzle was reckoned with the old efficiency: half of it stays half as thick,
    which no 90 % coat survives here.
    """
    job = make_job(practice=make_practice(basis={}))
    assert _chance(job, "transfer efficiency=0.375") < 0.5 <= _chance(job)


def test_a_coat_not_yet_on_does_not_count() -> None:
    """A fire that may come before the planned lay time finds no coat."""
    job = make_job()
    plan = make_plan(job, now_s=START_S)
    lay_s = max(face.lay_time_s for face in plan.assets[0].surfaces)
    early_h = (job.assets[0].fire.arrival_from_s - lay_s) / HOUR + 0.1
    assert _chance(job, f"arrival=-{early_h} h") == 0.0


def test_assets_without_a_coat_are_left_out() -> None:
    """Not released, or hopeless: nothing is on them, so nothing is told; alone too."""
    hopeless = with_fire(make_asset(id="a3"), flux_peak_w_m2=80e3, flux_duration_s=1800.0)
    job = make_job(assets=(make_asset(), make_asset(id="a2", released=False), hopeless))
    plan = make_plan(job, now_s=START_S)
    assert {asset.verdict for asset in plan.assets} == {
        Verdict.WILL_NOT_HOLD,
        Verdict.HOLDS,
        Verdict.DO_NOT_COAT,
    }
    assert set(as_laid(job, plan, prepare(job))) == {"a1"}
    bare = make_job(assets=(hopeless,))
    assert as_laid(bare, make_plan(bare, now_s=START_S), prepare(bare)) == {}


def test_a_coat_under_a_millimetre_is_a_coat() -> None:
    """A thin one is followed like any other, and is worth no more than the one planned."""
    job = make_job()
    plan = make_plan(job, now_s=START_S)
    asset = plan.assets[0]
    thin = tuple(replace(face, coat_kg_m2=min(face.coat_kg_m2, 0.8)) for face in asset.surfaces)
    found = as_laid(job, replace(plan, assets=(replace(asset, surfaces=thin),)), prepare(job))
    assert found["a1"].probability <= asset.governing.probability
