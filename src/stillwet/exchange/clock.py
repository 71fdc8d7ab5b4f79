"""Times and time zones at the door: ISO 8601 text or dates become epoch seconds."""

from __future__ import annotations

import re
import zoneinfo
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone, tzinfo

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.findings import nearest_hint

_FIXED = re.compile(r"^UTC(?:([+-])(\d{1,2})(?::?(\d{2}))?)?$", re.IGNORECASE)
_CLOCK_TIME = re.compile(r"^(\d{4}-\d{2}-\d{2})[T ]+(\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?)\s*(.*)$")
_SLASHED = re.compile(r"^\s*\d{1,2}[/.]\d{1,2}[/.]\d{4}")
_TURNED = "year first, then month, then day: 8/9 is August to one reader and September to another"
EARLIEST_YEAR, LATEST_YEAR = 1971, 2199
# Names in the data base that mean the zone of whatever machine reads them.
_OF_THE_MACHINE = ("localtime", "posixrules", "Factory")


@dataclass(frozen=True, slots=True)
class Clock:
    """The time zone that times without their own zone are read in; ``zone`` None: there is none."""

    zone: tzinfo | None
    name: str = ""
    key: str = "time_zone"  # what a person gives it by: a key of a file, or an option

    def give(self, zone: str) -> str:
        """How a person would give this zone in its place."""
        return f"{self.key} {zone}" if self.key.startswith("--") else f'{self.key} = "{zone}"'


def read_zone(text: object, *, field: str, place: str) -> Clock:
    """A zone from an IANA name ("America/Denver") or a fixed shift ("UTC-07:00")."""
    wanted = 'an IANA time zone such as "America/Denver" or a shift such as "UTC-07:00"'
    if not isinstance(text, str):
        raise StillwetError(Problem(field, wanted, shown(text), place))
    name = text.strip()
    minutes = _fixed_minutes(name)
    if minutes is not None:
        return replace(fixed_clock(minutes), key=field)
    try:
        if name not in _OF_THE_MACHINE:
            return Clock(zoneinfo.ZoneInfo(name), name, field)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        pass  # told below, as any name that is none
    raise StillwetError(Problem(field, wanted, shown(text), place, _zone_hint(text)))


def _fixed_minutes(name: str) -> int | None:
    """How far ahead of UTC a shift such as "UTC-07:00" is; None when it is none."""
    fixed = _FIXED.match(name)
    if fixed is None:
        return None
    minutes = int(fixed[2] or 0) * 60 + int(fixed[3] or 0)
    if minutes > 14 * 60 or int(fixed[3] or 0) > 59:
        return None
    return -minutes if fixed[1] == "-" else minutes


def _zone_hint(text: str) -> str:
    """The zone whose town or region was named ("Tasmania"), else the one spelt nearest."""
    zones = zoneinfo.available_timezones().difference(_OF_THE_MACHINE)
    town = text.strip().replace(" ", "_").lower()
    named = sorted(zone for zone in zones if zone.lower().endswith(f"/{town}"))
    return f'did you mean "{named[0]}"?' if named else nearest_hint(text, zones)


def fixed_clock(minutes: int) -> Clock:
    """A zone that is always this many minutes ahead of UTC, called "UTC-07:00" or the like."""
    name = f"UTC{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"
    return Clock(timezone(timedelta(minutes=minutes)), name)


def as_datetime(raw: object, *, field: str, place: str) -> datetime:
    """A date with a time of day, from a date value or ISO 8601 text; its zone may be missing."""
    wanted = 'a date and time such as "2026-08-14T15:00-06:00"'
    if isinstance(raw, datetime):
        found = raw
    else:
        match = _CLOCK_TIME.match(raw.strip()) if isinstance(raw, str) else None
        if match is None:
            hint = _TURNED if isinstance(raw, str) and _SLASHED.match(raw) else ""
            raise StillwetError(Problem(field, wanted, shown(raw), place, hint))
        try:
            found = datetime.fromisoformat(f"{match[1]}T{match[2].rjust(5, '0')}{match[3]}")
        except ValueError:
            raise StillwetError(Problem(field, wanted, shown(raw), place)) from None
    if not EARLIEST_YEAR <= found.year <= LATEST_YEAR:
        raise StillwetError(
            Problem(field, f"a year from {EARLIEST_YEAR} to {LATEST_YEAR}", shown(raw), place)
        )
    return found


def read_time(
    raw: object, clock: Clock, *, field: str, place: str, after_s: float | None = None
) -> float:
    """Epoch seconds of a time; one without a zone is read in the clock's, if there is one.

    A local hour that the change from summer time repeats is settled only by ``after_s``, the time
    of the row before; otherwise it is refused, and so is a local hour that never was.
    """
    found = as_datetime(raw, field=field, place=place)
    if found.tzinfo is not None:
        return found.timestamp()
    if clock.zone is None:
        raise StillwetError(
            Problem(
                field,
                "a time with its zone",
                f"{shown(raw)}, a time without zone",
                place,
                f'write "-06:00" after it, or give {clock.key}',
            )
        )
    return _local(found, clock, clock.zone, field, place, after_s)


def _local(
    found: datetime, clock: Clock, zone: tzinfo, field: str, place: str, after_s: float | None
) -> float:
    first = found.replace(tzinfo=zone, fold=0)
    second = found.replace(tzinfo=zone, fold=1)
    if first.utcoffset() == second.utcoffset():
        return first.timestamp()
    there_is = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) == found
    if not there_is:
        raise StillwetError(
            Problem(
                field,
                f"a time that exists in {clock.name}",
                f"{found:%Y-%m-%d %H:%M}, which the change to summer time skips",
                place,
                f"if its clock keeps standard time all year, give {clock.give('UTC-07:00')}",
            )
        )
    if after_s is None:
        raise StillwetError(
            Problem(
                field,
                "a time that comes once",
                f"{found:%Y-%m-%d %H:%M}, repeated by the change from summer time ({clock.name})",
                place,
                'write the shift after it, such as "-06:00"',
            )
        )
    return second.timestamp() if first.timestamp() <= after_s else first.timestamp()


def show_time(epoch_s: float, clock: Clock) -> str:
    """A time as a message shows it: local to the clock, to the minute, with its zone."""
    local = datetime.fromtimestamp(epoch_s, tz=clock.zone or UTC)
    return f"{local:%Y-%m-%d %H:%M %Z}"
