"""The reference cases of ``tests/reference/*.toml``: read, worked with our own functions, compared.

A case: ``name``, ``kind`` (published, independent, hand, pinned), ``source``, optional ``page``,
``function`` ("module:name"; modules under ``stillwet`` or the test-side ``reference.chains*``),
``inputs`` (numbers in SI, or text with a unit such as "25 C"), ``expected`` (likewise; a list for
several), ``rel`` and/or ``abs`` tolerance in SI, optional ``pick`` (key, attribute or index of the
result), optional ``note``.
"""

from __future__ import annotations

import importlib
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.units import UNITS, to_si

HERE = Path(__file__).parent
KINDS = {"published", "independent", "hand", "pinned"}

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Case:
    """One outside check, as it stands in its file."""

    topic: str  # the file's stem
    row: Mapping[str, Any]

    @property
    def name(self) -> str:
        """What is checked."""
        return str(self.row["name"])

    @property
    def kind(self) -> str:
        """One of ``KINDS``."""
        return str(self.row["kind"])

    @property
    def source(self) -> str:
        """Whose value it is, with the page or table where there is one."""
        page = self.row.get("page", "")
        return f"{self.row['source']}, {page}" if page else str(self.row["source"])

    def worked(self) -> Array:
        """What our function gives, SI."""
        module, _, name = str(self.row["function"]).partition(":")
        function = getattr(importlib.import_module(module), name)
        result = function(**{key: _si(value) for key, value in self.row["inputs"].items()})
        if "pick" in self.row:
            result = _pick(result, self.row["pick"])
        return np.asarray(result, dtype=float)

    def expected(self) -> Array:
        """What the source gives, SI."""
        return np.asarray(_si(self.row["expected"]), dtype=float)

    def allowed(self) -> Array:
        """How far apart the two may be, SI: ``abs + rel * |expected|``."""
        share = float(self.row.get("rel", 0.0))
        return float(self.row.get("abs", 0.0)) + share * np.abs(self.expected())


def all_cases() -> Iterator[Case]:
    """Every case, topic by topic."""
    for path in sorted(HERE.glob("*.toml")):
        for row in tomllib.loads(path.read_text(encoding="utf-8"))["case"]:
            yield Case(path.stem, row)


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
