"""The rules that stop wetting and lighting, and whether the plan as forecast keeps them."""

from __future__ import annotations

import numpy as np

from stillwet.domain.line_plan import LineSegmentPlan, StopRule
from stillwet.engine.line_reasons import length_at_most, minutes_left, planned_width
from stillwet.engine.line_schedule import Stop
from stillwet.engine.line_search import Attempt, Frame
from stillwet.engine.verdicts import CONFIDENT
from stillwet.units import from_si


def stop_rules(
    frame: Frame, attempt: Attempt, segments: tuple[LineSegmentPlan, ...]
) -> tuple[StopRule, ...]:
    """The rules that end lighting or wetting, and whether the forecast keeps them."""
    return (
        _lag_rule(frame, attempt),
        _late_rule(frame, attempt),
        _flame_rule(segments),
        _wind_rule(frame, attempt),
        _over_rule(),
    )


def _lag_rule(frame: Frame, attempt: Attempt) -> StopRule:
    if not frame.line.work.is_lit:
        return StopRule(
            "dried out",
            "A strip wetted longer ago than the hold time counts as no line: wet it afresh or "
            "pull back.",
            "kept" if attempt.walk.stop is None else "broken: see above",
            attempt.walk.stop is None,
        )
    slack = attempt.walk.latest_s - attempt.walk.lit_to_s
    kept = attempt.walk.stop not in (Stop.LAG, Stop.DRY)
    told = "nothing is lit"
    if np.isfinite(slack).any():
        told = f"least time to spare {minutes_left(float(np.nanmin(slack)))}"
    return StopRule(
        "lag exceeded",
        "Do not light beside a spot wetted longer ago than the lag shown for its hour: wet it "
        "afresh first.",
        told if kept else "broken: see above",
        kept,
    )


def _late_rule(frame: Frame, attempt: Attempt) -> StopRule:
    if not frame.line.work.is_lit:
        return StopRule(
            "crew late",
            "Wetting that is not done by the time shown is left: the crew goes.",
            "kept" if attempt.walk.stop is not Stop.TIME else "broken: see above",
            attempt.walk.stop is not Stop.TIME,
        )
    return StopRule(
        "crew late",
        "The torch never passes the last wet mark, and waits there while the tank is filled. The "
        "lag of a stretch wetted late counts from when it was wetted.",
        f"{int(100 * attempt.share)} of 100 runs with delays keep every rule",
        attempt.share >= CONFIDENT,
    )


def _flame_rule(segments: tuple[LineSegmentPlan, ...]) -> StopRule:
    most = min(part.barrier_width_m / planned_width(part).multiple for part in segments)
    kept = all(planned_width(part).is_enough for part in segments)
    return StopRule(
        "flames too long",
        f"Stop when flames beside the narrowest strip grow past {length_at_most(most)}.",
        "kept" if kept else "broken: see above",
        kept,
    )


def _wind_rule(frame: Frame, attempt: Attempt) -> StopRule:
    work = frame.line.work
    parts = []
    if work.wind_from_deg is not None and work.wind_to_deg is not None:
        parts.append(
            f"leaves the sector {work.wind_from_deg:.0f} clockwise to {work.wind_to_deg:.0f} deg"
        )
    if work.wind_limit_m_s is not None:
        limit = work.wind_limit_m_s
        parts.append(f"passes {limit:.1f} m/s ({from_si(limit, 'mph'):.0f} mph) at 10 m")
    if not parts:
        return StopRule(
            "wind shift",
            "No sector or limit is given: stop at any shift towards the line, and agree beforehand "
            "what that is.",
            "not checked",
            False,
        )
    wrong_s = frame.sky.time_s[~frame.may_light]
    wrong_s = wrong_s[wrong_s > attempt.steps.start_s]
    first = float(wrong_s[0]) if wrong_s.size else None
    kept = first is None or attempt.walk.stop is None
    return StopRule(
        "wind shift",
        f"Stop lighting and wetting when the wind {' or '.join(parts)}.",
        "no hour is outside" if first is None else "first hour outside",
        kept and attempt.walk.stop is not Stop.WIND,
        first,
    )


def _over_rule() -> StopRule:
    return StopRule(
        "fire over the line",
        "Fire on the wrong side of the strip, or under the gel: stop lighting, everybody on it.",
        "not reckoned",
        True,
    )
