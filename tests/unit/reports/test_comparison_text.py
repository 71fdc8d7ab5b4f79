"""Plan beside plan as text: what flips is said first, in 100 columns."""

from __future__ import annotations

from dataclasses import replace

import pytest
from rich.cells import cell_len

from stillwet.domain.comparison import Comparison, NotTried, WhatIf, pair_plans
from stillwet.reports.comparison_text import comparison_text, comparisons_text

from .chain_fixture import make_comparison
from .plan_fixture import make_plan, rename

ODD = {6: "\x1b[31mred\x07 \u202eevil " * 9, 7: "农场的大谷仓和一个很长很长的名字 🔥🔥🔥" * 2}


def _with_odd_names(found: Comparison) -> Comparison:
    before, after = rename(found.before, ODD), rename(found.after, ODD)
    return pair_plans(found.changes, before, after, {})


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_line_fits_100_columns(units: str) -> None:
    """Also with long, wide and wicked names and a long list of changes."""
    found = _with_odd_names(make_comparison(6, 7, let_down=(8,)))
    wet = [replace(asset, water_m3=200.0) for asset in found.before.assets]
    found = pair_plans(found.changes, replace(found.before, assets=tuple(wet)), found.after, {})
    long = replace(found, changes=tuple(WhatIf("wind=+30%", "wind times 1.3") for _ in range(20)))
    untried = [NotTried(WhatIf("sun=+20%", "sun times 1.2"), "sun: wanted irradiance " * 9)]
    for text in (
        comparison_text(found, units),
        comparison_text(long, units),
        comparisons_text([found, long], untried, units),
    ):
        assert max(cell_len(line) for line in text.splitlines()) <= 100
        assert not {"\x1b", "\x07", "\u202e"} & set(text)


def test_first_line_says_how_many_flip_and_which() -> None:
    """Three of twenty, grouped by what they flip to; one; none."""
    three = comparison_text(make_comparison(6, 7, 8), "us").splitlines()[0]
    assert three == ("3 of 20 assets flip. HOLDS -> DOUBTFUL: Ranch house, Ranch garage, Tack room")
    one = comparison_text(make_comparison(6), "us").splitlines()[0]
    assert one == "1 of 20 assets flips. HOLDS -> DOUBTFUL: Ranch house"
    assert comparison_text(make_comparison(), "us").splitlines()[0] == "None of 20 assets flips"


def test_second_line_says_which_coats_already_on_are_let_down() -> None:
    """By the verdict they would then have."""
    head = comparison_text(make_comparison(let_down=(6, 3)), "us").partition("What if:")[0]
    assert " ".join(head.split()).endswith(
        "If the coats are already on, laid by the plan as it stands: 2 are let down. "
        "WILL NOT HOLD: Old schoolhouse, Ranch house"
    )
    assert "none is let down" in comparison_text(make_comparison(), "us").splitlines()[1]


def test_a_flipped_asset_shows_both_plans() -> None:
    """Verdict, chance, coat and hold-until before and after; the chance of the coat already on."""
    lines = comparison_text(make_comparison(6, let_down=(6,)), "metric").splitlines()
    at = next(index for index, line in enumerate(lines) if " Ranch house " in line)
    before, after = lines[at].split(), lines[at + 1].split()
    assert before[:8] == ["7", "Ranch", "house", "HOLDS", "95", "%", "4.4", "mm"]
    assert after[:8] == ["->", "DOUBTFUL", "70", "%", "30", "%", "5.4", "mm"]
    assert before[-2:] == ["Wed", "18:36"]
    assert after[-2:] == ["Wed", "17:36"]


def test_what_does_not_move_is_only_named() -> None:
    """Nineteen assets stand in one sentence, not in a table."""
    text = comparison_text(make_comparison(6), "us")
    flat = " ".join(text.split())
    assert "Nothing moves for 19 assets: Hay barn, open sides; Bunkhouse" in flat
    assert "VERDICT AS BEFORE" not in text
    moved = comparison_text(make_comparison(let_down=(6,)), "us")
    assert "VERDICT AS BEFORE" in moved
    assert "FLIPPED" not in moved


def test_totals_stand_side_by_side() -> None:
    """Counts of verdicts before and after, mix, water, packs, money, work."""
    lines = comparison_text(make_comparison(6, 7), "us").splitlines()
    rows = {line[:25].strip(): line[25:].split() for line in lines}
    assert rows["HOLDS"] == ["14", "12"]
    assert rows["DOUBTFUL"] == ["3", "5"]
    assert rows["WILL NOT HOLD"] == ["2", "2"]
    assert {"Finished mix", "Water", "Concentrate", "Packs", "Cost of packs"} <= set(rows)


def test_only_new_warnings_are_told_numbers_apart() -> None:
    """A warning that both plans have, or that differs in a number only, is no news."""
    found = make_comparison(6)
    assert "NEW WARNINGS\n  - Rain of 3.0 mm in an hour is forecast." in comparison_text(
        found, "us"
    )
    known = replace(found.before, warnings=("Rain of 1.5 mm in an hour is forecast.",))
    again = replace(
        found, before=known, after=replace(found.after, warnings=found.after.warnings[1:])
    )
    assert "NEW WARNINGS" not in comparison_text(again, "us")


def test_changes_one_at_a_time() -> None:
    """A row a change with what it flips and lets down; the sum of it first; what was not tried."""
    found = [make_comparison(), make_comparison(6, 7, let_down=(6, 7, 8), text="x")]
    found[1] = replace(found[1], changes=(WhatIf("x", "humidity down by 5 percentage points"),))
    untried = [NotTried(WhatIf("sun=+20%", "sun times 1.2"), "sun: wanted irradiance")]
    text = comparisons_text(found, untried, "us")
    first = " ".join(text.split("\n\n")[0].split())
    assert first.startswith(
        "Tried one at a time. Coats already on: 1 of 2 changes let some down, the most by humidity "
        "down by 5 percentage points (3 of 20 assets). Planned again: 1 of 2 changes flip a verdict"
    )
    rows = {line[:34].strip(): line[34:].split() for line in text.splitlines()}
    assert rows["as it stands"][:6] == ["-", "-", "2", "3", "14", "1"]
    assert rows["wind times 1.3"][:6] == ["0", "0", "2", "3", "14", "1"]
    at = "humidity down by 5 percentage"
    assert rows[at][:6] == ["3", "2", "2", "5", "12", "1"]
    assert "NOT TRIED\n  - sun times 1.2: sun: wanted irradiance" in text


def test_our_own_words_are_ascii() -> None:
    """It prints on any terminal."""
    found = make_comparison(6, let_down=(7,))
    assert comparison_text(found, "us").isascii()
    assert comparisons_text([found], [], "metric").isascii()
    assert make_plan().id in comparison_text(found, "us")
