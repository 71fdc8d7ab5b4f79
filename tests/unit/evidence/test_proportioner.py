"""Proportioner checks: the delivered ratio and how sure it is, both rules, bias, drift, days."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from checks_fixture import FLOW, draws, make_check
from stillwet.domain.products import RatioBasis
from stillwet.domain.proportioner import (
    Delivered,
    DeviceReport,
    Judgement,
    Measured,
    Method,
    ProportionerCheck,
    Standard,
)
from stillwet.errors import StillwetError
from stillwet.evidence.delivered import FOAM_PRACTICE, MIX_WINDOW, deliver, find_ratio
from stillwet.evidence.proportioner import (
    day_to_day,
    dial_line,
    flow_bias,
    in_order,
    report_on,
    run_chart,
)

THIRD = 1.0 / math.sqrt(3.0)


def _one(checks: tuple[ProportionerCheck, ...], wanted: float | None = None) -> DeviceReport:
    report = report_on(checks, (), source="test", wanted=wanted)
    assert len(report.devices) == 1
    return report.devices[0]


def _delivered(checks: tuple[ProportionerCheck, ...]) -> tuple[Delivered, ...]:
    return tuple(deliver(check, (), None) for check in checks)


def test_a_timed_draw_by_hand() -> None:
    """A product of powers: relative errors add in squares (GUM 5.1.6), each half-width over the
    square root of 3 (GUM 4.3.7).
    """
    found = find_ratio(make_check())
    drawn = 0.01 * 60.0 * FLOW
    relative = THIRD * math.sqrt((1e-5 / drawn) ** 2 + (0.3 / 60.0) ** 2 + 0.02**2)
    assert found.ratio == pytest.approx(0.01)
    assert found.uncertainty == pytest.approx(0.01 * relative, rel=1e-3)
    assert max(found.parts, key=lambda name: abs(found.parts[name])) == "mix_flow"


def test_tank_levels_by_hand() -> None:
    """5 L into 495 L is 1 %; the derivative by the drawn volume is water/(sum)^2."""
    check = make_check(
        method=Method.TANK_LEVELS,
        readings={"drawn": Measured(0.005, 2e-4), "water_used": Measured(0.495, 0.0)},
        flow_m3_s=None,
    )
    found = find_ratio(check)
    assert found.ratio == pytest.approx(0.01)
    assert found.uncertainty == pytest.approx(THIRD * 2e-4 * 0.495 / 0.25, rel=1e-3)


@pytest.mark.parametrize(
    ("method", "readings"),
    [
        (Method.FLOW_METERS, {"concentrate_flow": 1.2e-5, "mix_flow": 1.0e-3}),
        (
            Method.WEIGHED,
            {"drawn_mass": 6.18, "concentrate_density": 1030.0, "mix_volume": 0.5},
        ),
        (
            Method.DENSITY,
            {"mix_density": 1000.4, "water_density": 998.2, "concentrate_density": 1181.5333},
        ),
        (Method.REFRACTOMETER, {"shown": 0.012}),
    ],
)
def test_every_method_finds_the_same_mix(method: Method, readings: dict[str, float]) -> None:
    """One mix of 1.2 % by volume read five ways, worked by hand."""
    exact = {name: Measured(value, 0.0) for name, value in readings.items()}
    found = find_ratio(make_check(method=method, readings=exact))
    assert found.ratio == pytest.approx(0.012, rel=1e-4)


def test_a_powder_is_told_by_mass() -> None:
    """5 kg into 495 kg of water (0.4959 m3 at 20 C) is 1 % by mass."""
    check = make_check(
        method=Method.WEIGHED,
        ratio_basis=RatioBasis.MASS,
        readings={"drawn_mass": Measured(5.0, 0.05), "water_used": Measured(495 / 998.2, 0.0)},
    )
    assert find_ratio(check).ratio == pytest.approx(0.01, rel=1e-6)


def test_conductivity_is_read_off_the_known_samples() -> None:
    """Water conducts 0.05 S/m and each percent adds 0.02: 0.075 S/m is 1.25 %."""
    standards = tuple(
        Standard("Injector", Measured(ratio, 1e-5), Measured(0.05 + 2.0 * ratio, 1e-4))
        for ratio in (0.0, 0.005, 0.01, 0.02)
    )
    check = make_check(method=Method.CONDUCTIVITY, readings={"conductivity": Measured(0.075, 2e-4)})
    found = find_ratio(check, standards)
    assert found.ratio == pytest.approx(0.0125, rel=1e-6)
    # the reading alone gives 2e-4/sqrt(3)/2.0; the line adds its own
    assert found.uncertainty > THIRD * 1e-4
    assert found.uncertainty == pytest.approx(math.hypot(*found.parts.values()))


def test_conductivity_without_known_samples_is_refused() -> None:
    """Two samples draw a line through anything."""
    check = make_check(method=Method.CONDUCTIVITY, readings={"conductivity": Measured(0.07, 0.0)})
    with pytest.raises(StillwetError, match="known_ratio: wanted at least 3 samples"):
        find_ratio(check)


def test_water_in_place_of_concentrate_reads_high() -> None:
    """A check with water is divided by 1.2 and is much less sure."""
    plain, stood_in = find_ratio(make_check()), find_ratio(make_check(water_stood_in=True))
    assert stood_in.ratio == pytest.approx(plain.ratio / 1.2)
    assert stood_in.uncertainty > 4.0 * plain.uncertainty


def test_the_expanded_uncertainty_covers_the_truth() -> None:
    """4000 simulated timed draws of a true 1 %, errors uniform in their half-widths: the 95 %
    interval holds the truth in 93 to 99 of 100 (uniform errors are bounded, so it is on the safe
    side).
    """
    random = np.random.default_rng(7)
    inside, count = 0, 4000
    one = make_check()
    for _ in range(count):
        shaken = {
            name: replace(part, value=part.value + part.within * random.uniform(-1, 1))
            for name, part in one.readings.items()
        }
        found = deliver(replace(one, readings=shaken), (), None)
        inside += abs(found.ratio - 0.01) <= found.expanded
    assert 0.93 <= inside / count <= 0.99


def test_a_refractometer_cannot_judge_a_one_percent_mix() -> None:
    """Good to 0.3 point: neither the mix window of 0.9 to 1.3 % nor foam practice's 1.0 to 1.3 %
    can ever be told by it; a timed draw can.
    """
    coarse = make_check(
        method=Method.REFRACTOMETER, readings={"shown": Measured(0.011, 0.003)}, flow_m3_s=None
    )
    for ruling in deliver(coarse, (), (0.009, 0.013)).rulings:
        assert ruling.judgement is Judgement.CANNOT_TELL
        assert not ruling.can_ever
    drawn = Measured(0.011 * 60.0 * FLOW, 1e-5)
    fine = make_check(readings={**make_check().readings, "drawn": drawn})
    rulings = deliver(fine, (), (0.009, 0.013)).rulings
    assert [ruling.judgement for ruling in rulings] == [Judgement.ACCEPT, Judgement.ACCEPT]


@pytest.mark.parametrize(
    ("delivered", "window", "foam"),
    [
        (0.0093, Judgement.ACCEPT, Judgement.TOO_LEAN),
        (0.0110, Judgement.ACCEPT, Judgement.ACCEPT),
        (0.0125, Judgement.TOO_RICH, Judgement.ACCEPT),
        (0.0150, Judgement.TOO_RICH, Judgement.TOO_RICH),
        (0.0080, Judgement.TOO_LEAN, Judgement.TOO_LEAN),
        (0.0101, Judgement.ACCEPT, Judgement.CANNOT_TELL),
    ],
)
def test_the_two_rules_stand_side_by_side_and_may_differ(
    delivered: float, window: Judgement, foam: Judgement
) -> None:
    """Mix window 0.9 to 1.2 %; foam practice at a dial of 1 % is 1.0 to 1.3 %, never lean."""
    (check,) = draws([delivered])
    rulings = {one.rule: one for one in deliver(check, (), (0.009, 0.012)).rulings}
    assert rulings[MIX_WINDOW].judgement is window
    assert rulings[FOAM_PRACTICE].judgement is foam
    assert (rulings[FOAM_PRACTICE].low, rulings[FOAM_PRACTICE].high) == pytest.approx((0.01, 0.013))


def test_without_a_window_foam_practice_stands_alone() -> None:
    """It is offered, not hidden, and named for what it is."""
    assert [one.rule for one in deliver(make_check(), (), None).rulings] == [FOAM_PRACTICE]


def test_one_that_delivers_70_percent_is_set_to_1_43_to_get_1() -> None:
    """Exact checks at three dials, 70 % of each: 1/0.7 = 1.43."""
    dials = [0.01, 0.015, 0.02]
    device = _one(draws([0.7 * dial for dial in dials], dials=dials), wanted=0.01)
    assert device.line is not None
    assert device.line.slope == pytest.approx(0.7, rel=1e-6)
    (setting,) = device.settings
    assert setting.dial == pytest.approx(0.01 / 0.7, rel=1e-4)
    assert not setting.is_beyond


def test_a_constant_loss_is_set_off_by_the_line_not_in_proportion() -> None:
    """Delivered = dial - 0.2 point: 1.2 % must be set for 1 %, 2.2 % for 2 %, which is beyond."""
    dials = [0.008, 0.012, 0.016, 0.02]
    checks = draws([dial - 0.002 for dial in dials], dials=dials)
    assert _one(checks, wanted=0.01).settings[0].dial == pytest.approx(0.012, rel=0.01)
    far = _one(checks, wanted=0.025).settings[0]
    assert far.dial == pytest.approx(0.027, rel=0.01)
    assert far.is_beyond


def test_what_to_set_is_as_sure_as_it_says() -> None:
    """400 simulated proportioners of slope 0.8 and -0.1 point, errors in dial and draw: the dial
    that truly gives 1 % lies within two standard uncertainties in 90 to 99 of 100.
    """
    random = np.random.default_rng(3)
    true = (0.01 + 0.001) / 0.8
    dials = np.array([0.008, 0.012, 0.016, 0.02] * 2)
    inside = 0
    for _ in range(400):
        turned = dials * (1.0 + 0.01 * random.uniform(-1, 1, dials.size))
        ratio = 0.8 * turned - 0.001
        ratio = ratio * (1.0 + 0.02 * random.uniform(-1, 1, dials.size))
        setting = _one(draws(ratio.tolist(), dials=dials.tolist()), wanted=0.01).settings[0]
        inside += abs(setting.dial - true) <= 2.0 * setting.uncertainty
    assert 0.90 <= inside / 400 <= 0.995


def test_one_setting_gives_no_line_but_a_setting_in_proportion() -> None:
    """Five checks at 1 % that deliver 0.8: no line over the dial, set 1.25, and that is said."""
    device = _one(draws([0.0080, 0.0081, 0.0079, 0.0080, 0.0080]), wanted=0.01)
    assert device.line is None
    assert device.settings[0].dial == pytest.approx(0.0125, rel=0.01)
    assert any("No line over the dial" in note for note in device.notes)


def test_scatter_beyond_the_errors_widens_the_line() -> None:
    """Points that jump about make the line less sure, and are named."""
    dials = [0.010, 0.012, 0.014, 0.016, 0.018, 0.020]
    still = dial_line(in_order(_delivered(draws(dials, dials=dials))))
    jumps = [dial * (1.0 + 0.15 * (-1) ** i) for i, dial in enumerate(dials)]
    device = _one(draws(jumps, dials=dials))
    assert still is not None
    assert device.line is not None
    assert device.line.slope_uncertainty > 5.0 * still.slope_uncertainty
    assert any("scatter" in note for note in device.notes)


def test_running_rich_at_high_flow_is_seen_and_none_is_not() -> None:
    """10 % richer at twice the flow is seen; the same ratio at all flows is not called a bias."""
    flows = [0.001, 0.0013, 0.0016, 0.0018, 0.002]
    richer = [0.01 * (1.0 + 0.1 * (flow - 0.001) / 0.001) for flow in flows]
    seen = flow_bias(_delivered(draws(richer, flows=flows)))
    assert seen is not None
    assert seen.matters
    assert seen.slope_per_m3_s == pytest.approx(100.0, rel=0.05)
    none = flow_bias(_delivered(draws([0.01] * 5, flows=flows)))
    assert none is not None
    assert not none.matters


def test_dial_and_flow_turned_together_are_not_told_apart() -> None:
    """Rising together, either may be the cause; the report says so."""
    dials, flows = [0.01, 0.015, 0.02], [0.001, 0.0015, 0.002]
    assert any(
        "turned together" in note for note in _one(draws(dials, dials=dials, flows=flows)).notes
    )


def test_a_slow_drift_alarms_and_steady_checks_do_not() -> None:
    """Eight steady checks with a scatter of 1 %, then 1.5 % leaner each time."""
    random = np.random.default_rng(5)
    steady = 0.01 * (1.0 + 0.01 * random.standard_normal(24))
    quiet = run_chart(_delivered(draws(steady.tolist())))
    assert quiet is not None
    assert quiet.alarm_at is None
    falling = steady.copy()
    falling[8:] *= 1.0 - 0.015 * np.arange(1, 17)
    loud = run_chart(_delivered(draws(falling.tolist())))
    assert loud is not None
    assert loud.alarm_at is not None
    assert 8 < loud.alarm_at < 18
    assert not loud.is_rich
    assert any("drifts" in note for note in _one(draws(falling.tolist())).notes)


def test_checks_are_charted_in_order_of_time() -> None:
    """A file in any order gives the same chart."""
    values = [0.0100, 0.0101, 0.0099, 0.0100, 0.0102, 0.0098, 0.0101, 0.0104]
    checks = draws(values)
    one, other = (_one(order).chart for order in (checks, checks[::-1]))
    assert one == other


def test_day_to_day_finds_the_scatter_between_and_within_days() -> None:
    """60 days of two checks, 4 % from day to day and 1 % within: both are found, and the band for
    the next day holds 85 to 95 of 100 new days.
    """
    random = np.random.default_rng(11)
    between = np.repeat(0.04 * random.standard_normal(60), 2)
    values = 0.009 * (1.0 + between + 0.01 * random.standard_normal(120))
    found = day_to_day(_delivered(draws(values.tolist())), "UTC")
    assert found is not None
    assert found.days == 60
    assert found.mean == pytest.approx(0.9, abs=0.02)
    assert found.between == pytest.approx(0.9 * 0.04, rel=0.25)
    assert found.within == pytest.approx(0.9 * 0.01, rel=0.25)
    # the band also carries the instruments' own error, here 1.2 % of the ratio
    new = 0.9 * (1.0 + 0.04 * random.standard_normal(4000) + 0.01 * random.standard_normal(4000))
    new = new * (1.0 + 0.0124 * random.standard_normal(4000))
    share = float(np.mean((new > found.low) & (new < found.high)))
    assert 0.85 <= share <= 0.95


def test_days_are_counted_in_the_zone_asked_for() -> None:
    """Noon and 23:00 UTC are one day in UTC and two in Tokyo."""
    checks = draws([0.01, 0.0101, 0.01], days=[0.0, 11.0 / 24.0, 0.1])
    assert day_to_day(_delivered(checks), "UTC") is None
    there = day_to_day(_delivered(checks), "Asia/Tokyo")
    assert there is not None
    assert there.days == 2


def test_one_check_says_what_it_can() -> None:
    """One point: a delivered ratio there and then; no line, no chart, no days, each told."""
    device = _one((make_check(),))
    assert device.line is None
    assert device.flow is None
    assert device.chart is None
    assert device.days is None
    told = " ".join(device.notes)
    for words in ("One check only", "No line over the dial", "No run chart yet", "of one day"):
        assert words in told


def test_readings_all_equal_are_doubted() -> None:
    """Eight identical readings: no scatter to judge by, said so; the chart does not fail."""
    device = _one(draws([0.01] * 8))
    assert any("the same to the last digit" in note for note in device.notes)
    assert device.chart is not None
    assert device.chart.alarm_at is None
    assert device.chart.deviation > 0.0


def test_a_delivered_ratio_beyond_belief_asks_about_units() -> None:
    """More concentrate than mix: every such check is named, and the units are asked about."""
    bad = replace(make_check(), readings={**make_check().readings, "drawn": Measured(0.2, 1e-3)})
    with pytest.raises(StillwetError, match=r"below 50 %, got 175 % .*\(c1\); are the readings in"):
        report_on((bad,), (), source="test")


def test_a_concentrate_as_dense_as_water_cannot_be_read_by_density() -> None:
    """1003 kg/m3 beside 998 leaves nothing for a hydrometer."""
    check = make_check(
        method=Method.DENSITY,
        readings={
            "mix_density": Measured(998.6, 0.5),
            "water_density": Measured(998.2, 0.5),
            "concentrate_density": Measured(1003.0, 10.0),
        },
    )
    with pytest.raises(StillwetError, match="can tell from water's"):
        find_ratio(check)


def test_two_proportioners_are_told_apart() -> None:
    """Each device has its own bias."""
    other = tuple(replace(one, device="Eductor", id="e" + one.id) for one in draws([0.008] * 3))
    report = report_on((*draws([0.01] * 3), *other), (), source="test")
    assert {one.device: round(one.factor, 3) for one in report.devices} == {
        "Injector": 1.0,
        "Eductor": 0.8,
    }


def test_errors_that_nobody_wrote_down_are_named() -> None:
    """A default half-width is told as one; those that were given are not."""
    vague = replace(
        make_check(),
        readings={**make_check().readings, "seconds": Measured(60.0, 0.5, is_assumed=True)},
    )
    told = " ".join(_one((vague,)).notes)
    assert "how finely these were read: seconds." in told
    assert "how finely" not in " ".join(_one((make_check(),)).notes)
