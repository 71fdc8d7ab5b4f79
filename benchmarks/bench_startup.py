"""How long ``stillwet --help`` takes to answer, beside ``import click`` alone and an empty Python.

Run: ``python benchmarks/bench_startup.py``. Each is the median of several fresh processes.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

REPEATS = 9
LIMIT_S = 0.3


def seconds(arguments: list[str]) -> float:
    """Median wall time of a fresh process [s], after one run to warm the disk."""
    taken = []
    for _ in range(REPEATS + 1):
        begun = time.perf_counter()
        subprocess.run(arguments, check=True, capture_output=True)
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken[1:])


def import_seconds(module: str) -> float:
    """Time to import a module in a fresh process [s], as ``-X importtime`` counts it."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-c", f"import {module}"],
        check=True,
        capture_output=True,
        text=True,
    )
    return int(done.stderr.splitlines()[-1].split("|")[1]) / 1e6


def main() -> int:
    """Print the numbers; fail when the help is not under its limit."""
    python = sys.executable
    help_s = seconds([python, "-m", "stillwet.cli", "--help"])
    rows = {
        "stillwet --help": help_s,
        'python -c "import click"': seconds([python, "-c", "import click"]),
        'python -c "pass"': seconds([python, "-c", "pass"]),
        "-X importtime stillwet.cli": import_seconds("stillwet.cli"),
        "-X importtime click": import_seconds("click"),
    }
    for name, value in rows.items():
        print(f"{name:28} {value:6.3f} s")
    print(f"limit for stillwet --help    {LIMIT_S:6.3f} s")
    return int(help_s >= LIMIT_S)


if __name__ == "__main__":
    sys.exit(main())
