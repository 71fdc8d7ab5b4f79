"""A worker that keeps its memory asks the system for little more, whatever it was started with."""

from __future__ import annotations

import os
import platform
import subprocess
import sys

import pytest

ROUNDS = """
import resource, sys
import numpy as np
from stillwet.outlook.memory import keep_memory

if "keep" in sys.argv:
    assert keep_memory()

def one_block():
    return [np.ones(2**20) for _ in range(4)]

one_block()
before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
for _ in range(5):
    one_block()
print(resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before)
"""


def pages_asked_for(*words: str) -> int:
    """New pages of memory that five rounds of the same arrays took, as the system counts them."""
    as_a_scheduler_starts_workers = {**os.environ, "MALLOC_TRIM_THRESHOLD_": "65536"}
    done = subprocess.run(
        [sys.executable, "-c", ROUNDS, *words],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        env=as_a_scheduler_starts_workers,
    )
    return int(done.stdout)


@pytest.mark.skipif(
    not sys.platform.startswith("linux") or platform.libc_ver()[0] != "glibc",
    reason="a switch of the GNU C library",
)
def test_a_block_uses_the_memory_of_the_last() -> None:
    """Five rounds of 32 MiB take hardly a page; without the switch they take nearly all anew."""
    assert pages_asked_for() > 5000
    assert pages_asked_for("keep") < 500
