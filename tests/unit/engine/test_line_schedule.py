"""Two crews along a line: arithmetic by hand, and 500 runs with delays held against the rules."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from stillwet.engine.line_schedule import (
    Delays,
    Steps,
    Stop,
    Walk,
    finish_share,
    no_delays,
    plan_walk,
    play_walk,
    random_delays,
)


def make_steps(count: int = 6, **changes: Any) -> Steps:
    """Steps of 10 m: 20 s to wet, 25 s to light, 50 L each, half an hour of lag."""
    moments = 600.0 * np.arange(60)
    values: dict[str, Any] = {
        "segment": np.zeros(count, dtype=np.int64),
        "length_m": np.full(count, 10.0),
        "wet_work_s": np.full(count, 20.0),
        "light_work_s": np.full(count, 25.0),
        "mix_m3": np.full(count, 0.05),
        "turn_s": np.full(count, 600.0),
        "tank_m3": 1.0,
        "gap_s": 60.0,
        "start_s": 0.0,
        "finish_s": 8 * 3600.0,
        "moment_s": moments,
        "lag_s": np.full((1, moments.size), 1800.0),
        "may_light": np.ones(moments.size, dtype=np.bool_),
        "is_lit": True,
    }
    return Steps(**(values | changes))


def test_times_by_hand() -> None:
    """Wetting 0 to 20 s, a minute's gap, then 25 s of torch a step: lit at 105, 130, 155 s."""
    walk = plan_walk(make_steps(3))
    np.testing.assert_allclose(walk.wet_to_s, [20.0, 40.0, 60.0])
    np.testing.assert_allclose(walk.lit_to_s, [105.0, 130.0, 155.0])
    np.testing.assert_allclose(walk.lag_s, [105.0, 110.0, 115.0])
    assert walk.stop is None


def test_tank_is_filled_when_the_next_step_does_not_fit() -> None:
    """0.12 m3 of tank and 0.05 m3 a step: a turn of ten minutes before the third and fifth step."""
    walk = plan_walk(make_steps(6, tank_m3=0.12))
    assert np.flatnonzero(np.isfinite(walk.refill_from_s)).tolist() == [2, 4]
    np.testing.assert_allclose(walk.wet_from_s, [0, 20, 640, 660, 1280, 1300])


def test_no_water_ends_the_line_where_the_tank_does() -> None:
    """Without a water point the line ends after one tank; a step larger than the tank is none."""
    walk = plan_walk(make_steps(6, tank_m3=0.12, turn_s=np.full(6, np.inf)))
    assert (walk.stop, walk.stopped_at) == (Stop.WATER, 2)
    assert plan_walk(make_steps(2, tank_m3=0.04)).stopped_at == 0


def test_a_fast_nozzle_waits_for_a_slow_torch() -> None:
    """With a torch of 300 s a step and half an hour of lag, no spot waits for more than it may.

    The wetting crew is given holding points, and at each the torch is behind it as planned.
    """
    steps = make_steps(20, light_work_s=np.full(20, 300.0))
    walk = plan_walk(steps)
    assert walk.stop is None
    assert float(walk.lag_s.max()) <= 0.5 * 1800.0 + 20.0 + 60.0 + 2 * 300.0
    held = np.flatnonzero(walk.hold_after >= 0)
    assert held.size
    assert (walk.wet_from_s[held] >= walk.lit_to_s[walk.hold_after[held]]).all()


def test_a_torch_slower_than_the_lag_is_stopped() -> None:
    """A step that takes longer to light than its strip stays wet is not lit."""
    walk = plan_walk(make_steps(3, light_work_s=np.full(3, 1800.0)))
    assert (walk.stop, walk.stopped_at) == (Stop.LAG, 0)
    assert np.isnan(walk.lit_to_s).all()


def test_nothing_is_wetted_or_lit_in_the_wrong_wind() -> None:
    """The wind comes right at 01:00: work begins then, and a wind that never does ends it."""
    right = np.ones(60, dtype=np.bool_)
    right[:6] = False
    walk = plan_walk(make_steps(3, may_light=right))
    assert walk.wet_from_s[0] == 3600.0
    never = plan_walk(make_steps(3, may_light=np.zeros(60, dtype=np.bool_)))
    assert (never.stop, never.stopped_at) == (Stop.WIND, 0)


