"""Physics does not notice which base units it is reckoned in, but where a fit says it must."""

from __future__ import annotations

import importlib
import tomllib
import warnings
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from contract.test_physics_checked import forget, public_functions
from dimensions import Scale, arguments_seen, rescaled, scaled_constants, unit_of_answer
from reference.cases import all_cases

TABLE = tomllib.loads((Path(__file__).parent / "dimensions.toml").read_text(encoding="utf-8"))
ROUNDS = 4


@cache
def _seen() -> dict[tuple[str, str], dict[str, Any]]:
    forget()
    return arguments_seen(lambda: [case.worked() for case in all_cases()], public_functions())


def _agrees(name: str, seed: int) -> bool:
    """Whether the answer in new units is the answer rescaled, arguments as a case has them."""
    module, _, short = name.partition(".")
    key = (f"stillwet.physics.{module}", short)
    function = getattr(importlib.import_module(key[0]), short)
    unit = TABLE["answers"].get(name, unit_of_answer(function))
    assert unit is not None, f"{name}: no unit in its docstring, none in dimensions.toml"
    random = np.random.default_rng(seed)
    factors = np.exp(random.uniform(-0.05, 0.05, 4))
    scale = Scale((factors[0], factors[1], factors[2], factors[3]))
    arguments = _seen()[key]
    before = np.asarray(function(**arguments), dtype=float)
    with scaled_constants(scale):
        after = np.asarray(function(**rescaled(arguments, scale)), dtype=float)
    return np.allclose(after, before * scale.of(unit), rtol=1e-9, atol=1e-10, equal_nan=True)


def test_every_function_is_in_one_class() -> None:
    """No function of physics is left out of the table, none stands twice."""
    listed = [name for group in ("homogeneous", "fitted", "records") for name in TABLE[group]]
    there = sorted(f"{m.rpartition('.')[2]}.{n}" for m, n in public_functions())
    assert sorted(listed) == there


@pytest.mark.parametrize("name", TABLE["homogeneous"])
def test_any_base_units_do(name: str) -> None:
    """Mass, length, time and temperature rescaled at random: the answer is rescaled with them."""
    assert all(_agrees(name, seed) for seed in range(ROUNDS))


@pytest.mark.parametrize("name", TABLE["fitted"])
def test_fits_hold_in_their_own_units_only(name: str) -> None:
    """A function classed as fitted does notice: else it belongs among the others."""

    def notices(seed: int) -> bool:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", RuntimeWarning)
                return not _agrees(name, seed)
        except Exception:  # out of its range in other units: that is noticing too
            return True

    assert any(notices(seed) for seed in range(ROUNDS))
