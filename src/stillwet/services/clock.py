"""The only clock of the house."""

from __future__ import annotations

import time
from datetime import datetime

from stillwet.errors import Problem, StillwetError, shown


def moment_s(text: str | None) -> float:
    """The moment a user named, or the clock's if none was named, in epoch seconds UTC."""
    if text is None:
        return time.time()
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise _not_a_moment(text) from error
    if moment.tzinfo is None:
        raise _not_a_moment(text)
    return moment.timestamp()


def _not_a_moment(text: str) -> StillwetError:
    return StillwetError(
        Problem(
            "--now",
            "a date and time with its offset from UTC, such as 2030-08-14T06:00-06:00",
            shown(text),
        )
    )
