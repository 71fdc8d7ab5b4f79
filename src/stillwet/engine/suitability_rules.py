"""Rules of suitability: a small language of [field, operator, value], read and checked, no code.

A rule applies when every clause of ``all`` is true, one of ``any`` (where there is one) and none of
``none``. What is not known makes no comparison true; only "known" and "unknown" speak of it.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from stillwet.domain.suitability import Fact, Fit, RuleFinding, Scope
from stillwet.engine.suitability_fields import Facts, Field, Value, all_fields, value_words
from stillwet.errors import Problem, StillwetError, shown
from stillwet.tables import load_table
from stillwet.units import read_quantity

_NUMBER_OPERATORS: dict[str, Callable[[Any, Any], bool]] = {
    "under": operator.lt,
    "at most": operator.le,
    "over": operator.gt,
    "at least": operator.ge,
}
_WORD_OPERATORS: dict[str, Callable[[Any, Any], bool]] = {
    "is": operator.eq,
    "is not": operator.ne,
    "in": lambda value, words: value in words,
    "not in": lambda value, words: value not in words,
}
_LIST_OPERATORS = ("in", "not in")
_UNARY = ("known", "unknown")
OPERATORS = (*_NUMBER_OPERATORS, *_WORD_OPERATORS, *_UNARY)
_KEYS = frozenset(
    {
        "id",
        "about",
        "all",
        "any",
        "none",
        "verdict",
        "reason",
        "instead",
        "source",
        "practice",
        "on_card",
    }
)
_HOLE = re.compile(r"\{([^}]*)\}")
_ORDER = (Scope.TASK, Scope.JOB, Scope.PLACE)


@dataclass(frozen=True, slots=True)
class Clause:
    """One comparison; ``other`` names the field it compares with, where it is not a value."""

    field: str
    operator: str
    value: Value | tuple[str, ...] | None = None
    other: str | None = None

    def holds(self, facts: Facts) -> bool:
        """True when the comparison is true of what is known."""
        here = facts.get(self.field)
        if self.operator in _UNARY:
            return (here is None) == (self.operator == "unknown")
        there = self.value if self.other is None else facts.get(self.other)
        if here is None or there is None:
            return False
        compare = _NUMBER_OPERATORS.get(self.operator) or _WORD_OPERATORS[self.operator]
        return bool(compare(here, there))

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields it looks at."""
        return (self.field,) if self.other is None else (self.field, self.other)


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the table."""

    id: str
    scope: Scope
    fit: Fit
    every: tuple[Clause, ...]
    some: tuple[Clause, ...]
    never: tuple[Clause, ...]
    reason: str
    instead: str
    source: str
    source_short: str
    is_on_card: bool
    practice: tuple[int, ...]  # rules of the trade that it encodes

    def applies(self, facts: Facts) -> bool:
        """True when the facts make it apply."""
        return (
            all(clause.holds(facts) for clause in self.every)
            and (not self.some or any(clause.holds(facts) for clause in self.some))
            and not any(clause.holds(facts) for clause in self.never)
        )

    def finding(self, facts: Facts) -> RuleFinding:
        """What it says of these facts, with those it went by."""
        fields = all_fields()
        clauses = (*self.every, *self.some, *self.never)
        looked_at = dict.fromkeys(name for clause in clauses for name in clause.fields)
        return RuleFinding(
            rule_id=self.id,
            scope=self.scope,
            fit=self.fit,
            reason=_filled(self.reason, facts, fields),
            instead=_filled(self.instead, facts, fields),
            source=self.source,
            source_short=self.source_short,
            is_on_card=self.is_on_card,
            facts=tuple(
                Fact(name, value_words(fields[name], facts.get(name))) for name in looked_at
            ),
        )


def _filled(text: str, facts: Facts, fields: Mapping[str, Field]) -> str:
    return _HOLE.sub(lambda hole: value_words(fields[hole[1]], facts.get(hole[1])), text)


def evaluate(facts: Facts, scopes: tuple[Scope, ...] = _ORDER) -> tuple[RuleFinding, ...]:
    """Everything the rules of these scopes say of the facts, strictest first."""
    found = [
        rule.finding(facts) for rule in all_rules() if rule.scope in scopes and rule.applies(facts)
    ]
    return tuple(sorted(found, key=lambda one: -one.fit.severity))


@cache
def all_rules() -> tuple[Rule, ...]:
    """The packaged rules, checked."""
    return read_rules(load_table("suitability"))


def read_rules(table: Mapping[str, Any]) -> tuple[Rule, ...]:
    """The rules of a table. Raises StillwetError naming every rule and what is wrong with it."""
    problems: list[Problem] = []
    rules: list[Rule] = []
    for number, row in enumerate(table["rule"], start=1):
        name = str(row.get("id", f"rule {number}"))
        try:
            rules.append(_rule(row, table["source"]))
        except StillwetError as error:
            problems += [Problem(p.field, p.wanted, p.got, name) for p in error.problems]
    names = [rule.id for rule in rules]
    problems += [
        Problem("id", "each rule id once", shown(name), name)
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]
    if problems:
        raise StillwetError(problems)
    return tuple(rules)


def _rule(row: Mapping[str, Any], sources: Mapping[str, Any]) -> Rule:
    unknown = sorted(set(row) - _KEYS)
    if unknown:
        raise StillwetError(Problem("key", "one of " + ", ".join(sorted(_KEYS)), shown(unknown[0])))
    for key in ("id", "reason", "instead"):
        if not isinstance(row.get(key), str) or not row[key].strip():
            raise StillwetError(Problem(key, "some text", shown(row.get(key))))
    scope = Scope(_one_of("about", row.get("about"), tuple(Scope)))
    source = sources[_one_of("source", row.get("source"), tuple(sources))]
    every, some, never = (
        tuple(_clause(raw) for raw in row.get(key, ())) for key in ("all", "any", "none")
    )
    for clause in (*every, *some, *never):
        _need_in_scope(clause.fields, scope)
    for key in ("reason", "instead"):
        _need_in_scope(tuple(_HOLE.findall(row[key])), scope)
    fit = Fit(_one_of("verdict", row.get("verdict"), tuple(Fit)))
    return Rule(
        id=row["id"],
        scope=scope,
        fit=fit,
        every=every,
        some=some,
        never=never,
        reason=row["reason"],
        instead=row["instead"],
        source=source["text"],
        source_short=source.get("short", source["text"]),
        is_on_card=fit is Fit.ONLY_IF or bool(row.get("on_card", False)),
        practice=tuple(row.get("practice", ())),
    )


def _one_of(field: str, value: object, allowed: tuple[str, ...]) -> str:
    if not isinstance(value, str) or value not in allowed:
        raise StillwetError(Problem(field, "one of " + ", ".join(allowed), shown(value)))
    return value


def _field(name: object) -> Field:
    return all_fields()[_one_of("field", name, tuple(all_fields()))]


def _need_in_scope(names: tuple[str, ...], scope: Scope) -> None:
    """A rule said once for the whole job must not hang on one place, nor a task's on the job."""
    for name in names:
        field = _field(name)
        if _ORDER.index(field.scope) > _ORDER.index(scope):
            wanted = f"fields of the {scope} or what stands above it"
            raise StillwetError(Problem("field", wanted, f"{name}, a field of the {field.scope}"))


