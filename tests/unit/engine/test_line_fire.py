"""Flames over a strip: how the wind leans them, whichever way the line runs."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.engine.line_fire import _lean


@pytest.mark.parametrize("towards_deg", [0.0, 90.0, 155.0, 270.0])
@pytest.mark.parametrize("turned", [0.0, 60.0, -60.0, 90.0, 180.0])
def test_wind_leans_flames_by_its_share_across_the_strip(towards_deg: float, turned: float) -> None:
    """Straight over it all of the wind, at 60 degrees half, along it or away from it none; a fire
    that is lit stands on the other side.
    """
    share = {0.0: 1.0, 60.0: 0.5, 90.0: 0.0, 180.0: 0.0}[abs(turned)]
    blown = np.array([[towards_deg + turned]])
    assert _lean(blown, towards_deg, is_lit=False) == pytest.approx(np.array([[share]]), abs=1e-9)
    lit = _lean(blown + 180.0, towards_deg, is_lit=True)
    assert lit == pytest.approx(np.array([[share]]), abs=1e-9)
