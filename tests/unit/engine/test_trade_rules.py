"""The ten rules of the trade (common practice, no source unless said), each encoded and checked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from job_fixture import START_S, make_weather
from line_fixture import make_line, make_line_job, make_work
from stillwet.domain.suitability import Agent, Fit, Task
from stillwet.engine.lines import make_lines
from stillwet.engine.suitability_rules import Rule, all_rules
from suitability_fixture import fit_for, fit_of, found_by, house_facts, rules_of

UNSOURCED = "common practice, no source"


def _encoding(number: int) -> list[Rule]:
    return [rule for rule in all_rules() if number in rule.practice]


@pytest.mark.parametrize("number", range(1, 11))
def test_each_trade_rule_is_encoded(number: int) -> None:
    """At least one rule of the table says which rule of the trade it encodes."""
    assert _encoding(number)


@pytest.mark.parametrize("number", [2, 3, 6, 7, 8, 9, 10])
def test_unsourced_practice_says_so(number: int) -> None:
    """Rules that nobody has published say so in as many words."""
    assert any(UNSOURCED in rule.source for rule in _encoding(number))


def test_rule_1_low_ratio_for_attack_high_for_coats() -> None:
    """The upper half is refused its place in direct attack, the low end on a wall; above the label
    it falls off.
    """
    attack = house_facts(task=Task.DIRECT_ATTACK, ratio_share=0.8)
    assert "low end" in found_by(attack, "rich_for_direct_attack").instead
    assert fit_of(house_facts(task=Task.DIRECT_ATTACK, ratio_share=0.1)) is Fit.USE
    assert "lean_for_a_coat" in rules_of(house_facts(ratio_share=0.1))
    assert "lean_for_a_coat" not in rules_of(house_facts(ratio_share=0.8))
    rich = found_by(house_facts(ratio=0.04), "ratio_above_label")
    assert rich.fit is Fit.DO_NOT
    assert "falls off" in rich.reason


def test_rule_2_a_dried_coat_is_not_restored() -> None:
    """Wetting it again is refused; a fresh coat of gel is the answer."""
    again = {"task": Task.REWETTING, "agent": Agent.WATER}
    assert fit_for(Task.REWETTING, Agent.WATER) is Fit.DO_NOT
    assert "fresh coat" in found_by(again, "wetting_a_dried_coat_with_water").instead
    assert fit_for(Task.REWETTING, Agent.GEL) is Fit.USE


def test_rule_3_foam_is_flushed_out_first() -> None:
    """Equipment that held foam takes gel only once it is flushed."""
    found = found_by(house_facts(foam_in_equipment=True), "foam_held")
    assert found.fit is Fit.ONLY_IF
    assert "flushed" in found.instead
    assert "foam_held" not in rules_of(house_facts(foam_in_equipment=False))


def test_rule_4_it_is_no_retardant() -> None:
    """Never long ahead; retardant is for that. A coat laid over 3 h early is told too."""
    ahead = Task.PRETREATMENT
    assert fit_of(house_facts(task=ahead)) is Fit.DO_NOT
    assert fit_for(ahead, Agent.RETARDANT) is Fit.USE
    assert "laid_early" in rules_of(house_facts(lay_to_fire=3 * 3600.0 + 60.0))
    assert "laid_early" not in rules_of(house_facts(lay_to_fire=3 * 3600.0))


def test_rule_5_worse_burning_conditions_shorter_lag() -> None:
    """The line's rule says so; hotter, drier and windier, the same coverage allows less lag."""
    found = found_by(house_facts(task=Task.LINE), "line_with_gel")
    assert "The worse the burning conditions, the shorter the time" in found.reason
    mild = make_weather()
    worse = replace(
        mild,
        air_temperature_k=mild.air_temperature_k + 6.0,
        relative_humidity=np.maximum(mild.relative_humidity * 0.6, 0.03),
        wind_speed_m_s=mild.wind_speed_m_s * 1.3,
    )
    lags = []
    for weather in (mild, worse):
        job = make_line_job(make_line(work=make_work(coverage_kg_m2=4.0)), weather=weather)
        (line,) = make_lines(job, now_s=START_S).lines
        lags.append([hour.lag_90_s for hour in line.segments[0].hours])
    calm, hard = (np.array(each) for each in lags)
    assert (hard <= calm).all()
    assert (hard < calm).any()


def test_rule_6_not_for_mop_up() -> None:
    """Gel never, plain water or a wetting agent instead."""
    gel = {"task": Task.MOP_UP, "agent": Agent.GEL}
    assert fit_for(Task.MOP_UP, Agent.GEL) is Fit.DO_NOT
    assert "wetting agent" in found_by(gel, "mop_up_with_gel").instead
    for agent in (Agent.WATER, Agent.WETTING_AGENT):
        assert fit_for(Task.MOP_UP, agent) is Fit.USE


@pytest.mark.parametrize("task", [Task.LINE, Task.REINFORCEMENT])
def test_rule_7_lines_by_local_rule_only(task: Task) -> None:
    """Guidance is divided: only if the local rule allows it, and that is said with the source."""
    found = found_by({"task": task, "agent": Agent.GEL}, f"{task}_with_gel")
    assert found.fit is Fit.ONLY_IF
    assert "divided" in found.reason
    assert "local rule" in found.instead
    assert "divided" in found.source


def test_rule_8_an_arc_for_cover_the_base_in_attack() -> None:
    """Standing vegetation in an arc, direct attack at the base of the flame front."""
    green = found_by(house_facts(task=Task.VEGETATION), "vegetation_with_gel")
    attack = found_by(house_facts(task=Task.DIRECT_ATTACK), "direct_attack_with_gel")
    assert "In an arc for cover" in green.instead
    assert "base of the flame front" in attack.instead


def test_rule_9_mixing_flushing_and_cleaning_are_orders() -> None:
    """Told for every job, on its page, as steps of the work."""
    found = found_by(house_facts(), "mixing_and_cleaning")
    assert found.is_on_card
    for step in ("test bucket", "flushing", "cleaning", "each day", "orders"):
        assert step in found.instead


def test_rule_10_residue_is_washed_off() -> None:
    """Told of every structure, on its card; not of a line."""
    found = found_by(house_facts(), "wash_off")
    assert found.is_on_card
    assert "once the danger has passed" in found.instead
    assert "wash_off" not in rules_of(house_facts(task=Task.LINE, kind="line"))
