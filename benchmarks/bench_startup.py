"""How long a start takes: the help beside an empty Python, a plan, and the app in the browser.

Run: ``python benchmarks/bench_startup.py``. The quick ones are the median of several fresh
processes. The first plan after installing compiles the kernels; later ones find them kept.
"""

from __future__ import annotations

import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

REPEATS = 9
LIMIT_S = 0.3
LIMIT_CLICKS = 3.0  # on a machine at other work: times what importing click alone takes there
PROGRAM = (sys.executable, "-m", "stillwet.cli")


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


def plan_seconds(job: Path, kernels: Path) -> float:
    """Wall time of ``stillwet plan`` in a fresh process [s], its compiled kernels kept there."""
    begun = time.perf_counter()
    subprocess.run(
        [*PROGRAM, "plan", str(job)],
        check=True,
        capture_output=True,
        env={**os.environ, "NUMBA_CACHE_DIR": str(kernels)},
    )
    return time.perf_counter() - begun


def serve_seconds(job_file: Path) -> tuple[float, float]:
    """From starting ``stillwet serve`` to its address, and to its first page answered [s]."""
    begun = time.perf_counter()
    with subprocess.Popen(
        [*PROGRAM, "serve", str(job_file), "--port", "0"], stderr=subprocess.PIPE, text=True
    ) as server:
        assert server.stderr is not None
        told = re.search(r"http://\S+", server.stderr.readline())
        assert told is not None
        listening = time.perf_counter() - begun
        with urllib.request.urlopen(told[0], timeout=60) as page:
            page.read()
        answered = time.perf_counter() - begun
        server.terminate()
    return listening, answered


def longer_starts() -> dict[str, float]:
    """Plans of the demo, first and later, and the app."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        command = [*PROGRAM, "demo", "--out", str(folder / "demo")]
        subprocess.run(command, check=True, capture_output=True)
        job, kept = folder / "demo" / "job" / "job.toml", folder / "day.gpkg"
        command = [*PROGRAM, "keep", str(job), str(kept)]
        subprocess.run(command, check=True, capture_output=True)
        first = plan_seconds(job, folder / "kernels")
        later = statistics.median(plan_seconds(job, folder / "kernels") for _ in range(3))
        listening, answered = serve_seconds(kept)
    return {
        "stillwet plan, the first ever": first,
        "stillwet plan, later": later,
        "stillwet serve, listening": listening,
        "stillwet serve, first page": answered,
    }


def main() -> int:
    """Print the numbers; fail when the help is over both of its limits."""
    python = sys.executable
    help_s = seconds([python, "-m", "stillwet.cli", "--help"])
    click_s = seconds([python, "-c", "import click"])
    rows = {
        "stillwet --help": help_s,
        'python -c "import click"': click_s,
        'python -c "import stillwet"': seconds([python, "-c", "import stillwet"]),
        'python -c "pass"': seconds([python, "-c", "pass"]),
        "-X importtime stillwet.cli": import_seconds("stillwet.cli"),
        "-X importtime click": import_seconds("click"),
        **longer_starts(),
    }
    for name, value in rows.items():
        print(f"{name:30} {value:6.3f} s")
    limit_s = max(LIMIT_S, LIMIT_CLICKS * click_s)
    print(f"limit for stillwet --help      {limit_s:6.3f} s")
    return int(help_s >= limit_s)


if __name__ == "__main__":
    sys.exit(main())
