"""The command line: one file a verb, a skin over ``stillwet.services``."""

from stillwet.cli.group import main

__all__ = ["main"]
