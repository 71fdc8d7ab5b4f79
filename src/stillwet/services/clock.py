"""The only clock of the house."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime

from stillwet.domain.log import FIRST_S, LAST_S
from stillwet.errors import Problem, StillwetError, shown


def moment_s(text: str | None) -> float:
    """The moment a user named, or the clock's if none was named, in epoch seconds UTC.

    Raises StillwetError for a text that is no moment, has no offset, or lies outside what the field
    log can hold.
    """
    if text is None:
        return time.time()
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise _not_a_moment(text) from error
    if moment.tzinfo is None:
        raise _not_a_moment(text)
    if not FIRST_S <= moment.timestamp() <= LAST_S:
        raise StillwetError(Problem("--now", "a moment from 1970 to 2200", shown(text)))
    return moment.timestamp()


def clock_from(text: str | None) -> Callable[[], float]:
    """A clock that shows the moment a user named now, and runs on; the real one if none was."""
    ahead_s = moment_s(text) - time.time() if text is not None else 0.0
    return lambda: time.time() + ahead_s


def _not_a_moment(text: str) -> StillwetError:
    return StillwetError(
        Problem(
            "--now",
            "a date and time with its offset from UTC, such as 2030-08-14T06:00-06:00",
            shown(text),
        )
    )
