"""Halving: roots known in closed form, arrays element by element, and what is never reached."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.physics.roots import rising_root


def test_roots_known_in_closed_form() -> None:
    """A cube's is numpy's cube root, over many sizes, from any low end under them."""
    target = np.array([1e-6, 0.3, 8.0, 1e12])
    for low in (1e-9, 1e-3):
        found = rising_root(function=lambda x: x**3, target=target, low=low)
        np.testing.assert_allclose(found, np.cbrt(target), rtol=1e-13)
    assert rising_root(function=np.exp, target=np.e, low=0.5) == pytest.approx(1.0, rel=1e-14)


def test_a_scalar_gives_a_scalar_and_arrays_broadcast() -> None:
    """Targets in rows, low ends in columns."""
    assert np.ndim(rising_root(function=lambda x: x, target=3.0, low=1.0)) == 0
    found = rising_root(function=lambda x: x, target=np.full((2, 1), 6.0), low=np.array([1.0, 5.0]))
    assert np.shape(found) == (2, 2)
    np.testing.assert_allclose(found, 6.0, rtol=1e-14)


def test_what_is_never_reached_is_infinite_and_leaves_the_others_alone() -> None:
    """A function that levels off at one."""
    found = rising_root(
        function=lambda x: np.asarray(x) / (1.0 + np.asarray(x)),
        target=np.array([0.5, 1.5, 0.9]),
        low=1e-3,
    )
    assert np.asarray(found) == pytest.approx(np.array([1.0, np.inf, 9.0]), rel=1e-12)


def test_the_low_end_itself_may_be_the_answer() -> None:
    """A target that is met there is found there."""
    assert rising_root(function=lambda x: x, target=2.0, low=2.0) == pytest.approx(2.0, rel=1e-14)
