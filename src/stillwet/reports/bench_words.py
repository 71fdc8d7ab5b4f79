"""The bench for a browser, in words: trials as rows, the fit, a mix tried, checks judged."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from stillwet.domain.mix_try import CrewPump, MixTried
from stillwet.domain.proportioner import DeviceReport, ProportionerReport
from stillwet.domain.trial_figure import TrialFigure, WaterCurve
from stillwet.domain.trial_report import CurveReport, NextTrial, Ruling, TrialReport
from stillwet.domain.trials import DryingSeries, Trial, TrialRecord
from stillwet.reports.local_time import LocalClock
from stillwet.reports.mix_words import BEYOND, hardness, percent, span
from stillwet.reports.proportioner_text import (
    chart_sentence,
    dial_sentence,
    flow_sentence,
    line_sentence,
    ruling_sentence,
    setting_sentence,
)
from stillwet.reports.trial_text import lowest_sentence, number_words, trial_sentence
from stillwet.reports.words import (
    NONE,
    Units,
    clean,
    coat,
    count_words,
    minutes,
    percent_number,
    quantity,
    ratio,
    ratio_basis,
    unit_label,
)
from stillwet.units import depth_in_inches, from_si


def trial_rows(
    records: Iterable[TrialRecord], typed: Mapping[str, Mapping[str, str]], odd: Sequence[str]
) -> list[dict[str, Any]]:
    """The trials as they would be typed; a drying coat by how often it was weighed."""
    return [
        {
            "id": clean(one.id),
            "is_odd": one.id in odd,
            "typed": dict(typed.get(one.id, {})),
            "says": "" if isinstance(one, Trial) else _series(one),
        }
        for one in records
    ]


def _series(one: DryingSeries) -> str:
    return f"coat weighed while it dried, {count_words(len(one.weighings), 'weighing')}"


def fit_json(report: TrialReport, figure: TrialFigure | None, units: Units) -> dict[str, Any]:
    """What the trials say, in sentences, with the figure's data."""
    curve, drying = report.curve, report.drying
    low, high = (percent_number(end) for end in report.label)
    return {
        "product": clean(report.product_name),
        "asked": f"{coat(report.coat_kg_m2, units)} on a wall with a safety of {report.safety:g}, "
        f"which takes {report.stress_pa:.0f} Pa; label {low} to {high} % "
        f"{ratio_basis(report.ratio_basis)}",
        "lowest": []
        if curve is None
        else [lowest_sentence(one, report, units) for one in curve.lowest],
        "rests_on": [] if curve is None else _rests_on(curve),
        "odd": []
        if curve is None
        else [
            f"{clean(one.trial_id)}, {one.method}, lies {one.scatters:.1f} scatters off the curve. "
            "It still counts, though little: look at how it was read."
            for one in curve.odd
        ],
        "rulings": [_ruling(one.ruling) for one in (curve, drying) if one is not None],
        "numbers": []
        if curve is None
        else [[one.name.replace("_", " "), number_words(one)] for one in curve.numbers],
        "figure": None if figure is None else _figure(figure, units),
    }


def _rests_on(curve: CurveReport) -> list[str]:
    told = [
        f"{count_words(curve.readings, 'reading')} of {count_words(curve.trials, 'trial')} at "
        f"{count_words(curve.ratios, 'ratio')} in {count_words(curve.waters, 'water')}",
        f"this crew's readings scatter {curve.crew_scatter:.1f} times as much as usual",
        f"readings made up by the model lie as far off in {100 * curve.predictive:.0f} % of cases",
    ]
    if curve.ratios == 1:
        told.append("all at one ratio: how stress grows with ratio is still the type's default")
    if curve.waters == 1:
        told.append("all in one water: what harder water does is still the type's default")
    return told


def _ruling(ruling: Ruling) -> dict[str, Any]:
    return {
        "what": ruling.what,
        "is_accepted": ruling.is_accepted,
        "says": ruling.words,
        "against": list(ruling.against),
    }


def _figure(figure: TrialFigure, units: Units) -> dict[str, Any]:
    return {
        "asked_pa": figure.asked_pa,
        "label_percent": [100.0 * end for end in figure.label],
        "unseen": figure.unseen,
        "waters": [_water(one, figure, units) for one in figure.curves],
    }


