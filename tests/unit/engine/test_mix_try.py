"""One mix tried: agrees with the whole mix window, and moves the way a mix does."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from gear_fixture import make_gear
from job_fixture import make_crew, make_job
from stillwet.domain.mix_try import MixTried, Tried, TryVerdict
from stillwet.engine.mix_draws import draw_mix
from stillwet.engine.mix_try import MixBench

USUAL = Tried(0.012, 0.1, 293.15, 3.0, 90.0)


@pytest.fixture(scope="module")
def bench() -> MixBench:
    """A small job with one crew whose pump is known."""
    job = make_job(members=16, crews=(make_crew(gear=make_gear()),))
    return MixBench(job, draw_mix(job))


def at(bench: MixBench, **changes: float) -> MixTried:
    """The usual mix with something else about it."""
    return bench.try_mix(replace(USUAL, **changes))


def test_leaner_than_the_lower_wall_is_too_thin(bench: MixBench) -> None:
    """Just under the wall it slides, just over it clings, unless the label or a pump says no."""
    lower = at(bench).lower.ratio
    assert at(bench, ratio=0.99 * lower).verdict is TryVerdict.TOO_THIN
    assert at(bench, ratio=1.01 * lower).verdict is not TryVerdict.TOO_THIN


def test_what_is_counted_on_meets_the_coat_at_the_wall(bench: MixBench) -> None:
    """At the lower wall the thickest coat counted on is the coat asked for."""
    found = at(bench)
    there = at(bench, ratio=found.lower.ratio)
    assert there.counted_kg_m2 == pytest.approx(USUAL.coat_kg_m2, rel=1e-6)


def test_harder_water_thicker_coat_ask_for_more(bench: MixBench) -> None:
    """Hardness spoils the thickener and a thicker coat pulls harder: the lower wall rises."""
    usual = at(bench).lower.ratio
    assert at(bench, hardness_kg_m3=0.3).lower.ratio > usual
    assert at(bench, coat_kg_m2=5.0).lower.ratio > usual
    assert at(bench, tilt_deg=20.0).lower.ratio < usual


def test_far_too_rich_is_not_pumped_or_falls_off(bench: MixBench) -> None:
    """A tenth of concentrate is no mix to spray."""
    worst = {TryVerdict.TOO_STIFF, TryVerdict.NO_PUMP, TryVerdict.OFF_LABEL}
    assert at(bench, ratio=0.1).verdict in worst


def test_pumping_is_reckoned_once_a_water(bench: MixBench) -> None:
    """Another ratio in the same water finds the crew's wall as it was; its flow is its own."""
    first, second = at(bench), at(bench, ratio=0.02)
    assert first.crews[0].wall == second.crews[0].wall
    assert first.crews[0].flows != second.crews[0].flows


def test_engines_of_one_name_keep_their_own_hoses() -> None:
    """Two engines may be called alike: twenty times the hose brings less at the nozzle."""
    bore, length = make_gear().hoses_m[0]
    crews = tuple(
        make_crew(id=name, name="Engine 7", gear=make_gear(hoses_m=((bore, times * length),)))
        for name, times in (("c1", 1.0), ("c2", 20.0))
    )
    job = make_job(members=16, crews=crews)
    short, long = MixBench(job, draw_mix(job)).try_mix(USUAL).crews
    for near, far in zip(short.flows, long.flows, strict=True):
        assert far.flow_m3_s < near.flow_m3_s


def test_the_picture_reaches_past_what_is_asked_about(bench: MixBench) -> None:
    """From no concentrate at all, evenly, past twice the label's richest and past the mix tried."""
    for ratio in (0.012, 0.2):
        found = at(bench, ratio=ratio)
        axis = found.curve.ratio
        assert axis[0] == 0.0
        steps = [b - a for a, b in pairwise(axis)]
        assert steps == pytest.approx([steps[0]] * len(steps))
        assert max(ratio, 2.0 * found.label[1]) < axis[-1] < 2.0 * max(ratio, 2.0 * found.label[1])


def test_no_more_is_counted_on_than_clings(bench: MixBench) -> None:
    """At every ratio of the picture, and by the same share at each."""
    curve = at(bench).curve
    pairs = [(a, b) for a, b in zip(curve.counted_kg_m2, curve.middle_kg_m2, strict=True) if b > 0]
    assert pairs
    assert all(counted < clings for counted, clings in pairs)
    assert [a / b for a, b in pairs] == pytest.approx([pairs[0][0] / pairs[0][1]] * len(pairs))
