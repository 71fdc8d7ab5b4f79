"""The table of rules and its small language: checked by name, bounded, strict about the unknown."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwet.domain.suitability import Agent, Fit, Scope, Task
from stillwet.engine.suitability_fields import all_fields, value_words
from stillwet.engine.suitability_rules import OPERATORS, Rule, all_rules, evaluate, read_rules
from stillwet.errors import StillwetError
from stillwet.tables import load_table
from suitability_fixture import FOOT, fit_for, fit_of, found_by, house_facts, rules_of

FIRST = all_rules()[0].id


def _table(**changes: Any) -> dict[str, Any]:
    """The packaged table with keys of its first rule replaced."""
    table = copy.deepcopy(load_table("suitability"))
    table["rule"][0] |= changes
    return table


def _refused(table: dict[str, Any]) -> str:
    with pytest.raises(StillwetError) as caught:
        read_rules(table)
    return str(caught.value)


def test_the_packaged_table_reads() -> None:
    """Every rule passes the loader, each id once."""
    names = [rule.id for rule in all_rules()]
    assert len(names) == len(set(names)) == len(load_table("suitability")["rule"])


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"all": [["moon", "is", "full"]]}, "field: wanted one of"),
        ({"all": [["task", "resembles", "line"]]}, "operator: wanted one of"),
        ({"verdict": "maybe"}, "verdict: wanted one of use, only if, do not, got 'maybe'"),
        ({"about": "moon"}, "about: wanted one of task, job, place"),
        ({"source": "hearsay"}, "source: wanted one of"),
        ({"all": [["task", "is", "gardening"]]}, "value: wanted one of direct attack"),
        ({"all": [["task", "in", "line"]]}, "value: wanted a list of words, got 'line'"),
        ({"all": [["task", "under", "3 m"]]}, "operator: wanted under, over and the like"),
        ({"all": [["task"]]}, "clause: wanted [field, operator]"),
        ({"all": [["task", "unknown", "line"]]}, "clause: wanted no value after known"),
        ({"all": [["task", "is"]]}, "clause: wanted no value after known"),
        ({"all": "task is line"}, "clause: wanted [field, operator]"),
        ({"reason": "{moon}"}, "field: wanted one of"),
        ({"reason": "  "}, "reason: wanted some text"),
        ({"wehn": []}, "key: wanted one of"),
        ({"all": [["kind", "is", "house"]]}, "field: wanted fields of the task"),
        ({"reason": "{water_distance}"}, "field: wanted fields of the task"),
    ],
)
def test_a_faulty_rule_is_refused_by_name(changes: dict[str, Any], told: str) -> None:
    """Unknown fields, operators, verdicts, scopes, sources, words and keys name their rule."""
    message = _refused(_table(**changes))
    assert told in message
    assert f"({FIRST})" in message


@pytest.mark.parametrize(
    ("clause", "told"),
    [
        (["water_distance", "under", 300], "wanted a number with its unit, got 300"),
        (["water_distance", "under", "300"], "wanted a unit after the number"),
        (["water_distance", "under", "300 psi"], "wanted a unit of length"),
        (["water_distance", "is", "near"], "operator: wanted under, over and the like"),
        (["water_distance", "under", {"field": "wind_limit"}], "wanted a field of length"),
        (["water_distance", "under", {"fild": "ground_buffer"}], "field: wanted one of"),
        (["released", "is", "yes"], "wanted true or false, got 'yes'"),
        (["product", "is", "clear"], "wanted a field to compare"),
    ],
)
def test_a_faulty_comparison_is_refused(clause: list[Any], told: str) -> None:
    """Numbers need their unit and their own operators, flags true or false."""
    assert told in _refused(_table(about="place", all=[clause]))


def test_every_fault_is_told_at_once() -> None:
    """Two faulty rules and a doubled id come in one error."""
    table = _table(verdict="maybe")
    table["rule"][1]["source"] = "hearsay"
    table["rule"][3]["id"] = table["rule"][2]["id"]
    message = _refused(table)
    for name in (FIRST, all_rules()[1].id, all_rules()[2].id):
        assert f"({name})" in message


def test_nothing_in_the_table_is_run() -> None:
    """Text that would be code stays text: it is refused as a word, not evaluated."""
    message = _refused(_table(all=[["task", "is", "__import__('os').getcwd()"]]))
    assert "value: wanted one of direct attack" in message


@given(
    name=st.sampled_from(sorted(all_fields())),
    sign=st.sampled_from([*OPERATORS, "matches", ""]),
    value=st.one_of(
        st.text(max_size=12), st.booleans(), st.integers(), st.lists(st.text(max_size=4))
    ),
)
def test_any_clause_is_read_or_refused(name: str, sign: str, value: object) -> None:
    """A clause of anything is read or refused with its rule named; nothing else is raised."""
    table = {"source": load_table("suitability")["source"], "rule": []}
    table["rule"] = [{**load_table("suitability")["rule"][0], "about": "place", "all": []}]
    table["rule"][0]["all"] = [[name, sign, value]]
    rules: tuple[Rule, ...] = ()
    places = {FIRST}
    try:
        rules = read_rules(table)
    except StillwetError as error:
        places = {problem.place for problem in error.problems}
    assert places == {FIRST}
    assert [rule.applies({}) for rule in rules] == [sign == "unknown"] * len(rules)


def test_the_unknown_makes_no_comparison_true() -> None:
    """With nothing known no comparison fires, neither "is" nor "is not"; "unknown" does."""
    table = {"source": load_table("suitability")["source"]}
    base = {**load_table("suitability")["rule"][0], "about": "place"}
    clauses = [
        ["released", "is", True],
        ["released", "is not", True],
        ["water_distance", "under", "300 ft"],
        ["water_distance", "at least", "0 ft"],
        ["kind", "not in", ["pole"]],
        ["released", "known"],
        ["released", "unknown"],
    ]
    table["rule"] = [{**base, "id": f"r{n}", "all": [clause]} for n, clause in enumerate(clauses)]
    assert [rule.applies({}) for rule in read_rules(table)] == [False] * 6 + [True]


@pytest.mark.parametrize("agent", Agent)
@pytest.mark.parametrize("task", Task)
def test_every_agent_has_a_verdict_for_every_task(task: Task, agent: Agent) -> None:
    """Exactly one rule speaks of each task with each agent."""
    found = evaluate({"task": task, "agent": agent}, (Scope.TASK,))
    assert len(found) == 1


def test_every_task_has_an_agent_to_use() -> None:
    """No task is left without an answer: some agent may be used, or used on a condition."""
    for task in Task:
        fits = [fit_for(task, agent) for agent in Agent]
        assert min(fit.severity for fit in fits) < Fit.DO_NOT.severity, task


def test_every_kind_has_a_task() -> None:
    """The table names a task for each kind of asset, and no other."""
    table = load_table("suitability")["task_of_kind"]
    assert set(table) == set(load_table("kinds")["kind"])
    assert set(table.values()) <= set(Task)


def test_every_rule_says_where_it_comes_from() -> None:
    """A source names a year, the user's own rule, from memory, untested, or says there is none."""
    marks = ("common practice, no source", "[local]", "untested default", "from memory", "press")
    for rule in all_rules():
        told = any(mark in rule.source for mark in marks) or any(
            word.strip("().,:;").isdigit() for word in rule.source.split()
        )
        assert told or rule.source.startswith(
            ("Forest Service training", "product safety", "pages of", "US patent")
        ), rule.id


