"""What trials say, told: text in either unit, odd readings, hard water, drying, rulings; JSON."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from jsonschema import Draft202012Validator

from stillwet.domain.trial_report import (
    Band,
    CurveReport,
    DryingReport,
    FittedNumber,
    LowestRatio,
    NextTrial,
    OddReading,
    Ruling,
    TrialReport,
    YieldAt,
)
from stillwet.reports.plan_json import packaged_schema
from stillwet.reports.trial_json import trial_json_text
from stillwet.reports.trial_text import trial_text

TAKEN = Ruling("yield stress", "6 readings at 6 ratios, 1 odd one", ())
REFUSED = Ruling("drying exponent", "1 coat weighed 2 times", ("2 weighings", "nothing dried"))


def _next(method: str, low: float, high: float, unit: str, tool: float | None) -> NextTrial:
    return NextTrial(
        ratio=0.012,
        hardness_kg_m3=0.09,
        temperature_k=294.15,
        age_s=240.0,
        method=method,
        reading=(low, high),
        reading_unit=unit,
        tool=tool,
        width_now=0.004,
        width_expected=0.003,
        reason="Here what is still possible differs most.",
    )


CURVE = CurveReport(
    readings=6,
    trials=6,
    ratios=6,
    waters=2,
    crew_scatter=1.2,
    predictive=0.4,
    draws=2000.0,
    mixed=1.001,
    lowest=(
        LowestRatio(0.4, 294.15, Band(0.03, 0.03, 0.03), 0.03, 0.0),
        LowestRatio(0.15, 294.15, Band(0.014, 0.018, 0.03), 0.03, 0.9),
        LowestRatio(0.05, 294.15, Band(0.009, 0.011, 0.013), 0.03, 1.0),
    ),
    yields=(YieldAt(0.01, Band(20.0, 30.0, 45.0)),),
    odd=(OddReading("t4 \x1b[31m", "funnel time", 4.2),),
    ruling=TAKEN,
    numbers=(FittedNumber("hardness_half", "kg/m3", Band(0.08, 0.12, 0.2), 0.1),),
)
REPORT = TrialReport(
    source="odd \x1b.csv",
    product_name="Clear <gel>",
    product_type="superabsorbent in oil dispersion (liquid)",
    ratio_basis="volume percent of the finished mix",
    label=(0.005, 0.02),
    coat_kg_m2=3.175,
    safety=1.5,
    stress_pa=46.7,
    curve=CURVE,
    drying=DryingReport(
        coats=("c1",),
        weighings=2,
        exponent=Band(0.6, 0.72, 0.85),
        default=Band(0.5, 0.75, 1.0),
        weather_factors=(1.35,),
        odd=1,
        ruling=REFUSED,
    ),
    proposals=(_next("coat kept", 2.54, 5.08, "kg/m2", None),),
)


def _flat(report: TrialReport, units: str) -> str:
    return " ".join(trial_text(report, units).split())


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_text_fits_and_is_clean(units: str) -> None:
    """At most 100 columns, no control characters, every block there."""
    text = trial_text(REPORT, units)
    assert max(map(len, text.splitlines())) <= 100
    assert "\x1b" not in text
    for head in ("LOWEST RATIO", "WHAT IT RESTS ON", "YIELD STRESS", "DRYING", "TRY NEXT"):
        assert head in text


def test_hard_water_is_told_in_words() -> None:
    """No ratio at 400 mg/L; one in ten that none does at 150; a plain band at 50."""
    told = _flat(REPORT, "metric")
    assert "in water of 400 mg/L at 21 C: none up to 3.00 % keeps this coat" in told
    assert "1.80 % by volume, 1.40 to over 3.00 % (1 in 10 that none up to 3.00 % does)" in told
    assert "in water of 50 mg/L at 21 C: 1.10 % by volume, 0.90 to 1.30 %" in told


def test_rulings_odd_readings_and_weather_are_told() -> None:
    """What was taken, what was not and why, which reading is odd, how far the weather was off."""
    told = _flat(REPORT, "us")
    assert "TAKEN for plans. Yield stress from trials (6 readings at 6 ratios, 1 odd one)" in told
    assert "NOT TAKEN for plans. Drying exponent stays as it was in spite of trials" in told
    assert "2 weighings; nothing dried." in told
    assert "funnel time, lies 4.2 scatters off the curve. It still counts" in told
    assert "c1: dried as in 135 % of the drying weather written down" in told
    assert "hardness half 120 mg/L (80 to 200; 100)" in told


@pytest.mark.parametrize(
    ("proposal", "us", "metric"),
    [
        (
            _next("coat kept", 2.54, 5.08, "kg/m2", None),
            "0.10 to 0.20 in to stay on an upright board",
            "2.5 to 5.1 mm to stay",
        ),
        (
            _next("slump", 0.0254, 0.0508, "m", 0.0762),
            "a cylinder 3.00 in wide and high to sink 1.00 to 2.00 in",
            "a cylinder 76.2 mm wide and high to sink 25.4 to 50.8 mm",
        ),
        (_next("funnel time", 32.0, 90.0, "s", 9.46e-4), "32 to 90 s for a quart", "32 to 90 s"),
        (_next("spindle viscosity", 1.5, 3.0, "Pa s", None), "1,500 to 3,000 cP", "3,000 cP"),
        (_next("slough time", 2.54, 5.08, "kg/m2", None), "to slide within 10 min", "5.1 mm"),
        (_next("spread", 0.254, 0.508, "m", 1e-3), "to spread 10.00 to 20.00 in", "254.0 to 508"),
        (_next("yield stress", 20.0, 40.0, "Pa", None), "expect 20 to 40 Pa", "20 to 40 Pa"),
    ],
)
def test_a_proposal_says_what_will_be_written_down(
    proposal: NextTrial, us: str, metric: str
) -> None:
    """Inches or millimetres on a board, seconds of a funnel: what a crew reads, not a stress."""
    report = replace(REPORT, proposals=(proposal,))
    assert us in _flat(report, "us")
    assert metric in _flat(report, "metric")


def test_json_fits_its_schema_with_nothing_infinite() -> None:
    """Whatever is there or not, and a number without limit becomes null."""
    check = Draft202012Validator(packaged_schema("trial"))
    endless = FittedNumber("hardness_half", "kg/m3", Band(0.1, 0.2, float("inf")), 0.1)
    for report in (
        REPORT,
        replace(REPORT, curve=None, proposals=()),
        replace(REPORT, drying=None, curve=replace(CURVE, numbers=(endless,))),
    ):
        document = json.loads(trial_json_text(report))
        check.validate(document)
    assert document["curve"]["numbers"][0]["band"]["high"] is None
    assert "no limit" in trial_text(report, "us")
