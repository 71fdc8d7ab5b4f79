"""Problems of a draft's files brought back to the field that was typed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from stillwet.domain.draft import SLOTS, Document
from stillwet.errors import Problem
from stillwet.exchange.draft_shape import LIST_COLUMNS, PAIRS, SECTIONS, Spot, text_keys
from stillwet.exchange.fire import FIRE_BEARINGS, FIRE_QUANTITIES, FIRE_WORDS

_ROW = re.compile(r"\b([a-z]+)\.csv, row (\d+)")
_LIST = re.compile(r"^([a-z]+)\.csv\b")
_SECTION = re.compile(r"\[([a-z]+)\]")
_FIRE = frozenset((*FIRE_QUANTITIES, *FIRE_BEARINGS, *FIRE_WORDS))
_RENAMED = {"fire_from": "from", "ratio": "ratio_low", "arrival": "arrival_from"}
_SHAPES = frozenset(("position", "geometry", "footprint", "track", "shape", "x", "y"))
# What a whole missing section is called at a desk, where there are no tables to head.
_MISSING = {
    "assets": "at least one asset: draw it, type it or bring a file",
    "weather": "a weather file",
    "product": "a product: type what its label says",
    "crews": "at least one crew",
}


@dataclass(frozen=True, slots=True)
class Placed:
    """A problem with where it stands in the draft."""

    problem: Problem
    spot: Spot


def place_problems(problems: Iterable[Problem], document: Document) -> tuple[Placed, ...]:
    """Each problem once, beside its field; what every asset lacks is said once, of the fire."""
    plain = (replace(one, got="nothing") if one.got == "None" else one for one in problems)
    placed = [_placed(problem, document) for problem in plain]
    found: dict[tuple[Spot, str, str], Placed] = {}
    for one in placed:
        found.setdefault((one.spot, one.problem.field, one.problem.wanted), one)
    return tuple(found.values())


def _placed(problem: Problem, document: Document) -> Placed:
    match = _ROW.search(problem.place)
    if match and match[1] in LIST_COLUMNS and not problem.place.startswith("files/"):
        return _in_row(problem, match[1], int(match[2]), document)
    if problem.field in _MISSING and problem.got == "none":
        plain = replace(problem, wanted=_MISSING[problem.field], got="none", place="")
        return Placed(plain, Spot(key=problem.field))
    section = _SECTION.search(problem.place) or _SECTION.search(problem.field)
    for slot in SLOTS:
        mark = document.files.get(slot)
        if mark is not None and f"files/{mark.name}" in problem.place:
            return Placed(replace(problem, place=problem.place[len("files/") :]), Spot(key=slot))
    table = _LIST.match(problem.place)
    if table and table[1] in LIST_COLUMNS:
        return Placed(replace(problem, place=""), Spot(key=table[1], list=table[1]))
    if section is None:
        return Placed(problem, Spot(key=_whose(problem.field)))
    return Placed(replace(problem, place=""), _in_section(problem.field, section[1]))


def _whose(field: str) -> str:
    """The section of a field whose problem names no place."""
    return field if field in SECTIONS or field in LIST_COLUMNS else "job"


def _in_section(field: str, section: str) -> Spot:
    if section in LIST_COLUMNS and section not in SECTIONS:
        return Spot(key=section, list=section)
    name = f"{section}.{_RENAMED.get(field, field) if section in ('fire', 'product') else field}"
    if name in PAIRS:
        name = PAIRS[name][0]
    return Spot(key=name if name in text_keys() else section)


def _in_row(problem: Problem, name: str, number: int, document: Document) -> Placed:
    rows, at = document.rows(name), number - 2  # one row of headers, counted from 1
    if not 0 <= at < len(rows):
        return Placed(problem, Spot(key=name, list=name))
    row = rows[at]
    if name == "assets" and problem.field in _FIRE and problem.field not in row.fields:
        spot = _in_section(problem.field, "fire")
        return Placed(replace(problem, place=""), spot)
    field = "shape" if problem.field in _SHAPES else problem.field
    told = row.fields.get("name") or row.fields.get("id") or f"row {at + 1}"
    return Placed(replace(problem, place=told), Spot(list=name, row=row.key, field=field))
