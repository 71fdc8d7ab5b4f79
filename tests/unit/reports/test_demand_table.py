"""The drying demand as text and JSON."""

from __future__ import annotations

import json

import pytest
from rich.cells import cell_len

from stillwet.reports.demand_table import demand_json_text, demand_text

from .demand_fixture import LABELS, make_demand

ZONE = "America/Denver"


@pytest.mark.parametrize("count", [1, 6, 9, 10, 25])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_any_number_of_facings_fits_100_columns(count: int, units: str) -> None:
    """Facings that do not fit beside each other go below; every one has its column."""
    labels = tuple(f"south-west wall {n}" for n in range(count))
    text = demand_text(make_demand(6, labels), time_zone=ZONE, units=units)
    assert max(cell_len(line) for line in text.splitlines()) <= 100
    sums = [line for line in text.splitlines() if line.startswith("sum 6 h")]
    assert sum(line.count("mm" if units == "metric" else "in") for line in sums) == count


def test_noon_row_and_day_sum() -> None:
    """The first facing peaks at 1.6 mm/h at noon; its half sine over 12 h sums to 12.15 mm.

    By hand: 1.6 * sum(sin(k pi/12), k = 1..11) = 1.6 * cot(pi/24) = 12.15.
    """
    lines = demand_text(make_demand(), time_zone=ZONE, units="metric").splitlines()
    noon = next(line for line in lines if line.startswith("Wed 12:00"))
    assert noon.split()[2] == "1.60"
    total = next(line for line in lines if line.startswith("sum 24 h"))
    assert total.split()[3:5] == ["12.2", "mm"]


def test_inches_for_us_readers() -> None:
    """1.6 mm/h is 0.063 in/h."""
    text = demand_text(make_demand(), time_zone=ZONE, units="us")
    noon = next(line for line in text.splitlines() if line.startswith("Wed 12:00"))
    assert noon.split()[2] == "0.063"
    assert "in/h" in text
    assert "mm" not in text


def test_json_is_si_with_local_times() -> None:
    """Rates in kg/m2/h (mm/h), times with the zone's offset, facings by name."""
    read = json.loads(demand_json_text(make_demand(), time_zone=ZONE))
    assert read["schema"] == "stillwet.demand/1"
    assert read["time"][6] == "2030-08-14T12:00:00-06:00"
    assert [facing["label"] for facing in read["facings"]] == list(LABELS)
    assert read["facings"][0]["demand_kg_m2_h"][6] == pytest.approx(1.6)
