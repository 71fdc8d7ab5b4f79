"""The command page says what the commands say."""

from __future__ import annotations

import runpy
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_command_page_matches_the_help() -> None:
    """docs/reference/cli.md is what `make docs` makes of the present help texts."""
    made = runpy.run_path(str(ROOT / "docs" / "make_cli_reference.py"))
    written = (ROOT / "docs" / "reference" / "cli.md").read_text(encoding="utf-8")
    assert made["page"]() == written
