"""The rules that stop a line's work, and whether the forecast is said to keep them: by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from line_fixture import make_line, make_work
from stillwet.domain.line_plan import LineSegmentPlan, StopRule, WidthCheck
from stillwet.engine.line_rules import stop_rules
from stillwet.engine.line_schedule import Stop
from stillwet.engine.line_search import Attempt, Frame

NAN = np.nan
HOURS = 3600.0 * np.arange(5.0)


def _rules(
    stop: Stop | None = None,
    *,
    share: float = 1.0,
    may_light: tuple[bool, ...] = (True,) * 5,
    widths: tuple[tuple[float, float, bool], ...] = ((4.0, 2.0, True),),
    **work: Any,
) -> dict[str, StopRule]:
    """The rules of a line begun at 1800 s, by name. ``widths``: barrier, multiple, enough."""
    frame = SimpleNamespace(
        line=make_line(work=make_work(**work)),
        sky=SimpleNamespace(time_s=HOURS),
        may_light=np.array(may_light),
    )
    walk = SimpleNamespace(
        latest_s=np.array([1000.0, 1500.0, 1600.0]),
        lit_to_s=np.array([200.0, 1205.0, NAN]),
        stop=stop,
    )
    attempt = SimpleNamespace(walk=walk, steps=SimpleNamespace(start_s=1800.0), share=share)
    parts = tuple(
        cast(
            LineSegmentPlan,
            SimpleNamespace(
                barrier_width_m=barrier,
                widths=(
                    WidthCheck(1.0, 0.0, is_enough=True, is_planned=False, source=""),
                    WidthCheck(multiple, 0.0, is_enough=enough, is_planned=True, source=""),
                ),
            ),
        )
        for barrier, multiple, enough in widths
    )
    found = stop_rules(cast(Frame, frame), cast(Attempt, attempt), parts)
    return {rule.name: rule for rule in found}


@pytest.mark.parametrize(
    ("stop", "kept"),
    [(None, True), (Stop.WIND, True), (Stop.TIME, True), (Stop.LAG, False), (Stop.DRY, False)],
)
def test_the_lag_is_broken_only_by_a_torch_that_is_too_late(stop: Stop | None, kept: bool) -> None:
    """Of 800 and 295 s to spare the least is told, cut to whole minutes: 4."""
    rule = _rules(stop)["lag exceeded"]
    assert rule.is_kept is kept
    assert rule.forecast == ("least time to spare 4 min" if kept else "broken: see above")


@pytest.mark.parametrize(("share", "kept"), [(0.9, True), (0.895, False)])
def test_nine_runs_in_ten_with_delays_keep_the_line(share: float, kept: bool) -> None:
    """Told in runs of a hundred, cut and not rounded."""
    rule = _rules(share=share)["crew late"]
    assert rule.is_kept is kept
    assert rule.forecast.startswith(f"{int(100 * share)} of 100 runs")


@pytest.mark.parametrize("stop", [None, Stop.TIME, Stop.DRY])
def test_a_line_that_is_met_by_the_fire_has_rules_of_its_own(stop: Stop | None) -> None:
    """It dries out by any stop, and is late only where time runs out."""
    rules = _rules(stop, is_lit=False)
    assert rules["dried out"].is_kept is (stop is None)
    assert rules["crew late"].is_kept is (stop is not Stop.TIME)
    assert "lag exceeded" not in rules


def test_the_narrowest_strip_sets_the_flames_to_stop_at() -> None:
    """4 m over 2 times the flame are 2 m, 9 m over 3 are 3 m: stop past 2 m (6.6 ft: 6 ft)."""
    rule = _rules(widths=((9.0, 3.0, True), (4.0, 2.0, True)))["flames too long"]
    assert "past 2.0 m (6 ft)" in rule.rule
    assert rule.is_kept
    assert not _rules(widths=((9.0, 3.0, True), (4.0, 2.0, False)))["flames too long"].is_kept


def test_the_first_hour_of_wrong_wind_after_the_start_is_named() -> None:
    """Wrong before work begins does not count; an hour outside does no harm to a line that is done
    by then, and breaks one that was stopped by it.
    """
    sector: dict[str, Any] = {"wind_from_deg": 300.0, "wind_to_deg": 30.0, "wind_limit_m_s": 6.0}
    early = _rules(may_light=(False, True, True, True, True), **sector)["wind shift"]
    assert (early.is_kept, early.when_s, early.forecast) == (True, None, "no hour is outside")
    assert "leaves the sector 300 clockwise to 30 deg or passes 6.0 m/s (13 mph)" in early.rule
    wrong = (True, True, True, False, False)
    done = _rules(may_light=wrong, **sector)["wind shift"]
    assert (done.is_kept, done.when_s, done.forecast) == (True, HOURS[3], "first hour outside")
    assert not _rules(Stop.WIND, may_light=wrong, **sector)["wind shift"].is_kept


def test_without_sector_or_limit_any_shift_stops() -> None:
    """Nothing was checked, so nothing is said to be kept."""
    rule = _rules()["wind shift"]
    assert (rule.forecast, rule.is_kept) == ("not checked", False)


def test_fire_over_the_line_is_always_a_rule() -> None:
    """The last of them, for every line."""
    assert list(_rules())[-1] == list(_rules(is_lit=False))[-1] == "fire over the line"
