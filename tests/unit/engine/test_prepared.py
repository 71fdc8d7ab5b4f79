"""What every plan of a job stands on: times and demands of each asset on its own faces."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from job_fixture import HOUR, START_S, make_asset, make_fire, make_job, make_practice
from stillwet.engine.prepared import Prepared, prepare


@cache
def _prepared() -> Prepared:
    """A pole of four faces met from hour 7 to 8, a house of six met from hour 20 to 22."""
    later = make_fire(arrival_from_s=START_S + 20 * HOUR, arrival_to_s=START_S + 22 * HOUR)
    pole = make_asset(id="p", kind="pole", width_m=0.3)
    return prepare(make_job(assets=(pole, make_asset(id="h", fire=later)), members=8))


def test_faces_stand_in_the_order_of_the_assets() -> None:
    """Four of the pole, then six of the house, the same in the demand."""
    prepared = _prepared()
    assert [face.asset_id for face in prepared.surfaces] == ["p"] * 4 + ["h"] * 6
    for name, rows in (("p", slice(0, 4)), ("h", slice(4, 10))):
        own = prepared.asks[name].water_demand_kg_m2
        np.testing.assert_array_equal(prepared.demand.water_demand[rows], own)


def test_each_face_has_the_times_of_its_own_fire() -> None:
    """Latest arrival, and the embers' two hours after it; the reserve is the practice's."""
    demand = _prepared().demand
    hours = (demand.arrival_s - START_S) / HOUR
    assert hours.tolist() == [8.0] * 4 + [22.0] * 6
    np.testing.assert_allclose(demand.end_s - demand.arrival_s, 2 * HOUR)
    assert demand.reserve == 0.3


def test_crews_are_gone_before_the_earliest_and_come_no_sooner_than_the_longest_wait() -> None:
    """45 min before hours 7 and 20; from the start of work (hour 7 less 12 h lies before it), and
    from hour 8.
    """
    prepared = _prepared()
    until, first = ((when - START_S) / HOUR for when in (prepared.until_s, prepared.from_s))
    assert until.tolist() == [6.25] * 4 + [19.25] * 6
    assert first.tolist() == [0.0] * 4 + [8.0] * 6


def test_a_wait_shorter_than_the_lead_leaves_the_last_moment() -> None:
    """Half an hour's wait and 45 min of lead: no coat is laid after crews must be gone."""
    practice = make_practice(longest_wait_s=0.5 * HOUR)
    prepared = prepare(make_job(practice=practice, members=8))
    np.testing.assert_array_equal(prepared.from_s, prepared.until_s)


def test_the_coat_counted_on_is_told_in_whole_tenths_below_what_clings() -> None:
    """A multiple of a tenth of a millimetre, the same on every wall; counted on is at most what
    a safety of 1.5 leaves.
    """
    prepared = _prepared()
    tenths = prepared.cling / 0.1
    np.testing.assert_allclose(tenths, np.round(tenths), atol=1e-9)
    assert prepared.mix.keep <= 1.0 / 1.5 + 1e-12
    walls = [row for row, face in enumerate(prepared.surfaces) if face.tilt_deg == 90.0]
    assert prepared.cling[walls] == pytest.approx(np.full(len(walls), prepared.cling[0]))
