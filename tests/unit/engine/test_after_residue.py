"""What is still to be done after the fire: what is near water, when to coat again, the order."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from after_fixture import Scene, said, scene
from job_fixture import HOUR, START_S, make_asset, make_job
from stillwet.domain.after import DueKind, Residue, ResidueRow
from stillwet.domain.left import FaceLeft, Left
from stillwet.domain.log import Entry, Fate, FirePassed, Outcome
from stillwet.domain.plan import Verdict
from stillwet.domain.suitability import Site, Well
from stillwet.engine.after_residue import due_of, passings, wary_of
from stillwet.engine.surroundings import surroundings_of

LEAD_S = 0.75 * HOUR
FIRE_S = START_S + 7 * HOUR


@pytest.mark.parametrize(
    ("water_m", "well_m", "told"),
    [
        (91.0, 31.0, ("a waterway 91 m (299 ft) away",)),
        (91.5, 30.0, ("a well or spring 30 m (98 ft) away",)),
        (10.0, 10.0, ("a waterway 10 m (33 ft) away", "a well or spring 10 m (33 ft) away")),
        (92.0, 31.0, ()),
    ],
)
def test_water_within_300_ft_and_wells_within_100_are_named(
    water_m: float, well_m: float, told: tuple[str, ...]
) -> None:
    """From the edge of a round tank of 2 m: 1 m more from its middle. (91.44 m and 30.48 m.)"""
    tank = make_asset(kind="tank", width_m=2.0)
    creek = ((-500.0, water_m + 1.0), (500.0, water_m + 1.0))
    well = Well("well", "Well", "well", 0.0, -well_m - 1.0)
    around = surroundings_of(make_job(assets=(tank,), streams_m=(creek,), wells=(well,)))
    assert wary_of(tank, around) == told
    fed = replace(tank, site=Site(collects_rain=True))
    assert wary_of(fed, around) == (*told, "its roof feeds a tank")


def test_the_last_word_on_an_asset_counts_for_itself() -> None:
    """When the front passed and what became of the asset are told apart, in either order."""
    log: list[Entry] = [
        said(1.0, Outcome("a1", Fate.UNHARMED)),
        said(2.0, FirePassed("a1")),
        said(3.0, FirePassed("a1")),
        said(4.0, Outcome("a1", Fate.SCORCHED)),
        said(5.0, Outcome("a2", Fate.LOST)),
    ]
    found = passings(log)
    assert (found["a1"].passed_s, found["a1"].fate) == (3.0, Fate.SCORCHED)
    assert (found["a2"].passed_s, found["a2"].fate) == (None, Fate.LOST)


@pytest.fixture(scope="module")
def here() -> Scene:
    """The invented job with its plan."""
    return scene()


def _weak(**changes: Any) -> FaceLeft:
    """A coat on a wall of the house that is not sure to last; 90 % of cases until hour 5."""
    values: dict[str, Any] = {
        "surface_id": "a1/north-wall",
        "asset_id": "a1",
        "asset_name": "Invented house",
        "label": "north wall",
        "laid_s": START_S,
        "laid_by": "Ash",
        "coat_kg_m2": 3.0,
        "left_kg_m2": 2.0,
        "left_low_kg_m2": 1.0,
        "left_high_kg_m2": 3.0,
        "share_left": 0.6,
        "hold_90_s": START_S + 5 * HOUR,
        "hold_50_s": START_S + 8 * HOUR,
        "hold_low_s": START_S + 4 * HOUR,
        "hold_high_s": START_S + 9 * HOUR,
        "unchecked_90_s": START_S,
        "unchecked_50_s": START_S,
        "fire_from_s": FIRE_S,
        "fire_to_s": FIRE_S + HOUR,
        "chance": 0.7,
        "verdict": Verdict.DOUBTFUL,
        "checks": 0,
    }
    return FaceLeft(**(values | changes))


def _work_s(here: Scene) -> float:
    return next(plan.work_s for plan in here.plan.assets if plan.asset_id == "a1")


def _times(here: Scene, now_h: float, *faces: FaceLeft) -> tuple[float, float] | None:
    """From when to when the house is to be coated again, told ``now_h`` hours after the start."""
    now_s = START_S + now_h * HOUR
    left = Left("job", "UTC", now_s, faces, (), (), (), (), 0, 0, (), (), ())
    due, notes = due_of(here.job, here.plan, left, (), ())
    assert bool(due) is not bool(notes)
    if not due:
        assert "Invented house" in notes[0]
        return None
    (one,) = due
    assert one.kind is DueKind.RECOAT
    return one.from_s, one.to_s


def test_a_weak_coat_is_due_before_it_fails_and_before_crews_must_go(here: Scene) -> None:
    """Done when nine cases in ten still hold (hour 5), at the latest 45 min before the fire; begun
    the work before that; where that is past, at once.
    """
    work = _work_s(here)
    fails, gone = START_S + 5 * HOUR, FIRE_S - LEAD_S
    assert _times(here, 1.0, _weak()) == (fails - work, fails)
    late = _weak(hold_90_s=START_S + 6.9 * HOUR)
    assert _times(here, 1.0, late) == (gone - work, gone)
    now_s = START_S + 5.5 * HOUR
    assert now_s + work < gone
    assert _times(here, 5.5, _weak()) == pytest.approx((now_s, now_s + work), rel=0.0, abs=0.01)


def test_the_first_face_to_fail_sets_the_hour(here: Scene) -> None:
    """Two weak walls are one visit."""
    other = _weak(surface_id="a1/south-wall", label="south wall", hold_90_s=START_S + 4 * HOUR)
    found = _times(here, 1.0, _weak(), other)
    assert found == (START_S + 4 * HOUR - _work_s(here), START_S + 4 * HOUR)


def test_nobody_is_sent_where_no_time_is_left(here: Scene) -> None:
    """The work would end just after crews must be gone."""
    last_h = (FIRE_S - LEAD_S - _work_s(here) - START_S) / HOUR
    assert _times(here, last_h - 0.01, _weak()) is not None
    assert _times(here, last_h + 0.01, _weak()) is None


def test_what_holds_or_is_over_is_not_coated_again(here: Scene) -> None:
    """A sure coat without a flag asks for nothing; one with a flag does; nor does anything once the
    embers' two hours after the latest arrival are over.
    """

    def asks(now_h: float, face: FaceLeft, *log: Entry) -> bool:
        left = Left("job", "UTC", START_S + now_h * HOUR, (face,), (), (), (), (), 0, 0, (), (), ())
        due, notes = due_of(here.job, here.plan, left, (), log)
        return bool(due or notes)

    sure = _weak(verdict=Verdict.HOLDS)
    assert not asks(1.0, sure)
    assert asks(1.0, replace(sure, flags=("look at it",)))
    assert asks(9.99, _weak())
    assert not asks(10.01, _weak())
    assert not asks(1.0, _weak(), said(START_S, FirePassed("a1")))


@pytest.mark.parametrize(
    ("now_h", "from_h", "to_h"), [(12.0, 12.0, 33.0), (32.5, 32.5, 33.5), (40.0, 40.0, 41.0)]
)
def test_washing_off_has_an_hour_at_least(
    here: Scene, now_h: float, from_h: float, to_h: float
) -> None:
    """Best by hour 33: from now until then; where that is past or nearly so, one hour from now."""
    row = ResidueRow(
        "a1/north-wall",
        "a1",
        "Invented house",
        "north wall",
        Residue.OPEN,
        1,
        START_S,
        None,
        "",
        START_S + 33.0 * HOUR,
        (),
    )
    left = Left("job", "UTC", START_S + now_h * HOUR, (), (), (), (), (), 0, 0, (), (), ())
    (wash,), _ = due_of(here.job, here.plan, left, (row,), ())
    assert wash.kind is DueKind.WASH_OFF
    assert wash.from_s - START_S == pytest.approx(from_h * HOUR, abs=0.01)
    assert wash.to_s - START_S == pytest.approx(to_h * HOUR, abs=0.01)
