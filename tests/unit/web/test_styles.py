"""The style sheets: each rule in one place, each sheet used, and none of them asks elsewhere."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from stillwet.web.show import STATIC

SHEETS = sorted((STATIC / "css").glob("*.css"))
TEMPLATES = STATIC.parent / "templates"


def rules(sheet: Path) -> Iterator[tuple[str, str, frozenset[str]]]:
    """(media query or "", selector, declarations) of a sheet, each selector of a list by itself."""
    text = re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.DOTALL)
    media, depth = "", 0
    for raw, end in re.findall(r"([^{}]*)([{}])", text):
        head = " ".join(raw.split())
        if end == "{" and head.startswith("@"):
            media, depth = head, 1
        elif end == "{":
            selectors = head.rpartition(";")[2].strip()
        elif depth == 1 and not head:
            media, depth = "", 0
        else:
            declared = frozenset(" ".join(one.split()) for one in head.split(";") if one.strip())
            for selector in selectors.split(","):
                yield media, selector.strip(), declared


def test_no_sheet_says_again_what_another_says() -> None:
    """A selector's declaration stands in one sheet: base.css, or that of the pages it is for."""
    said = Counter(
        (media, selector, one)
        for sheet in SHEETS
        for media, selector, one in {
            (media, selector, one) for media, selector, all_ in rules(sheet) for one in all_
        }
    )
    assert sum(said.values()) > 500, "the sheets are read"
    assert [rule for rule, times in said.items() if times > 1] == []


def test_rules_are_read_as_written(tmp_path: Path) -> None:
    """The reader of this test: lists of selectors, media queries, comments."""
    sheet = tmp_path / "one.css"
    sheet.write_text(
        "/* a{b:c} */ p, .x { top: 0;  left: 1px }\n@media print { p { top: 2px; } } b{top:3px}"
    )
    assert [*rules(sheet)] == [
        ("", "p", frozenset({"top: 0", "left: 1px"})),
        ("", ".x", frozenset({"top: 0", "left: 1px"})),
        ("@media print", "p", frozenset({"top: 2px"})),
        ("", "b", frozenset({"top:3px"})),
    ]


def test_every_sheet_is_used() -> None:
    """Each is linked by a page."""
    pages = "".join(page.read_text() for page in TEMPLATES.glob("*.html"))
    assert [sheet.name for sheet in SHEETS if f"/static/css/{sheet.name}" not in pages] == []
