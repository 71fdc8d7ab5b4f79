"""What every form of the lines says in the same words: rows, pairs, rules."""

from __future__ import annotations

from dataclasses import dataclass

from stillwet.domain.line_plan import Hindrance, LineHour, LinePlan, LineSegmentPlan, StopRule
from stillwet.reports.line_words import (
    LINE_VERDICTS,
    coverage_number,
    hour_minute,
    length,
    pace,
    span,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.words import (
    NONE,
    Units,
    clean,
    compass_point,
    concentrate_words,
    number,
    quantity,
)

_MIX_KG_M3 = 1000.0  # a mix is 95 to 99.5 % water


@dataclass(frozen=True, slots=True)
class SegmentRow:
    """One line of the table of segments."""

    name: str
    verdict: str
    stretch: str
    fuel: str
    coverage: str
    walk: str
    wet: str
    wet_end: str
    lit: str
    lit_end: str
    lag: str
    slack: str
    flame: str
    width: str


def segment_row(segment: LineSegmentPlan, units: Units, clock: LocalClock) -> SegmentRow:
    """A segment in the reader's words."""
    start = length(segment.from_m, units).split()[0]
    end, unit = length(segment.to_m, units).split()
    return SegmentRow(
        name=clean(segment.name),
        verdict=LINE_VERDICTS[segment.verdict],
        stretch=f"{start} to {end} {unit}",
        fuel=segment.fuel_model,
        coverage=coverage_number(segment.coverage_kg_m2, units),
        walk=pace(segment.walk_m_s, units),
        wet=hour_minute(clock, segment.wet_from_s),
        wet_end=hour_minute(clock, segment.wet_to_s, up=True),
        lit=hour_minute(clock, segment.lit_from_s),
        lit_end=hour_minute(clock, segment.lit_to_s, up=True),
        lag=span(segment.lag_allowed_s),
        slack=span(segment.slack_s),
        flame=length(segment.flame_length_m, units),
        width=length(segment.barrier_width_m, units),
    )


@dataclass(frozen=True, slots=True)
class HourRow:
    """One line of a segment's table of hours."""

    time: str
    air: str
    humidity: str
    wind: str
    drying: str
    hold_90: str
    hold_50: str
    water: str
    alone: str
    black: str
    lag: str
    coverage: str
    flame: str
    lights: str


def hour_row(hour: LineHour, units: Units, clock: LocalClock) -> HourRow:
    """A segment wetted at this hour, in the reader's words."""
    wind = quantity(hour.wind_speed_m_s, "m/s", units)
    if hour.wind_from_deg is not None:
        wind += f" {compass_point(hour.wind_from_deg)}"
    return HourRow(
        time=clock.short(hour.time_s),
        air=quantity(hour.air_temperature_k, "K", units),
        humidity=quantity(hour.relative_humidity, "fraction", units),
        wind=wind,
        drying=number(hour.drying_kg_m2_s * 3600.0, "kg/m2/h", units),
        hold_90=span(hour.hold_90_s),
        hold_50=span(hour.hold_50_s),
        water=span(hour.hold_water_90_s),
        alone=span(hour.hold_alone_90_s),
        black=span(hour.black_s, up=True) if hour.black_s > 0 else NONE,
        lag=span(hour.lag_90_s, narrow=True),
        coverage=coverage_number(hour.coverage_needed_kg_m2, units),
        flame=length(hour.flame_length_m, units),
        lights="yes" if hour.may_light else "NO",
    )


def line_pairs(
    line: LinePlan, ratio_basis: str, units: Units, clock: LocalClock
) -> list[tuple[str, str]]:
    """The answer in pairs: what, and how much or when."""
    pairs = [
        ("Work begins at", line.begins_at),
        ("Wetting", f"{clock.short(line.start_s)} to {clock.short(line.wetted_s, up=True)}"),
    ]
    if line.is_lit:
        pairs.append(("Lighting ends", clock.short(line.lit_s, up=True)))
        pairs.append(("Black deep enough", clock.short(line.black_at_s, up=True)))
    else:
        pairs.append(("Fire comes", _arrival(line, clock)))
    pairs += [
        ("Crew", f"{clean(line.crew_name)}, {quantity(line.usable_m3, 'm3', units)} usable"),
        ("Finished mix", quantity(line.mix_m3, "m3", units)),
        ("Water", quantity(line.water_m3, "m3", units)),
        ("Concentrate", _concentrate(line, ratio_basis, units)),
        ("Fills", "none: its reserve takes the tank" if line.fills is None else str(line.fills)),
    ]
    if line.finish_share is not None:
        told = f"{int(100 * line.finish_share)} of 100 runs keep every rule"
        pairs.append((f"With delays of {100 * line.delay_share:.0f} %", told))
    return pairs


def _concentrate(line: LinePlan, ratio_basis: str, units: Units) -> str:
    mass_kg = _MIX_KG_M3 * line.mix_m3 * line.mix_ratio
    return concentrate_words(line.concentrate_m3, mass_kg, ratio_basis, units)


def _arrival(line: LinePlan, clock: LocalClock) -> str:
    return f"{clock.short(line.arrival_from_s)} to {clock.short(line.arrival_to_s, up=True)}"


def refill_words(line: LinePlan, units: Units, clock: LocalClock) -> list[str]:
    """The trips to the water, one a line."""
    return [
        f"after {length(refill.at_m, units)}: {hour_minute(clock, refill.leave_s)} to "
        f"{hour_minute(clock, refill.back_s, up=True)}"
        for refill in line.refills
    ]


def wait_words(line: LinePlan, units: Units) -> list[str]:
    """Holding points, the first and the last where there are many."""
    told = [
        f"do not wet past {length(wait.at_m, units)} before it is lit to "
        f"{length(wait.until_lit_m, units)}"
        for wait in line.waits
    ]
    most = 6
    if len(told) <= most:
        return told
    step = (len(told) - 1) / (most - 1)
    return [told[round(step * index)] for index in range(most)]


def rule_words(rule: StopRule, clock: LocalClock) -> tuple[str, str, str]:
    """Name, rule and what the forecast says of it."""
    told = rule.forecast
    if rule.when_s is not None:
        told = f"{told}: {clock.short(rule.when_s)}"
    return rule.name, rule.rule, told


def hindrance_words(found: Hindrance, clock: LocalClock) -> tuple[str, str]:
    """What stands against it, and what would free it."""
    frees = list(found.frees)
    if found.good_hours_s:
        hours = ", ".join(hour_minute(clock, hour) for hour in found.good_hours_s)
        frees.append(f"hours that would do: {hours}")
    return clean(found.reason), clean("; or ".join(frees))
