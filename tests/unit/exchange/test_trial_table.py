"""Trials written for the next job: what is read back is what was tried."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path

import pytest

from same_record import same
from stillwet.domain.products import RatioBasis
from stillwet.domain.trials import (
    Coupon,
    DryingSeries,
    Funnel,
    Slump,
    Spread,
    Trial,
    TrialRecord,
    Viscosity,
    Weighing,
    YieldEstimate,
)
from stillwet.exchange.trial_table import trials_csv_text
from stillwet.exchange.trials import read_trials

WHEN_S = 1_786_716_000.0


def _mix(name: str = "a", **changes: object) -> Trial:
    mix = Trial(
        id=name,
        product_id="p",
        when_s=WHEN_S,
        ratio=0.0123,
        ratio_basis=RatioBasis.VOLUME,
        water="hydrant",
        hardness_kg_m3=0.051,
        water_temperature_k=290.15,
        age_s=3600.0,
        readings=(
            YieldEstimate(33.3),
            Slump(0.03, 0.1),
            Spread(0.2, 0.001),
            Coupon(4.4, 80.0, True, 77.0),
            Viscosity(1.23, 2, 30.0),
            Funnel(55.5, 0.00095),
        ),
    )
    return replace(mix, **changes)  # type: ignore[arg-type]  # what a test changes


def _drying() -> DryingSeries:
    looks = tuple(
        Weighing(WHEN_S + 1800.0 * step, 4.0 - 0.7 * step, 305.0, 0.21, 3.3, 640.0, cloud)
        for step, cloud in enumerate((None, 0.25, None))
    )
    return DryingSeries("c1", "p", 0.0123, 60.0, 0.25, looks)


def _again(folder: Path, records: tuple[TrialRecord, ...]) -> tuple[TrialRecord, ...]:
    path = folder / "trials.csv"
    path.write_text(trials_csv_text(records), encoding="utf-8", newline="")
    found, _, problems = read_trials(path)
    assert problems == ()
    assert found is not None
    return found


def test_what_is_read_back_is_what_was_tried(tmp_path: Path) -> None:
    """Every kind of reading, a drying coat, a name with comma and quotes; nothing is lost."""
    records = (_mix(), _mix('b, "second"', readings=(Coupon(2.0, 90.0, slid=False),)), _drying())
    assert same(_again(tmp_path, records), records)


def test_a_moment_nobody_wrote_stays_unwritten(tmp_path: Path) -> None:
    """A trial without a moment is read back without one."""
    records = (_mix(when_s=0.0),)
    assert same(_again(tmp_path, records), records)


def test_two_readings_of_one_kind_become_two_rows(tmp_path: Path) -> None:
    """Coupons of 4 and 5 mm of one mix: two trials of the same mix, both readings there."""
    found = _again(tmp_path, (_mix(readings=(Coupon(4.0, 90.0), Coupon(5.0, 90.0))),))
    assert [one.id for one in found] == ["a", "a (2)"]
    coats = [one.readings[0] for one in found if isinstance(one, Trial)]
    assert coats == [Coupon(4.0, 90.0), Coupon(5.0, 90.0)]


@pytest.mark.parametrize("name", ["=1+1", "@SUM(A1)", "+A1", "-x", "'=1"])
def test_no_name_is_run_by_a_spreadsheet(name: str) -> None:
    """OWASP, "CSV Injection": a cell that starts so is made text."""
    rows = list(csv.DictReader(io.StringIO(trials_csv_text((_mix(name),)))))
    assert rows[0]["id"] == f"'{name}"


def test_a_guarded_name_is_itself_again(tmp_path: Path) -> None:
    """An apostrophe that belongs to a name is not taken off with the guard's."""
    (found,) = _again(tmp_path, (_mix("'=1"),))
    assert isinstance(found, Trial)
    assert found.id == "'=1"


def test_without_trials_there_is_a_bare_page() -> None:
    """Nothing tried: nothing but the end of a line."""
    assert trials_csv_text(()) == "\r\n"
