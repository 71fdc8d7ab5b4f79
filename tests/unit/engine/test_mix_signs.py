"""What a good mix shows: by hand from published tests, and the way a richer mix moves them."""

from __future__ import annotations

import numpy as np
import pytest

from job_fixture import make_job
from line_fixture import make_line, make_line_job, make_model
from stillwet.domain.job import Job
from stillwet.domain.products import WaterPoint
from stillwet.engine.mix_draws import draw_mix, ratio_at
from stillwet.engine.mix_signs import hydration_wait_s, leaves_at, signs_at


def _job(temperature_k: float = 294.15) -> Job:
    return make_job(
        water_points=(WaterPoint("w1", "Invented pond", 100.0, 0.0, 0.01, 0.05, temperature_k),)
    )


@pytest.mark.parametrize(
    ("yield_pa", "slump_mm"), [(24.52, 80.02), (49.03, 66.97), (98.07, 47.81), (490.3, 0.0)]
)
def test_a_cylinder_slumps_by_the_published_curve(yield_pa: float, slump_mm: float) -> None:
    """10 cm of water weigh 980.7 Pa, so these are 1/40, 1/20, 1/10 and 1/2 of it: of its height
    1 - 2t (1 - ln 2t) is lost (Pashias et al. 1996, Journal of Rheology 40:1179): for t = 1/10
    1 - 0.2 x 2.6094 = 0.4781, for 1/2 nothing.
    """
    draws = draw_mix(_job())
    ratio = float(ratio_at(draws.middle, np.array([yield_pa]))[0])
    _, slump, _ = signs_at(draws, ratio)
    assert 1000.0 * slump.middle == pytest.approx(slump_mm, abs=0.02)


def test_a_richer_mix_slumps_less_and_reads_thicker() -> None:
    """Each test tells a lean mix from a rich one, middle inside its range."""
    draws = draw_mix(_job())
    lean, rich = signs_at(draws, 0.008), signs_at(draws, 0.014)
    board, slump, viscosity = zip(lean, rich, strict=True)
    assert board[0].middle < board[1].middle
    assert slump[0].middle > slump[1].middle
    assert viscosity[0].middle < viscosity[1].middle
    for sign in (*lean, *rich):
        assert sign.low <= sign.middle <= sign.high
    assert [sign.unit for sign in lean] == ["kg/m2", "m", "Pa s"]


def test_leaves_keep_more_gel_than_water_and_narrow_ones_a_bead() -> None:
    """At 1 % every leaf keeps more than water's 0.2 mm; a needle no more than its bead, 1 mm for
    1 mm of width; thin gel leaves what water leaves.
    """
    job = _job()
    leaves = leaves_at(job, draw_mix(job), 0.01)
    assert [leaf.width_m for leaf in leaves] == sorted(leaf.width_m for leaf in leaves)
    # common practice, no source: needles are a millimetre or two wide,
    assert leaves[0].width_m >= 0.0005
    assert leaves[-1].width_m <= 0.03  # and what is called a small leaf no wider than a thumb
    assert all(leaf.coat_kg_m2 > leaf.water_kg_m2 for leaf in leaves)
    for leaf in leaves:
        assert (leaf.low_kg_m2, leaf.high_kg_m2) == (leaf.coat_kg_m2 / 2, leaf.coat_kg_m2 * 2)
    assert leaves[0].coat_kg_m2 == pytest.approx(1000.0 * leaves[0].width_m)
    thin = leaves_at(job, draw_mix(job), 0.001)
    assert all(leaf.coat_kg_m2 == leaf.water_kg_m2 for leaf in thin)


def test_cold_water_takes_longer_to_thicken() -> None:
    """A dispersion at 21 C: 3 time constants of a minute; at 5 C some 1.6 times that."""
    warm = hydration_wait_s(draw_mix(_job()))
    cold = hydration_wait_s(draw_mix(_job(278.15)))
    assert warm == pytest.approx(3.0 * 60.0, rel=0.01)
    assert 1.4 < cold / warm < 1.9


def test_the_blade_is_the_one_that_the_jobs_lines_are_reckoned_with() -> None:
    """A line told of blades 7 mm wide: they stand there; without a line those of 3 mm."""
    lined = make_line_job(make_line(model=make_model(blade_width_m=0.007)))
    for job, width_m in ((lined, 0.007), (_job(), 0.003)):
        leaves = leaves_at(job, draw_mix(job), 0.01)
        assert [one.width_m for one in leaves if one.what == "grass blades"] == [width_m]
