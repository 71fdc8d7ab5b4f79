"""The recipe for a wetted line is true: its defaults are the table's, its attributes are read."""

from __future__ import annotations

import re
from pathlib import Path

from stillwet.exchange.line_fields import LINE_COLUMNS
from stillwet.tables import load_table

PAGE = (Path(__file__).parents[3] / "docs" / "how-to" / "burn_line.md").read_text("utf-8")


def test_the_defaults_on_the_page_are_those_of_the_table() -> None:
    """Every default and interval printed on the page is that of data/line_practice.toml."""
    table = load_table("line_practice")["line"]
    rows = re.findall(
        r"^\| `(\w+)` \| ([\d.]+) ?(\S*) \| ([\d.]+) to ([\d.]+) ?\S* \|$", PAGE, re.M
    )
    assert {name for name, *_ in rows} == set(table)
    for name, value, unit, low, high in rows:
        entry = table[name]
        assert [float(value), float(low), float(high)] == [
            entry["value"],
            entry["low"],
            entry["high"],
        ], name
        assert unit in {entry["unit"], ""}


def test_untested_defaults_are_wide_and_say_so() -> None:
    """Each default lies inside its interval and has a kind and a reason."""
    for name, entry in load_table("line_practice")["line"].items():
        assert entry["low"] <= entry["value"] <= entry["high"], name
        assert entry["high"] > entry["low"], name
        assert entry["kind"] in {"untested default", "published"}
        assert len(entry["source"]) > 20, name


def test_the_attributes_on_the_page_are_read() -> None:
    """Every attribute of the first table is a field of a line."""
    table = PAGE[PAGE.index("| attribute |") : PAGE.index("Save it as")]
    first_cells = [row.split("|")[1] for row in table.splitlines() if row.startswith("| `")]
    named = {name for cell in first_cells for name in re.findall(r"`(\w+)`", cell)}
    assert named
    assert named <= set(LINE_COLUMNS.names)
