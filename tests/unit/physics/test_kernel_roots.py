"""The roots that the drying kernel takes by short series, against powers."""

from __future__ import annotations

import numpy as np

from stillwet.physics.wet_face import rough_root_of_rise, twelfth_root, twelfth_root_of_rise


def test_twelfth_roots_are_powers() -> None:
    """Over the whole range that a face's temperature can ask for; the rough one as it says."""
    whole = 10 ** np.linspace(-2.0, np.log10(7000.0), 1500)
    found = np.array([twelfth_root(float(z)) for z in whole])
    np.testing.assert_allclose(found, whole ** (1 / 12), rtol=1e-10)
    for rise in (-80.0, -7.0, -0.2, 0.0, 0.03, 1.0, 12.0, 60.0):
        wanted = (rise * rise + 0.01) ** (1 / 12)
        assert abs(twelfth_root_of_rise(rise) / wanted - 1) < 1e-10
        assert abs(rough_root_of_rise(rise) / wanted - 1) < 2e-3
