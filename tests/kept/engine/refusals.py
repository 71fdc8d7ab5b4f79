"""What is said where an answer is refused."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from stillwet.errors import Problem, StillwetError


def refusal(ask: Callable[[], object]) -> tuple[Problem, ...]:
    """The problems told of what is asked, which must be refused."""
    with pytest.raises(StillwetError) as caught:
        ask()
    return tuple(caught.value.problems)
