"""Whole answers of the engine are what they were: nothing changes unseen.

They say nothing of being right, which other tests do. Meant so? See ``kept.keep``.
"""

from __future__ import annotations

import pytest

from kept.engine import GROUPS
from kept.keeping import assert_kept, load

CASES = [(group, name) for group, answers in GROUPS.items() for name in answers]


@pytest.mark.parametrize(
    ("group", "name"), CASES, ids=[f"{name} in {group}" for group, name in CASES]
)
def test_answer(group: str, name: str) -> None:
    """An answer as it was kept."""
    assert_kept("engine", group, name, GROUPS[group][name]())


def test_nothing_is_kept_that_is_not_asked_for() -> None:
    """An answer that nobody makes any more is not kept."""
    assert {(group, name) for group in GROUPS for name in load("engine", group)} == set(CASES)
