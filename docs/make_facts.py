"""Writes pages of facts from the program itself: words, tables, JSON, Python. By ``make docs``."""

from __future__ import annotations

import inspect
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import stillwet
from stillwet.reports.plan_json import packaged_schema
from stillwet.tables import load_table

ROOT = Path(__file__).parent.parent
REFERENCE = ROOT / "docs" / "reference"
DATA = ROOT / "src" / "stillwet" / "data"
MADE = "Made from the program itself by `make docs`; do not edit by hand."


def vocabulary_page() -> str:
    """The words, what names are made of and end in, and the columns of the plan's table."""
    table = load_table("vocabulary")
    words = _rows(("word", "is"), table["word"].items())
    units = _rows(
        ("a name that ends in", "is in"), ((f"`_{k}`", v) for k, v in table["unit"].items())
    )
    columns = _rows(
        ("column", "meaning", "from", "to"),
        (
            (
                f"`{name}`",
                column["meaning"],
                _number(column.get("low")),
                _number(column.get("high")),
            )
            for name, column in table["column"].items()
        ),
    )
    parts = [
        f"# Vocabulary\n\n{MADE}\n",
        "One thing has one word, in code, tables, screens and on paper.\n",
        words,
        "## Words that are not used\n",
        _rows(("not", "but"), table["instead"].items()),
        "## Names that carry a unit\n",
        units,
        "## Keys of JSON that no record has\n",
        _rows(("key", "is"), ((f"`{name}`", is_) for name, is_ in table["shown"].items())),
        "## What names are made of\n",
        "Fields of records, keys of JSON and of the web API, and columns are made of these words "
        "and an ending for the unit:\n",
        ", ".join(table["parts"]["words"]) + ".\n",
        "## Columns of the plan's table\n",
        "In `plan.csv` and `stillwet.to_frame(plan)`. No sound plan leaves these bounds.\n",
        columns,
    ]
    return "\n".join(parts)


