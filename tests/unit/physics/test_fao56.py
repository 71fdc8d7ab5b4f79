"""The day's length and the sun outside the air, for one day and for many."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from stillwet.physics.fao56 import daylight_hours_fao56, extraterrestrial_radiation_fao56


def test_many_days_give_what_each_gives_alone() -> None:
    """Arrays in, arrays out; FAO-56 examples 8 and 9: 3 September at 20 S, 32.2 MJ/m2d, 11.7 h."""
    days = np.array([15, 246, 350])
    sun: Any = extraterrestrial_radiation_fao56(latitude_deg=-20.0, day_of_year=days)
    hours: Any = daylight_hours_fao56(latitude_deg=-20.0, day_of_year=days)
    for index, day in enumerate(days):
        alone = extraterrestrial_radiation_fao56(latitude_deg=-20.0, day_of_year=int(day))
        assert isinstance(alone, float)
        assert sun[index] == pytest.approx(alone)
        assert hours[index] == pytest.approx(
            daylight_hours_fao56(latitude_deg=-20.0, day_of_year=int(day))
        )
    assert sun[1] * 86400.0 / 1e6 == pytest.approx(32.2, abs=0.05)
    assert hours[1] == pytest.approx(11.7, abs=0.05)