def _water(one: WaterCurve, figure: TrialFigure, units: Units) -> dict[str, Any]:
    where = f"{hardness(one.hardness_kg_m3)}, {quantity(one.temperature_k, 'K', units)}"
    return {
        "name": where,
        "ratio_percent": [100.0 * each for each in one.ratio],
        "low_pa": list(one.low_pa),
        "middle_pa": list(one.middle_pa),
        "high_pa": list(one.high_pa),
        "seen": [
            {
                "trial_id": clean(each.trial_id),
                "method": each.method,
                "ratio_percent": 100.0 * each.ratio,
                "yield_pa": each.yield_pa,
                "bound": each.bound,
                "is_odd": each.is_odd,
            }
            for each in one.seen
        ],
        "table": _table(one, figure),
    }


def _table(one: WaterCurve, figure: TrialFigure) -> list[list[str]]:
    """The figure told in a few rows: ratio, middle, band, whether it is enough."""
    step = max(1, (len(one.ratio) - 1) // 10)
    rows = []
    for k in range(step, len(one.ratio), step):
        low, middle, high = one.low_pa[k], one.middle_pa[k], one.high_pa[k]
        sure = "surely" if low >= figure.asked_pa else "not yet sure"
        told = sure if middle >= figure.asked_pa else "likely not"
        rows.append(
            [
                f"{percent_number(one.ratio[k])} %",
                f"{middle:.0f} Pa",
                f"{low:.0f} to {high:.0f} Pa",
                "no" if high < figure.asked_pa else told,
            ]
        )
    return rows


def next_json(report: TrialReport, units: Units) -> list[dict[str, str]]:
    """The trials worth doing next, best first."""
    return [_next(one, report, units) for one in report.proposals]


def _next(one: NextTrial, report: TrialReport, units: Units) -> dict[str, str]:
    now, then = percent_number(one.width_now), percent_number(one.width_expected)
    return {
        "says": trial_sentence(one, report, units),
        "reason": one.reason,
        "band": f"band of the lowest ratio: {now} points now, about {then} after it",
        "ratio": f"{percent_number(one.ratio)} %",
        "hardness": f"{from_si(one.hardness_kg_m3, 'mg/l'):.4g} mg/L",
        "age": f"{from_si(one.age_s, 'min'):.0f} min",
        "method": one.method,
    }


def mix_json(found: MixTried, units: Units) -> dict[str, Any]:
    """A mix tried: the verdict, its walls, and the figure's data in the reader's units."""
    tried, curve = found.tried, found.curve
    low, middle, high = found.clings_kg_m2
    return {
        "verdict": str(found.verdict),
        "asked": f"{ratio(tried.ratio, found.ratio_basis)} in water of "
        f"{hardness(tried.hardness_kg_m3)} at {quantity(tried.temperature_k, 'K', units)}, "
        f"{coat(tried.coat_kg_m2, units)} on a face {tried.tilt_deg:.0f} deg from level",
        "pairs": [
            ["Lowest ratio that keeps it", percent(found.lower.ratio)],
            ["  where it may really lie", span(found.lower.low, found.lower.high)],
            ["Highest before it falls off", percent(found.upper.ratio)],
            ["Label", span(*found.label)],
            [
                "Thickest that stays at this ratio",
                f"{coat(middle, units)}, counted on "
                f"{coat(found.counted_kg_m2, units)}; {coat(low, units)} to {coat(high, units)}",
            ],
            ["Wait after mixing", minutes(found.hydration_wait_s)],
            *([f"{clean(one.name)} can pump", _pumps(one, units)] for one in found.crews),
        ],
        "signs": [
            [clean(one.test), _sign(one.middle, one.low, one.high, one.unit, units)]
            for one in found.signs
        ],
        "figure": {
            "coat_unit": unit_label("kg/m2", units),
            "ratio_percent": [100.0 * each for each in curve.ratio],
            "low": [_depth(each, units) for each in curve.low_kg_m2],
            "middle": [_depth(each, units) for each in curve.middle_kg_m2],
            "high": [_depth(each, units) for each in curve.high_kg_m2],
            "counted": [_depth(each, units) for each in curve.counted_kg_m2],
            "needed": _depth(curve.needed_kg_m2, units),
            "chosen_percent": 100.0 * tried.ratio,
            "walls": [wall for wall in _walls(found) if wall["percent"] is not None],
        },
    }


def _walls(found: MixTried) -> list[dict[str, Any]]:
    pump = min((one.wall.ratio for one in found.crews), default=math.inf)
    walls = (
        ("slides off", found.lower.ratio),
        ("falls off", found.upper.ratio),
        ("pump", pump),
        ("label", found.label[0]),
        ("label", found.label[1]),
    )
    return [
        {"name": name, "percent": 100.0 * at if 0.0 < at < BEYOND else None} for name, at in walls
    ]


def _pumps(one: CrewPump, units: Units) -> str:
    top = "any ratio" if one.wall.ratio >= BEYOND else f"up to {percent(one.wall.ratio)}"
    if not one.flows:
        return top
    least = min(one.flows, key=lambda flow: flow.flow_m3_s)
    told = f"{top}; at this ratio {quantity(least.flow_m3_s, 'm3/s', units)} of the "
    return told + f"{quantity(one.wanted_flow_m3_s, 'm3/s', units)} wanted"


def _sign(middle: float, low: float, high: float, unit: str, units: Units) -> str:
    if unit == "Pa s":
        shown = [f"{from_si(each, 'cp'):,.0f}" for each in (middle, low, high)]
        return f"{shown[0]} cP ({shown[1]} to {shown[2]})"
    name = "m of a blade" if unit == "m" else unit
    told = [quantity(each, name, units) for each in (middle, low, high)]
    return f"{told[0]} ({told[1]} to {told[2]})"


def _depth(kg_m2: float, units: Units) -> float | None:
    if not math.isfinite(kg_m2):
        return None
    return depth_in_inches(kg_m2) if units is Units.US else kg_m2


def checks_json(report: ProportionerReport, units: Units) -> dict[str, Any]:
    """What the checks say of each proportioner, with the run chart's data."""
    clock = LocalClock(report.time_zone)
    low_high = report.window
    window = (
        "No mix window is given: foam practice alone is held up. No tolerance was found published "
        "for gel, where rich is a fault too."
        if low_high is None
        else f"Mix window {span(*low_high)}. Beside it stands foam practice, never lean and rich "
        "to 30 %: published for foam, not for gel."
    )
    devices = [_device(one, clock, units) for one in report.devices]
    return {"window": window, "devices": devices}


def _device(device: DeviceReport, clock: LocalClock, units: Units) -> dict[str, Any]:
    basis = ratio_basis(device.ratio_basis)
    over = [f"Delivers {100 * device.factor:.0f} % of what is set."]
    over += [] if device.line is None else [line_sentence(device.line)]
    over += [] if device.flow is None else [flow_sentence(device.flow, units)]
    over += [] if device.chart is None else [chart_sentence(device, clock)]
    return {
        "name": clean(device.device),
        "dials": [
            {
                "says": dial_sentence(at, basis),
                "rules": [[one.rule, ruling_sentence(one, at)] for one in at.rulings],
            }
            for at in device.dials
        ],
        "settings": [setting_sentence(one, device) for one in device.settings],
        "over": over,
        "notes": [clean(note) for note in device.notes],
        "checks": [
            [
                clean(one.check.id),
                NONE if one.check.when_s is None else clock.short(one.check.when_s),
                f"{percent_number(one.check.dial.value)} %",
                f"{percent_number(one.ratio)} +- {percent_number(one.expanded)} %",
                f"{one.parts[0][0].replace('_', ' ')}, {100 * one.parts[0][1]:.0f} %",
            ]
            for one in device.checks
        ],
        "figure": _run(device),
    }


def _run(device: DeviceReport) -> dict[str, Any]:
    """Delivered over set, check by check, with its 95 % interval, and where it drifts."""
    chart = device.chart
    factors = [100.0 * one.ratio / one.check.dial.value for one in device.checks]
    widths = [100.0 * one.expanded / one.check.dial.value for one in device.checks]
    if chart is not None:
        factors = [100.0 * each for each in chart.factor]
        widths = [100.0 * each for each in chart.expanded]
    return {
        "number": list(range(1, len(factors) + 1)),
        "percent_of_set": factors,
        "low_percent_of_set": [a - b for a, b in zip(factors, widths, strict=True)],
        "high_percent_of_set": [a + b for a, b in zip(factors, widths, strict=True)],
        "target_percent_of_set": None if chart is None else 100.0 * chart.target,
        "alarm_at": None if chart is None or chart.alarm_at is None else chart.alarm_at + 1,
    }
