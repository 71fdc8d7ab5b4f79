"""The members of a line's reckoning: what is uncertain about its fuel, flames and wetting."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.lines import Line
from stillwet.engine.members import over_interval

Array = NDArray[np.float64]

# The order is part of the seed's meaning: append, never reorder.
_CAUSES = (
    "extinction_margin",
    "flame_flux",
    "flame_exposure",
    "leaf_extinction",
    "wetted_share",
    "bed_wind",
    "blade_width",
)


@dataclass(frozen=True, eq=False)
class LineMembers:
    """One value a member (M,) of each of a line's own uncertain numbers."""

    extinction_margin: Array
    flame_flux_w_m2: Array
    flame_exposure: Array
    leaf_extinction: Array
    wetted_share: Array
    bed_wind: Array
    blade_width_m: Array


def draw_line_members(line: Line, *, members: int, seed: int) -> LineMembers:
    """Draw by a scrambled Sobol sequence of the line's own, over the intervals of its bases.

    A number that the user gave does not spread. Every line draws alike, so that two lines differ by
    what they are and not by luck.
    """
    from scipy.stats import qmc

    rng = np.random.default_rng([seed, len(_CAUSES)])
    sampler = qmc.Sobol(d=len(_CAUSES), scramble=True, rng=rng)
    uniform = np.asarray(sampler.random_base2(math.ceil(math.log2(members)))[:members])
    model = line.model

    def over(name: str, value: float) -> Array:
        return over_interval(uniform[:, _CAUSES.index(name)], value, line.basis.get(name))

    return LineMembers(
        extinction_margin=over("extinction_margin", model.extinction_margin),
        flame_flux_w_m2=over("flame_flux", model.flame_flux_w_m2),
        flame_exposure=over("flame_exposure", model.flame_exposure),
        leaf_extinction=over("leaf_extinction", model.leaf_extinction),
        wetted_share=over("wetted_share", model.wetted_share),
        bed_wind=over("bed_wind", model.bed_wind),
        blade_width_m=over("blade_width", model.blade_width_m),
    )
