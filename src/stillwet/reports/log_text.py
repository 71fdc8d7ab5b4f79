"""The field log as text of at most 100 columns, oldest first."""

from __future__ import annotations

from collections.abc import Mapping

from stillwet.domain.log import (
    CoatChecked,
    CoatLaid,
    Entry,
    FirePassed,
    Ignition,
    Outcome,
    SegmentLit,
    SegmentWetted,
    Spill,
    Stock,
    WashedOff,
    WeatherSeen,
)
from stillwet.domain.log_merge import Standing
from stillwet.reports.line_words import coverage_both, length
from stillwet.reports.local_time import LocalClock, clock_for
from stillwet.reports.text_table import fill
from stillwet.reports.words import (
    Units,
    clean,
    coat,
    compass,
    count_words,
    percent_number,
    quantity,
)

_SHORT_ID = 8


def log_text(
    judged: Standing, time_zone: str, names: Mapping[str, str], units: str, is_all: bool
) -> str:
    """The entries that stand; with ``is_all`` also those corrected and those at odds.

    ``names`` are those of the assets by id.
    """
    every = (*judged.entries, *judged.superseded, *judged.contested)
    if not every:
        return "The log is empty. stillwet log add says how to write in it."
    times = [entry.when_s for entry in every]
    clock = clock_for(time_zone, times)
    teller = EntryTeller(names, Units(units), clock)
    lines = [
        f"LOG: {count_words(len(judged.entries), 'entry', 'entries')} standing, "
        f"{len(judged.superseded)} corrected, {len(judged.contested)} at odds with another",
        *fill(f"Times are {clock.zone_words(times)}: {clock.days(times)}"),
        "",
        *(line for entry in judged.entries for line in teller.lines(entry)),
    ]
    if judged.contested:
        lines += ["", "AT ODDS (another account counts; somebody should look)"]
        lines += [line for entry in judged.contested for line in teller.lines(entry)]
    if is_all and judged.superseded:
        lines += ["", "CORRECTED SINCE"]
        lines += [line for entry in judged.superseded for line in teller.lines(entry)]
    return "\n".join(lines)


