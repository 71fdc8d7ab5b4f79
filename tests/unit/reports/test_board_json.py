"""The words of the wet board: no hold time is told longer than it is."""

from __future__ import annotations

import pytest

from stillwet.domain.board import Board, FaceRow, FaceState
from stillwet.domain.left import FaceLeft, Left
from stillwet.domain.plan import Verdict
from stillwet.reports.board_json import board_to_json

NOW_S = 1_912_000_020.0


def _board(to_go_s: float) -> Board:
    """One coated face, which holds for so long after now."""
    hold_s = NOW_S + to_go_s
    face = FaceLeft(
        surface_id="h1/north",
        asset_id="h1",
        asset_name="Barn",
        label="north wall",
        laid_s=NOW_S - 3600.0,
        laid_by="",
        coat_kg_m2=4.0,
        left_kg_m2=2.0,
        left_low_kg_m2=1.0,
        left_high_kg_m2=3.0,
        share_left=0.5,
        hold_90_s=hold_s,
        hold_50_s=hold_s + 600.0,
        hold_low_s=hold_s,
        hold_high_s=hold_s + 900.0,
        unchecked_90_s=hold_s,
        unchecked_50_s=hold_s,
        fire_from_s=NOW_S,
        fire_to_s=NOW_S + 3600.0,
        chance=0.5,
        verdict=Verdict.DOUBTFUL,
        checks=0,
    )
    row = FaceRow(
        "h1/north", "h1", "Barn", "north wall", FaceState.HOLDS, face, None, None, NOW_S, NOW_S
    )
    left = Left(
        job_name="Job",
        time_zone="UTC",
        now_s=NOW_S,
        faces=(face,),
        not_laid=(),
        washed=(),
        passed=(),
        checks=0,
        weather_seen=0,
        learned=(),
        notes=(),
        cautions=(),
        inputs=(),
    )
    return Board(NOW_S, "p1", (row,), (), left, None, None)


@pytest.mark.parametrize(
    ("to_go_s", "told"),
    [
        (11 * 60.0 + 59.0, "11 min to go"),
        (12 * 60.0, "12 min to go"),
        (89.9, "89 s to go"),
        (-61.0, "since 61 s"),
    ],
)
def test_time_to_go_is_cut_down(to_go_s: float, told: str) -> None:
    """11 min 59 s are not told as 12 min."""
    words = board_to_json(_board(to_go_s), now_s=NOW_S, units="us")["faces"][0]["words"]
    assert words["hold"].endswith(told)
