"""Verdicts, causes and reasons: thresholds, and sentences a crew can act on."""

from __future__ import annotations

import math
from typing import Any

import pytest

from stillwet.domain.plan import Verdict
from stillwet.engine.verdicts import Finding, governing_cause, reason_of, verdict_of


def _finding(**changes: Any) -> Finding:
    values: dict[str, Any] = {
        "probability": 0.95,
        "coat": 3.0,
        "needed": 3.0,
        "cling": 6.0,
        "thinnest": 1.6,
        "water_demand": 0.5,
        "reserve": 0.3,
        "drying": 1.5,
        "apply_until_s": 3600.0,
        "start_s": 0.0,
        "contact": False,
    }
    return Finding(**(values | changes))


@pytest.mark.parametrize(
    ("probability", "verdict"),
    [
        (1.0, Verdict.HOLDS),
        (0.9, Verdict.HOLDS),
        (0.8999, Verdict.DOUBTFUL),
        (0.5, Verdict.DOUBTFUL),
        (0.4999, Verdict.WILL_NOT_HOLD),
        (0.0, Verdict.WILL_NOT_HOLD),
    ],
)
def test_verdict_by_confidence(probability: float, verdict: Verdict) -> None:
    """Holds from 90 %, doubtful from 50 %, will not hold below."""
    assert verdict_of(probability) is verdict


@pytest.mark.parametrize(
    ("changes", "cause", "words"),
    [
        ({}, "drying", "Set by drying: the weather takes 1.5 mm (0.06 in) before the fire."),
        (
            {"water_demand": 2.0},
            "fire",
            "Set by the fire: it takes 2.0 mm (0.08 in) in the middle case.",
        ),
        ({"drying": 0.2, "water_demand": 0.1}, "embers", "Set by the embers"),
        ({"coat": 1.6}, "thinnest coat", "The thinnest even coat is already enough."),
        ({"apply_until_s": -1.0}, "time", "No time: crews must be clear before"),
        (
            {"probability": 0.725, "drying": 4.0},
            "cling",
            "The thickest coat that clings, 6.0 mm (0.24 in), is enough in 72 of 100 cases",
        ),
        (
            {"probability": 0.2, "drying": 1.4, "cling": 1.1, "water_demand": 0.3},
            "cling",
            "To be sure takes a coat of 3.0 mm (0.12 in); no more than 1.1 mm (0.04 in) clings. In "
            "the middle case the weather takes 1.4 mm (0.06 in) before the fire, the fire 0.3 mm",
        ),
        (
            {"probability": 0.2, "needed": 14.0, "water_demand": 9.0},
            "fire",
            "To be sure takes a coat of 14.0 mm (0.55 in); no more than 6.0 mm (0.24 in) clings. "
            "The fire boils off 9.0 mm (0.35 in) in the middle case, the weather takes 1.5 mm",
        ),
        (
            {"probability": 0.0, "needed": math.inf, "cling": 0.01},
            "cling",
            "No thickness is sure to be enough; the thickest coat that clings is under 0.1 mm",
        ),
        (
            {"probability": 0.2, "needed": 5.9},
            "cling",
            "The thickest coat that clings, 6.0 mm (0.24 in), holds in fewer than half of the",
        ),
    ],
)
def test_cause_and_reason(changes: dict[str, Any], cause: str, words: str) -> None:
    """What governs, in one word and in one sentence with both readers' units."""
    found = _finding(**changes)
    assert governing_cause(found) == cause
    assert words in reason_of(found)


def test_flames_on_the_face_are_told_last() -> None:
    """Contact is added to whatever the reason is, except when there is no time at all."""
    assert reason_of(_finding(contact=True)).endswith(" Flames reach the face.")
    assert "Flames" not in reason_of(_finding(contact=True, apply_until_s=-1.0))


def test_no_time_outranks_every_other_cause() -> None:
    """A coat that would hold, but that nobody can lay in time, is a matter of time."""
    assert governing_cause(_finding(probability=1.0, coat=1.0, apply_until_s=-1.0)) == "time"


def test_a_coat_that_is_too_little_is_never_told_as_more_than_what_takes_it() -> None:
    """The number beside the cling limit is the coat needed: never one that the limit exceeds."""
    told = reason_of(_finding(probability=0.2, needed=5.7, cling=3.7, drying=0.9, water_demand=0.6))
    assert told.index("5.7 mm") < told.index("3.7 mm") < told.index("0.9 mm")


@pytest.mark.parametrize(
    "changes",
    [{}, {"probability": 0.7}, {"probability": 0.2}, {"probability": 0.2, "water_demand": 9.0}],
)
def test_flames_are_told_only_where_they_touch(changes: dict[str, Any]) -> None:
    """Whatever the verdict; with contact the same sentence goes on to say so."""
    without, touched = (reason_of(_finding(contact=each, **changes)) for each in (False, True))
    assert "lames reach" not in without
    assert touched == f"{without} Flames reach the face."
