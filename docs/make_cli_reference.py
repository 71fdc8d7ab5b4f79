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


def context_of(command: click.Command, name: str, parent: click.Context | None) -> click.Context:
    """Where a command's help is told from, 80 columns wide."""
    return click.Context(
        command,
        info_name=name,
        parent=parent,
        terminal_width=80,
        help_option_names=["-h", "--help"],
    )


def parts_of(context: click.Context, level: int) -> list[str]:
    """A command's help under its title, then those of the verbs below it."""
    command = context.command
    text = f"{'#' * level} {context.command_path}\n\n```text\n{command.get_help(context)}\n```\n"
    if command is stillwet or not isinstance(command, click.Group):
        return [text]
    parts = [text]
    for name, below in command.commands.items():
        parts += parts_of(context_of(below, name, context), level + 1)
    return parts


def page() -> str:
    """The whole page."""
    top = context_of(stillwet, "stillwet", None)
    parts = [HEAD, *parts_of(top, 2)]
    for verb in VERBS:
        command = stillwet.get_command(top, verb)
        assert command is not None
        parts += parts_of(context_of(command, verb, top), 2)
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