class EntryTeller:
    """Tells entries in the reader's units and the job's time; names are those of assets by id."""

    def __init__(self, names: Mapping[str, str], units: Units, clock: LocalClock) -> None:
        self._names, self._units, self._clock = names, units, clock

    def lines(self, entry: Entry) -> list[str]:
        """One entry: when, its id, what, by whom."""
        lead = f"{self._clock.short(entry.when_s):<10} {entry.id[:_SHORT_ID]}  "
        words = [self.told(entry), f"by {clean(entry.writer)}"]
        if entry.replaces is not None:
            words.append(f"corrects {entry.replaces[:_SHORT_ID]}")
        if entry.note.strip():
            words.append(f'"{clean(entry.note)}"')
        return fill("; ".join(words), first=lead, rest=" " * len(lead))

    def told(self, entry: Entry) -> str:
        """What an entry tells, without when and by whom."""
        body = entry.body
        if isinstance(body, CoatLaid):
            return self._coat(body)
        if isinstance(body, CoatChecked):
            return self._check(body)
        if isinstance(body, WeatherSeen):
            return f"weather: {self._weather(body)}"
        if isinstance(body, Ignition):
            return f"ignition: {clean(body.place)}"
        if isinstance(body, SegmentWetted):
            return self._wetted(body)
        if isinstance(body, SegmentLit):
            return f"lit {self._stretch(body)}"
        if isinstance(body, FirePassed):
            return f"fire passed: {self._asset(body.asset_id)}"
        if isinstance(body, Outcome):
            return f"outcome: {self._asset(body.asset_id)}: {body.fate}"
        if isinstance(body, Stock):
            return self._stock(body)
        if isinstance(body, Spill):
            return self._spill(body)
        if isinstance(body, WashedOff):
            return f"washed off: {self._faces(body.surface_ids)}"
        return "withdrawn: the entry it corrects was a mistake"

    def _coat(self, body: CoatLaid) -> str:
        words = [f"coat on {self._faces(body.surface_ids)}"]
        if body.coat_kg_m2 is not None:
            words.append(f"gauged {coat(body.coat_kg_m2, self._units)}")
        elif body.mix_m3 is not None:
            words.append(f"{quantity(body.mix_m3, 'm3', self._units)} of mix sprayed")
        else:
            words.append("as planned")
        if body.ratio is not None:
            words.append(f"at {percent_number(body.ratio)} %")
        if body.crew_id:
            words.append(f"crew {clean(body.crew_id)}")
        if body.seen is not None:
            words.append(self._weather(body.seen))
        return ", ".join(words)

    def _wetted(self, body: SegmentWetted) -> str:
        words = [f"wet {self._stretch(body)}"]
        if body.coverage_kg_m2 is not None:
            words.append(f"coverage {coverage_both(body.coverage_kg_m2)}")
        if body.mix_m3 is not None:
            words.append(f"{quantity(body.mix_m3, 'm3', self._units)} of mix sprayed")
        if body.crew_id:
            words.append(f"crew {clean(body.crew_id)}")
        return ", ".join(words)

    def _stretch(self, body: SegmentWetted | SegmentLit) -> str:
        name = clean(body.segment_id)
        if body.up_to_m is None:
            return f"to the end of segment {name}"
        return f"{length(body.up_to_m, self._units)} into segment {name}"

    def _check(self, body: CoatChecked) -> str:
        words = [f"check of {self._face(body.surface_id)}"]
        if body.feel is not None:
            words.append(f"feels {body.feel}")
        if body.weighed_kg_m2 is not None:
            on = f" on coupon {clean(body.coupon)}" if body.coupon else ""
            words.append(f"weighed {coat(body.weighed_kg_m2, self._units)}{on}")
        if body.photo:
            words.append(f"photo {clean(body.photo)}")
        return ", ".join(words)

    def _weather(self, seen: WeatherSeen) -> str:
        shown = (
            quantity(seen.air_temperature_k, "K", self._units),
            f"humidity {quantity(seen.relative_humidity, 'fraction', self._units)}",
            f"wind {quantity(seen.wind_speed_m_s, 'm/s', self._units)}",
            "" if seen.wind_from_deg is None else f"from the {compass(seen.wind_from_deg)}",
            "rain" if seen.rain else "",
        )
        return ", ".join(part for part in shown if part and not part.endswith("-")) or "looked at"

    def _stock(self, body: Stock) -> str:
        shown = (
            ("water taken", body.water_taken_m3),
            ("water left", body.water_left_m3),
            ("concentrate taken", body.concentrate_taken_m3),
            ("concentrate left", body.concentrate_left_m3),
        )
        told = [f"{word} {quantity(m3, 'm3', self._units)}" for word, m3 in shown if m3 is not None]
        return f"stock of crew {clean(body.crew_id)}: {', '.join(told)}"

    def _spill(self, body: Spill) -> str:
        much = (
            "" if body.amount_m3 is None else f"{quantity(body.amount_m3, 'm3', self._units)} of "
        )
        wet = ", REACHED WATER" if body.reached_water else ""
        return f"spill: {much}{clean(body.substance)} at {clean(body.place)}{wet}"

    def _faces(self, ids: tuple[str, ...]) -> str:
        """The faces, those of one asset together: "Farmhouse: north-wall, roof"."""
        grouped: dict[str, list[str]] = {}
        for name in ids:
            owner, _, label = name.partition("/")
            grouped.setdefault(owner, []).append(clean(label))
        return "; ".join(f"{self._asset(own)}: {', '.join(of)}" for own, of in grouped.items())

    def _face(self, name: str) -> str:
        owner, _, label = name.partition("/")
        return f"{self._asset(owner)}: {clean(label)}"

    def _asset(self, name: str) -> str:
        return clean(self._names.get(name, name))
