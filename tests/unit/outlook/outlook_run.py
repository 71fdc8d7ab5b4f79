"""What a run of ``stillwet outlook`` gives back; the fixture that runs it is in conftest."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple


class Done(NamedTuple):
    """How a command ended and what it said."""

    exit_code: int
    output: str


Run = Callable[..., Done]
