"""Answers of physics: each public function over drawn arguments, kernels over short runs; units."""

from __future__ import annotations

from kept.physics import (
    coats,
    doors,
    faces,
    fires,
    fuels,
    pumping,
    spreads,
    sureness,
    weather,
    woods,
)

GROUPS = {
    **weather.GROUPS,
    **faces.GROUPS,
    **coats.GROUPS,
    **fires.GROUPS,
    **fuels.GROUPS,
    **spreads.GROUPS,
    **pumping.GROUPS,
    **sureness.GROUPS,
    **woods.GROUPS,
    **doors.GROUPS,
}
