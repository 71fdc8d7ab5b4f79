"""The page of attacks names tests that are there."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "explanation" / "web_safety.md"


def test_each_attack_names_a_test_that_is_there() -> None:
    """Every row of every table names a test, and each name is a function or a file of the tests."""
    page = PAGE.read_text(encoding="utf-8")
    rows = [
        line for line in page.splitlines() if line.startswith("| ") and "| attack |" not in line
    ]
    assert len(rows) >= 25
    tests = list((ROOT / "tests").rglob("test_*.py"))
    functions = {
        name
        for one in tests
        for name in re.findall(r"def (test_\w+)", one.read_text(encoding="utf-8"))
    }
    files = {one.name for one in tests}
    for row in rows:
        named = re.findall(
            r"`(?:[\w/]*/)?(test_\w+\.py)?(?:::)?(test_\w+)?`", row.rpartition(" | ")[2]
        )
        assert any(any(one) for one in named), row
        for file, function in named:
            assert not file or file in files, row
            assert not function or function in functions, row