def test_lag_is_the_shorter_of_the_two_moments_about_it() -> None:
    """Between a lag of 1,000 s at 0 and 400 s at 600 s, a spot wetted at 10 s has 400 s."""
    lag = np.full((1, 60), 400.0)
    lag[0, 0] = 1000.0
    steps = make_steps(1, lag_s=lag)
    assert steps.lag_at(0, 0.0) == 1000.0
    assert steps.lag_at(0, 10.0) == 400.0


def test_out_of_time() -> None:
    """Work past the finish is not begun."""
    walk = plan_walk(make_steps(6, finish_s=110.0))
    assert walk.stop is Stop.TIME
    assert float(np.nanmax(walk.lit_to_s)) <= 110.0


@pytest.mark.parametrize(
    "slow",
    [{"wet_work_s": np.array([10.0, 600.0, 10.0])}, {"tank_m3": 0.06, "turn_s": np.full(3, 600.0)}],
    ids=["torch", "nozzle"],
)
def test_time_that_runs_out_is_not_laid_on_the_wind(slow: dict[str, Any]) -> None:
    """Every wind is right: a crew that comes to a step after the finish has run out of time."""
    walk = plan_walk(make_steps(3, finish_s=550.0, **slow))
    assert (walk.stop, walk.stopped_at) == (Stop.TIME, 1)


def test_a_line_that_is_not_lit_must_last() -> None:
    """Half an hour of hold does for a fire due in 25 minutes and not for one due in 40."""
    assert plan_walk(make_steps(3, is_lit=False, must_last_s=1500.0)).stop is None
    late = plan_walk(make_steps(3, is_lit=False, must_last_s=2400.0))
    assert (late.stop, late.stopped_at) == (Stop.DRY, 0)


def test_playing_without_delays_is_the_plan() -> None:
    """No delay, no difference."""
    steps = make_steps(20, light_work_s=np.full(20, 300.0), tank_m3=0.3)
    plan = plan_walk(steps)
    played = play_walk(steps, plan, no_delays(steps))
    np.testing.assert_array_equal(played.lit_to_s, plan.lit_to_s)
    np.testing.assert_array_equal(played.refill_to_s, plan.refill_to_s)


def test_a_late_torch_stops_the_line() -> None:
    """A torch that is held up for an hour finds its strip dry, and does not light it."""
    steps = make_steps(6)
    plan = plan_walk(steps)
    late = np.zeros(6)
    late[3] = 3600.0
    played = play_walk(steps, plan, Delays(np.zeros(6), late))
    assert (played.stop, played.stopped_at) == (Stop.LAG, 3)


def _random_steps(rng: np.random.Generator) -> Steps:
    count = int(rng.integers(3, 25))
    segments = np.sort(rng.integers(0, 3, count))
    moments = 600.0 * np.arange(60)
    lag = rng.uniform(100.0, 3000.0, (3, 1)) * np.linspace(1.0, rng.uniform(0.2, 1.2), 60)
    return make_steps(
        count,
        segment=segments.astype(np.int64),
        wet_work_s=rng.uniform(10.0, 120.0, count),
        light_work_s=rng.uniform(10.0, 120.0, count),
        mix_m3=rng.uniform(0.02, 0.2, count),
        turn_s=rng.uniform(120.0, 1500.0, count),
        tank_m3=float(rng.uniform(0.25, 2.0)),
        gap_s=float(rng.uniform(0.0, 200.0)),
        finish_s=float(rng.uniform(1.0, 8.0) * 3600.0),
        moment_s=moments,
        lag_s=lag,
        may_light=np.repeat(rng.random(10) < 0.8, 6),
        keep_ahead=float(rng.choice([0.0, 0.25, 0.5])),
    )


