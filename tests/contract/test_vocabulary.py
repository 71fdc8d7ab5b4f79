"""Names are made of the house's words, carry a unit of its list, and keep within its bounds.

The words stand in one table, data/vocabulary.toml: what fails here is mended there or in the name.
"""

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
from stillwet.web.openapi import description

ROOT = Path(__file__).parents[2]
TABLE = load_table("vocabulary")
# Endings that are units of something, but not the house's: people's units stop at the door.
FOREIGN = re.compile(
    r"_(ft|ft2|in|gal|gpm|psi|mph|lb|c|f|l|l_min|ml|g|cm|km|km_h|min|h|hr|hours?|sec|kw_m2|pct|percent|ppm)$"
)
# Names that only look as if they ended so:
# a list of stretches of hours; the least humidity; water that stood in something
NOT_UNITS = {"good_hours", "relative_humidity_min", "water_stood_in"}
# Where people read: pages, tables of words, screens and the help of commands.
PROSE = (
    "README.md",
    "docs/index.md",
    "docs/how-to/*.md",
    "docs/tutorial/*.md",
    "docs/explanation/*.md",
    "docs/decisions/*.md",
    "docs/reference/cli.md",
    "docs/reference/json.md",
    "src/stillwet/data/*.toml",
    "src/stillwet/reports/*_words.py",
    "src/stillwet/reports/*_text.py",
    "src/stillwet/web/templates/*.html",
    "src/stillwet/web/static/js/**/words.js",
)
PUBLISHED = re.compile(r"scenario(s printed with| L2 of Scott)")  # a source's own word


def _schema_keys(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        if isinstance(node.get("properties"), dict):
            yield from node["properties"]
        for below in node.values():
            yield from _schema_keys(below)
    elif isinstance(node, list):
        for below in node:
            yield from _schema_keys(below)


def _keys() -> set[str]:
    folder = ROOT / "src" / "stillwet" / "reports"
    texts = [path.read_text(encoding="utf-8") for path in folder.glob("*.schema.json")]
    return {key for text in texts for key in _schema_keys(json.loads(text))}


def _api_names() -> set[str]:
    """Names in what the web API takes and gives, and of what its addresses ask."""
    document = description()
    operations = [one for path in document["paths"].values() for one in path.values()]
    asked = {each["name"] for one in operations for each in one["parameters"]}
    return asked | set(_schema_keys(document["paths"])) | set(_schema_keys(document["components"]))


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


def _properties() -> set[str]:
    """What the domain's records work out of their fields."""
    modules = [
        importlib.import_module(f"stillwet.domain.{info.name}")
        for info in pkgutil.iter_modules(stillwet.domain.__path__)
    ]
    kinds = [kind for module in modules for kind in vars(module).values()]
    records = [kind for kind in kinds if isinstance(kind, type) and is_dataclass(kind)]
    return {
        name
        for record in records
        for name, what in vars(record).items()
        if isinstance(what, property)
    }


def _stem(name: str) -> str:
    """The name without its unit."""
    unit = _unit_of(name)
    return name.removesuffix(f"_{unit}") if unit else name


def test_no_name_carries_a_foreign_unit() -> None:
    """Inside and in JSON all is SI as the table has it; people's units stop at the door."""
    names = _keys() | set(_fields()) | _api_names()
    assert len(names) > 800
    foreign = {name for name in names if FOREIGN.search(name) and not _unit_of(name)}
    assert foreign - set(TABLE["shown"]) == NOT_UNITS


def test_names_are_made_of_the_tables_words() -> None:
    """Every name is words of the table and a unit; nearly every word there is used by a name."""
    names = _keys() | set(_fields()) | _api_names() | set(TABLE["column"])
    words = TABLE["parts"]["words"]
    used = {part for name in names for part in _stem(name).split("_")}
    assert sorted(used - set(words)) == [], "not a word of data/vocabulary.toml"
    assert len(set(words) - used) < 20, "words that no name uses"
    assert words == sorted(set(words))


def test_no_word_is_used_that_another_stands_for() -> None:
    """Names, pages, screens and commands say it with the one word that the table has for it."""
    names = _keys() | set(_fields()) | _api_names()
    spoken = {name: name.replace("_", " ") for name in names}
    for pattern in PROSE:
        found = [path for path in ROOT.glob(pattern) if path.name != "vocabulary.toml"]
        assert found, pattern
        for path in found:
            spoken[path.relative_to(ROOT).as_posix()] = path.read_text(encoding="utf-8")
    wrong = [
        f"{where}: {word!r}, but the word is {right!r}"
        for word, right in TABLE["instead"].items()
        for where, text in spoken.items()
        if re.search(rf"\b{word}s?\b", PUBLISHED.sub("", text), re.IGNORECASE)
    ]
    assert wrong == [], "\n".join(wrong)


def test_every_unit_is_used_and_a_moment_has_none() -> None:
    """No unit stands in the table for nothing; ISO moments in JSON drop their seconds."""
    names = _keys() | set(_fields()) | {"demand_kg_m2_h", *TABLE["column"]}
    assert {unit for name in names if (unit := _unit_of(name))} == set(TABLE["unit"])


def test_keys_of_json_are_fields_of_records() -> None:
    """A key is what a record has, which may leave the unit out, or stands in the table as shown."""
    stems = {_stem(name) for name in set(_fields()) | _properties()}
    odd = {key for key in _keys() if _stem(key) not in stems}
    at_the_door = {name for name in _api_names() if name.endswith("_percent")}
    assert sorted(odd | at_the_door) == sorted(TABLE["shown"])


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
