"""Convection correlations: limits, siblings, directions."""

from __future__ import annotations

import ht
import numpy as np
import pytest

from stillwet.physics import convection as c

AIR = {"air_temperature_k": 300.0, "vapour_pressure_pa": 1000.0, "pressure_pa": 101325.0}


def test_cylinder_equals_an_independent_library_over_its_range() -> None:
    """Churchill & Bernstein as in ht, from a twig to a tank."""
    for reynolds in np.geomspace(1.0, 3e6, 15):
        ours = c.nusselt_cylinder_churchill_bernstein(reynolds=float(reynolds), prandtl=0.7)
        assert ours == pytest.approx(
            ht.conv_external.Nu_cylinder_Churchill_Bernstein(reynolds, 0.7), rel=1e-9
        )


def test_still_air_plates_and_cylinders_equal_an_independent_library() -> None:
    """Churchill & Chu, plate and cylinder, as in ht."""
    for rayleigh in np.geomspace(1e2, 1e11, 10):
        grashof = rayleigh / 0.71
        assert c.nusselt_vertical_plate_churchill_chu(
            rayleigh=rayleigh, prandtl=0.71
        ) == pytest.approx(
            ht.conv_free_immersed.Nu_vertical_plate_Churchill(0.71, grashof), rel=1e-9
        )
        assert c.nusselt_horizontal_cylinder_churchill_chu(
            rayleigh=rayleigh, prandtl=0.71
        ) == pytest.approx(
            ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(0.71, grashof), rel=1e-9
        )


def test_chooser_gives_the_published_forms() -> None:
    """The common form (base + slope Ra^(1/6))^2 is each geometry's own correlation."""
    ra = 3e8
    pairs = {
        c.WALL: c.nusselt_vertical_plate_churchill_chu(rayleigh=ra, prandtl=c.PRANDTL_AIR),
        c.CYLINDER: c.nusselt_horizontal_cylinder_churchill_chu(rayleigh=ra, prandtl=c.PRANDTL_AIR),
        c.ROOF: c.nusselt_hot_plate_facing_up_mcadams(rayleigh=ra),
    }
    for geometry, expected in pairs.items():
        assert c.nusselt_buoyant_outdoor(geometry=geometry, rayleigh=ra) == pytest.approx(
            expected, rel=1e-9
        )


def test_leaf_is_laminar_and_wall_turbulent() -> None:
    """A 3 mm blade in 3 m/s follows the laminar plate, a 5 m wall the turbulent one."""
    leaf, wall = 3.0 * 0.003 / 1.57e-5, 3.0 * 5.0 / 1.57e-5
    assert c.nusselt_forced_outdoor(geometry=c.BLADE, reynolds=leaf) == pytest.approx(
        c.nusselt_plate_laminar_pohlhausen(reynolds=leaf, prandtl=c.PRANDTL_AIR)
    )
    assert c.nusselt_forced_outdoor(geometry=c.WALL, reynolds=wall) == pytest.approx(
        c.nusselt_plate_turbulent_incropera(reynolds=wall, prandtl=c.PRANDTL_AIR)
    )


def test_outdoor_wall_lies_by_the_building_standard() -> None:
    """A 2.5 m wall follows ISO 6946's outdoor 4 + 4 v within 25 % from 2 to 8 m/s."""
    for speed in (2.0, 4.0, 6.0, 8.0):
        h = c.outdoor_coefficient(
            geometry=c.WALL,
            length_m=2.5,
            wind_m_s=speed,
            surface_temperature_k=295.0,
            **AIR,
        )
        assert h == pytest.approx(4 + 4 * speed, rel=0.25)


def test_blend_is_never_below_either_part_nor_above_their_sum() -> None:
    """Forced and buoyant together lie between the larger and the sum."""
    forced, buoyant = np.geomspace(0.1, 50, 9)[:, None], np.geomspace(0.1, 50, 9)[None, :]
    both = np.asarray(c.blend_churchill(forced=forced, buoyant=buoyant))
    assert (both >= np.maximum(forced, buoyant) * (1 - 1e-12)).all()
    assert (both <= forced + buoyant).all()


@pytest.mark.parametrize("geometry", [c.WALL, c.ROOF, c.CYLINDER, c.BLADE])
def test_more_wind_never_lowers_the_coefficient(geometry: int) -> None:
    """The coefficient rises with wind above the calm floor, for each shape."""
    length = {c.WALL: 2.5, c.ROOF: 4.0, c.CYLINDER: 0.3, c.BLADE: 0.003}[geometry]
    h = c.outdoor_coefficient(
        geometry=geometry,
        length_m=length,
        wind_m_s=np.linspace(0.0, 20.0, 81),
        surface_temperature_k=295.0,
        **AIR,
    )
    assert (np.diff(np.asarray(h)) >= 0).all()


def test_mixed_plate_changes_over_at_the_critical_reynolds_number() -> None:
    """Laminar up to 5e5, mixed beyond: the two published branches meet within 3 % there."""
    below = c.nusselt_plate_mixed_incropera(reynolds=5e5, prandtl=0.71)
    above = c.nusselt_plate_mixed_incropera(reynolds=5.0001e5, prandtl=0.71)
    assert below == pytest.approx(0.664 * 5e5**0.5 * 0.71 ** (1 / 3))
    assert above == pytest.approx(below, rel=0.03)
