"""The plan as text: fits 100 columns, worst first, nothing lost."""

from __future__ import annotations

from dataclasses import replace

import pytest
from rich.cells import cell_len

from stillwet.domain.plan import Plan, Verdict
from stillwet.reports.text_table import WIDTH, plan_text
from stillwet.reports.words import Units

from .plan_fixture import CONDITION, HOUR, NEAR_WATER, make_plan, rename

ODD_NAMES = {
    0: "A very long name " * 12,
    1: "Unbroken" * 30,
    2: "\x1b[31mred\x07 \u202egnp",
    3: "农场的大谷仓和一个很长很长的名字 🔥🔥🔥",
    4: "# *bold* <b>&amp; [link](x) \"q\" 'q' | $x$",
    5: "بيت المزرعة القديم",
}


def _huge(plan: Plan) -> Plan:
    asset = replace(plan.assets[6], water_m3=54_321.0)
    return replace(plan, assets=(*plan.assets[:6], asset, *plan.assets[7:]))


@pytest.mark.parametrize("units", list(Units))
@pytest.mark.parametrize("names", [{}, ODD_NAMES])
def test_every_line_fits_100_columns(units: Units, names: dict[int, str]) -> None:
    """No line is wider than 100 terminal columns, whatever the names and amounts."""
    text = plan_text(_huge(rename(make_plan(), names)), units)
    assert max(cell_len(line) for line in text.splitlines()) <= WIDTH == 100


def test_our_own_words_are_ascii() -> None:
    """With ASCII names the whole text is ASCII: it prints on any terminal."""
    assert plan_text(make_plan(), Units.US).isascii()


def test_control_characters_do_not_reach_the_terminal() -> None:
    """Escape sequences, bells and direction overrides in names are gone."""
    text = plan_text(rename(make_plan(), ODD_NAMES), Units.US)
    assert not {"\x1b", "\x07", "\u202e"} & set(text)


def test_will_not_hold_is_said_before_the_table() -> None:
    """The reader meets what no coat can do, with its reason, before any row that holds."""
    text = plan_text(make_plan(), Units.US)
    lost = text.index("WILL NOT HOLD (2 of 20)")
    assert (
        lost
        < text.index("Hay barn, open sides; Bunkhouse beside the log deck: a burning")
        < text.index("GOVERNS")
    )


def test_rows_stand_worst_first() -> None:
    """Rows keep the plan's order."""
    plan = make_plan()
    lines = plan_text(plan, Units.US).splitlines()
    table = lines[next(i for i, line in enumerate(lines) if "GOVERNS" in line) :]
    numbers = [line[:3].strip() for line in table if line[:3].strip().isdigit()]
    assert numbers == [str(number) for number in range(1, len(plan.assets) + 1)]


def test_row_shows_coat_mix_water_and_times() -> None:
    """The ranch house: 4.4 mm is 0.17 in; 1.20 %; window, hold-until and fire in local time."""
    lines = plan_text(make_plan(), Units.US).splitlines()
    at = next(i for i, line in enumerate(lines) if " Ranch house " in line)
    first, second = lines[at].split(), lines[at + 1].split()
    assert first[3:6] == ["HOLDS", "0.17", "in"]
    assert first[8:] == ["Wed", "13:00", "Wed", "18:36", "Wed", "16:15", "drying"]
    assert second == ["95", "%", "1.20", "Wed", "15:30", "Wed", "20:12", "Wed", "19:15"]


def test_metric_text_has_no_us_units() -> None:
    """A metric reader sees mm and litres, not inches and gallons."""
    words = plan_text(make_plan(), Units.METRIC).split()
    assert not {"in", "gal", "mph", "ft2", "lb"} & set(words)
    assert {"mm", "L", "km/h", "m2", "kg"} <= set(words)


def test_cautions_warnings_and_untested_defaults_are_all_there() -> None:
    """Every caution and warning of the plan, and each untested default with its interval."""
    plan = make_plan()
    flat = " ".join(plan_text(plan, Units.US).split())
    for words in (*plan.cautions, *plan.warnings):
        assert words in flat
    assert "! coat variation 0.35 (0.2 to 0.6): untested default" in flat
    assert "! transfer efficiency 75 % (50 to 90 %): untested default" in flat


def test_a_tank_eaten_by_its_reserve_is_said() -> None:
    """A crew with nothing usable has no fills and no nozzle time."""
    text = plan_text(make_plan(), Units.US)
    assert "Patrol 3: 0 gal usable, fills: none: its reserve takes the tank\n" in text


def test_a_plan_over_a_week_names_days_by_date() -> None:
    """Weekdays would be ambiguous: the short times carry the day of the month."""
    plan = make_plan()
    late = replace(plan.assets[-1], fire_window_to_s=plan.start_s + 8 * 24 * HOUR)
    text = plan_text(replace(plan, assets=(*plan.assets[:-1], late)), Units.US)
    assert "d14 13:00" in text
    assert "Wed 13:00" not in text
    assert "Wed 14 Aug" in text


def test_all_hold_says_nothing_of_failure() -> None:
    """When every asset holds there is no opening list of failures."""
    plan = make_plan()
    good = tuple(asset for asset in plan.assets if asset.verdict is Verdict.HOLDS)
    text = plan_text(replace(plan, assets=good), Units.US)
    assert "NOT" not in text.split("LOAD LIST", maxsplit=1)[0]
    assert "14 HOLDS" in text


def test_conditions_of_planned_coats_are_told() -> None:
    """Where gel is only right on a condition, name and condition stand together; not of others."""
    text = " ".join(plan_text(make_plan(), Units.US).split())
    assert f"GEL ONLY IF (1 of 20) - {NEAR_WATER}: {CONDITION}" in text
    free = tuple(asset for asset in make_plan().assets if asset.name != NEAR_WATER)
    assert "GEL ONLY IF" not in plan_text(replace(make_plan(), assets=free), Units.US)


def test_no_ratio_where_nothing_gets_a_coat() -> None:
    """A plan that coats nothing names no mix to set."""
    plan = make_plan()
    bare = replace(plan, assets=tuple(replace(asset, mix_m3=0.0) for asset in plan.assets))
    mix = next(line for line in plan_text(bare, Units.US).splitlines() if line.startswith("Mix:"))
    assert "none to mix" in mix
    assert "%" not in mix
