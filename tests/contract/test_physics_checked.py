"""Every public function of physics is worked by an outside case, which is not our own answer."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
import re
import sys
from collections.abc import Callable
from pathlib import Path
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


def called_names() -> set[str]:
    """Every name that the package's code reads, whoever owns it."""
    found: set[str] = set()
    for path in Path(stillwet.physics.__path__[0]).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Name | ast.Attribute):
                found.add(node.id if isinstance(node, ast.Name) else node.attr)
    return found


def test_what_only_tests_call_says_what_for() -> None:
    """A published sibling, an inverse, a step on the way: it names what it stands beside."""
    relation = re.compile(r"(?i)\b(sibling of|inverse of|checks|feeds|beside)\s+`+(\w+)`")
    called, public = called_names(), public_functions()
    names = {name for _, name in public}
    silent = []
    for module, name in sorted(public):
        text = inspect.getdoc(getattr(importlib.import_module(module), name)) or ""
        told = [other for _, other in relation.findall(text)]
        if name not in called and not set(told) & names - {name}:
            silent.append(f"{module.rpartition('.')[2]}.{name}")
    assert silent == []