# What a rule has to see before it speaks, beyond a harmless house: each rule can fire.
FIRES: dict[str, dict[str, Any]] = {
    "mixing_and_cleaning": {},
    "foam_held": {"foam_in_equipment": True},
    "product_not_approved": {"product_approved": False},
    "no_approved_list": {"product_approved": None},
    "hard_water": {"hardness": 0.3},
    "hard_water_clay": {"hardness": 0.3, "product_type": "clay"},
    "hardness_unknown": {"hardness_known": False},
    "no_map_of_waters": {"water_drawn": False},
    "not_released": {"released": False},
    "energised_not_released": {"energised": True},
    "energised_released": {"energised": True, "released": True},
    "maybe_energised": {"kind": "pole"},
    "aerial_near_water": {"delivery": "helicopter", "water_distance": 80.0},
    "inside_ground_buffer": {"water_distance": 20.0, "ground_buffer": 30.0},
    "over_water": {"water_distance": 0.0},
    "near_water": {"water_distance": 80.0},
    "inside_well_buffer": {"well_distance": 20.0, "well_buffer": 30.0},
    "over_well": {"well_distance": 0.0},
    "near_well": {"well_distance": 20.0},
    "rainwater": {"collects_rain": True},
    "roof": {},
    "windows": {},
    "vehicle": {"kind": "vehicle"},
    "heritage": {"heritage": True},
    "wash_off": {},
    "delivery_not_on_label": {"delivery_on_label": False},
    "delivery_not_allowed": {"delivery_allowed": False},
    "aerial_not_told": {"delivery": "airplane"},
    "ratio_above_label": {"ratio": 0.031},
    "ratio_below_label": {"ratio": 0.004},
    "rich_for_direct_attack": {"task": Task.DIRECT_ATTACK},
    "lean_for_a_coat": {"ratio_share": 0.2},
    "wind_over_limit": {"wind_at_lay": 9.0, "wind_limit": 8.0},
    "strong_wind": {"wind_at_lay": 12.0},
    "laid_early": {"lay_to_fire": 4 * 3600.0},
}
ALWAYS = {"mixing_and_cleaning", "roof", "windows", "wash_off", "structure_with_gel"}