def _clause(raw: object) -> Clause:
    if not isinstance(raw, list) or len(raw) not in (2, 3):
        wanted = "[field, operator] or [field, operator, value]"
        raise StillwetError(Problem("clause", wanted, shown(raw)))
    field = _field(raw[0])
    sign = _one_of("operator", raw[1], OPERATORS)
    if (sign in _UNARY) != (len(raw) == 2):
        wanted = "no value after known and unknown, one after the others"
        raise StillwetError(Problem("clause", wanted, shown(raw)))
    if sign in _UNARY:
        return Clause(field.name, sign)
    if sign in (_WORD_OPERATORS if field.is_number else _NUMBER_OPERATORS):
        wanted = "under, over and the like for numbers, is and in for words and flags"
        raise StillwetError(Problem("operator", wanted, f"{sign} for {field.name}"))
    if isinstance(raw[2], dict):
        return Clause(field.name, sign, other=_other(field, raw[2]))
    return Clause(field.name, sign, _value(field, sign, raw[2]))


def _other(field: Field, raw: Mapping[str, Any]) -> str:
    other = _field(raw.get("field"))
    if other.holds != field.holds or len(raw) != 1:
        raise StillwetError(Problem("value", f"a field of {field.holds}", shown(dict(raw))))
    return other.name


def _value(field: Field, sign: str, raw: object) -> Value | tuple[str, ...]:
    if sign in _LIST_OPERATORS:
        if not isinstance(raw, list) or not raw:
            raise StillwetError(Problem("value", "a list of words", shown(raw)))
        return tuple(str(_word(field, each)) for each in raw)
    if field.is_number:
        if not isinstance(raw, str):
            raise StillwetError(Problem("value", "a number with its unit", shown(raw)))
        return read_quantity(raw, dimension=field.holds, field="value")
    return _word(field, raw)


def _word(field: Field, raw: object) -> Value:
    if field.is_flag:
        if not isinstance(raw, bool):
            raise StillwetError(Problem("value", "true or false", shown(raw)))
        return raw
    if field.is_word:
        return _one_of("value", raw, field.words)
    raise StillwetError(Problem("field", "a field to compare", f"{field.name}, which is told only"))
