"""The pages of facts are what the program says of itself now."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import pytest

DOCS = Path(__file__).parents[2] / "docs"


def _maker() -> Any:
    spec = importlib.util.spec_from_file_location("make_facts", DOCS / "make_facts.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("page", ["vocabulary.md", "tables.md", "json.md", "python.md"])
def test_page_is_up_to_date(page: str) -> None:
    """What stands on the page is what would be written now: run ``make docs``."""
    shown = (DOCS / "reference" / page).read_text(encoding="utf-8")
    assert shown == _maker().PAGES[page]()


def test_every_default_has_its_row() -> None:
    """Values that stand in the tables are found on the page, each with its source."""
    page = (DOCS / "reference" / "tables.md").read_text(encoding="utf-8")
    rows = [line for line in page.splitlines() if line.startswith("| ") and "---" not in line]
    assert len(rows) > 200
    assert all(line.rstrip(" |").split(" | ")[-1].strip() for line in rows)
    assert any("transfer_efficiency" in line and "untested default" in line for line in rows)
