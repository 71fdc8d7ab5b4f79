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
