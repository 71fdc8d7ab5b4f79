"""Moments a user names."""

from __future__ import annotations

import pytest

from stillwet.errors import StillwetError
from stillwet.services.clock import moment_s


def test_offset_is_honoured() -> None:
    """06:00 at UTC-6 is noon UTC, 14 August 2030 = 1912939200 (calendar arithmetic by hand)."""
    days_since_1970 = 60 * 365 + 15 + 31 + 28 + 31 + 30 + 31 + 30 + 31 + 13  # 15 leap days to 2029
    assert moment_s("2030-08-14T06:00-06:00") == days_since_1970 * 86400 + 12 * 3600


@pytest.mark.parametrize("text", ["2030-08-14T06:00", "noon", "", "2030-13-01T00:00Z"])
def test_moment_without_zone_is_refused(text: str) -> None:
    """A time without its offset, or no time at all, names the option and shows what was got."""
    with pytest.raises(StillwetError, match=r"--now: wanted a date and time with its offset"):
        moment_s(text)


@pytest.mark.parametrize(
    "text", ["9999-12-31T23:59-12:00", "0001-01-01T00:00+14:00", "2200-01-01T00:01Z"]
)
def test_moments_that_no_calendar_here_shows_are_refused(text: str) -> None:
    """The years that the field log holds; beyond them no sheet could print the time."""
    with pytest.raises(StillwetError, match="--now: wanted a moment from 1970 to 2200, got"):
        moment_s(text)
