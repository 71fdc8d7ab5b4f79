"""Writes reference/cli.md from the commands' own help. Run by ``make docs``."""

from __future__ import annotations

from pathlib import Path

import click

from stillwet.cli.group import VERBS, stillwet

PAGE = Path(__file__).parent / "reference" / "cli.md"

HEAD = """# Commands

Made from the commands' own help by `make docs`; do not edit by hand.

The result goes to standard output, everything else to standard error. Work that takes more than a
second shows its progress when a person is watching (never in a file or a pipe).

| exit status | meaning |
|---|---|
| 0 | done; a plan that says "will not hold" is still a plan |
| 1 | unexpected trouble, told in one line with the file the trace went to |
| 2 | bad input, every problem listed; nothing was written |
| 130 | stopped with Ctrl-C; nothing half-written is left |
"""


def help_of(verb: str | None) -> str:
    """The help text of one verb, or of the command itself, 80 columns wide."""
    parent = click.Context(
        stillwet, info_name="stillwet", terminal_width=80, help_option_names=["-h", "--help"]
    )
    if verb is None:
        return stillwet.get_help(parent)
    command = stillwet.get_command(parent, verb)
    assert command is not None
    context = click.Context(command, info_name=verb, parent=parent, terminal_width=80)
    return command.get_help(context)


def page() -> str:
    """The whole page."""
    parts = [HEAD]
    for verb in (None, *VERBS):
        title = "stillwet" if verb is None else f"stillwet {verb}"
        parts.append(f"## {title}\n\n```text\n{help_of(verb)}\n```\n")
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
