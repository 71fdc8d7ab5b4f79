"""Run a coroutine in a thread of its own.

The browser's library leaves a running loop in the thread of the tests, in which asyncio.run()
refuses to start another: a test that needs a loop runs it here, whatever ran before it.
"""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

Found = TypeVar("Found")


def run_alone(work: Coroutine[Any, Any, Found]) -> Found:
    """What the coroutine returns; what it raises is raised here."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, work).result()
