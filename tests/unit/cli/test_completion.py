"""The shell finishes words: click's own completion, told of in docs/how-to/install.md."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from stillwet.cli.group import VERBS


def _ask(instruction: str, words: str = "", position: int = 0) -> str:
    """What the program answers the shell that asks how a line may go on."""
    done = subprocess.run(
        [sys.executable, "-m", "stillwet.cli"],
        capture_output=True,
        text=True,
        check=False,
        env={
            **os.environ,
            "_STILLWET_COMPLETE": instruction,
            "COMP_WORDS": words,
            "COMP_CWORD": str(position),
        },
    )
    assert done.stderr == ""
    return done.stdout


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_has_its_lines(shell: str) -> None:
    """The lines to put into the shell's start-up file define and register a function."""
    lines = _ask(f"{shell}_source")
    assert "_stillwet_completion" in lines
    assert f"{shell}_complete" in lines


@pytest.mark.parametrize(
    ("words", "position", "wanted"),
    [
        ("stillwet ", 1, set(VERBS)),
        ("stillwet pl", 1, {"plan"}),
        ("stillwet trial ", 2, {"add", "fit", "form", "next"}),
        ("stillwet plan --pap", 2, {"--paper"}),
        ("stillwet plan --units ", 3, {"us", "metric"}),
    ],
)
def test_words_are_finished(words: str, position: int, wanted: set[str]) -> None:
    """Verbs, verbs below verbs, options and their choices."""
    answered = _ask("bash_complete", words, position).splitlines()
    assert {line.removeprefix("plain,") for line in answered} == wanted
