"""Writes reference/names.md: every name and colour of the program with where it comes from.

The names are gathered from the program itself, their origins stand in ``docs/origins.toml``; a test
fails when one has a name that the other lacks. By ``make docs``.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
import sys
import tomllib
from collections.abc import Callable, Iterator
from enum import StrEnum
from pathlib import Path
from typing import Any

import click

import stillwet
from stillwet.cli.group import VERBS
from stillwet.cli.group import stillwet as top
from stillwet.domain.log import KINDS as LOG_KINDS
from stillwet.exchange import draft_shape, job_file, proportioner, roads, trials, weather_table
from stillwet.exchange.log_fields import TELLS
from stillwet.tables import load_table
from stillwet.web.app import all_doors

DOCS = Path(__file__).parent
sys.path.insert(0, str(DOCS))

from gather_labels import on_screens, on_sheets  # noqa: E402 (the path comes first)

PACKAGE = DOCS.parent / "src" / "stillwet"
PAGE = DOCS / "reference" / "names.md"
ORIGINS = DOCS / "origins.toml"
# What an origin may be, and how the page says it.
KINDS = {
    "own": "plain words of our own",
    "trade": "word of the trade",
    "published": "published",
    "standard": "open standard",
    "library": "from a library",
}
HEAD = """# Where each name comes from

Made by `make docs` from the program's own names and `docs/origins.toml`; do not edit by hand.
A test fails when the program has a name that stands in no table here, or a table has one that
the program lost.

Under each heading stands the answer to one question: would a practitioner name an existing program
on seeing this? Why it is asked, and what was found, is told in
[a decision](../decisions/0017-where-each-name-comes-from.md).