def tables_page() -> str:
    """Every number of the packaged tables that has a source, with its interval."""
    parts = [
        f"# Tables with their sources\n\n{MADE}\n",
        "Every default that an answer may stand on, from the tables in `src/stillwet/data/`. "
        "A job's own value, label or trial comes before any of them.\n",
    ]
    others = []
    for path in sorted(DATA.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        head, rows = _head_comment(text), list(_sourced(tomllib.loads(text), ()))
        if rows:
            parts.append(f"## {path.stem}\n\n{head}\n")
            parts.append(_rows(("name", "value", "interval", "unit", "kind", "source"), rows))
        else:
            others.append((f"`{path.name}`", head))
    parts.append("## Tables without intervals\n\nPublished as a whole, or words: see the file.\n")
    return "\n".join([*parts, _rows(("file", "what it is"), others)])


def _head_comment(text: str) -> str:
    lines = re.match(r"(?:#.*\n)*", text)
    assert lines is not None
    return " ".join(line.lstrip("# ") for line in lines[0].splitlines()).strip()


def _sourced(node: Any, path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """The rows of a table: dictionaries with a source, and the short lists of exposures.toml."""
    if isinstance(node, dict):
        value = _value_of(node)
        if value is not None and "source" in node:
            yield _row(path, value, node.get("low"), node.get("high"), node)
            return
        for key, below in node.items():
            yield from _sourced(below, (*path, key))
    elif isinstance(node, list):
        if len(node) == 6 and isinstance(node[0], int | float) and isinstance(node[4], str):
            value, unit, low, high, source, kind = node
            yield _row(path, value, low, high, {"unit": unit, "source": source, "kind": kind})
            return
        for number, below in enumerate(node):
            if isinstance(below, dict):
                own = str(below.get("name", below.get("kind", below.get("id", number + 1))))
                yield from _sourced(below, (*path, own))


def _row(
    path: tuple[str, ...], value: Any, low: Any, high: Any, more: dict[str, Any]
) -> tuple[str, ...]:
    interval = "" if low is None or high is None else f"{_number(low)} to {_number(high)}"
    kind, source = more.get("kind", ""), str(more["source"])
    if not kind:
        kind = "untested default" if "untested default" in source else "see source"
    return (", ".join(path), _number(value), interval, str(more.get("unit", "")), kind, source)


def _value_of(node: dict[str, Any]) -> Any:
    """What a row says: its value, or all its numbers by name."""
    for key in ("value", "median", "within"):
        if key in node:
            return node[key]
    numbers = {key: one for key, one in node.items() if type(one) in (int, float)}
    told = [f"{key} {_number(one)}" for key, one in numbers.items() if key not in ("low", "high")]
    return ", ".join(told) or None


def _number(value: Any) -> str:
    if value is None:
        return ""
    return (
        f"{value:g}"
        if isinstance(value, int | float) and not isinstance(value, bool)
        else str(value)
    )


def schemas_page() -> str:
    """The keys of every JSON the program writes."""
    folder = ROOT / "src" / "stillwet" / "reports"
    names = sorted(path.name.removesuffix(".schema.json") for path in folder.glob("*.schema.json"))
    parts = [
        f"# JSON\n\n{MADE}\n",
        "What `--json` and the `.json` files hold, from the JSON Schemas (2020-12) inside the "
        "package. SI, the unit in each name; moments ISO 8601 with their offset; null for none.\n",
    ]
    for name in names:
        schema = packaged_schema(name)
        parts.append(
            f"## {schema.get('title', name)}\n\n`{name}.schema.json` "
            f"{schema.get('description', '')}\n"
        )
        parts += _objects(schema, "the document")
        for own, below in schema.get("$defs", {}).items():
            parts += _objects(below, own)
    return "\n".join(parts)


def _objects(schema: dict[str, Any], name: str) -> list[str]:
    if "properties" not in schema:
        return []
    needed = set(schema.get("required", ()))
    rows = (
        (
            f"`{key}`",
            _kind(below),
            "" if key in needed else "may be missing",
            below.get("description", ""),
        )
        for key, below in schema["properties"].items()
    )
    return [f"**{name}**\n", _rows(("key", "holds", "", "meaning"), rows)]


def _kind(schema: dict[str, Any]) -> str:
    if "$ref" in schema:
        return str(schema["$ref"]).rpartition("/")[2]
    if "const" in schema:
        return f"`{schema['const']}`"
    if "enum" in schema:
        return ", ".join(f"`{word}`" for word in schema["enum"])
    for several in ("anyOf", "oneOf"):
        if several in schema:
            return " or ".join(_kind(one) for one in schema[several])
    kind = schema.get("type", "")
    if kind == "array":
        items = schema.get("items")
        return f"list of {_kind(items)}" if isinstance(items, dict) else "list"
    return " or ".join(kind) if isinstance(kind, list) else str(kind)


def python_page() -> str:
    """The public names with their signatures."""
    parts = [
        f"# Python\n\n{MADE}\n",
        "What `import stillwet` offers, loaded when first asked for; "
        "[a notebook](../tutorial/notebook.md) shows it at work.\n",
    ]
    for name in stillwet.__all__:
        what = getattr(stillwet, name)
        signature = "" if inspect.isclass(what) else _signature(what)
        words = inspect.getdoc(what) or ""
        parts.append(f"## {name}\n\n```python\nstillwet.{name}{signature}\n```\n\n{words}\n")
    return "\n".join(parts)


def _signature(what: Any) -> str:
    """The signature with its annotations as they stand in the code."""
    return re.sub(r"(: |-> )'([^']*)'", r"\1\2", str(inspect.signature(what)))


def _rows(heads: tuple[str, ...], rows: Any) -> str:
    lines = [heads, ("---",) * len(heads), *(tuple(map(_cell, row)) for row in rows)]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"


def _cell(text: str) -> str:
    return " ".join(str(text).replace("|", "\\|").replace("<", "&lt;").split())


PAGES = {
    "vocabulary.md": vocabulary_page,
    "tables.md": tables_page,
    "json.md": schemas_page,
    "python.md": python_page,
}

if __name__ == "__main__":
    for page, make in PAGES.items():
        (REFERENCE / page).write_text(make(), encoding="utf-8")