def test_a_harmless_house_is_for_gel() -> None:
    """Known, approved, released, far from water, calm: use gel, and only how it is done is told."""
    assert rules_of(house_facts()) == ALWAYS
    assert fit_of(house_facts()) is Fit.USE


@pytest.mark.parametrize("rule_id", FIRES)
def test_each_rule_fires_on_what_it_is_for(rule_id: str) -> None:
    """The one fact that the rule is about makes it apply; its words are filled in."""
    found = found_by(house_facts(**FIRES[rule_id]), rule_id)
    assert "{" not in found.reason + found.instead
    assert "not known" not in found.reason
    assert {fact.name for fact in found.facts} <= set(all_fields())
    if rule_id not in ALWAYS:
        assert rule_id not in rules_of(house_facts())


def test_no_rule_of_job_or_place_is_without_a_case() -> None:
    """The cases above name every rule that is not one of task and agent."""
    assert set(FIRES) == {rule.id for rule in all_rules() if rule.scope is not Scope.TASK}


@pytest.mark.parametrize(
    ("rule_id", "inside", "outside"),
    [
        ("aerial_near_water", 299 * FOOT, 300 * FOOT),
        ("near_water", 299 * FOOT, 300 * FOOT),
        ("near_well", 99 * FOOT, 100 * FOOT),
    ],
)
def test_published_and_stated_distances(rule_id: str, inside: float, outside: float) -> None:
    """300 ft from water (Forest Service 2000), 100 ft from wells (untested): under, not at."""
    name = "well_distance" if rule_id == "near_well" else "water_distance"
    base: dict[str, Any] = {"delivery": "airplane", "delivery_on_label": True}
    assert rule_id in rules_of(house_facts(**base, **{name: inside}))
    assert rule_id not in rules_of(house_facts(**base, **{name: outside}))


def test_hard_water_begins_where_the_patent_says() -> None:
    """222 mg/L as CaCO3: not at 0.222 kg/m3, but above."""
    assert "hard_water" not in rules_of(house_facts(hardness=0.222))
    assert "hard_water" in rules_of(house_facts(hardness=0.2221))
    assert "hard_water" not in rules_of(house_facts(hardness=0.4, product_type="starch_cellulose"))


def test_a_reason_tells_both_kinds_of_reader() -> None:
    """Metres and feet, metres per second and miles per hour (1 ft = 0.3048 m, 1 mph = 0.44704)."""
    near = found_by(house_facts(water_distance=30.48), "near_water")
    assert near.reason.startswith("30 m (100 ft) from a waterway")
    windy = found_by(house_facts(wind_at_lay=13.4112), "strong_wind")
    assert "13.4 m/s (30 mph)" in windy.reason


def test_values_in_words() -> None:
    """Unknown, flags, a short length and a ratio are told plainly."""
    fields = all_fields()
    told = {
        name: value_words(fields[name], value)
        for name, value in {
            "released": None, "energised": True, "heritage": False, "ratio": 0.0125,
            "well_distance": 0.5, "hardness": 0.2, "lay_to_fire": 5400.0, "kind": "house",
        }.items()
    }  # fmt: skip
    assert told == {
        "released": "not known", "energised": "yes", "heritage": "no", "ratio": "1.25 %",
        "well_distance": "0.5 m (1.6 ft)", "hardness": "200 mg/L (12 gpg)",
        "lay_to_fire": "1.5 h", "kind": "house",
    }  # fmt: skip


def test_the_strictest_comes_first() -> None:
    """Findings are ordered do not, only if, use."""
    found = evaluate(house_facts(released=False, water_distance=50.0))
    severities = [one.fit.severity for one in found]
    assert severities == sorted(severities, reverse=True)
    assert found[0].rule_id == "not_released"
