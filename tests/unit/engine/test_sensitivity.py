"""What the answer hangs on: shares by known functions, and the cause that is made to dominate."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from job_fixture import START_S, make_asset, make_job, make_practice, make_product, with_fire
from stillwet.domain.chain import Share
from stillwet.domain.job import Job, Uncertainty
from stillwet.engine import members, sensitivity
from stillwet.engine.faces import faces_of
from stillwet.engine.make_plan import make_plan
from stillwet.engine.sensitivity import ARRIVAL, CAUSES, shares_of

Array = NDArray[np.float64]
STILL = Uncertainty((0.0, 0.0), (0.0, 0.0), (0.0, 0.0), (0.0, 0.0))


def _shares(job: Job, coat: float = 3.0) -> tuple[Share, ...]:
    asset = job.assets[0]
    wall = next(face for face in faces_of(asset) if face.label == "south wall")
    return shares_of(job, asset, wall, coat_kg_m2=coat, ratio=0.012, lay_s=START_S + 4 * 3600.0)


def _by_cause(shares: tuple[Share, ...]) -> dict[str, Share]:
    return {share.cause: share for share in shares}


def _known(monkeypatch: pytest.MonkeyPatch, function: Any) -> dict[str, Share]:
    """Shares of a function of the draws instead of the margin."""
    monkeypatch.setattr(
        sensitivity, "margin_samples", lambda *_, uniform, **__: np.asarray(function(uniform))
    )
    return _by_cause(_shares(make_job()))


def _column(uniform: Array, cause: str) -> Array:
    place = -1 if cause == ARRIVAL else members.columns_of(cause).start
    return uniform[:, place]


def test_ishigami_function_has_its_published_indices(monkeypatch: pytest.MonkeyPatch) -> None:
    """With sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1 on (-pi, pi): first order 0.3139, 0.4424, 0;
    total 0.5576, 0.4424, 0.2437 (Ishigami and Homma 1990; Saltelli et al. 2008, Global Sensitivity
    Analysis).
    """

    def ishigami(uniform: Array) -> Array:
        x1, x2, x3 = (
            np.pi * (2 * _column(uniform, cause) - 1)
            for cause in ("water efficiency", "flux", ARRIVAL)
        )
        return np.asarray(np.sin(x1) + 7 * np.sin(x2) ** 2 + 0.1 * x3**4 * np.sin(x1))

    found = _known(monkeypatch, ishigami)
    wanted = {
        "water efficiency": (0.3139, 0.5576),
        "flux": (0.4424, 0.4424),
        ARRIVAL: (0.0, 0.2437),
    }
    for cause, (first, total) in wanted.items():
        assert found[cause].first_order == pytest.approx(first, abs=0.05)
        assert found[cause].total == pytest.approx(total, abs=0.05)
    assert found["coat variation"].total == 0.0


def test_a_cause_of_several_draws_counts_as_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sum of all of the wind's draws and twice the exponent's: variances add, so shares are
    w/(w + 4) and 4/(w + 4), w the number of the wind's draws.
    """
    winds = members.columns_of("wind")

    def added(uniform: Array) -> Array:
        return np.asarray(uniform[:, winds].sum(axis=1) + 2 * _column(uniform, "drying exponent"))

    found = _known(monkeypatch, added)
    count = winds.stop - winds.start
    assert found["wind"].total == pytest.approx(count / (count + 4), abs=0.03)
    assert found["drying exponent"].total == pytest.approx(4 / (count + 4), abs=0.03)
    assert found["wind"].first_order == pytest.approx(found["wind"].total, abs=0.05)


def test_shares_are_shares() -> None:
    """Each between nothing and all but for sampling error, alone never much above with others, and
    the shares alone add up to no more than all.
    """
    for coat in (1.0, 3.0, 8.0):
        shares = _shares(make_job(), coat)
        assert {share.cause for share in shares} == set(CAUSES) - {"forecast member"}
        for share in shares:
            assert -0.1 <= share.first_order <= 1.1
            assert -0.1 <= share.total <= 1.1
            assert share.first_order <= share.total + 0.1
        assert sum(share.first_order for share in shares) <= 1.1
        totals = [share.total for share in shares]
        assert totals == sorted(totals, reverse=True)


def test_what_is_made_to_dominate_dominates() -> None:
    """A wind that nobody knows, then a coat that nobody knows, beside an arrival in an hour."""
    wild = replace(STILL, wind_log=(1.0, 1.0))
    known: dict[str, Any] = {
        "assets": (with_fire(make_asset(), flux_peak_w_m2=0.0, flux_duration_s=10.0),),
        "practice": make_practice(basis={}),
        "product": make_product(basis={}),
    }
    windy = _shares(make_job(uncertainty=wild, **known))
    assert windy[0].cause == "wind"
    assert windy[0].first_order > 0.8
    basis = {"coat_variation": make_practice().basis["coat_variation"]}
    uneven = _shares(
        make_job(uncertainty=STILL, **(known | {"practice": make_practice(basis=basis)}))
    )
    assert uneven[0].cause == "coat variation"
    assert uneven[0].first_order > 0.8


def test_what_does_not_spread_has_no_share() -> None:
    """Causes whose interval is not stated, and a window of one moment, carry nothing at all."""
    moment = with_fire(make_asset(), arrival_from_s=START_S + 8 * 3600.0)
    job = make_job(
        assets=(moment,),
        uncertainty=replace(STILL, wind_log=(0.2, 0.4)),
        practice=make_practice(basis={}),
        product=make_product(basis={}),
    )
    found = _by_cause(_shares(job))
    for cause in set(found) - {"wind", "flux"}:
        assert found[cause].total == 0.0, cause
        assert found[cause].first_order == 0.0, cause


def test_nothing_varies_nothing_is_told() -> None:
    """A face without fire heat, everything known, a window of one moment: no shares."""
    asset = with_fire(
        make_asset(),
        arrival_from_s=START_S + 8 * 3600.0,
        flux_peak_w_m2=0.0,
        flux_duration_s=10.0,
    )
    job = make_job(
        assets=(asset,),
        uncertainty=STILL,
        practice=make_practice(basis={}),
        product=make_product(basis={}),
    )
    assert _shares(job) == ()


def test_same_seed_same_shares_to_the_bit() -> None:
    """Twice the same; another seed a little different."""
    assert _shares(make_job()) == _shares(make_job())
    other = _by_cause(_shares(make_job(seed=2)))
    for share in _shares(make_job()):
        assert other[share.cause].total == pytest.approx(share.total, abs=0.15)
    assert _shares(make_job(seed=2)) != _shares(make_job())


def test_margin_of_a_planned_coat_is_short_as_often_as_the_plan_says() -> None:
    """With the arrival at its latest, the share of samples with water to spare is the plan's own
    probability, up to sampling: the two reckon the same thing.
    """
    job = make_job(members=1024)
    face = make_plan(job, now_s=START_S).assets[0].governing
    uniform = np.random.default_rng(3).random((4096, members.DRAWS + 1))
    uniform[:, -1] = 1.0
    margin = sensitivity.margin_samples(
        job,
        job.assets[0],
        face.surface,
        coat_kg_m2=face.coat_kg_m2,
        ratio=face.mix_ratio,
        lay_s=face.lay_time_s,
        uniform=uniform,
    )
    assert (margin >= 0).mean() == pytest.approx(face.probability, abs=0.03)
