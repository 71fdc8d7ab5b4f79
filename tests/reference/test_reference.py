"""Every reference case in ``tests/reference/*.toml`` holds: one test, kinds and sources named.

A case: ``name``, ``kind`` (published, independent, hand, pinned), ``source``, optional ``page``,
``function`` ("module:name"; modules under ``stillwet`` or the test-side ``reference.chains*``),
``inputs`` (numbers in SI, or text with a unit such as "25 C"), ``expected`` (likewise; a list for
several), ``rel`` and/or ``abs`` tolerance in SI, optional ``pick`` (key, attribute or index of the
result), optional ``note``.
"""

from __future__ import annotations

import importlib
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from stillwet.units import UNITS, to_si

HERE = Path(__file__).parent
KINDS = {"published", "independent", "hand", "pinned"}


def _load() -> list[Any]:
    return [
        pytest.param(case, id=f"{path.stem}: {case['name']}")
        for path in sorted(HERE.glob("*.toml"))
        for case in tomllib.loads(path.read_text(encoding="utf-8"))["case"]
    ]


def _si(value: Any) -> Any:
    if isinstance(value, list):
        return np.array([_si(item) for item in value]) if value else value
    if isinstance(value, str):
        number, _, unit = value.strip().partition(" ")
        key = unit.lower().replace(" ", "")
        if key in UNITS:
            return to_si(float(number), unit, dimension=UNITS[key].dimension)
    return value


def _pick(result: Any, key: Any) -> Any:
    if isinstance(key, int):
        return result[key]
    return result[key] if isinstance(result, dict) else getattr(result, key)


@pytest.mark.parametrize("case", _load())
def test_reference_case(case: dict[str, Any]) -> None:
    """The named function gives the value its outside source gives, within the stated tolerance."""
    assert case["kind"] in KINDS
    assert case["source"].strip()
    assert "rel" in case or "abs" in case
    module, _, name = case["function"].partition(":")
    function = getattr(importlib.import_module(module), name)
    result = function(**{key: _si(value) for key, value in case["inputs"].items()})
    if "pick" in case:
        result = _pick(result, case["pick"])
    np.testing.assert_allclose(
        np.asarray(result, dtype=float),
        np.asarray(_si(case["expected"]), dtype=float),
        rtol=case.get("rel", 0.0),
        atol=case.get("abs", 0.0),
        err_msg=f"{case['source']} {case.get('page', '')}",
    )
