"""Every answer of physics is the one that was kept: nothing changes unseen."""

from __future__ import annotations

import pytest

from contract.test_physics_checked import public_functions
from kept.keeping import assert_kept, load
from kept.physics import GROUPS

ANSWERS = [(group, name) for group, answers in GROUPS.items() for name in answers]


@pytest.mark.parametrize(("group", "name"), ANSWERS, ids=[".".join(each) for each in ANSWERS])
def test_answer(group: str, name: str) -> None:
    """As it was kept, within a millionth."""
    assert_kept("physics", group, name, GROUPS[group][name]())


def test_every_public_function_is_asked() -> None:
    """By its own name, in the group of its own module."""
    there = {(module.rpartition(".")[2], name) for module, name in public_functions()}
    assert there - set(ANSWERS) == set()


def test_nothing_is_kept_that_nobody_asks() -> None:
    """No answer stays in the files once its function is gone."""
    assert {(group, name) for group in GROUPS for name in load("physics", group)} == set(ANSWERS)
