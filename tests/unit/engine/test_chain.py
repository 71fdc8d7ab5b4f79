"""Why: the chain carries the plan's own numbers, every input once, and the mean by value."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from job_fixture import START_S, make_asset, make_job, make_practice, with_fire
from stillwet.domain.basis import BasisKind, given
from stillwet.domain.chain import Chain, Link
from stillwet.domain.job import Job
from stillwet.domain.plan import Plan
from stillwet.engine.chain import asset_named, chain_of, job_shares_of
from stillwet.engine.make_plan import make_plan
from stillwet.engine.members import CAUSES
from stillwet.errors import StillwetError
from stillwet.tables import load_table


def _planned(*assets: Any, **changes: Any) -> tuple[Job, Plan]:
    job = make_job(assets=assets or (make_asset(basis={"value": given("list")}),), **changes)
    return job, make_plan(job, now_s=START_S)


def _chain(*assets: Any, **changes: Any) -> Chain:
    job, plan = _planned(*assets, **changes)
    return chain_of(job, plan, job.assets[0])


def _links(chain: Chain) -> dict[str, Link]:
    return {link.quantity: link for step in chain.steps for link in step.links}


def test_numbers_are_the_plans_own() -> None:
    """Each link's value is the governing face's own, bit by bit."""
    chain = _chain()
    face, links = chain.asset.governing, _links(chain)
    wanted = {
        "peak heat flux at the face": face.peak_flux_w_m2,
        "water the fire takes, middle case": face.water_demand_50_kg_m2,
        "coat needed for 9 cases in 10": face.coat_needed_kg_m2,
        "coat to lay": face.coat_kg_m2,
        "mix ratio to set": face.mix_ratio,
        "share of cases in which it meets the whole demand": face.probability,
        "holds until, 9 cases in 10": face.hold_until_90_s,
        "finished mix, losses included": face.mix_m3,
    }
    for quantity, value in wanted.items():
        assert links[quantity].value == value


def test_every_number_has_model_source_and_a_word_for_none() -> None:
    """No link without where it came from."""
    for link in _links(_chain()).values():
        assert link.model
        assert link.source
        assert link.absent


def test_every_input_of_the_plan_is_named_once() -> None:
    """Steps and the rest together hold each input of asset and plan, none twice."""
    chain = _chain()
    named = [item for step in chain.steps for item in step.inputs] + list(chain.others)
    wanted = list(chain.asset.inputs + chain.plan.inputs)
    assert sorted(item.name for item in named) == sorted(item.name for item in wanted)
    assert [item.name for item in chain.others] == ["value"]
    untested = [item for item in wanted if item.basis.kind is BasisKind.UNTESTED]
    assert {item.name for item in untested} <= {item.name for item in named}


def test_every_cause_enters_at_some_step() -> None:
    """The steps' causes are the members' causes and the arrival; each has its words."""
    entered = {cause for step in _chain().steps for cause in step.causes}
    assert entered == {*CAUSES, "arrival"} - {"forecast member"}
    assert set(load_table("chain")["cause"]) == {*CAUSES, "arrival"}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "flat hot sheet that comes"),
        ({"setback_m": 0.0}, "flames on the face"),
        ({"flux_peak_w_m2": 20e3, "flux_duration_s": 60.0}, "as typed in"),
    ],
)
def test_the_model_of_the_flux_follows_the_exposure(changes: dict[str, Any], words: str) -> None:
    """One model is told: that of the exposure at hand."""
    chain = _chain(with_fire(make_asset(), **changes))
    models = [link.model for link in chain.steps[0].links if link.quantity.startswith("peak")]
    assert len(models) == 1
    assert words in models[0]


def test_nothing_laid_is_no_number() -> None:
    """A hopeless face has no coat, ratio, mix or hold time, and words instead; its shares are those
    of the best coat that clings.
    """
    hopeless = with_fire(make_asset(), flux_peak_w_m2=80e3, flux_duration_s=1800.0)
    chain = _chain(hopeless)
    links = _links(chain)
    for quantity in ("coat to lay", "mix ratio to set", "holds until, 1 case in 2"):
        assert links[quantity].value is None
        assert links[quantity].absent == "nothing is laid"
    assert chain.shares[0].cause in {"flux", "water efficiency"}


def test_asset_is_found_by_id_or_name() -> None:
    """An id first, exactly; else an id or name in any case."""
    job = make_job(assets=(make_asset(), make_asset(id="A1", name="Barn")))
    assert asset_named(job, "a1").name == "Invented house"
    assert asset_named(job, " barn ").id == "A1"
    assert asset_named(job, "INVENTED HOUSE").id == "a1"


def test_unknown_or_ambiguous_asset_is_told() -> None:
    """What is wanted, what came, and the nearest; two of one name are told by their ids."""
    job = make_job(assets=(make_asset(), make_asset(id="b7"), make_asset(id="c", name="Barn")))
    with pytest.raises(StillwetError, match=r'ASSET: wanted an id or a name: a1, b7, c.*"Barn"'):
        asset_named(job, "Bran")
    with pytest.raises(StillwetError, match=r"one of the ids a1, b7, got .*which 2 assets have"):
        asset_named(job, "invented house")


def _pair(first: float, second: float) -> tuple[Job, Plan]:
    near = with_fire(make_asset(id="a2", value=second), flux_peak_w_m2=45e3, flux_duration_s=90.0)
    return _planned(make_asset(value=first), near)


@pytest.mark.parametrize(("values", "weight"), [((300.0, 100.0), 0.75), ((0.0, 0.0), 0.5)])
def test_the_jobs_shares_are_the_mean_by_value(values: tuple[float, float], weight: float) -> None:
    """300 to 100 weigh 3 to 1; where nothing is worth anything, all weigh alike."""
    found = job_shares_of(*_pair(*values))
    by_id = {
        part.asset.asset_id: {share.cause: share.total for share in part.shares}
        for part in found.assets
    }
    for share in found.shares:
        mean = weight * by_id["a1"][share.cause] + (1 - weight) * by_id["a2"][share.cause]
        assert share.total == pytest.approx(mean)
    totals = [share.total for share in found.shares]
    assert totals == sorted(totals, reverse=True)


def test_assets_not_to_be_coated_do_not_count() -> None:
    """An asset that is not released says nothing about what the plan hangs on."""
    locked = make_asset(id="a2", released=False, value=1e6)
    both = job_shares_of(*_planned(make_asset(), locked))
    alone = job_shares_of(*_planned(make_asset()))
    assert [part.asset.asset_id for part in both.assets] == ["a1"]
    assert both.shares == alone.shares


def test_progress_names_each_asset() -> None:
    """Shares of the work done never go back."""
    told: list[tuple[str, float]] = []
    job, plan = _pair(1.0, 1.0)
    job_shares_of(job, plan, progress=lambda name, share: told.append((name, share)))
    assert [share for _, share in told] == [0.0, 0.5]
    assert all(name for name, _ in told)


def test_a_wider_interval_takes_a_larger_share() -> None:
    """Doubling what is not known of the transfer efficiency makes the answer hang on it more."""
    practice = make_practice()
    narrow = replace(practice.basis["transfer_efficiency"], low=0.7, high=0.8)
    known = replace(practice, basis={**practice.basis, "transfer_efficiency": narrow})

    def share(**changes: Any) -> float:
        shares = _chain(**changes).shares
        return next(item.total for item in shares if item.cause == "transfer efficiency")

    assert share() > 2 * share(practice=known)
