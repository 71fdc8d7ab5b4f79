"""The page of outside checks is the one that the cases make, and says what was never measured."""

from __future__ import annotations

from pathlib import Path

from reference.cases import all_cases

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "validation.md"


def test_the_page_has_every_case() -> None:
    """`make validate` was run after the last case was added: one row each, kinds counted."""
    rows = [line for line in PAGE.read_text(encoding="utf-8").splitlines() if line[:2] == "| "]
    cases = list(all_cases())
    for case in cases:
        name = case.name.replace("|", "\\|").replace("*", "\\*").replace("_", "\\_")
        assert any(row.startswith(f"| {name.replace('<', '&lt;')} |") for row in rows), case.name
    assert f"\n{len(cases)} cases, " in PAGE.read_text(encoding="utf-8")
    assert "Never measured" in PAGE.read_text(encoding="utf-8")
