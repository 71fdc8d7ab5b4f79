"""From a log to coats and looks: amounts by hand, and which coat a face has now."""

from __future__ import annotations

import pytest

from after_fixture import Scene, said, scene
from job_fixture import HOUR, START_S
from stillwet.domain.log import (
    Body,
    CoatChecked,
    CoatLaid,
    Feel,
    FirePassed,
    WashedOff,
    WeatherSeen,
)
from stillwet.engine.log_coats import LoggedCoats, logged_coats

RAIN = WeatherSeen(rain=True)


@pytest.fixture(scope="module")
def here() -> Scene:
    """The invented house, shed and oak with their plan."""
    return scene()


def _read(here: Scene, *told: tuple[float, Body]) -> LoggedCoats:
    """The log of these entries, by hour after the start."""
    entries = [said(START_S + hour * HOUR, body) for hour, body in told]
    return logged_coats(here.prepared, here.plan, entries)


def test_mix_is_shared_by_area_and_its_water_counts(here: Scene) -> None:
    """0.9 m3 of a 2 % mix on two walls: 882 L of water, three quarters stay, spread evenly."""
    walls = here.faces("a1")[:2]
    area_m2 = sum(face.area_m2 for face in here.prepared.surfaces if face.id in walls)
    coats = _read(here, (1.0, CoatLaid(walls, "c2", ratio=0.02, mix_m3=0.9))).coats
    assert [coat.coat_kg_m2 for coat in coats] == pytest.approx([882.0 * 0.75 / area_m2] * 2)
    assert {(coat.ratio, coat.is_gauged, coat.by) for coat in coats} == {(0.02, False, "c2")}
    assert {coat.laid_s for coat in coats} == {START_S + HOUR}
    assert [here.prepared.surfaces[coat.face].id for coat in coats] == list(walls)


def test_a_gauged_coat_is_as_read_and_one_as_planned_is_the_plans(here: Scene) -> None:
    """Without a crew the writer laid it; without a ratio it is the plan's."""
    wall = here.faces("a1")[0]
    planned = {face.surface.id: face for plan in here.plan.assets for face in plan.surfaces}[wall]
    gauged, as_planned = _read(
        here, (1.0, CoatLaid((wall,), coat_kg_m2=3.3)), (2.0, CoatLaid((wall,), ratio=0.011))
    ).coats
    assert (gauged.coat_kg_m2, gauged.is_gauged, gauged.by) == (3.3, True, "Ash")
    assert gauged.ratio == planned.mix_ratio
    assert (as_planned.coat_kg_m2, as_planned.ratio) == (planned.coat_kg_m2, 0.011)
    assert not as_planned.is_gauged


def test_the_latest_coat_counts_and_looks_are_at_the_one_before_them(here: Scene) -> None:
    """Two coats on a wall with a touch after each, one on another wall; a photo is no look."""
    first, second = here.faces("a1")[:2]
    found = _read(
        here,
        (1.0, CoatLaid((first, second), coat_kg_m2=3.0)),
        (2.0, CoatChecked(first, Feel.TACKY)),
        (3.0, CoatLaid((first,), coat_kg_m2=2.0)),
        (4.0, CoatChecked(first, Feel.WET, weighed_kg_m2=1.5)),
        (5.0, CoatChecked(second, photo="wall.jpg")),
    )
    rows = [face.id for face in here.prepared.surfaces]
    assert found.latest == {rows.index(first): 2, rows.index(second): 1}
    assert [(look.coat, look.feel, look.weighed_kg_m2, look.coupon) for look in found.looks] == [
        (0, Feel.TACKY, None, -1),
        (2, Feel.WET, 1.5, 0),
    ]
    assert found.coupons == 1


def test_only_a_coat_that_was_there_meets_the_front(here: Scene) -> None:
    """Of the house one wall was coated: that one is passed, until a fresh coat is laid on it."""
    first = here.faces("a1")[0]
    row = [face.id for face in here.prepared.surfaces].index(first)
    laid, front = CoatLaid((first,), coat_kg_m2=3.0), FirePassed("a1")
    assert _read(here, (1.0, laid), (2.0, front)).passed == {row}
    assert _read(here, (2.0, front), (3.0, laid)).passed == frozenset()
    assert _read(here, (1.0, laid), (2.0, front), (3.0, laid)).passed == frozenset()


def test_what_is_washed_is_washed_until_it_is_coated_again(here: Scene) -> None:
    """A face that the job lacks is told once, whoever names it."""
    first, second = here.faces("a1")[:2]
    rows = [face.id for face in here.prepared.surfaces]
    laid = CoatLaid((first, second), coat_kg_m2=3.0)
    found = _read(
        here,
        (1.0, laid),
        (2.0, WashedOff((first, second, "a9/roof"))),
        (3.0, CoatLaid((second, "a9/roof"), coat_kg_m2=3.0)),
    )
    assert found.washed == {rows.index(first)}
    assert found.notes == ("the job has no face a9/roof",)


def test_weather_is_met_by_those_who_coat_too(here: Scene) -> None:
    """An entry of its own, and one told with a coat."""
    first = here.faces("a1")[0]
    found = _read(here, (1.0, RAIN), (2.0, CoatLaid((first,), coat_kg_m2=3.0, seen=RAIN)))
    assert [(one.when_s - START_S) / HOUR for one in found.sightings] == [1.0, 2.0]


def test_a_check_of_no_coat_is_told_and_no_look(here: Scene) -> None:
    """By the face's name."""
    first = here.faces("a1")[0]
    found = _read(here, (1.0, CoatChecked(first, Feel.WET)))
    assert found.looks == ()
    assert found.notes == (f"{first}: checked, but no coat is logged before that",)
