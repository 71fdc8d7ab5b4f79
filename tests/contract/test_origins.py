"""Every name, word and colour of the program has its origin written down, and no other has."""

from __future__ import annotations

import runpy
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

DOCS = Path(__file__).parents[2] / "docs"
MAKER: dict[str, Any] = runpy.run_path(str(DOCS / "make_origins.py"))
ORIGINS: dict[str, Any] = MAKER["origins"]()
LEAST = {"page": 8, "command": 20, "option": 50, "state": 150, "key": 200, "colour": 40}
LEAST |= {"screen": 350, "sheet": 280}
LABELS: dict[str, Any] = runpy.run_path(str(DOCS / "gather_labels.py"))


@pytest.mark.parametrize("room", MAKER["ROOMS"])
def test_every_name_has_one_origin(room: str) -> None:
    """The program has what docs/origins.toml tells of: a new name is added there."""
    found = MAKER["ROOMS"][room]()
    told = Counter(name for group in ORIGINS[room] for name in group["names"])
    assert len(found) >= LEAST.get(room, 5)
    assert sorted(found - set(told)) == [], "has no origin"
    assert sorted(set(told) - found) == [], "is not in the program"
    assert [name for name, times in told.items() if times > 1] == []


def test_every_origin_says_what_it_rests_on() -> None:
    """Each group has its kind and reason; a trade word names its source or says it has none."""
    assert set(ORIGINS) == {"asked", *MAKER["ROOMS"]}
    assert set(ORIGINS["asked"]) == set(MAKER["ROOMS"])
    for room in MAKER["ROOMS"]:
        assert ORIGINS["asked"][room].startswith("No: ")
        for group in ORIGINS[room]:
            assert set(group) == {"from", "why", "names"}
            assert group["from"] in MAKER["KINDS"]
            assert len(group["why"]) > 10
            if group["from"] == "trade":
                assert (
                    "no source" in group["why"] or "NWCG" in group["why"] or "NFPA" in group["why"]
                )


def test_the_page_is_made_of_them() -> None:
    """docs/reference/names.md is what ``make docs`` makes now."""
    assert (DOCS / "reference" / "names.md").read_text(encoding="utf-8") == MAKER["page"]()


def test_labels_of_a_template() -> None:
    """Buttons, fields, choices, heads and what is only heard; headings and paragraphs are not."""
    page = """
    <nav aria-label="Steps"><h2>A heading</h2><p>A paragraph</p></nav>
    {% for value, word in (("us", "Ounces"), ("metric", "Grams")) %}
    <label for="a"><input placeholder="1/8 in">{{ word }}</label>{% endfor %}
    <table><th>Head</th><td>{% if known %}cell {{ number }}{% else %}no cell{% endif %}</td></table>
    <button type="button">Press
      here</button>"""
    found = LABELS["labels"](LABELS["of_template"](page))
    told = {"Steps", "Ounces", "Grams", "1/8 in", "Head", "cell {}", "no cell", "Press here"}
    assert found == told


def test_labels_of_a_script() -> None:
    """What words.js says, not what its entries are called; a nested text is part of its own."""
    script = """
    /** "Not this". */
    export const WORDS = {
      "by name": "Said",
      again: (n) => `Again ${n === 1 ? `${n} "time"` : "times"} over`,
      either: (n) => (n ? "one" : "other"),
      axes: ["mix ratio, %", "coat, mm"],
    };"""
    found = LABELS["labels"](LABELS["of_script"](script))
    assert found == {"Said", "Again {} over", "one", "other", "mix ratio, %", "coat, mm"}


def test_labels_of_a_sheet_and_of_a_report() -> None:
    """Heads, boxes and lines to fill in; not the name of a file, a font or a key."""
    sheet = """#import "pieces.typ": *
    #head("The work")
    #fields("Crew", "Date (local)") #image("map.svg")
    table.header(..("Face", "Lay, " + unit).map(strong))"""
    assert LABELS["labels"](LABELS["of_sheet"](sheet)) == {
        "The work", "Crew", "Date (local)", "Face", "Lay"
    }  # fmt: skip
    report = """
_HEADS = ("check", "set %")
_OTHER = ("nothing", "here", "to see")
PAIRS = [("Water", water), ("key", 3), [f"Price of {unit}", dollars]]
box = {"head": "Lay up to" if late else "Lay", "big": "Shown"}
parts.append(words(16, 26, "fire window", 11, text_anchor="middle"))
"""
    told = {"check", "set %", "Water", "Price of {}", "Lay up to", "Lay", "fire window"}
    assert LABELS["labels"](LABELS["of_report"](report)) == told


@pytest.mark.parametrize(
    ("text", "is_label"),
    [
        ("What it rests on", True),
        ("one two three four five", True),
        ("one two three four five six", False),
        ("No alarm.", False),
        ("Stop {} of {}", True),
        ("%", False),
        ("", False),
    ],
)
def test_what_is_a_label(text: str, is_label: bool) -> None:
    """At most five words, and not the end of a sentence."""
    assert (LABELS["labels"]([text]) == {text}) is is_label