A label is a piece of at most five words that does not end a sentence, and {} stands for what is
filled in. Longer pieces and sentences are told apart by what they say and are not listed.
"""
# Names of files inside the program, of modules, or of what people bring: not of what it writes.
NOT_WRITTEN = re.compile(r"(main|pieces|proportioner_form|trial_form)\.typ|zarr\.json|.*\.(js|css)")


def pages() -> set[str]:
    """Addresses that a person opens."""
    return {door.path for door in all_doors() if _is_page(door)}


def addresses() -> set[str]:
    """Addresses that only the pages or a program ask."""
    return {door.path for door in all_doors() if not _is_page(door)}


def _is_page(door: Any) -> bool:
    is_data = door.path.startswith(("/api", "/tiles")) or "." in door.path
    return bool(door.method == "GET") and not is_data


def titles() -> set[str]:
    """Headings of screens and titles of sheets, without what is filled in."""
    found = re.findall(r"<h[123][^>]*>([^<{]+)", _texts("web/templates/*.html"))
    found += re.findall(r'sheet-title\("([^"]+)"', _texts("reports/sheets/*.typ"))
    found += re.findall(r'set document\(title: "([^"]+)"', _texts("reports/sheets/*.typ"))
    begun = r'part\(packet, "([^"]+)"|metadata\("([^"]+)"\)<part>'
    found += [one or other for one, other in re.findall(begun, _texts("reports/sheets/*.typ"))]
    return {title.strip().rstrip(":") for title in found} - {""}


def commands() -> set[str]:
    """Every command, those below a command with its name before theirs."""
    return {path for path, _ in _commands()}


def options() -> set[str]:
    """Every option and argument of the commands."""
    params = [param for command in (top, *dict(_commands()).values()) for param in command.params]
    return {
        name
        for param in params
        for name in (
            (str(param.human_readable_name).upper(),)
            if isinstance(param, click.Argument)
            else (*param.opts, *param.secondary_opts)
        )
    }


def _commands() -> Iterator[tuple[str, click.Command]]:
    context = click.Context(top)
    for verb in VERBS:
        command = top.get_command(context, verb)
        assert command is not None
        yield from _below(verb, command)


def _below(path: str, command: click.Command) -> Iterator[tuple[str, click.Command]]:
    yield path, command
    if isinstance(command, click.Group):
        for name, below in command.commands.items():
            yield from _below(f"{path} {name}", below)


def sections() -> set[str]:
    """Sections of a job file."""
    return set(job_file.TOP_KEYS)


def keys() -> set[str]:
    """Keys of a job file and columns of its lists, of trials and of proportioner checks."""
    columns = (
        *draft_shape.LIST_COLUMNS.values(),
        proportioner.CHECK_COLUMNS,
        roads.ROAD_COLUMNS,
        trials.TRIAL_COLUMNS,
        weather_table.WEATHER_COLUMNS,
    )
    return {
        "file",
        *(name for below in draft_shape.SECTIONS.values() for name in below),
        *(name for some in columns for name in some.names),
    }


def entries() -> set[str]:
    """Kinds of entries of the field log, and what they tell."""
    return {*LOG_KINDS, *(told.word for tells in TELLS.values() for told in tells)}


def choices() -> set[str]:
    """Words of the packaged tables that a job may use."""
    tables = ("materials", "exposures", "product_types")
    return {*load_table("kinds")["kind"], *(word for name in tables for word in load_table(name))}


def states() -> set[str]:
    """Words that say how something stands, from every enumeration of words in the program."""
    return {
        str(member.value)
        for info in pkgutil.walk_packages(stillwet.__path__, "stillwet.")
        if not info.name.endswith("__main__")
        for kind in vars(importlib.import_module(info.name)).values()
        if isinstance(kind, type) and issubclass(kind, StrEnum) and kind is not StrEnum
        for member in kind
        if kind.__module__ == info.name
    }


def files() -> set[str]:
    """Names of the files that the program writes, from the code; what is filled in as {}."""
    ends = r"\.(?:pdf|csv|json|ics|gpx|geojson|svg|gpkg|xlsx|toml|zarr|tif|pem|key|crt)"
    found: set[str] = set()
    for room in ("services", "exchange", "outlook", "web"):
        text = _texts(f"{room}/**/*.py")
        found |= set(re.findall(rf'"([a-z_-]+{ends})"', text))
        found |= {re.sub(r"\{[^}]*\}", "{}", name) for name in _filled(text, ends)}
    return {name for name in found if not NOT_WRITTEN.fullmatch(name)}


def _filled(text: str, ends: str) -> list[str]:
    return [name for name in re.findall(rf'f"([\w{{}}.-]+{ends})"', text) if "/" not in name]


def schemas() -> set[str]:
    """Names by which a JSON document says what it is."""
    texts = _texts("**/*.py") + _texts("reports/*.schema.json")
    return set(re.findall(r"stillwet\.[a-z]+/\d", texts))


def tables() -> set[str]:
    """Tables inside a job kept in one file."""
    return set(re.findall(r"CREATE TABLE (\w+)", _texts("store/*.py")))


def marks() -> set[str]:
    """Shapes that stand beside the words for a state."""
    return set(re.findall(r'symbol id="([\w-]+)"', _texts("web/static/img/*.svg")))


def colours() -> set[str]:
    """Every colour by its hexadecimal, grey level or name, on screens and on paper."""
    texts = "".join(
        _texts(where)
        for where in ("web/static/css/*.css", "web/static/js/**/*.js", "web/static/img/*.svg")
    )
    texts += _texts("reports/**/*.py") + _texts("reports/sheets/*.typ")
    hexes = {_long(each) for each in re.findall(r"#((?:[0-9a-fA-F]{3}){1,2})\b", texts)}
    return {*hexes, *re.findall(r"luma\(\d+\)", texts), *re.findall(r"rgba?\([^)]*\)", texts)}


def _long(digits: str) -> str:
    six = digits if len(digits) == 6 else "".join(2 * digit for digit in digits)
    return f"#{six.lower()}"


def _texts(pattern: str) -> str:
    return "\n".join(
        path.read_text(encoding="utf-8")
        for path in sorted(PACKAGE.glob(pattern))
        if "vendor" not in path.parts
    )


ROOMS: dict[str, Callable[[], set[str]]] = {
    "page": pages,
    "title": titles,
    "screen": on_screens,
    "sheet": on_sheets,
    "mark": marks,
    "colour": colours,
    "state": states,
    "command": commands,
    "option": options,
    "section": sections,
    "key": keys,
    "choice": choices,
    "entry": entries,
    "file": files,
    "schema": schemas,
    "table": tables,
    "address": addresses,
}


HEADS = {
    "page": "Pages in the browser",
    "title": "Headings of screens, titles of sheets",
    "screen": "Labels on a screen: buttons, fields, heads of columns, keys of a chart",
    "sheet": "Labels on a sheet or a report: heads of columns and boxes, lines to fill in",
    "mark": "Shapes beside a state",
    "colour": "Colours",
    "state": "Words for how something stands",
    "command": "Commands",
    "option": "Options and arguments",
    "section": "Sections of a job file",
    "key": "Keys of a job file, columns of its lists, of trials and of checks",
    "choice": "Kinds, materials, fires and product types",
    "entry": "Entries of the field log and what they tell",
    "file": "Files that are written",
    "schema": "What a JSON document says it is",
    "table": "Tables of a job in one file",
    "address": "Addresses behind the pages",
}


def origins() -> dict[str, Any]:
    """What docs/origins.toml says of each room."""
    return tomllib.loads(ORIGINS.read_text(encoding="utf-8"))


def page() -> str:
    """The whole page."""
    said = origins()
    parts = [HEAD]
    for room, found in ROOMS.items():
        parts.append(f"## {HEADS[room]} ({len(found())})\n\n{said['asked'][room]}\n")
        rows = [
            (_names(group["names"]), KINDS[group["from"]], group["why"]) for group in said[room]
        ]
        parts.append(_table(("name", "origin", "what it is, or its source"), rows))
    return "\n".join(parts)


def _names(names: list[str]) -> str:
    return ", ".join(f"`{name}`" for name in names)


def _table(heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    cells = [heads, ("---",) * len(heads), *rows]
    return (
        "\n".join(
            "| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in cells
        )
        + "\n"
    )


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
