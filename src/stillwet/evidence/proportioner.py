"""What the checks of a proportioner say together: bias, what to set, drift, day to day."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.proportioner import (
    AtDial,
    Days,
    Delivered,
    DeviceReport,
    DialLine,
    FlowBias,
    ProportionerCheck,
    ProportionerReport,
    RunChart,
    Standard,
    ToSet,
)
from stillwet.errors import Problem, StillwetError
from stillwet.evidence.delivered import CONFIDENCE, deliver, rules, rulings, standard_of
from stillwet.physics.proportioning import drift_cusum
from stillwet.physics.uncertainty import coverage_factor, fit_line_york

Array = NDArray[np.float64]

BASELINE = 5  # checks that say what is normal
LEAST_CHART = 7
DRIFT_LIMIT = 5.0  # in deviations, Montgomery's usual choice with an allowance of a half
NEXT_DAY = 0.9
_APART = 0.05  # settings or flows this much apart, relative, are two
_MOVING_RANGE = 1.128  # mean range of two normal values in deviations
_TOGETHER = 0.9  # dial and flow so closely correlated cannot be told apart


def report_on(
    checks: Sequence[ProportionerCheck],
    standards: Sequence[Standard],
    *,
    source: str,
    time_zone: str = "UTC",
    window: tuple[float, float] | None = None,
    wanted: float | None = None,
) -> ProportionerReport:
    """The report on every proportioner in a file.

    Parameters: checks and calibration samples; source, the file's name; time_zone in which days
    are counted; window, the mix window [fractions], and wanted, the ratio to get [fraction], where
    known. Raises StillwetError with every check whose readings cannot be.
    """
    problems: list[Problem] = []
    found: dict[str, list[Delivered]] = {}
    for check in checks:
        try:
            found.setdefault(check.device, []).append(deliver(check, standards, window))
        except StillwetError as error:
            problems.extend(error.problems)
    if problems:
        raise StillwetError(problems)
    return ProportionerReport(
        source=source,
        time_zone=time_zone,
        window=window,
        wanted=wanted,
        devices=tuple(
            _device(name, in_order(every), time_zone, window, wanted)
            for name, every in found.items()
        ),
    )


def in_order(found: Iterable[Delivered]) -> tuple[Delivered, ...]:
    """By time where it is known, else as they stand."""
    every = tuple(found)
    if any(one.check.when_s is None for one in every):
        return every
    return tuple(sorted(every, key=lambda one: one.check.when_s or 0.0))


def _device(
    name: str,
    found: tuple[Delivered, ...],
    time_zone: str,
    window: tuple[float, float] | None,
    wanted: float | None,
) -> DeviceReport:
    factor, spread = mean_factor(found)
    line = dial_line(found)
    flow = flow_bias(found)
    chart = run_chart(found)
    return DeviceReport(
        device=name,
        ratio_basis=found[0].check.ratio_basis.value,
        checks=found,
        dials=tuple(_at_dial(group, window) for group in _by_dial(found)),
        factor=factor,
        factor_uncertainty=spread,
        line=line,
        flow=flow,
        settings=_settings(found, line, (factor, spread), wanted),
        chart=chart,
        days=day_to_day(found, time_zone),
        notes=(*_notes(found, line, flow, time_zone), *_of_drift(chart)),
    )


def factors(found: Sequence[Delivered]) -> Array:
    """Delivered over set of each check (N,)."""
    return np.array([one.ratio / one.check.dial.value for one in found])


def mean_factor(found: Sequence[Delivered]) -> tuple[float, float]:
    """Mean of delivered over set and its standard uncertainty.

    Errors of instruments are taken to be the same at every check, so they do not average out; what
    scatters between checks does.
    """
    every = factors(found)
    each = np.array([math.hypot(*_relative(one)) for one in found]) * every
    scatter = float(every.std(ddof=1)) / math.sqrt(every.size) if every.size > 1 else 0.0
    return float(every.mean()), math.hypot(float(np.sqrt(np.mean(each**2))), scatter)


def _relative(one: Delivered) -> tuple[float, float]:
    return one.uncertainty / one.ratio, standard_of(one.check.dial) / one.check.dial.value


def _by_dial(found: Sequence[Delivered]) -> list[list[Delivered]]:
    groups: dict[float, list[Delivered]] = {}
    for one in found:
        groups.setdefault(round(one.check.dial.value, 6), []).append(one)
    return [groups[dial] for dial in sorted(groups)]


def _at_dial(group: list[Delivered], window: tuple[float, float] | None) -> AtDial:
    """All checks at one setting; degrees of freedom by Welch and Satterthwaite (GUM G.4.1)."""
    ratios = np.array([one.ratio for one in group])
    fixed = float(np.sqrt(np.mean([one.uncertainty**2 for one in group])))
    scatter = float(ratios.std(ddof=1)) / math.sqrt(ratios.size) if ratios.size > 1 else 0.0
    uncertainty = math.hypot(fixed, scatter)
    freedom = (uncertainty**4 / scatter**4) * (ratios.size - 1) if scatter > 0.0 else math.inf
    dial, mean = group[0].check.dial.value, float(ratios.mean())
    return AtDial(
        dial=dial,
        count=ratios.size,
        ratio=mean,
        uncertainty=uncertainty,
        expanded=uncertainty * coverage_factor(confidence=CONFIDENCE, degrees_of_freedom=freedom),
        rulings=rulings(mean, uncertainty, rules(dial, window), degrees_of_freedom=freedom),
    )


def _spans(values: Array) -> bool:
    """True when there are two values that differ enough to draw a line through."""
    return values.size >= 3 and float(np.ptp(values)) > _APART * float(np.mean(values))


def dial_line(found: Sequence[Delivered]) -> DialLine | None:
    """Delivered ratio against the dial, errors in both (York et al. 2004).

    Uncertainties are widened by the scatter where the points scatter more than their errors. None
    for fewer than three checks or a single setting.
    """
    dial = np.array([one.check.dial.value for one in found])
    if not _spans(dial):
        return None
    line = fit_line_york(
        x=dial,
        y=np.array([one.ratio for one in found]),
        x_uncertainty=np.array([standard_of(one.check.dial) for one in found]),
        y_uncertainty=np.array([one.uncertainty for one in found]),
    )
    scatter = math.sqrt(line.residual_variance)
    wider = max(scatter, 1.0)
    return DialLine(
        intercept=line.intercept,
        slope=line.slope,
        intercept_uncertainty=line.intercept_uncertainty * wider,
        slope_uncertainty=line.slope_uncertainty * wider,
        covariance=line.covariance * wider**2,
        scatter=scatter,
    )


def flow_bias(found: Sequence[Delivered]) -> FlowBias | None:
    """Delivered over set against the mix flow, errors in both; None for a single flow."""
    known = [one for one in found if one.check.flow_m3_s is not None]
    flow = np.array([one.check.flow_m3_s for one in known], dtype=float)
    if not known or not _spans(flow):
        return None
    every = factors(known)
    line = fit_line_york(
        x=flow,
        y=every,
        x_uncertainty=np.array([_flow_error(one) for one in known]),
        y_uncertainty=every * np.array([math.hypot(*_relative(one)) for one in known]),
    )
    wider = max(math.sqrt(line.residual_variance), 1.0)
    error = line.slope_uncertainty * wider
    factor = coverage_factor(confidence=CONFIDENCE, degrees_of_freedom=len(known) - 2)
    return FlowBias(
        slope_per_m3_s=line.slope,
        uncertainty=error,
        low_m3_s=float(flow.min()),
        high_m3_s=float(flow.max()),
        matters=abs(line.slope) > factor * error,
    )


def _flow_error(one: Delivered) -> float:
    reading = one.check.readings["mix_flow"]
    return max(standard_of(reading), 1e-3 * reading.value)


def setting_by_line(line: DialLine, wanted: float) -> tuple[float, float]:
    """Dial for a wanted ratio and its standard uncertainty: the line read backwards (GUM)."""
    dial = (wanted - line.intercept) / line.slope
    variance = (
        line.intercept_uncertainty**2
        + (dial * line.slope_uncertainty) ** 2
        + 2.0 * dial * line.covariance
    )
    return dial, math.sqrt(max(variance, 0.0)) / abs(line.slope)


def _settings(
    found: Sequence[Delivered],
    line: DialLine | None,
    factor: tuple[float, float],
    wanted: float | None,
) -> tuple[ToSet, ...]:
    """What to set for the ratio asked for, else for each ratio that was set."""
    dials = sorted({one.check.dial.value for one in found})
    settings = []
    for ratio in (wanted,) if wanted is not None else dials:
        if line is not None and line.slope > 0.0:
            dial, error = setting_by_line(line, ratio)
        else:
            dial = ratio / factor[0]
            error = dial * factor[1] / factor[0]
        beyond = not 0.9 * dials[0] <= dial <= 1.1 * dials[-1]
        settings.append(ToSet(ratio, dial, error, beyond))
    return tuple(settings)


def run_chart(found: Sequence[Delivered]) -> RunChart | None:
    """Delivered over set in order of time with a cumulative sum against the first five checks.

    One check's deviation is told from the mean moving range, which a slow drift hardly widens, but
    is never taken below a fifth of its own uncertainty: readings that repeat to the digit prove no
    steadiness. None for fewer than seven checks, or without their times.
    """
    if len(found) < LEAST_CHART or any(one.check.when_s is None for one in found):
        return None
    every = factors(found)
    own = float(np.median([one.uncertainty / one.check.dial.value for one in found]))
    ranges = float(np.abs(np.diff(every)).mean()) / _MOVING_RANGE
    target, deviation = float(every[:BASELINE].mean()), max(ranges, 0.2 * own)
    drift = drift_cusum(values=every, target=target, deviation=deviation, limit=DRIFT_LIMIT)
    return RunChart(
        when_s=tuple(float(one.check.when_s or 0.0) for one in found),
        factor=tuple(every.tolist()),
        expanded=tuple(one.expanded / one.check.dial.value for one in found),
        target=target,
        deviation=deviation,
        high=tuple(drift.high.tolist()),
        low=tuple(drift.low.tolist()),
        limit=DRIFT_LIMIT,
        alarm_at=drift.alarm_at,
        is_rich=drift.is_rich,
    )


def day_to_day(found: Sequence[Delivered], time_zone: str) -> Days | None:
    """How delivered over set holds over days (one-way random effects), and the next day's band.

    The band is for one check on a day yet to come: between days, within a day, the mean's own error
    and the instruments'. None for fewer than two days.
    """
    groups = _by_day(found, time_zone)
    if len(groups) < 2:
        return None
    means = np.array([group.mean() for group in groups])
    sizes = np.array([group.size for group in groups])
    spare = int((sizes - 1).sum())
    inner = sum(float(((group - group.mean()) ** 2).sum()) for group in groups)
    within = math.sqrt(inner / spare) if spare else 0.0
    count = float(len(groups))
    between = max(float(means.var(ddof=1)) - within**2 * float(np.mean(1.0 / sizes)), 0.0)
    instruments = float(np.median([one.uncertainty / one.check.dial.value for one in found]))
    spread = math.sqrt(between * (1.0 + 1.0 / count) + within**2 + instruments**2)
    half = spread * coverage_factor(confidence=NEXT_DAY, degrees_of_freedom=count - 1.0)
    mean = float(means.mean())
    return Days(
        days=len(groups),
        checks=len(found),
        mean=mean,
        between=math.sqrt(between),
        within=within,
        low=max(mean - half, 0.0),
        high=mean + half,
    )


def _by_day(found: Sequence[Delivered], time_zone: str) -> list[Array]:
    zone = UTC if time_zone.upper() == "UTC" else ZoneInfo(time_zone)
    days: dict[str, list[float]] = {}
    for one, factor in zip(found, factors(found), strict=True):
        if one.check.when_s is None:
            return []
        day = datetime.fromtimestamp(one.check.when_s, UTC).astimezone(zone).date().isoformat()
        days.setdefault(day, []).append(float(factor))
    return [np.array(group) for group in days.values()]


def _notes(
    found: Sequence[Delivered], line: DialLine | None, flow: FlowBias | None, time_zone: str
) -> tuple[str, ...]:
    """What could not be said, and what would let it be."""
    notes = list(_of_widths(found))
    every = factors(found)
    if len(found) == 1:
        notes.append("One check only: it says what was delivered then, at that setting and flow.")
    elif float(np.ptp(every)) == 0.0:
        notes.append(
            "All checks read the same to the last digit: copied, or the same reading twice? "
            "A scatter of nothing says nothing of how steady it is."
        )
    if line is None:
        notes.append(
            "No line over the dial: that takes three checks at two settings or more. What to set "
            "is reckoned in proportion, which holds near the setting tried."
        )
    elif line.slope <= 0.0:
        notes.append("The delivered ratio does not rise with the dial: it does not meter at all.")
    elif line.scatter > 2.0:
        notes.append(
            f"The checks scatter {line.scatter:.1f} times as far as their errors explain: "
            "something else moves it."
        )
    if flow is None:
        notes.append("No word on flow: that takes three checks at two flows or more.")
    elif line is not None and _go_together(found):
        notes.append("Dial and flow were turned together: their effects cannot be told apart.")
    if any(one.check.when_s is None for one in found):
        notes.append("Without the times of all checks there is no run chart and no day to day.")
    elif len(found) < LEAST_CHART:
        notes.append(
            f"No run chart yet: {LEAST_CHART} checks are needed, the first {BASELINE} of them to "
            "say what is normal."
        )
    if len(_by_day(found, time_zone)) == 1:
        notes.append("All checks are of one day: nothing is known of other days.")
    return tuple(notes)


def _of_widths(found: Sequence[Delivered]) -> tuple[str, ...]:
    """Which errors nobody wrote down."""
    assumed = {
        name.replace("_", " ")
        for one in found
        for name, reading in (("dial", one.check.dial), *one.check.readings.items())
        if reading.is_assumed and (name == "dial" or name in one.check.needs)
    }
    if not assumed:
        return ()
    return (
        f"Nobody wrote down how finely these were read: {', '.join(sorted(assumed))}. Stated "
        "defaults stand in for that (data/proportioner_methods.toml), most of them untested.",
    )


def _of_drift(chart: RunChart | None) -> tuple[str, ...]:
    """That a drifting device has no one bias."""
    if chart is None or chart.alarm_at is None:
        return ()
    return (
        "It drifts, so its bias and what to set are an average over the checks, not what it does "
        "now: mend it first.",
    )


def _go_together(found: Sequence[Delivered]) -> bool:
    known = [one for one in found if one.check.flow_m3_s is not None]
    dial = np.array([one.check.dial.value for one in known])
    flow = np.array([one.check.flow_m3_s for one in known], dtype=float)
    if len(known) < 3 or np.ptp(dial) == 0.0 or np.ptp(flow) == 0.0:
        return False
    return abs(float(np.corrcoef(dial, flow)[0, 1])) > _TOGETHER
