"""What a crew's trials say, as plain text of at most 100 columns."""

from __future__ import annotations

import math

from stillwet.domain.trial_report import (
    Band,
    CurveReport,
    DryingReport,
    FittedNumber,
    LowestRatio,
    NextTrial,
    Ruling,
    TrialReport,
)
from stillwet.reports.text_table import fill
from stillwet.reports.words import (
    Units,
    clean,
    coat,
    count_words,
    minutes,
    number,
    percent_number,
    quantity,
    ratio,
    ratio_basis,
    unit_label,
)
from stillwet.units import from_si

_SURE = 0.995  # of what is still possible: counts as all of it


def trial_text(report: TrialReport, units: str) -> str:
    """The report for a terminal; ``units`` is "us" or "metric"."""
    shown = Units(units)
    blocks = [_heading(report, shown)]
    if report.curve is not None:
        blocks += [_answer(report, report.curve, shown), _rests_on(report.curve)]
        blocks += [_curve(report, report.curve)]
    if report.drying is not None:
        blocks.append(_drying(report.drying))
    if report.proposals:
        blocks.append(_next(report, shown))
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _heading(report: TrialReport, units: Units) -> list[str]:
    low, high = (percent_number(end) for end in report.label)
    lines = [f"TRIALS: {clean(report.product_name)} ({clean(report.source)})"]
    lines += fill(
        f"Type: {clean(report.product_type)}; label {low} to {high} % "
        f"{ratio_basis(report.ratio_basis)}. Asked: {coat(report.coat_kg_m2, units)} on a wall "
        f"with a safety of {report.safety:g}, which takes {report.stress_pa:.0f} Pa."
    )
    if report.curve is None and report.drying is None:
        lines += fill("No trial yet: what follows rests on the untested defaults of its type.")
    return lines


def _answer(report: TrialReport, curve: CurveReport, units: Units) -> list[str]:
    lines = ["LOWEST RATIO THAT WORKS (90 % band)"]
    for one in curve.lowest:
        lines += fill(lowest_sentence(one, report, units), "  - ", "    ")
    return lines


def lowest_sentence(one: LowestRatio, report: TrialReport, units: Units) -> str:
    """The lowest working ratio in one water, or that there is none."""
    where = f"in water of {from_si(one.hardness_kg_m3, 'mg/L'):.0f} mg/L at "
    where += f"{quantity(one.temperature_k, 'K', units)}"
    most = percent_number(one.most)
    if one.reached <= 1.0 - _SURE:
        return f"{where}: none up to {most} % keeps this coat"
    high = f"over {most}" if one.ratio.high >= one.most else percent_number(one.ratio.high)
    middle = f"over {most}" if one.ratio.median >= one.most else percent_number(one.ratio.median)
    told = f"{where}: {middle} % {ratio_basis(report.ratio_basis)}, "
    told += f"{percent_number(one.ratio.low)} to {high} %"
    if one.reached < _SURE:
        told += f" (1 in {1.0 / (1.0 - one.reached):.0f} that none up to {most} % does)"
    return told


def _rests_on(curve: CurveReport) -> list[str]:
    lines = ["WHAT IT RESTS ON"]
    lines += fill(
        f"{count_words(curve.readings, 'reading')} of {count_words(curve.trials, 'trial')} at "
        f"{count_words(curve.ratios, 'ratio')} in {count_words(curve.waters, 'water')}. This "
        f"crew's readings scatter {curve.crew_scatter:.1f} times as much as usual.",
        "  - ",
        "    ",
    )
    if curve.ratios == 1:
        told = "All at one ratio: how the stress grows with the ratio is still the type's default."
        lines += fill(told, "  - ", "    ")
    if curve.waters == 1:
        told = "All in one water: what harder water does is still the type's default."
        lines += fill(told, "  - ", "    ")
    for odd in curve.odd:
        lines += fill(
            f"Odd: {clean(odd.trial_id)}, {odd.method}, lies {odd.scatters:.1f} scatters off the "
            "curve. It still counts, though little: look at how it was read.",
            "  - ",
            "    ",
        )
    lines += fill(
        f"Check of the model: readings it makes up itself lie as far off in "
        f"{100 * curve.predictive:.0f} % of cases. Check of the sampler: {curve.draws:.0f} "
        f"independent draws, spread between runs {curve.mixed:.3f} (1 is none).",
        "  - ",
        "    ",
    )
    return lines + _ruling(curve.ruling)


def _ruling(ruling: Ruling) -> list[str]:
    mark = "TAKEN" if ruling.is_accepted else "NOT TAKEN"
    return fill(f"{mark} for plans. {ruling.words}", "  - ", "    ")


