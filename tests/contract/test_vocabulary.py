"""Names are made of the house's words, carry a unit of its list, and keep within its bounds."""

from __future__ import annotations

import importlib
import json
import math
import pkgutil
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import stillwet
import stillwet.domain
from stillwet.reports.plan_csv import plan_cells
from stillwet.tables import load_table

ROOT = Path(__file__).parents[2]
TABLE = load_table("vocabulary")
# Endings that are units of something, but not the house's: people's units stop at the door.
FOREIGN = re.compile(
    r"_(ft|ft2|in|gal|gpm|psi|mph|lb|c|f|l|l_min|ml|g|cm|km|km_h|min|h|hr|hours?|sec|kw_m2|pct|percent|ppm)$"
)
# Names that only look as if they ended so:
# a list of stretches of hours; the least humidity; water that stood in something
NOT_UNITS = {"good_hours", "relative_humidity_min", "water_stood_in"}
# Keys of JSON that no record has under that name: put otherwise for the reader as it is written.
SHOWN_OTHERWISE = {
    "alone_fraction",
    "change_by_checks_minutes",
    "delay_fraction",
    "soft_water_lower_fraction",
    "with_others_fraction",
}


def _schema_keys(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        yield from node.get("properties", {})
        for below in node.values():
            yield from _schema_keys(below)
    elif isinstance(node, list):
        for below in node:
            yield from _schema_keys(below)


def _keys() -> set[str]:
    folder = ROOT / "src" / "stillwet" / "reports"
    texts = [path.read_text(encoding="utf-8") for path in folder.glob("*.schema.json")]
    return {key for text in texts for key in _schema_keys(json.loads(text))}


def _fields() -> dict[str, Any]:
    """Public fields of the domain's records, with their kinds."""
    found: dict[str, Any] = {}
    for info in pkgutil.iter_modules(stillwet.domain.__path__):
        module = importlib.import_module(f"stillwet.domain.{info.name}")
        for record in vars(module).values():
            if isinstance(record, type) and is_dataclass(record):
                found |= {item.name: item.type for item in fields(record)}
    return found


def _unit_of(name: str) -> str | None:
    """The longest ending that is a unit of the table."""
    endings = [unit for unit in TABLE["unit"] if name.endswith(f"_{unit}")]
    return max(endings, key=len, default=None)


def test_no_name_carries_a_foreign_unit() -> None:
    """Inside and in JSON all is SI as the table has it; people's units stop at the door."""
    names = _keys() | set(_fields())
    assert len(names) > 600
    foreign = {name for name in names if FOREIGN.search(name) and not _unit_of(name)}
    assert foreign == NOT_UNITS


def test_every_unit_is_used_and_a_moment_has_none() -> None:
    """No unit stands in the table for nothing; ISO moments in JSON drop their seconds."""
    names = _keys() | set(_fields()) | {"demand_kg_m2_h", *TABLE["column"]}
    assert {unit for name in names if (unit := _unit_of(name))} == set(TABLE["unit"])


def test_keys_of_json_are_fields_of_records() -> None:
    """A key that carries a unit is a field of a record, which may leave that unit out."""
    own = set(_fields())
    stems = {name.removesuffix(f"_{_unit_of(name)}") if _unit_of(name) else name for name in own}
    odd = []
    for key in _keys():
        unit = _unit_of(key)
        if unit and key not in own and key.removesuffix(f"_{unit}") not in stems:
            odd.append(key)
    assert sorted(odd) == sorted(SHOWN_OTHERWISE)


def test_the_plans_columns_are_the_tables() -> None:
    """Same names, same order; a column with bounds or a unit holds numbers."""
    plan = stillwet.make_plan(stillwet.demo_job(), now="2030-08-14T06:00-06:00", members=16)
    header, rows = plan_cells(plan)
    assert list(header) == list(TABLE["column"])
    for index, name in enumerate(header):
        column = TABLE["column"][name]
        low, high = column.get("low", -math.inf), column.get("high", math.inf)
        cells = [row[index] for row in rows if row[index] is not None]
        if _unit_of(name) or "low" in column:
            assert all(isinstance(cell, float | int) and low <= cell <= high for cell in cells), (
                name
            )
            assert name in {"x_m", "y_m"} or "low" in column, name
        else:
            assert all(isinstance(cell, str) for cell in cells), name
