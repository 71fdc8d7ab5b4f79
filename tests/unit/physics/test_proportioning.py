"""Proportioning: what is delivered, how sure that is, and the verdict."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.physics import proportioning as p
from stillwet.physics.uncertainty import propagate_kragten, rectangular


def test_every_way_of_measuring_gives_the_same_ratio() -> None:
    """A run made at 1.5 % is read as 1.5 % by draw, levels, weighing and density."""
    mix, density = 0.4, 1040.0
    drawn = 0.015 * mix
    heavy = p.mix_density(ratio=0.015, water_kg_m3=998.2, concentrate_kg_m3=density)
    readings = (
        p.ratio_from_draw(drawn_m3=drawn, seconds=200.0, mix_flow_m3_s=mix / 200.0),
        p.ratio_from_levels(drawn_m3=drawn, water_used_m3=mix - drawn),
        p.ratio_from_mass(drawn_kg=drawn * density, concentrate_density_kg_m3=density, mix_m3=mix),
        p.ratio_from_density(mix_kg_m3=heavy, water_kg_m3=998.2, concentrate_kg_m3=density),
    )
    np.testing.assert_allclose(np.array(readings, dtype=float), 0.015, rtol=1e-9)


def test_per_water_and_per_total_differ_by_the_ratio() -> None:
    """1:100 is 1 % of the water and 0.990 % of the mix; at 3 parts the gap is 3 %."""
    per_total = np.asarray(
        p.ratio_of_parts(concentrate_parts=np.array([1.0, 3.0]), water_parts=100.0)
    )
    np.testing.assert_allclose(per_total / np.array([0.01, 0.03]), [0.9901, 0.9709], rtol=1e-4)


def test_water_in_place_of_concentrate_reads_high() -> None:
    """A test with water that shows 1.2 % means 1.0 % of concentrate."""
    assert float(p.ratio_corrected_for_water(ratio=0.012)) == pytest.approx(0.010)


def test_a_water_test_is_too_vague_for_a_narrow_window() -> None:
    """How much water reads high is so unsure that 1.0 to 1.3 % cannot be judged with it."""
    low, high = p.WATER_READS_HIGH_INTERVAL
    reckoned = propagate_kragten(
        function=lambda shown, factor: float(
            p.ratio_corrected_for_water(ratio=shown, reads_high=factor)
        ),
        values={"shown": 0.0138, "factor": 0.5 * (low + high)},
        uncertainties={"factor": rectangular(half_width=0.5 * (high - low))},
    )
    assert reckoned.value == pytest.approx(0.0102, abs=1e-4)
    assert not p.can_judge(uncertainty=reckoned.uncertainty, window=p.foam_tolerance(rated=0.01))


def test_what_to_set() -> None:
    """Set 1.0 and got 0.714 %: set 1.4 to get 1.0."""
    setting = p.dial_setting(wanted=0.01, set_ratio=0.01, delivered=0.00714)
    assert float(setting) == pytest.approx(0.014, rel=1e-3)


@pytest.mark.parametrize(
    ("ratio", "doubt", "verdict"),
    [
        (0.012, 0.0005, p.Judgement.ACCEPT),
        (0.006, 0.0005, p.Judgement.TOO_LEAN),
        (0.020, 0.0005, p.Judgement.TOO_RICH),
        (0.0105, 0.0005, p.Judgement.CANNOT_TELL),
        (0.012, 0.003, p.Judgement.CANNOT_TELL),
    ],
)
def test_verdicts_against_a_window(ratio: float, doubt: float, verdict: p.Judgement) -> None:
    """Accept when the whole interval is inside 1.0 to 1.5 %, reject when none of it is."""
    check = p.judge(ratio=ratio, uncertainty=doubt, window=(0.010, 0.015))
    assert check.judgement is verdict
    assert check.low < ratio < check.high


def test_few_readings_widen_the_interval() -> None:
    """Four degrees of freedom turn an accepted check into one that cannot tell."""
    sure = p.judge(ratio=0.0125, uncertainty=0.001, window=(0.010, 0.015))
    unsure = p.judge(ratio=0.0125, uncertainty=0.001, window=(0.010, 0.015), degrees_of_freedom=4)
    assert sure.judgement is p.Judgement.ACCEPT
    assert unsure.judgement is p.Judgement.CANNOT_TELL


def test_a_refractometer_cannot_judge_one_percent_but_conductivity_can() -> None:
    """0.3 point against the foam window of 1.0 to 1.3 % is hopeless, 0.05 point is not."""
    window = p.foam_tolerance(rated=0.01)
    assert not p.can_judge(
        uncertainty=rectangular(half_width=p.REFRACTOMETER_POINTS), window=window
    )
    assert p.can_judge(uncertainty=rectangular(half_width=p.CONDUCTIVITY_POINTS), window=window)


def test_density_says_itself_that_it_cannot_read_a_light_concentrate() -> None:
    """With 1005 kg/m3 concentrate a hydrometer good to 0.5 kg/m3 leaves more doubt than ratio."""
    reckoned = propagate_kragten(
        function=lambda mix, water, concentrate: float(
            p.ratio_from_density(mix_kg_m3=mix, water_kg_m3=water, concentrate_kg_m3=concentrate)
        ),
        values={"mix": 998.27, "water": 998.2, "concentrate": 1005.0},
        uncertainties={"mix": 0.5, "water": 0.1, "concentrate": 1.0},
    )
    assert reckoned.value == pytest.approx(0.01, abs=0.001)
    assert reckoned.uncertainty > 5.0 * reckoned.value


def test_a_steady_proportioner_raises_no_alarm() -> None:
    """Twenty checks within a third of a deviation never add up to an alarm."""
    values = 0.01 + 0.0003 * np.sin(np.arange(20.0))
    drift = p.drift_cusum(values=values, target=0.01, deviation=0.001)
    assert drift.alarm_at is None
    assert not drift.is_rich


@pytest.mark.parametrize(("shift", "is_rich"), [(0.0015, True), (-0.0015, False)])
def test_a_slow_shift_is_found_and_named(shift: float, is_rich: bool) -> None:
    """A shift of 1.5 deviations from the 6th check alarms five to seven checks later."""
    values = np.concatenate([np.full(5, 0.01), np.full(15, 0.01 + shift)])
    drift = p.drift_cusum(values=values, target=0.01, deviation=0.001)
    assert drift.alarm_at is not None
    assert 9 <= drift.alarm_at <= 11
    assert drift.is_rich is is_rich


def test_false_alarms_are_as_rare_as_published() -> None:
    """In control one run in about 465 checks alarms: 200 seeded runs of 100 give 15 to 60."""
    random = np.random.default_rng(11)
    alarms = sum(
        p.drift_cusum(values=run, target=0.0, deviation=1.0).alarm_at is not None
        for run in random.normal(size=(200, 100))
    )
    assert 15 <= alarms <= 60


def test_ratio_by_mass_counts_the_powder_in_the_mix() -> None:
    """1 kg of powder in 99 kg of water is 1 % of the mix, not 1/99."""
    assert p.ratio_by_mass(drawn_kg=1.0, water_kg=99.0) == pytest.approx(0.01)


def test_ratio_from_flows_by_hand() -> None:
    """0.3 of 30 gallons a minute is 1 %."""
    shown = p.ratio_from_flows(concentrate_m3_s=0.3, mix_m3_s=30.0)
    assert shown == pytest.approx(0.01)


def test_instruments_are_as_good_as_the_note_says() -> None:
    """FAA technical note 02-115: 0.3 percentage point by refractometer, 0.05 by conductivity."""
    assert pytest.approx(0.3 / 100.0) == p.REFRACTOMETER_POINTS
    assert pytest.approx(0.05 / 100.0) == p.CONDUCTIVITY_POINTS
