"""Cling: what faces, leaves and blades keep."""

from __future__ import annotations

import numpy as np
import pytest

from stillwet.constants import GRAVITY
from stillwet.physics import cling


def limit(yield_pa: float, tilt_deg: float, safety: float = 1.0) -> float:
    """The limit for a mix as dense as water."""
    return float(
        cling.cling_limit(yield_pa=yield_pa, tilt_deg=tilt_deg, density_kg_m3=1000.0, safety=safety)
    )


def test_a_flat_face_keeps_a_puddle_and_no_more() -> None:
    """Facing up nothing slides, so the cap holds, with no yield stress too."""
    assert limit(0.0, 0.0) == pytest.approx(25.0)
    assert limit(50.0, 0.0) == pytest.approx(25.0)


def test_water_does_not_cling() -> None:
    """No yield stress, no coat on a wall."""
    assert limit(0.0, 90.0) == 0.0


def test_safety_divides_the_standing_coat() -> None:
    """A safety of 2 halves what a wall is counted on to keep."""
    assert limit(30.0, 90.0, 2.0) == pytest.approx(limit(30.0, 90.0) / 2.0)


def test_cling_has_a_best_mix() -> None:
    """Stiffer clings more up to the wetting stress, and less beyond: too rich falls off."""
    stresses = np.linspace(10.0, 600.0, 60)
    kept = np.array([limit(float(stress), 90.0) for stress in stresses])
    best = stresses[int(np.argmax(kept))]
    assert best == pytest.approx(cling.ADHESION_STRESS_PA, abs=10.0)
    assert kept[-1] < 0.6 * kept.max()


def test_contact_alone_gives_a_plateau() -> None:
    """With exponent 1 (contact area as 1/tau_y) a stiffer mix holds no more and no less."""
    held = cling.clinging_stress(yield_pa=np.array([150.0, 300.0, 900.0]), adhesion_exponent=1.0)
    np.testing.assert_allclose(held, 150.0)


@pytest.mark.parametrize("tilt_deg", [5.0, 30.0, 45.0, 90.0])
def test_yield_needed_inverts_the_limit(tilt_deg: float) -> None:
    """The mix that is asked for keeps the coat exactly."""
    needed = cling.yield_needed(coat_kg_m2=4.0, tilt_deg=tilt_deg, density_kg_m3=1000.0, safety=1.5)
    assert limit(float(needed), tilt_deg, 1.5) == pytest.approx(4.0, rel=1e-12)


def test_no_mix_keeps_an_impossible_coat() -> None:
    """Too thick for any mix that still wets the wall, or deeper than a puddle: infinite."""
    wall = cling.yield_needed(coat_kg_m2=20.0, tilt_deg=90.0, density_kg_m3=1000.0, safety=1.0)
    flat = cling.yield_needed(coat_kg_m2=30.0, tilt_deg=0.0, density_kg_m3=1000.0, safety=1.0)
    assert np.isposinf(wall)
    assert np.isposinf(flat)


def test_a_soffit_is_no_easier_than_a_wall() -> None:
    """Overhangs get the wall's limit, never more."""
    assert limit(40.0, 135.0) == limit(40.0, 90.0)


def test_a_thin_blade_keeps_a_bead_and_water_is_the_floor() -> None:
    """A 3 mm blade keeps at most its bead on both sides; thin mixes keep what water would."""
    stiff = cling.leaf_retention(yield_pa=200.0, blade_width_m=0.003, density_kg_m3=1000.0)
    thin = cling.leaf_retention(yield_pa=0.0, blade_width_m=0.003, density_kg_m3=1000.0)
    assert stiff == pytest.approx(3.0)
    assert thin == cling.LEAF_WATER_KG_M2


def test_spherical_leaves_average_to_half_pi() -> None:
    """Mean of 1/sin over leaves pointing all ways, done numerically, is the pi/2 used."""
    angle = (np.arange(20000) + 0.5) / 20000 * np.pi / 2.0
    kept = 10.0 / GRAVITY / np.sin(angle)
    weights = np.sin(angle)
    mean = float(np.average(kept, weights=weights))
    one_side = 0.5 * float(
        cling.leaf_retention(yield_pa=10.0, blade_width_m=0.05, density_kg_m3=1000.0, safety=1.0)
    )
    assert one_side == pytest.approx(mean, rel=1e-4)


def test_foliage_adds_up_over_its_leaves() -> None:
    """A leaf area index of 2 half reached keeps what one leaf area keeps."""
    assert cling.foliage_retention(
        leaf_area_index=2.0, wetted_share=0.5, leaf_retention_kg_m2=1.3
    ) == pytest.approx(1.3)


@pytest.mark.parametrize("coat", [0.5, 3.0, 8.0])
def test_the_stiffest_mix_that_keeps_a_coat_is_on_the_falling_branch(coat: float) -> None:
    """At the yield stress told the cling limit is the coat; a little stiffer and it is less."""
    most = float(np.asarray(cling.yield_most(coat_kg_m2=coat, tilt_deg=70.0, safety=1.5)))
    assert most > cling.ADHESION_STRESS_PA
    kept, less = (
        float(
            np.asarray(
                cling.cling_limit(
                    yield_pa=share * most, tilt_deg=70.0, density_kg_m3=1000.0, safety=1.5
                )
            )
        )
        for share in (1.0, 1.05)
    )
    assert kept == pytest.approx(coat)
    assert less < coat


def test_no_mix_keeps_a_coat_that_asks_for_more_than_adhesion() -> None:
    """20 mm on a wall pulls 196 Pa, above the 150 Pa of adhesion; a level face keeps it."""
    assert cling.yield_most(coat_kg_m2=20.0, tilt_deg=90.0, safety=1.0) == 0.0
    assert np.isinf(cling.yield_most(coat_kg_m2=20.0, tilt_deg=0.0, safety=1.0))
