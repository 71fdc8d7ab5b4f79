"""Which trial to make next: the expected width is an honest forecast, and the choice pays."""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np
import pytest

from made_up_trials import draw_truth, take_reading
from stillwet.evidence.curve_fit import Water, fit_curve, lowest_working_ratio
from stillwet.evidence.next_trial import (
    Belief,
    Proposal,
    Question,
    attempts_of,
    belief_before,
    belief_of,
    rank_trials,
    reason_for,
    width_of,
)
from stillwet.evidence.readings import Attempt, Method
from stillwet.physics.product_types import product_type, product_type_names

KIND = product_type(name="superabsorbent_dispersion")
QUESTION = Question(Water(0.2, 294.15), 46.5, 0.06)
AGE_S = 4 * 3600.0


def candidates(*methods: Method) -> tuple[Attempt, ...]:
    """Ratios over the label in two waters."""
    return attempts_of(
        ratios=(0.005, 0.02),
        waters=((0.05, 294.15), (0.2, 294.15)),
        methods=methods or (Method.COUPON, Method.SLUMP, Method.FUNNEL),
        age_s=AGE_S,
        count=6,
    )


def ranked(belief: Belief, *methods: Method) -> tuple[Proposal, ...]:
    """The candidates in order."""
    return rank_trials(belief, candidates(*methods), QUESTION, seed=1)


def test_the_same_seed_gives_the_same_order() -> None:
    """Deterministic, best first, and every candidate is there once."""
    belief = belief_before(KIND, seed=1)
    one, two = ranked(belief), ranked(belief)
    assert one == two
    assert [item.width for item in one] == sorted(item.width for item in one)
    assert {item.attempt for item in one} == set(candidates())


def test_the_first_trial_is_in_the_water_asked_about() -> None:
    """Nothing is known: a reading of stress in that very water says most."""
    best = ranked(belief_before(KIND, seed=1))[0]
    assert best.attempt.hardness_kg_m3 == 0.2
    assert best.attempt.method in (Method.COUPON, Method.SLUMP)
    assert best.saved > 0.3


def test_a_surer_way_of_reading_saves_more() -> None:
    """At the same ratio and water, a slump (15 %) narrows more than a funnel (50 %)."""
    belief = belief_before(KIND, seed=1)
    for hardness, ratio in ((0.2, 0.02), (0.05, 0.014)):
        widths = {
            item.attempt.method: item.width
            for item in ranked(belief, Method.SLUMP, Method.FUNNEL)
            if item.attempt.hardness_kg_m3 == hardness
            and item.attempt.ratio == pytest.approx(ratio)
        }
        assert widths[Method.SLUMP] < widths[Method.FUNNEL]


def test_the_expected_width_is_what_fits_give_on_average() -> None:
    """Forecast and mean of 40 real fits agree within a fifth: re-weighting stands for fitting."""
    best = ranked(belief_before(KIND, seed=1))[0]
    widths = []
    for seed in range(40):
        reading = take_reading(draw_truth(KIND, seed=seed), best.attempt, name="t", seed=seed)
        fit = fit_curve([reading], KIND, seed=seed, points=256)
        target = lowest_working_ratio(
            fit.members, QUESTION.water, stress_pa=QUESTION.stress_pa, most=QUESTION.most
        )
        widths.append(width_of(target))
    assert np.mean(widths) == pytest.approx(best.width, rel=0.2)


def test_what_is_certain_needs_no_trial() -> None:
    """A stress that no mix reaches: the answer says so, and proposes another question."""
    question = Question(Water(0.2, 294.15), 1e5, 0.03)
    best = rank_trials(belief_before(KIND, seed=1), candidates(), question, seed=1)[0]
    assert best.width_now == best.width == best.saved == 0.0
    assert "no ratio up to 3.00 %" in reason_for(best, question)


def test_the_reason_names_both_widths_or_says_stop() -> None:
    """A trial that pays tells what it is expected to do; one that does not says to stop."""
    best = ranked(belief_before(KIND, seed=1))[0]
    told = reason_for(best, QUESTION)
    assert f"from {100 * best.width_now:.2f} to {100 * best.width:.2f} points" in told
    poor = Proposal(best.attempt, 0.0099, 0.01, 1.0, 2.0)
    assert "no single trial" in reason_for(poor, QUESTION)


def test_belief_after_a_fit_keeps_the_relation_errors_it_learnt() -> None:
    """A method that was used has its relation's posterior error; others keep the stated ones."""
    reading = take_reading(
        draw_truth(KIND, seed=3),
        Attempt(0.015, 0.05, 294.15, AGE_S, Method.COUPON),
        name="t",
        seed=3,
    )
    fit = fit_curve([reading], KIND, seed=1, points=256)
    belief = belief_of(fit, seed=1)
    ways = list(Method)
    column = len(fit.model.priors)
    learnt = set(np.round(fit.draws.points[:, column] * 0.15, 9))
    assert set(np.round(belief.relation[:, ways.index(Method.COUPON)], 9)) <= learnt
    assert belief.relation[:, ways.index(Method.FUNNEL)].std() == pytest.approx(0.42, rel=0.15)


@pytest.mark.slow
@pytest.mark.parametrize("name", product_type_names())
def test_proposed_trials_beat_equally_spaced_ones(name: str) -> None:
    """After three and four trials the proposed ones leave the narrower band, on the mean of 8."""
    path = Path(__file__).parents[3] / "benchmarks" / "bench_next_trial.py"
    bench = runpy.run_path(str(path))
    kind = product_type(name=name)
    question = bench["question_of"](kind)
    ours, theirs = [], []
    for seed in range(500, 508):
        truth = draw_truth(kind, seed=seed)
        ours.append(bench["proposed_widths"](truth, question, seed, 4)[2:])
        theirs.append(bench["spaced_widths"](truth, question, seed, range(3, 5)))
    assert np.all(np.mean(ours, axis=0) < np.mean(theirs, axis=0))
