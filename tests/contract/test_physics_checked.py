"""Every public function of physics is worked by an outside case, which is not our own answer."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

import stillwet.physics
from reference.cases import all_cases


def public_functions() -> set[tuple[str, str]]:
    """Module and name of each."""
    found: set[tuple[str, str]] = set()
    for module in pkgutil.iter_modules(stillwet.physics.__path__):
        loaded = importlib.import_module(f"stillwet.physics.{module.name}")
        found |= {
            (loaded.__name__, name)
            for name, value in vars(loaded).items()
            if inspect.isfunction(value)
            and value.__module__ == loaded.__name__
            and not name.startswith("_")
        }
    return found


def forget() -> None:
    """Empty every cache of physics, so that work done by an earlier test is done again."""
    for module in pkgutil.iter_modules(stillwet.physics.__path__):
        for value in vars(importlib.import_module(f"stillwet.physics.{module.name}")).values():
            if hasattr(value, "cache_clear"):
                value.cache_clear()


def reached_by(work: Callable[[], Any]) -> set[tuple[str, str]]:
    """The functions of physics that a piece of work enters."""
    seen: set[tuple[str, str]] = set()

    def note(frame: FrameType, event: str, argument: object) -> None:
        if event == "call":
            module = frame.f_globals.get("__name__", "")
            if module.startswith("stillwet.physics."):
                seen.add((module, frame.f_code.co_name))

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        work()
    finally:
        sys.setprofile(before)
    return seen


def test_every_public_function_has_an_outside_case() -> None:
    """Worked by a case that is published, independent or by hand; a pinned one does not count."""
    forget()
    reached: set[tuple[str, str]] = set()
    for case in all_cases():
        if case.kind != "pinned":
            reached |= reached_by(case.worked)
    missing = sorted(f"{m.rpartition('.')[2]}.{n}" for m, n in public_functions() - reached)
    assert missing == []
