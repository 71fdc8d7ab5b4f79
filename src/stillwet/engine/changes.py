"""What if: one plain key and one change make another job from this one.

``wind=+30%`` scales, ``temperature=+3 C`` or ``arrival=-2 h`` shifts, ``wind=20 mph`` sets. Of a
fraction, ``%`` means points. What a change cannot do is refused; what it did less of than was asked
(a humidity held at 0) is told in the changed job's remarks.
"""

from __future__ import annotations

import difflib
import hashlib
import re
from collections.abc import Sequence
from dataclasses import replace

from stillwet.domain.job import Job
from stillwet.engine.change_keys import KEYS, Change, How
from stillwet.engine.fire_behaviour import settle_fires
from stillwet.errors import Problem, StillwetError, shown
from stillwet.tables import load_table
from stillwet.units import difference_to_si, read_quantity

_NUMBER = re.compile(r"^\s*([-+])?\s*(\d+\.?\d*|\.\d+)\s*(.*?)\s*$")


def read_change(text: str) -> Change:
    """Read "key=change". Raises StillwetError naming the key, what was wanted and what came."""
    key, equals, rest = text.partition("=")
    key = " ".join(key.replace("_", " ").lower().split())
    if not equals or key not in KEYS:
        raise _unknown(key, text)
    match = _NUMBER.match(rest)
    if match is None:
        raise StillwetError(
            Problem(key, "a change such as +30%, -2 h or 20 mph", shown(rest.strip()))
        )
    sign, number, unit = match[1] or "", match[2], match[3]
    how = _how(key, sign, unit)
    if how not in KEYS[key].hows:
        raise StillwetError(Problem(key, KEYS[key].wanted, shown(rest.strip())))
    signed = -float(number) if sign == "-" else float(number)
    amount = _amount(key, how, signed, unit, number)
    return Change(key, how, amount, text, _words(key, how, sign, number, unit))


def read_changes(texts: Sequence[str]) -> tuple[Change, ...]:
    """Read several changes. Raises StillwetError with every problem they have."""
    changes: list[Change] = []
    problems: list[Problem] = []
    for text in texts:
        try:
            changes.append(read_change(text))
        except StillwetError as error:
            problems += error.problems
    if problems:
        raise StillwetError(problems)
    return tuple(changes)


def usual_doubts() -> tuple[Change, ...]:
    """The usual ways of being wrong (data/doubts.toml)."""
    return read_changes(load_table("doubts")["changes"])


def _unknown(key: str, text: str) -> StillwetError:
    close = difflib.get_close_matches(key, KEYS, n=1, cutoff=0.6)
    hint = f'did you mean "{close[0]}"?' if close else ""
    wanted = "one of " + ", ".join(sorted(KEYS)) + ", then = and a change"
    return StillwetError(Problem("--set", wanted, shown(text), hint=hint))


def _how(key: str, sign: str, unit: str) -> How:
    if not sign:
        return How.SET
    return How.SCALE if unit == "%" and KEYS[key].dimension != "fraction" else How.SHIFT


def _amount(key: str, how: How, signed: float, unit: str, number: str) -> float:
    """The factor of a scaling (never below 0), or the shift or the new value in SI."""
    if how is How.SCALE:
        if signed < -100.0:
            raise StillwetError(Problem(key, "a share of at most all of it", f"{signed:g} %"))
        return 1.0 + signed / 100.0
    dimension = KEYS[key].dimension
    if how is How.SET:
        return read_quantity(f"{number} {unit}".strip(), dimension=dimension, field=key)
    if not unit and dimension == "fraction":
        unit = "fraction"
    return difference_to_si(signed, unit, dimension=dimension, field=key)


def _words(key: str, how: How, sign: str, number: str, unit: str) -> str:
    """What a change was taken to mean: "wind times 1.3", "arrival earlier by 2 h"."""
    if how is How.SCALE:
        factor = 1.0 + (-1.0 if sign == "-" else 1.0) * float(number) / 100.0
        return f"{key} times {factor:g}"
    if how is How.SET:
        return f"{key} set to {number} {unit}".strip()
    up, down = ("later", "earlier") if key in {"arrival", "start"} else ("up", "down")
    unit = "percentage points" if unit in {"%", "percent"} else unit
    return f"{key} {down if sign == '-' else up} by {number} {unit}".strip()


def change_job(job: Job, changes: tuple[Change, ...]) -> Job:
    """Another job with the changes made in order; the same seed, so that only they tell apart.

    Changes to the flame come last, on the flame that the changed weather gives. Its input hash says
    which changes were made. Raises StillwetError where a change cannot be.
    """
    changed = job
    for change in changes:
        if not KEYS[change.key].is_flame:
            changed = KEYS[change.key].apply(changed, change)
    flames = [change for change in changes if KEYS[change.key].is_flame]
    changed = settle_fires(changed) if flames else changed
    for change in flames:
        changed = KEYS[change.key].apply(changed, change)
    _need_weather(changed)
    marks = [job.input_hash, *(f"{each.key} {each.how} {each.amount!r}" for each in changes)]
    return replace(changed, input_hash=hashlib.sha256("|".join(marks).encode()).hexdigest())


def _need_weather(job: Job) -> None:
    """The same hours must be covered as when a job is read: none is reckoned as without drying."""
    late_h = (job.fire_over_s - float(job.weather.time_s[-1])) / 3600.0
    early_h = (float(job.weather.time_s[0]) - job.start_s) / 3600.0
    if late_h <= 0.0 and early_h <= 0.0:
        return
    got = (
        f"weather that ends {late_h:.1f} h before that"
        if late_h > 0.0
        else f"weather that starts {early_h:.1f} h after the job"
    )
    wanted = "weather from the changed job's start to the end of its last fire window"
    hint = "a smaller change, or a longer forecast"
    raise StillwetError(Problem("--set", wanted, got, job.weather.source, hint))
