"""Reads the data tables that ship inside the package (TOML), once each."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any


@cache
def load_table(name: str) -> dict[str, Any]:
    """The packaged table ``data/<name>.toml`` as plain dictionaries; treat it as read-only."""
    text = resources.files("stillwet").joinpath("data", f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
