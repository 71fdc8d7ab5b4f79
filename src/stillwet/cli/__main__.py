"""``python -m stillwet.cli`` is the same command as ``stillwet``."""

from stillwet.cli.group import main

main()
