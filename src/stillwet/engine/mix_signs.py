"""What a good mix shows: on leaves, on a board, in a cylinder and under a spindle; and when."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job
from stillwet.domain.mix_window import LeafCoat, Sign
from stillwet.engine.mix_draws import BAND, Flow, MixDraws, cling_at, flow_at
from stillwet.engine.mixing import MIX_DENSITY_KG_M3, yield_at

Array = NDArray[np.float64]

CYLINDER_M = 0.1  # as high as wide: a cut drinks can or a length of pipe
HYDRATED = 0.95
# Widths of what stands beside a line; the blade is the one that lines are reckoned with.
_LEAVES = (("needles", 0.001), ("small leaves", 0.01))
_GRASS = "grass blades"
_GRASS_M = 0.003  # untested default, 1 to 10 mm, as data/line_practice.toml


def leaves_at(job: Job, draws: MixDraws, ratio: float) -> tuple[LeafCoat, ...]:
    """What needles, blades and leaves keep; the interval is half to twice, as the shape is."""
    from stillwet.physics.cling import LEAF_WATER_KG_M2, leaf_retention

    blade = job.lines[0].model.blade_width_m if job.lines else _GRASS_M
    stress = float(yield_at(draws.mix, np.array([ratio]))[0])
    found = []
    for what, width in sorted([(_GRASS, blade), *_LEAVES], key=lambda pair: pair[1]):
        kept = float(
            leaf_retention(
                yield_pa=stress,
                blade_width_m=width,
                density_kg_m3=MIX_DENSITY_KG_M3,
                safety=job.practice.cling_safety,
            )
        )
        found.append(LeafCoat(what, width, kept, 0.5 * kept, 2.0 * kept, LEAF_WATER_KG_M2))
    return tuple(found)


def hydration_wait_s(draws: MixDraws) -> float:
    """Seconds until a mix in this water has swollen to 95 %."""
    from stillwet.physics.rheology import hydration_wait

    curve = draws.mix.curve
    return float(
        hydration_wait(
            share=HYDRATED,
            temperature_k=curve["temperature_k"],
            hydration_time_s=curve["hydration_time_s"],
        )
    )


def signs_at(draws: MixDraws, ratio: float) -> tuple[Sign, ...]:
    """What field tests of a finished mix at this ratio should show, middle and 90 % range."""
    at = np.array([ratio])
    middle, members = flow_at(draws.middle, at), flow_at(draws.members, at)
    coats = cling_at(draws.members, 90.0, at, draws.adhesion_pa)[0]
    return (
        _sign("thickest coat that stands on an upright board", np.median(coats), coats, "kg/m2"),
        _sign(
            "slump of a cylinder 4 in (10 cm) high and wide", _slump(middle), _slump(members), "m"
        ),
        _sign("viscosity at 60 rpm", _viscosity(middle), _viscosity(members), "Pa s"),
    )


def _slump(flow: Flow) -> Array:
    from stillwet.physics.funnel import slump_pashias

    return np.asarray(
        slump_pashias(yield_pa=flow.yield_pa, density_kg_m3=MIX_DENSITY_KG_M3, height_m=CYLINDER_M)
    )


def _viscosity(flow: Flow) -> Array:
    from stillwet.physics.funnel import spindle_viscosity

    return np.asarray(
        spindle_viscosity(
            yield_pa=flow.yield_pa, consistency_pa_s=flow.consistency_pa_s, index=flow.index
        )
    )


def _sign(test: str, middle: Array | np.floating, members: Array, unit: str) -> Sign:
    low, high = (float(np.quantile(members, share)) for share in BAND)
    return Sign(test, float(np.ravel(middle)[0]), low, high, unit)
