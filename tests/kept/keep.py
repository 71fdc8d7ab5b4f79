"""Keeps every answer anew and prints what changed: look at each line before it is committed.

Run: ``python tests/kept/keep.py`` for all rooms, ``python tests/kept/keep.py engine`` for one. A
room is a package of this folder that names its answers (GROUPS); see ``kept.keeping``.
"""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from kept.keeping import keep  # noqa: E402


def main(rooms: list[str]) -> None:
    """Keep the answers of these rooms."""
    for room in rooms or sorted(path.parent.name for path in HERE.glob("*/__init__.py")):
        for group, answers in importlib.import_module(f"kept.{room}").GROUPS.items():
            told = keep(room, group, answers)
            print(f"{room}/{group}: {len(answers)} answers, {len(told)} differences")
            for line in told:
                print(f"  {line}")


if __name__ == "__main__":
    main(sys.argv[1:])
