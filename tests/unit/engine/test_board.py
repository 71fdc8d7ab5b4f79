"""The wet board: what each face needs next, the worst first, and who has to hear of it."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from after_fixture import LAID_S, Scene, said, scene
from job_fixture import HOUR, START_S, make_asset, make_fire, make_job
from stillwet.domain.board import AlarmKind, Board, FaceState
from stillwet.domain.left import FaceLeft, Left
from stillwet.domain.log import CoatLaid, WashedOff, WeatherSeen
from stillwet.domain.plan import Plan, Verdict
from stillwet.engine.board import _next_visit, make_board
from stillwet.engine.left import BANNED, DRY, what_is_left
from stillwet.engine.make_plan import plan_of
from stillwet.engine.prepared import prepare
from stillwet.reports.board_json import board_to_json


@pytest.fixture(scope="module")
def here() -> Scene:
    """The invented job with its plan."""
    return scene()


def coated(surface_id: str, verdict: Verdict, **changes: object) -> FaceLeft:
    """A face with a logged coat that is worth what the verdict says."""
    face = FaceLeft(
        surface_id=surface_id,
        asset_id="a1",
        asset_name="Invented house",
        label="a wall",
        laid_s=LAID_S,
        laid_by="First engine",
        coat_kg_m2=4.0,
        left_kg_m2=3.0,
        left_low_kg_m2=2.0,
        left_high_kg_m2=3.5,
        share_left=0.75,
        hold_90_s=START_S + 9 * HOUR,
        hold_50_s=START_S + 10 * HOUR,
        hold_low_s=START_S + 8 * HOUR,
        hold_high_s=START_S + 12 * HOUR,
        unchecked_90_s=START_S + 9 * HOUR,
        unchecked_50_s=START_S + 10 * HOUR,
        fire_from_s=START_S + 7 * HOUR,
        fire_to_s=START_S + 8 * HOUR,
        chance=0.95 if verdict is Verdict.HOLDS else 0.2,
        verdict=verdict,
        checks=0,
    )
    return replace(face, **changes)  # type: ignore[arg-type] # names are those of the record


def left_at(now_s: float, *faces: FaceLeft, **changes: object) -> Left:
    """What is left at this moment: these faces and no others."""
    left = Left("Invented job", "UTC", now_s, faces, (), (), (), (), 0, 0, (), (), ())
    return replace(left, **changes)  # type: ignore[arg-type] # names are those of the record


def board_of(here: Scene, left: Left, plan: Plan | None = None) -> Board:
    """The board without a crew plan."""
    return make_board(here.job, plan or here.plan, None, left, ())


def window(here: Scene) -> tuple[str, float, float]:
    """A planned face and when it is to be coated."""
    for asset in here.plan.assets:
        for face in asset.surfaces:
            if face.mix_m3 > 0 and face.apply_from_s and face.apply_until_s:
                return face.surface.id, face.apply_from_s, face.apply_until_s
    raise AssertionError("the invented job coats nothing")


def test_a_bare_face_is_coated_later_now_or_too_late(here: Scene) -> None:
    """Both ends of the window belong to it; outside it a coat would dry, or crews be caught."""
    face, from_s, until_s = window(here)
    at = {
        from_s - 1.0: FaceState.COAT_LATER,
        from_s: FaceState.COAT_NOW,
        until_s: FaceState.COAT_NOW,
        until_s + 1.0: FaceState.TOO_LATE,
    }
    for now_s, state in at.items():
        rows = {row.surface_id: row for row in board_of(here, left_at(now_s)).rows}
        assert rows[face].state is state
        assert rows[face].left is None


def test_only_planned_faces_that_still_matter_are_on_it(here: Scene) -> None:
    """Every face with mix on it; none once its gel is washed off or the front has passed."""
    planned = [face for asset in here.plan.assets for face in asset.surfaces if face.mix_m3 > 0.0]
    whole = board_of(here, left_at(START_S))
    assert sorted(row.surface_id for row in whole.rows) == sorted(
        face.surface.id for face in planned
    )
    gone = planned[0].surface.id
    left = left_at(START_S, over=frozenset({gone}))
    assert gone not in {row.surface_id for row in board_of(here, left).rows}


def test_a_face_that_is_washed_takes_no_other_of_its_name_off_the_board() -> None:
    """Two houses may be called alike: the wall of one is washed, that of the other stays due."""
    fire = make_fire(setback_m=25.0)
    twins = tuple(make_asset(id=name, fire=fire, x_m=x) for name, x in (("a1", 0.0), ("a2", 50.0)))
    prepared = prepare(make_job(assets=twins, members=16))
    plan = plan_of(prepared, now_s=START_S)
    wall, twin = ("a1/north-wall", "a2/north-wall")
    entries = (said(START_S, CoatLaid((wall,))), said(START_S + HOUR, WashedOff((wall,))))
    left = what_is_left(prepared, plan, entries, now_s=START_S + HOUR, seed=1, count=32)
    rows = {row.surface_id for row in make_board(prepared.job, plan, None, left, entries).rows}
    assert twin in rows
    assert wall not in rows


def test_a_coat_that_holds_asks_for_nothing(here: Scene) -> None:
    """No alarm for it, whatever the hour."""
    face, from_s, _ = window(here)
    board = board_of(here, left_at(from_s, coated(face, Verdict.HOLDS)))
    row = next(row for row in board.rows if row.surface_id == face)
    assert row.state is FaceState.HOLDS
    assert face not in {alarm.surface_id for alarm in board.alarms}
    assert row.key_s == START_S + 9 * HOUR


def test_a_flagged_coat_is_looked_at_first(here: Scene) -> None:
    """Unknown stands above all else, even on a face that is reckoned to hold."""
    face, from_s, _ = window(here)
    board = board_of(here, left_at(from_s, coated(face, Verdict.HOLDS, flags=("slid",))))
    assert board.rows[0].surface_id == face
    assert board.rows[0].state is FaceState.LOOK
    assert board.alarms[0].kind is AlarmKind.UNKNOWN
    assert board.alarms[0].by_s is None


def test_a_look_says_why_in_its_own_words(here: Scene) -> None:
    """A coat that a hand found dry is told as that, in the alarm and on its row: not as rain, and
    not without a reason.
    """
    face, from_s, _ = window(here)
    board = board_of(here, left_at(from_s, coated(face, Verdict.HOLDS, flags=(DRY, BANNED))))
    told = board_to_json(board, now_s=from_s, units="us")
    says = next(one["says"] for one in told["alarms"] if one["surface_id"] == face)
    assert says.endswith(f": look at it: {DRY}; {BANNED}")
    row = next(one for one in told["faces"] if one["surface_id"] == face)
    assert row["words"]["look"] == f"{DRY}; {BANNED}"
    assert "rain" not in json.dumps(told)
    bare = next(one for one in told["faces"] if one["surface_id"] != face)
    assert bare["words"]["look"] == ""


def test_a_coat_that_runs_short_is_cried_until_the_front_has_come(here: Scene) -> None:
    """By when the front comes at the earliest; from its latest hour on nothing can be done."""
    face, _, until_s = window(here)
    fires = {asset.id: asset.fire for asset in here.job.assets}
    row = next(row for row in board_of(here, left_at(START_S)).rows if row.surface_id == face)
    fire = fires[row.asset_id]
    short = coated(face, Verdict.WILL_NOT_HOLD)
    cried = {}
    for now_s in (until_s, fire.arrival_to_s - 1.0, fire.arrival_to_s):
        alarms = board_of(here, left_at(now_s, short)).alarms
        kinds = {alarm.kind: alarm for alarm in alarms if alarm.surface_id == face}
        cried[now_s] = AlarmKind.BELOW_DEMAND in kinds
        if cried[now_s]:
            assert kinds[AlarmKind.BELOW_DEMAND].by_s == fire.arrival_from_s
    assert list(cried.values()) == [True, True, False]


def test_worst_first_then_the_soonest(here: Scene) -> None:
    """By state in the order of need, and of one state by the moment that runs out."""
    face, from_s, _ = window(here)
    rows = board_of(here, left_at(from_s, coated(face, Verdict.HOLDS))).rows
    order = list(FaceState)
    keys = [(order.index(row.state), row.key_s) for row in rows]
    assert keys == sorted(keys)
    assert len({row.state for row in rows}) > 1


def test_an_alarm_keeps_its_name_until_the_coat_is_another(here: Scene) -> None:
    """The same thing told again rings once; a fresh coat that runs short rings anew."""
    face, from_s, _ = window(here)

    def names(laid_s: float, now_s: float) -> set[str]:
        left = left_at(now_s, coated(face, Verdict.WILL_NOT_HOLD, laid_s=laid_s))
        return {one.id for one in board_of(here, left).alarms if one.surface_id == face}

    assert names(LAID_S, from_s) == names(LAID_S, from_s + 60.0)
    assert not names(LAID_S, from_s) & names(LAID_S + HOUR, from_s)


def test_the_newest_weather_that_was_seen_by_now(here: Scene) -> None:
    """An observation dated later than the board says nothing about it; none seen is none."""
    entries = [
        said(START_S + hour * HOUR, WeatherSeen(air_temperature_k=300.0))
        for hour in (1.0, 2.0, 4.0)
    ]
    left = left_at(START_S + 2 * HOUR)
    assert make_board(here.job, here.plan, None, left, entries).weather_seen_s == left.now_s
    assert make_board(here.job, here.plan, None, left, ()).weather_seen_s is None


def test_the_next_visit_is_the_first_that_no_coat_has_answered() -> None:
    """Before any coat the first; after one the next; after the last none."""
    visits = (("First engine", LAID_S), ("Second engine", LAID_S + HOUR))
    assert _next_visit(visits, None) == visits[0]
    assert _next_visit(visits, coated("a1/x", Verdict.HOLDS, laid_s=LAID_S + 60.0)) == visits[1]
    assert _next_visit(visits, coated("a1/x", Verdict.HOLDS, laid_s=LAID_S + 2 * HOUR)) is None
    assert _next_visit((), None) is None
