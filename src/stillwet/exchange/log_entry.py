"""One entry of the field log from words, a form or JSON, and back to JSON; nothing is lost."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from datetime import UTC, datetime, timedelta
from typing import Any

from stillwet.domain.log import KINDS, Body, CoatLaid, Entry, WeatherSeen
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock, read_time
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.exchange.log_fields import TELLS, WEATHER, Places, Told, text_of
from stillwet.units import read_quantity

SCHEMA = "stillwet.entry/1"
_HEAD = (
    "id",
    "kind",
    "when",
    "when_s",
    "written",
    "written_s",
    "by",
    "writer",
    "device",
    "replaces",
)
_ALSO = ("note", "schema")
_OF_DAY = re.compile(r"^(\d{1,2}):(\d{2})$")
_AGO = re.compile(r"^(.+?)\s+ago$", re.IGNORECASE)
_WANTED_TIME = 'a time such as 14:30, "20 min ago" or 2030-08-14T14:30-06:00'


@dataclass(frozen=True, slots=True)
class Here:
    """Where and when words are read: the clock's moment, the job's zone, the names it knows.

    Without ``places`` any name passes: an entry from another device is kept whatever it is about.
    """

    now_s: float
    clock: Clock
    places: Places | None = None


def read_entry(plain: object, here: Here, *, place: str = "") -> Entry:
    """The entry that words or JSON tell; raises StillwetError with every problem found."""
    if not isinstance(plain, Mapping):
        raise StillwetError(Problem("entry", "an object of fields and values", shown(plain), place))
    return _Reading({str(name): raw for name, raw in plain.items()}, here, place).entry()


class _Reading:
    """One entry being read."""

    def __init__(self, given: dict[str, object], here: Here, place: str) -> None:
        self._given, self._here, self._place = given, here, place
        self._findings = Findings()

    def entry(self) -> Entry:
        kind = self._kind()
        allowed = self._allowed(kind)
        for name in self._given:
            if name not in allowed:
                wanted = f"a field of a {kind} entry: {', '.join(_words(kind)) or 'note'}"
                self._fault(name, wanted, "an unknown one", nearest_hint(name, allowed))
        body, head = None, None
        with self._findings.catching():
            body = self._body(kind)
        with self._findings.catching():
            head = self._head()
        if body is None or head is None or self._findings.count:
            raise StillwetError(self._findings.problems())
        return Entry(**head, body=body)

    def _kind(self) -> str:
        raw = self._given.get("kind")
        if not isinstance(raw, str) or raw not in KINDS:
            hint = nearest_hint(str(raw), KINDS)
            wanted = "one of " + ", ".join(KINDS)
            got = "none" if raw is None else shown(raw)
            raise StillwetError(Problem("kind", wanted, got, self._place, hint))
        return raw

    @staticmethod
    def _allowed(kind: str) -> tuple[str, ...]:
        tells = (*TELLS[kind], *(WEATHER if kind == "coat" else ()))
        names = [name for told in tells for name in told.names]
        return (*_HEAD, *_ALSO, *names, *(("seen",) if kind == "coat" else ()))

    def _fault(self, name: str, wanted: str, got: str, hint: str = "") -> None:
        self._findings.add(Problem(name, wanted, got, self._place, hint))

    def _body(self, kind: str) -> Body:
        record = KINDS[kind]
        values = self._values(TELLS[kind], self._given)
        self._need(record, values)
        if record is CoatLaid:
            values["seen"] = self._seen()
        if self._findings.count:
            raise StillwetError(())
        return record(**values)

    def _values(self, tells: tuple[Told, ...], given: Mapping[str, object]) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for told in tells:
            there = [name for name in told.names if given.get(name) is not None]
            if len(there) == 2 and told.word != told.attribute:
                self._fault(told.word, "it once", f"both {there[0]} and {there[1]}")
            for name in there[:1]:
                with self._findings.catching():
                    values[told.attribute] = told.read(
                        given[name], name, self._place, self._here.places
                    )
        return values

    def _need(self, record: type[Body], values: dict[str, Any]) -> None:
        """Note each field that has no default and was not given."""
        told = {one.attribute: one for one in TELLS[self._kind()]}
        for item in fields(record):
            if item.default is MISSING and item.name not in values:
                one = told[item.name]
                if not any(self._given.get(name) is not None for name in one.names):
                    self._fault(one.word, f'it, such as {one.word}="{one.example}"', "none")

    def _seen(self) -> WeatherSeen | None:
        raw = self._given.get("seen")
        if raw is not None and not isinstance(raw, Mapping):
            raise StillwetError(Problem("seen", "an object", shown(raw), self._place))
        values = self._values(WEATHER, {**self._given, **(raw or {})})
        return WeatherSeen(**values) if values else None

    def _head(self) -> dict[str, Any]:
        now_s = self._here.now_s
        head: dict[str, Any] = {"when_s": now_s, "written_s": now_s}
        for name in ("when", "written"):
            with self._findings.catching():
                head[f"{name}_s"] = self._moment(name)
        for name in ("id", "writer", "device", "replaces", "note"):
            raw = self._given.get(name)
            raw = self._given.get("by") if raw is None and name == "writer" else raw
            if raw is not None:
                with self._findings.catching():
                    head[name] = text_of(raw, name, self._place)
        head.setdefault("device", "")
        if "id" not in head:
            self._fault("id", "a UUID made by the writer", "none")
        if "writer" not in head:
            self._fault("by", 'who writes it, such as by="Ash"', "none")
        return head

    def _moment(self, name: str) -> float:
        """The exact seconds where they are given (the words beside them are for people)."""
        number, words = self._given.get(f"{name}_s"), self._given.get(name)
        if number is None:
            return self._here.now_s if words is None else self._told(name, words)
        if isinstance(number, bool) or not isinstance(number, (int, float)):
            raise StillwetError(Problem(f"{name}_s", "epoch seconds", shown(number), self._place))
        try:
            return float(number)
        except OverflowError:
            got = shown(number)
            raise StillwetError(Problem(f"{name}_s", "epoch seconds", got, self._place)) from None

    def _told(self, name: str, words: object) -> float:
        """A moment in words: "now", "20 min ago", "14:30" (the last time it was that), or whole."""
        text, now_s = text_of(words, name, self._place).strip(), self._here.now_s
        ago, of_day = _AGO.match(text), _OF_DAY.match(text)
        if text.casefold() == "now":
            return now_s
        if ago:
            return now_s - read_quantity(ago[1], dimension="time", field=name, place=self._place)
        if of_day:
            return self._last(name, int(of_day[1]), int(of_day[2]), text)
        try:
            return read_time(text, self._here.clock, field=name, place=self._place)
        except StillwetError as error:
            wanted = error.problems[0].wanted
            if wanted.startswith("a date and time"):
                raise StillwetError(Problem(name, _WANTED_TIME, shown(text), self._place)) from None
            raise

    def _last(self, name: str, hour: int, minute: int, text: str) -> float:
        if hour > 23 or minute > 59:
            raise StillwetError(Problem(name, _WANTED_TIME, shown(text), self._place))
        zone, now_s = self._here.clock.zone or UTC, self._here.now_s
        then = datetime.fromtimestamp(now_s, tz=zone).replace(
            hour=hour, minute=minute, second=0, microsecond=0, fold=0
        )
        while then.timestamp() > now_s:  # also an hour that today's change of clocks skips
            then -= timedelta(days=1)
        words = f"{then:%Y-%m-%dT%H:%M}"
        return read_time(words, self._here.clock, field=name, place=self._place)


def _words(kind: str) -> list[str]:
    return [told.word for told in (*TELLS[kind], *(WEATHER if kind == "coat" else ()))]


def entry_to_json(entry: Entry, clock: Clock) -> dict[str, Any]:
    """An entry as plain data: SI numbers, ISO 8601 times beside exact epoch seconds.

    ``read_entry`` makes the same entry of it.
    """
    head: dict[str, Any] = {
        "id": entry.id,
        "kind": entry.kind,
        "when": _iso(entry.when_s, clock),
        "when_s": entry.when_s,
        "written": _iso(entry.written_s, clock),
        "written_s": entry.written_s,
        "writer": entry.writer,
        "device": entry.device,
        "replaces": entry.replaces,
        "note": entry.note,
    }
    return head | _told_json(entry.body, TELLS[entry.kind])


def _told_json(body: Body, tells: tuple[Told, ...]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for told in tells:
        value = getattr(body, told.attribute)
        found[told.attribute] = list(value) if isinstance(value, tuple) else value
    if isinstance(body, CoatLaid):
        found["seen"] = None if body.seen is None else _told_json(body.seen, WEATHER)
    return found


def _iso(time_s: float, clock: Clock) -> str:
    moment = datetime.fromtimestamp(time_s, tz=clock.zone or UTC)
    return moment.isoformat(timespec="seconds")
