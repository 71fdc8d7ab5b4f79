"""The command as a person would run it."""

from __future__ import annotations

from pathlib import Path

import pytest

from stillwet.cli.group import run as stillwet
from unit.outlook.outlook_run import Done, Run


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """``stillwet outlook`` with these arguments."""

    def once(*arguments: str | Path) -> Done:
        code = stillwet(["outlook", *map(str, arguments)])
        said = capsys.readouterr()
        return Done(code, said.out + said.err)

    return once