def _curve(report: TrialReport, curve: CurveReport) -> list[str]:
    lines = ["YIELD STRESS IN THE HARDEST WATER (Pa, 90 % band)"]
    for one in curve.yields:
        band = one.yield_pa
        lines.append(
            f"  {percent_number(one.ratio):>6} %  {band.median:7.0f}   "
            f"{band.low:.0f} to {band.high:.0f}"
        )
    lines.append("NUMBERS FOR A PLAN (trials; 90 % band; what stands there now)")
    return lines + [
        f"  {one.name.replace('_', ' '):18} {number_words(one)}" for one in curve.numbers
    ]


def number_words(fitted: FittedNumber) -> str:
    """One fitted number with its band and what it would replace."""
    band = fitted.band
    told = [_figure(value, fitted.unit) for value in (band.median, band.low, band.high)]
    unit = {"fraction": " %", "kg/m3": " mg/L", "": ""}.get(fitted.unit, f" {fitted.unit}")
    was = _figure(fitted.default, fitted.unit)
    return f"{told[0]}{unit} ({told[1]} to {told[2]}; {was})"


def _figure(value: float, unit: str) -> str:
    if not math.isfinite(value):
        return "no limit"
    if unit == "fraction":
        return percent_number(value)
    if unit == "kg/m3":
        return f"{from_si(value, 'mg/L'):.0f}"
    return f"{value:,.0f}" if value >= 100 else f"{value:.2f}"


def _drying(report: DryingReport) -> list[str]:
    lines = ["DRYING"]
    was = report.default
    lines += fill(
        f"Drying exponent {_band(report.exponent)}, where the type's default is {_band(was)}: "
        f"{count_words(len(report.coats), 'coat')}, weighed {report.weighings} times after the "
        "first.",
        "  - ",
        "    ",
    )
    for name, factor in zip(report.coats, report.weather_factors, strict=True):
        told = f"{clean(name)}: dried as in {100 * factor:.0f} % of the drying weather written down"
        lines += fill(told, "  - ", "    ")
    if report.odd:
        told = f"{count_words(report.odd, 'weighing')} far off the curve: look at the scales."
        lines += fill(told, "  - ", "    ")
    return lines + _ruling(report.ruling)


def _band(band: Band) -> str:
    return f"{band.median:.2f} ({band.low:.2f} to {band.high:.2f})"


def _next(report: TrialReport, units: Units) -> list[str]:
    best, *others = report.proposals
    lines = ["TRY NEXT"]
    lines += fill(trial_sentence(best, report, units), "  - ", "    ")
    lines += fill(best.reason, "    ", "    ")
    if report.curve is not None and not report.curve.ruling.is_accepted:
        against = "; ".join(report.curve.ruling.against)
        told = (
            f"Plans do not take the fit yet ({against}). Every further trial counts towards that."
        )
        lines += fill(told, "    ", "    ")
    for other in others:
        told = (
            f"or {trial_sentence(other, report, units)} "
            f"(band {percent_number(other.width_expected)} points)"
        )
        lines += fill(told, "  - ", "    ")
    return lines


def trial_sentence(one: NextTrial, report: TrialReport, units: Units) -> str:
    """What to mix, wait and read."""
    return (
        f"{one.method} at {ratio(one.ratio, report.ratio_basis)} in water of "
        f"{from_si(one.hardness_kg_m3, 'mg/L'):.0f} mg/L at "
        f"{quantity(one.temperature_k, 'K', units)}, {minutes(one.age_s)} or more after mixing; "
        f"expect {_expected(one, units)}"
    )


def _expected(one: NextTrial, units: Units) -> str:
    """What will be written down, in nine cases of ten."""
    low, high = (_written(value, one.reading_unit, units) for value in one.reading)
    span = f"{low} to {high} {_label(one.reading_unit, units)}"
    match one.method:
        case "slump":
            wide = f"{_written(one.tool or 0.0, 'm', units)} {_label('m', units)}"
            return f"a cylinder {wide} wide and high to sink {span}"
        case "spread":
            return f"{quantity(one.tool, 'm3', units)} poured out to spread {span} across"
        case "coat kept":
            return f"{span} to stay on an upright board"
        case "slough time":
            return f"a coat of {span} to slide within 10 min"
        case "funnel time":
            return f"{span} for a quart"
        case _:
            return span


_READERS = {"m": "m of a blade", "kg/m2": "kg/m2"}  # SI unit of a reading -> the reader's


def _written(value: float, unit: str, units: Units) -> str:
    if unit in _READERS:
        return number(value, _READERS[unit], units)
    return f"{from_si(value, 'cp') if unit == 'Pa s' else value:,.0f}"


def _label(unit: str, units: Units) -> str:
    if unit in _READERS:
        return unit_label(_READERS[unit], units)
    return "cP" if unit == "Pa s" else unit
