"""Each decision has a number of its own, in its name, its title and the index."""

from __future__ import annotations

from pathlib import Path

DECISIONS = Path(__file__).parents[2] / "docs" / "decisions"


def test_numbers_are_one_after_another() -> None:
    """No number twice, none left out; the title begins with it; the index names the page."""
    pages = sorted(DECISIONS.glob("0*.md"))
    index = (DECISIONS / "index.md").read_text(encoding="utf-8")
    for number, page in enumerate(pages, 1):
        assert page.name.startswith(f"{number:04d}-")
        assert page.read_text(encoding="utf-8").startswith(f"# {number}. ")
        assert f"({page.name})" in index
