"""Drying of a strip between blade widths: read off in the logarithm, each member at its own."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np
import pytest

from line_fixture import make_fuel, make_segment
from stillwet.engine.line_drying import _to_width
from stillwet.engine.line_fire import midflame_factor
from stillwet.engine.line_members import LineMembers


def _draws(widths: Any) -> LineMembers:
    ones = {item.name: np.ones(len(widths)) for item in fields(LineMembers)}
    return LineMembers(**(ones | {"blade_width_m": np.asarray(widths)}))


def test_each_member_is_read_at_its_own_width() -> None:
    """What falls evenly with the logarithm of the width is met at the nodes and between them."""
    nodes = np.array([0.001, 0.003, 0.010])
    own = np.array([0.001, 0.0017, 0.003, 0.0055, 0.010])
    hours = np.array([1.0, 2.0])[:, None]
    values = np.stack([hours * (3.0 - np.log(node)) * np.ones((2, own.size)) for node in nodes])
    found = _to_width(nodes, values, _draws(own))
    np.testing.assert_allclose(found, hours * (3.0 - np.log(own)), rtol=1e-12)


def test_a_bend_at_the_middle_width_is_kept() -> None:
    """Wider than the middle node the middle and the widest count, not the narrowest."""
    nodes = np.array([0.001, 0.003, 0.010])
    own = np.array([0.001, 0.003, 0.010])
    values = np.array([5.0, 1.0, 4.0])[:, None, None] * np.ones((3, 1, 3))
    assert _to_width(nodes, values, _draws(own))[0] == pytest.approx([5.0, 1.0, 4.0])
    assert _to_width(nodes[:1], values[:1], _draws(own))[0] == pytest.approx([5.0, 5.0, 5.0])


def test_wind_at_midflame_is_the_handbooks_share_of_that_at_ten_metres() -> None:
    """Fuel 1 ft deep in the open: 0.362 of the 20-ft wind (Andrews 2012, from memory), which is
    1/1.15 of that at 10 m (Turner & Lawson 1978); GR2 is 1 ft deep (Scott & Burgan 2005).
    """
    assert midflame_factor(make_segment(fuel=make_fuel("GR2"))) == pytest.approx(
        0.362 / 1.15, rel=0.01
    )
