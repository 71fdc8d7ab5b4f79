"""Memory that a worker keeps between blocks, where the C library would hand it back each time.

Every block asks for the same arrays anew. Given back and asked for again, each page of them is
cleared and mapped by the system, which took two fifths of a worker's time here; a scheduler's
workers are even started with settings that make the library do so.
"""

from __future__ import annotations

import ctypes
import sys
from functools import lru_cache

_TRIM_THRESHOLD, _TOP_PAD, _MMAP_THRESHOLD = -1, -2, -3  # names of malloc.h of the GNU C library
_LARGEST_KEPT = 32 * 2**20  # the most that the library lets stand for one array
_KEPT = 512 * 2**20  # twice what a block may take


@lru_cache(maxsize=1)
def keep_memory() -> bool:
    """Have this process keep what it frees; False where the C library has no such switch."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        switch = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):  # another C library
        return False
    wanted = {_MMAP_THRESHOLD: _LARGEST_KEPT, _TRIM_THRESHOLD: _KEPT, _TOP_PAD: _LARGEST_KEPT}
    return {switch(name, value) for name, value in wanted.items()} == {1}
