"""The documents hang together: nothing left out, nothing that leads outside at reading time."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = sorted(DOCS.rglob("*.md"))


def test_every_decision_is_listed() -> None:
    """The index of decisions links to each page, under the page's own title."""
    index = (DOCS / "decisions" / "index.md").read_text(encoding="utf-8")
    pages = [page for page in PAGES if re.match(r"\d{4}-", page.name)]
    assert len(pages) >= 3
    for page in pages:
        title = page.read_text(encoding="utf-8").splitlines()[0].removeprefix("# ")
        assert f"[{title}]({page.name})" in index


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(DOCS)))
def test_page_is_plain(page: Path) -> None:
    """A page has one title, comes with no picture from outside, and names no machine's path."""
    text = page.read_text(encoding="utf-8")
    prose = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    assert len(re.findall(r"^# ", prose, re.MULTILINE)) == 1
    assert not re.search(r"!\[[^\]]*\]\(https?:", text)
    assert not re.search(r"/(work|tmp|home|root|Users)/\w", text)
