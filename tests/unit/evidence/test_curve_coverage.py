"""The fit's 90 % bands hold the truth about nine times in ten."""

from __future__ import annotations

import pytest
from scipy.stats import binom

from stillwet.physics.product_types import product_type_names
from trial_coverage import held_for


def test_bands_hold_the_truth_on_forty_products() -> None:
    """Of 40 made-up products, ten a type, as many lie in their bands as chance at 90 % allows."""
    names = product_type_names()
    found = [held_for(names[seed % len(names)], seed) for seed in range(40)]
    least = int(binom.ppf(0.001, 40, 0.9))
    assert sum(one.stress for one in found) >= least
    assert sum(one.ratio for one in found) >= least
    assert sum(one.is_sound for one in found) >= 38


@pytest.mark.slow
@pytest.mark.parametrize("name", product_type_names())
def test_bands_hold_the_truth_in_85_to_95_of_100(name: str) -> None:
    """Over 500 made-up products of a type, 85 to 95 % of the truths lie in the 90 % bands."""
    found = [held_for(name, seed) for seed in range(500)]
    shares = {
        "yield stress": sum(one.stress for one in found) / len(found),
        "lowest ratio": sum(one.ratio for one in found) / len(found),
    }
    print(name, shares, sum(one.is_sound for one in found))
    assert all(0.85 <= share <= 0.95 for share in shares.values()), shares
