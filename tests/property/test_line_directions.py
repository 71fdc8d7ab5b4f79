"""Directions every wetted line must respect: worse weather never holds longer, more never shorter.

Common practice, no source: the worse the burning conditions, the shorter the time allowed between
wetting a line and lighting it. Air is 30 C, warmer than a wet leaf, which is when that holds. Dry
fuel also makes the black faster, so that of drier air and sun it is asked of the hold time.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from line_fixture import frame_of, make_fuel, make_line, make_segment, make_work, steady_job
from stillwet.domain.job import Job
from stillwet.domain.lines import Side
from stillwet.engine.line_holding import Hold, hold_of, retention, water_on_fuel

Array = NDArray[np.float64]
TINY_S = 1e-3
MODELS = ("1", "3", "GR2", "GR4", "GS2", "SH2", "TL3")

check = settings(max_examples=6, deadline=None, derandomize=True)
lines = st.builds(
    lambda model, side, slope: make_line(
        segments=(make_segment(fuel=make_fuel(model, slope_deg=slope), aspect_deg=225.0),),
        work=make_work(fire_side=side),
    ),
    model=st.sampled_from(MODELS),
    side=st.sampled_from(list(Side)),
    slope=st.floats(0.0, 20.0),
)
weathers = st.fixed_dictionaries(
    {
        "wind": st.floats(1.0, 9.0),
        "humidity": st.floats(0.08, 0.5),
        "sun": st.floats(0.1, 0.9),
    }
)
coverages = st.floats(1.0, 8.0)


def hold_under(job: Job, coverage: float, sky_of: Job | None = None) -> Hold:
    """Hold times of the job's line over eight hours of wetting, every member for itself."""
    frame = frame_of(job, sky_of)
    strip = frame.strips[0]
    water = water_on_fuel(strip, coverage=coverage, kept=retention(strip, frame.mix, 0.012))
    return hold_of(strip, water, wet_s=strip.time_s[:8])


@pytest.mark.parametrize(
    ("changed", "by"), [("wind", 1.4), ("humidity", 0.7), ("sun", 1.3)], ids=["wind", "dry", "sun"]
)
def test_worse_weather_never_holds_longer(changed: str, by: float) -> None:
    """More wind, drier air, more sun: no member's strip stays wet for longer at any hour.

    Drier air is compared under the same sky, since a damper sky radiates more (docs/decisions, 6).
    """

    @check
    @given(line=lines, weather=weathers, coverage=coverages)
    def worse(line: Any, weather: dict[str, float], coverage: float) -> None:
        calm = steady_job(line, **weather, members=8)
        rough = steady_job(line, **(weather | {changed: by * weather[changed]}), members=8)
        before, after = hold_under(calm, coverage), hold_under(rough, coverage, sky_of=calm)
        assert (after.hold_s <= before.hold_s + TINY_S).all()

    worse()


@check
@given(weather=weathers, coverage=coverages, model=st.sampled_from(MODELS))
def test_more_wind_allows_no_longer_lag(
    weather: dict[str, float], coverage: float, model: str
) -> None:
    """Wind towards the line shortens the lag, though the black grows faster with it.

    What cannot be held at all (a lag below zero) is left out.
    """
    line = make_line(
        segments=(make_segment(fuel=make_fuel(model)),), work=make_work(fire_side=Side.RIGHT)
    )
    calm = steady_job(line, **weather, members=8)
    rough = steady_job(line, **(weather | {"wind": 1.4 * weather["wind"]}), members=8)
    before, after = hold_under(calm, coverage), hold_under(rough, coverage)
    inside = after.hold(0.9) < before.hold(0.9)  # neither outlasts the weather
    held = inside & (before.lag(0.9) > 0.0)
    assert (after.lag(0.9)[held] <= before.lag(0.9)[held] + TINY_S).all()


@check
@given(line=lines, weather=weathers, coverage=coverages, more=st.floats(0.1, 4.0))
def test_more_coverage_never_holds_shorter(
    line: Any, weather: dict[str, float], coverage: float, more: float
) -> None:
    """More water on the strip, at least as long to hold and to light."""
    job = steady_job(line, **weather, members=8)
    thin, thick = hold_under(job, coverage), hold_under(job, coverage + more)
    assert (thick.hold_s >= thin.hold_s - TINY_S).all()
    assert (thick.lag_s >= thin.lag_s - TINY_S).all()


@check
@given(line=lines, weather=weathers, coverage=coverages, margin=st.floats(1.1, 2.0))
def test_a_larger_margin_never_holds_longer(
    line: Any, weather: dict[str, float], coverage: float, margin: float
) -> None:
    """Asking for fuel wetter than extinction by more costs time."""
    careful = replace(line, model=replace(line.model, extinction_margin=1.5 * margin), basis={})
    usual = replace(line, basis={})
    before = hold_under(steady_job(usual, **weather, members=8), coverage)
    after = hold_under(steady_job(careful, **weather, members=8), coverage)
    assert (after.hold_s <= before.hold_s + TINY_S).all()


@check
@given(line=lines, weather=weathers, coverage=coverages, deeper=st.floats(0.5, 10.0))
def test_a_deeper_black_leaves_less_lag(
    line: Any, weather: dict[str, float], coverage: float, deeper: float
) -> None:
    """The longer a strip must stand in for the black, the sooner it must be lit."""
    (segment,) = line.segments
    deep = replace(line, segments=(replace(segment, black_depth_m=segment.black_depth_m + deeper),))
    before = hold_under(steady_job(line, **weather, members=8), coverage)
    after = hold_under(steady_job(deep, **weather, members=8), coverage)
    np.testing.assert_allclose(after.hold_s, before.hold_s)
    assert (after.lag_s <= before.lag_s + TINY_S).all()
