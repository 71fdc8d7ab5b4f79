"""From when a face may be coated, and what a coat laid at another time is worth."""

from __future__ import annotations

import pytest

from after_fixture import Scene, scene
from job_fixture import HOUR
from stillwet.engine.lay_windows import LayWindow, as_sprayed, lay_windows


@pytest.fixture(scope="module")
def here() -> Scene:
    """The invented job with its plan."""
    return scene()


@pytest.fixture(scope="module")
def windows(here: Scene) -> dict[str, LayWindow]:
    """Its windows."""
    return lay_windows(here.prepared)


def test_a_window_ends_when_crews_must_be_gone(here: Scene, windows: dict[str, LayWindow]) -> None:
    """It opens no later than it closes, and a coat to be laid anew may go on no later still."""
    assert windows
    for row, face in enumerate(here.prepared.surfaces):
        if face.id in windows:
            found = windows[face.id]
            assert found.until_s == here.prepared.until_s[row]
            assert here.prepared.from_s[row] <= found.early_s <= found.from_s <= found.until_s
            assert found.confidence in {0.5, 0.9}


def test_a_planned_coat_lies_in_its_window(here: Scene, windows: dict[str, LayWindow]) -> None:
    """The thickest coat lasts at least as long as the planned one, so the plan starts no sooner."""
    for asset in here.plan.assets:
        for face in asset.surfaces:
            if face.mix_m3 > 0 and face.apply_from_s is not None:
                assert windows[face.surface.id].from_s <= face.apply_from_s


def test_a_bare_face_is_worth_less_than_the_window_promises(windows: dict[str, LayWindow]) -> None:
    """Else there would be nothing to coat it for."""
    for found in windows.values():
        assert 0.0 <= found.bare_chance < found.confidence


def test_a_coat_laid_as_planned_is_worth_what_the_plan_says(here: Scene) -> None:
    """Laid at the last moment that the plan allows, the chance is the plan's own or better."""
    times, chances = {}, {}
    for asset in here.plan.assets:
        for face in asset.surfaces:
            if face.mix_m3 > 0 and face.apply_until_s is not None:
                times[face.surface.id] = face.apply_until_s
                chances[face.surface.id] = face.probability
    found = as_sprayed(here.prepared, here.plan.assets, times)
    assert set(found) == set(times)
    for name, sprayed in found.items():
        assert sprayed.lay_s == times[name]
        assert sprayed.probability >= chances[name] - 1e-9
        assert sprayed.hold_90_s <= sprayed.hold_50_s


def test_the_earlier_it_is_laid_the_sooner_it_is_dry(here: Scene) -> None:
    """Drying starts when the coat is laid: hours earlier never holds longer, nor more surely."""
    asset = here.plan.assets[0]
    face = next(face for face in asset.surfaces if face.mix_m3 > 0)
    assert face.apply_until_s is not None
    last = face.apply_until_s
    found = [
        as_sprayed(here.prepared, here.plan.assets, {face.surface.id: last - hours * HOUR})
        for hours in (0.0, 1.5, 3.0)
    ]
    rows = [one[face.surface.id] for one in found]
    assert [row.hold_90_s for row in rows] == sorted((r.hold_90_s for r in rows), reverse=True)
    assert [row.probability for row in rows] == sorted(
        (row.probability for row in rows), reverse=True
    )
    assert rows[0].hold_90_s > rows[-1].hold_90_s


def test_a_face_without_a_lay_time_is_not_told(here: Scene) -> None:
    """Nor is one that the job does not have."""
    assert as_sprayed(here.prepared, here.plan.assets, {"no such face": 0.0}) == {}
