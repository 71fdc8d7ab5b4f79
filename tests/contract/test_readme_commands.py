"""The commands in the README run as written."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
STILLWET = (sys.executable, "-m", "stillwet.cli")


def _commands() -> list[str]:
    """Every line of every block fenced as ``sh run``, without its comment."""
    blocks = re.findall(r"^```sh run\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
    return [line.split("#")[0].strip() for block in blocks for line in block.splitlines()]


def _arguments(command: str) -> list[str]:
    """The command as this machine runs it: the same verbs, this environment's Python.

    ``make demo`` is what its rule in the Makefile says, without the setting up.
    """
    if command.startswith("make "):
        target = command.split()[1]
        rule = re.search(rf"^{target}: .*\n\t(.*)$", (ROOT / "Makefile").read_text(), re.MULTILINE)
        assert rule is not None, f"no rule for {target} in the Makefile"
        command = rule[1].replace("$(BIN)", ".venv/bin")
    program, *rest = shlex.split(command)
    assert program == ".venv/bin/stillwet"
    return [*STILLWET, *rest]


def test_readme_starts_with_the_job() -> None:
    """The first paragraph says whom it is for; the two commands follow within a screen."""
    assert README.startswith("# Stillwet\n\nStillwet is for the person who answers for gel")
    assert README.index("make demo") < 2500


@pytest.mark.slow
def test_readme_commands_run_in_order(tmp_path: Path) -> None:
    """Each marked command ends with status 0 in a fresh folder, after those before it."""
    commands = _commands()
    assert any(command.startswith("make demo") for command in commands)
    assert len(commands) >= 5
    for command in commands:
        done = subprocess.run(
            _arguments(command),
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        )
        assert done.returncode == 0, f"{command}\n{done.stderr}"
        assert done.stdout.strip(), command
    for named in re.findall(r"--out (\S+)", " ".join(commands)):
        assert (tmp_path / named).exists(), named
    shutil.rmtree(tmp_path / "out")


def test_pictures_are_there() -> None:
    """Every picture and page that the README points to is in the repository."""
    links = re.findall(r"\]\(([^)#]+)\)", README)
    assert any(link.endswith(".png") for link in links)
    missing = [link for link in links if "://" not in link and not (ROOT / link).exists()]
    assert missing == []
