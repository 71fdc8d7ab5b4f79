"""Times as the crew's own clock shows them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from functools import cache
from zoneinfo import ZoneInfo

from stillwet.domain.plan import Plan
from stillwet.reports.words import NONE

_OFFSET = re.compile(r"^UTC([+-])(\d{2}):(\d{2})$")
_WEEK_S = 6 * 86400.0


@cache
def zone(name: str) -> tzinfo:
    """The time zone of an IANA name or of "UTC-07:00"."""
    match = _OFFSET.match(name)
    if match is None:
        return ZoneInfo(name)
    shift = timedelta(hours=int(match[2]), minutes=int(match[3]))
    return timezone(-shift if match[1] == "-" else shift)


@dataclass(frozen=True, slots=True)
class LocalClock:
    """Formats epoch seconds in the job's zone.

    Deadlines are cut down to the whole minute and starts are pushed up to it (``up=True``), so
    that rounding never grants time. With ``by_date`` short times carry the day of the month
    ("d14 14:30") and not the weekday, for plans longer than six days.
    """

    time_zone: str
    by_date: bool = False

    def iso(self, time_s: float | None) -> str | None:
        """ISO 8601 to the second with the offset; None for none."""
        if time_s is None or not math.isfinite(time_s):
            return None
        return self._moment(math.floor(time_s)).isoformat()

    def short(self, time_s: float | None, *, up: bool = False) -> str:
        """Weekday and time, "Wed 14:30", or "-" for none."""
        if time_s is None or not math.isfinite(time_s):
            return NONE
        moment = self._minute(time_s, up)
        return f"d{moment:%d %H:%M}" if self.by_date else f"{moment:%a %H:%M}"

    def full(self, time_s: float | None, *, up: bool = False) -> str:
        """Date, time and zone, "Wed 14 Aug 2030 14:30 MDT", or "-" for none."""
        if time_s is None or not math.isfinite(time_s):
            return NONE
        moment = self._minute(time_s, up)
        return f"{moment:%a} {moment.day} {moment:%b %Y %H:%M} {_abbreviation(moment)}"

    def days(self, times_s: Iterable[float]) -> str:
        """The dates behind the weekdays: "Wed 14 Aug, Thu 15 Aug 2030"."""
        moments = sorted({self._moment(time).date() for time in times_s})
        names = [f"{day:%a} {day.day} {day:%b}" for day in moments]
        return ", ".join(names) + f" {moments[-1]:%Y}"

    def zone_words(self, times_s: Iterable[float]) -> str:
        """The zone as "MDT (UTC-06:00)"; both when the clocks change inside the plan."""
        found = dict.fromkeys(_zone_of(self._moment(time)) for time in sorted(times_s))
        return ", then ".join(found)

    def whole_hours(self, from_s: float, to_s: float, step_h: int) -> list[float]:
        """Epoch seconds of the local whole hours divisible by ``step_h`` in the span, in order."""
        first = math.ceil(from_s / 3600.0)
        hours = (hour * 3600.0 for hour in range(first, math.floor(to_s / 3600.0) + 1))
        return [time for time in hours if self._moment(time).hour % step_h == 0]

    def hour_label(self, time_s: float) -> str:
        """An axis label: "14:00", or the day at local midnight, "Thu 15"."""
        moment = self._moment(time_s)
        return f"{moment:%H:%M}" if moment.hour else f"{moment:%a} {moment.day}"

    def _moment(self, time_s: float) -> datetime:
        return datetime.fromtimestamp(time_s, UTC).astimezone(zone(self.time_zone))

    def _minute(self, time_s: float, up: bool) -> datetime:
        # a microsecond of float dust must not move a deadline by a minute
        minute = math.ceil(time_s / 60 - 1e-6) if up else math.floor(time_s / 60 + 1e-6)
        return self._moment(60.0 * minute)


def clock_for(time_zone: str, times_s: Iterable[float]) -> LocalClock:
    """A clock for these moments: weekdays when they are unambiguous, dates otherwise."""
    times = list(times_s)
    return LocalClock(time_zone, by_date=max(times) - min(times) > _WEEK_S)


def clock_of(plan: Plan) -> LocalClock:
    """The clock for one plan."""
    return clock_for(plan.time_zone, plan_times(plan))


def plan_times(plan: Plan) -> list[float]:
    """Every moment that the plan's tables show, epoch seconds."""
    times = [plan.start_s]
    for asset in plan.assets:
        face = asset.governing
        shown = (face.apply_from_s, face.apply_until_s, face.hold_until_50_s, face.hold_until_90_s)
        times += [time for time in shown if time is not None]
        times += [asset.fire_window_from_s, asset.fire_window_to_s]
    return times


def _abbreviation(moment: datetime) -> str:
    name = moment.tzname() or ""
    return name if name.isalpha() else _offset(moment)  # "-03" reads like a number


def _offset(moment: datetime) -> str:
    text = f"{moment:%z}"
    return f"UTC{text[:3]}:{text[3:5]}"


def _zone_of(moment: datetime) -> str:
    name = _abbreviation(moment)
    return name if name.startswith("UTC") and name != "UTC" else f"{name} ({_offset(moment)})"