def _broken_rules(steps: Steps, plan: Walk, walk: Walk) -> list[str]:
    """Every rule of the line that a walk breaks, looked at apart from the code that walks."""
    broken = []
    lit = np.flatnonzero(np.isfinite(walk.lit_to_s))
    wet = np.flatnonzero(np.isfinite(walk.wet_from_s))
    lit_from, lit_to, wet_from = walk.lit_from_s[lit], walk.lit_to_s[lit], walk.wet_from_s[lit]
    for i, begin, end, since in zip(lit, lit_from, lit_to, wet_from, strict=True):
        row = steps.lag_s[steps.segment[i]]
        about = np.abs(steps.moment_s - since) < 600.0
        if end - since > row[about].min() + 1e-3:
            broken.append(f"lag at {i}")
        hours = [int(begin // 600.0), int(end // 600.0)]
        if not steps.may_light[hours].all():
            broken.append(f"wind at {i}")
    if (lit_from < walk.wet_to_s[lit] + steps.gap_s - 1e-6).any():
        broken.append("torch too close")
    if (lit_from[1:] < lit_to[:-1] - 1e-6).any() or (np.diff(walk.wet_from_s[wet]) <= 0).any():
        broken.append("order")
    if lit.tolist() != list(range(lit.size)) or wet.size - lit.size not in (0, 1):
        broken.append("a gap in the line")
    if (lit_to > steps.finish_s + 1e-6).any():
        broken.append("finish")
    left = steps.tank_m3
    for i in wet:
        left = steps.tank_m3 if np.isfinite(walk.refill_to_s[i]) else left
        left -= steps.mix_m3[i]
        if left < -1e-9:
            broken.append(f"tank at {i}")
    held = [i for i in wet if plan.hold_after[i] >= 0]
    if any(walk.wet_from_s[i] < walk.lit_to_s[plan.hold_after[i]] - 1e-6 for i in held):
        broken.append("holding point")
    if (walk.stop is None) != (lit.size == steps.count):
        broken.append("stop")
    return broken


def test_500_runs_with_random_delays_hold_the_stop_rules() -> None:
    """Random lines, winds, tanks and delays: nothing is lit beside a strip past its lag, in the

    wrong wind, ahead of the wetting, or after a stop; no tank runs below empty. Both ends are met:
    some runs finish and every kind of stop but a dry one comes up.
    """
    stops = set()
    for seed in range(500):
        rng = np.random.default_rng(seed)
        steps = _random_steps(rng)
        plan = plan_walk(steps)
        assert _broken_rules(steps, plan, plan) == [], seed
        delays = random_delays(steps, share=float(rng.uniform(0.0, 2.0)), rng=rng)
        played = play_walk(steps, plan, delays)
        assert _broken_rules(steps, plan, played) == [], seed
        stops.add(played.stop)
    assert {None, Stop.LAG, Stop.WIND, Stop.TIME} <= stops


def test_the_checker_sees_a_broken_rule() -> None:
    """A walk with one spot lit an hour late is caught."""
    steps = make_steps(6)
    plan = plan_walk(steps)
    lit = plan.lit_to_s.copy()
    lit[2:] += 3600.0
    wrong = Walk(
        **{name: getattr(plan, name) for name in Walk.__dataclass_fields__} | {"lit_to_s": lit}
    )
    assert "lag at 2" in _broken_rules(steps, plan, wrong)


def test_finish_share_falls_with_delays() -> None:
    """More delay, fewer runs that keep every rule; the same seed, the same share."""
    steps = make_steps(20, lag_s=np.full((1, 60), 260.0))
    plan = plan_walk(steps)
    shares = [
        finish_share(steps, plan, delay_share=share, runs=60, seed=3)[0]
        for share in (0.0, 0.5, 2.0)
    ]
    assert shares[0] == 1.0
    assert shares == sorted(shares, reverse=True)
    assert shares[-1] < 1.0
    again, commonest = finish_share(steps, plan, delay_share=2.0, runs=60, seed=3)
    assert again == shares[-1]
    assert commonest is Stop.LAG


@pytest.mark.parametrize("keep", [0.0, 0.25, 0.5])
def test_staying_close_saves_lag(keep: float) -> None:
    """The closer the wetting crew is kept to the torch, the less of the lag is used."""
    slow = make_steps(20, light_work_s=np.full(20, 300.0), keep_ahead=keep)
    loose = make_steps(20, light_work_s=np.full(20, 300.0), keep_ahead=0.6)
    assert float(plan_walk(slow).lag_s.max()) <= float(plan_walk(loose).lag_s.max())
