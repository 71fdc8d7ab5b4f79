"""Rules of suitability and verdicts, one by one: which speak of which facts, and in which words."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import partial
from typing import Any

from kept.engine.refusals import refusal
from kept.keeping import Answers
from stillwet.domain.suitability import Agent, Delivery, Scope, Task
from stillwet.engine.faces import compass_word
from stillwet.engine.suitability_fields import Value, all_fields, value_words
from stillwet.engine.suitability_rules import all_rules, evaluate, read_rules
from stillwet.engine.verdicts import Finding, governing_cause, reason_of, verdict_of
from suitability_fixture import house_facts

_OTHERWISE: dict[str, tuple[Value | None, ...]] = {
    "kind": ("pole", "tower", "tree", "fence", "vehicle", "line"),
    "delivery": tuple(Delivery),
    "delivery_on_label": (True, False, None),
    "delivery_allowed": (True, False, None),
    "product_type": ("dry_superabsorbent", "starch_cellulose", "clay"),
    "product_approved": (False, None),
    "foam_in_equipment": (True, None),
    "hardness": (0.0, 0.09, 0.23, 0.41, None),
    "hardness_known": (False, None),
    "water_drawn": (False,),
    "wells_drawn": (False,),
    "ground_buffer": (12.0, 990.0, 1001.0),
    "well_buffer": (12.0, 990.0, 1001.0),
    "wind_limit": (1.9, 2.1),
    "water_distance": (0.0, 3.4, 29.0, 85.0, 95.0, None),
    "well_distance": (0.0, 3.4, 29.0, 85.0, 95.0, None),
    "wind_at_lay": (0.4, 4.9, 8.3, 13.0, None),
    "lay_to_fire": (60.0, 5 * 3600.0, 13 * 3600.0, 40 * 3600.0, None),
    "ratio": (0.001, 0.0299, 0.04, None),
    "ratio_share": (0.01, 0.34, 0.97, None),
    "released": (True, False),
    "energised": (True, False),
    "heritage": (True, False),
    "has_roof": (False, None),
    "has_windows": (True, False),
    "collects_rain": (True, False),
}
_FINDING = Finding(
    probability=0.93,
    coat=4.7,
    needed=4.62,
    cling=9.3,
    thinnest=1.6,
    water_demand=0.41,
    reserve=0.3,
    drying=2.2,
    apply_until_s=7200.0,
    start_s=0.0,
    contact=False,
)
_CHANCES = (0.0, 0.41, 0.5, 0.77, 0.9, 1.0)
_RIGHT: dict[str, Any] = {
    "id": "one",
    "about": "place",
    "all": [["water_distance", "under", "10 m"]],
    "verdict": "do not",
    "reason": "So near.",
    "instead": "Not here.",
    "source": "book",
}
_WRONG: tuple[dict[str, Any], ...] = (
    {"colour": "red"},
    {"id": ""},
    {"about": "nothing"},
    {"verdict": 3},
    {"source": "another"},
    {"reason": "{hardnes} in the water"},
    {"all": [["water_distance", "under"]]},
    {"all": [["water_distance", "known", "10 m"]]},
    {"all": [["water_distance", "is", "10 m"]]},
    {"all": [["water_distance", "under", 10]]},
    {"all": [["water_distance", "under", "10 s"]]},
    {"all": ["water_distance"]},
    {"any": [["kind", "in", []]]},
    {"any": [["kind", "is", "castle"]]},
    {"any": [["product", "is", "gel"]]},
    {"none": [["heritage", "is", "yes"]]},
    {"none": [["ratio", "over", {"field": "hardness"}]]},
    {"about": "job"},
)


def _spoken(facts: dict[str, Value | None]) -> object:
    return [(one.rule_id, one.fit, one.facts) for one in evaluate(facts)]


def otherwise() -> object:
    """What other rules speak than of the house, where one fact is another."""
    usual = {one.rule_id for one in evaluate(house_facts())}
    found: dict[str, object] = {"usual": _spoken(house_facts())}
    for name, values in _OTHERWISE.items():
        for value in values:
            said = evaluate(house_facts(**{name: value}))
            told = [(one.rule_id, one.fit, one.reason) for one in said if one.rule_id not in usual]
            gone = sorted(usual - {one.rule_id for one in said})
            found[f"{name} {value}"] = (told, gone)
    return found


def tasks() -> object:
    """Which rules speak of each task with each agent."""
    return {
        f"{task}, {agent}": [
            one.rule_id for one in evaluate(house_facts(task=task, agent=agent), tuple(Scope))
        ]
        for task, agent in itertools.product(Task, Agent)
    }


def misread() -> object:
    """What is said of rules that are written wrong."""
    sources = {"book": {"text": "A book, 1999", "short": "book"}}
    rows = [{**_RIGHT, "id": f"r{row}", **wrong} for row, wrong in enumerate(_WRONG)]
    return {
        "right": read_rules({"rule": [_RIGHT], "source": sources}),
        "wrong": refusal(partial(read_rules, {"rule": rows, "source": sources})),
        "twice": refusal(partial(read_rules, {"rule": [_RIGHT, _RIGHT], "source": sources})),
    }


def verdicts() -> object:
    """What is told of a face, and why, over all that decides it."""
    told = {}
    for chance, contact in itertools.product(_CHANCES, (False, True)):
        for coat, water, drying, needed in (
            *((1.6, 0.2, 1.1, 1.4), (4.7, 0.41, 2.2, 4.6), (4.7, 3.3, 2.2, 4.6)),
            *((4.7, 0.01, 0.2, 4.6), (9.3, 0.2, 4.4, 11.2), (9.3, 7.0, 4.4, math.inf)),
        ):
            found = replace(
                _FINDING,
                probability=chance,
                coat=coat,
                water_demand=water,
                drying=drying,
                needed=needed,
                contact=contact,
            )
            cause = governing_cause(found)
            told[f"{chance} {coat} {water} {drying} {contact}"] = (
                verdict_of(chance),
                cause,
                reason_of(found) if contact or chance in {0.41, 0.77, 0.9} else "",
            )
    return {"late": reason_of(replace(_FINDING, apply_until_s=-1.0)), "others": told}


def words() -> object:
    """How facts are told."""
    fields = all_fields()
    values: dict[str, tuple[Value | None, ...]] = {
        "water_distance": (0.0, 0.44, 9.96, 10.2, 812.0, None),
        "wind_at_lay": (0.0, 4.47),
        "ratio": (0.00732,),
        "hardness": (0.171,),
        "lay_to_fire": (5400.0,),
        "heritage": (True, False, None),
        "product": ("Invented gel",),
    }
    return {
        name: [value_words(fields[name], each) for each in told] for name, told in values.items()
    }


RULES: Answers = {
    "rules": lambda: [
        (rule.id, rule.scope, rule.fit, rule.is_on_card, rule.practice, rule.every, rule.some)
        for rule in all_rules()
    ],
    "fields": all_fields,
    "otherwise": otherwise,
    "tasks": tasks,
    "misread": misread,
    "verdicts": verdicts,
    "words": words,
    "compass": lambda: [compass_word(float(bearing)) for bearing in range(0, 360, 15)],
}
