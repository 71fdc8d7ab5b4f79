"""Pipe flow: limits, siblings and inverses."""

from __future__ import annotations

import fluids
import numpy as np
import pytest

from stillwet.physics import friction, pipeflow
from stillwet.physics.pipeflow import velocity_turbulent_wilson_thomas
from stillwet.physics.roots import rising_root

GEL = {"yield_pa": 40.0, "consistency_pa_s": 12.0, "index": 0.4, "density_kg_m3": 1000.0}
HOSE = {"diameter_m": 0.0381, "length_m": 60.0}


def test_newtonian_limit_is_hagen_poiseuille() -> None:
    """No yield stress and n = 1: V = D tau_w/(8 mu)."""
    velocity = pipeflow.velocity_laminar_herschel_bulkley(
        wall_stress_pa=0.4, yield_pa=0.0, consistency_pa_s=0.01, index=1.0, diameter_m=0.02
    )
    assert velocity == pytest.approx(0.02 * 0.4 / (8.0 * 0.01), rel=1e-12)


def test_unit_index_is_buckingham_reiner() -> None:
    """The closed form with n = 1 is the Bingham formula, from no flow to far above yield."""
    stress = np.array([4.0, 5.0, 5.1, 8.0, 60.0])
    general = pipeflow.velocity_laminar_herschel_bulkley(
        wall_stress_pa=stress, yield_pa=5.0, consistency_pa_s=0.02, index=1.0, diameter_m=0.03
    )
    bingham = pipeflow.velocity_buckingham_reiner(
        wall_stress_pa=stress, yield_pa=5.0, plastic_viscosity_pa_s=0.02, diameter_m=0.03
    )
    np.testing.assert_allclose(general, bingham, rtol=1e-9, atol=1e-12)


def test_laminar_power_law_is_16_over_metzner_reed() -> None:
    """The generalised Reynolds number makes the laminar Fanning factor 16/Re for any n."""
    index = np.array([0.3, 0.6, 1.0, 1.2])
    stress = 20.0
    velocity = pipeflow.velocity_laminar_herschel_bulkley(
        wall_stress_pa=stress, yield_pa=0.0, consistency_pa_s=2.0, index=index, diameter_m=0.04
    )
    reynolds = pipeflow.reynolds_metzner_reed(
        velocity_m_s=velocity,
        diameter_m=0.04,
        density_kg_m3=1050.0,
        consistency_pa_s=2.0,
        index=index,
    )
    fanning = pipeflow.fanning_of_wall_stress(
        wall_stress_pa=stress, velocity_m_s=velocity, density_kg_m3=1050.0
    )
    np.testing.assert_allclose(np.asarray(fanning) * reynolds, 16.0, rtol=1e-12)


@pytest.mark.parametrize("reynolds", [5e3, 5e4, 1e6])
@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-2])
def test_turbulent_newtonian_limit_is_colebrook(reynolds: float, roughness: float) -> None:
    """Wilson-Thomas with n = 1 and no yield stress has no thicker layer: Colebrook exactly."""
    factor = float(fluids.friction_factor(Re=reynolds, eD=roughness, Method="Colebrook"))
    velocity, diameter, density = 2.0, 0.05, 998.0
    viscosity = density * velocity * diameter / reynolds
    found = pipeflow.velocity_turbulent_wilson_thomas(
        wall_stress_pa=factor / 8.0 * density * velocity**2,
        yield_pa=0.0,
        consistency_pa_s=viscosity,
        index=1.0,
        diameter_m=diameter,
        density_kg_m3=density,
        roughness_m=roughness * diameter,
    )
    assert found == pytest.approx(velocity, rel=1e-6)


@pytest.mark.parametrize(("index", "consistency"), [(0.5, 0.3), (0.7, 0.05), (0.9, 0.005)])
def test_turbulent_siblings_agree_on_power_laws(index: float, consistency: float) -> None:
    """Wilson-Thomas and Dodge-Metzner, fitted by different hands, within 20 %."""
    stress = 80.0
    velocity = pipeflow.velocity_turbulent_wilson_thomas(
        wall_stress_pa=stress,
        yield_pa=0.0,
        consistency_pa_s=consistency,
        index=index,
        diameter_m=0.05,
        density_kg_m3=1000.0,
    )
    reynolds = pipeflow.reynolds_metzner_reed(
        velocity_m_s=velocity,
        diameter_m=0.05,
        density_kg_m3=1000.0,
        consistency_pa_s=consistency,
        index=index,
    )
    wilson = pipeflow.fanning_of_wall_stress(
        wall_stress_pa=stress, velocity_m_s=velocity, density_kg_m3=1000.0
    )
    dodge = pipeflow.fanning_dodge_metzner(reynolds=reynolds, index=index)
    assert float(wilson) == pytest.approx(float(dodge), rel=0.2)


def test_turbulent_siblings_agree_on_bingham() -> None:
    """Wilson-Thomas and Darby-Melson within 25 % where the yield stress is a small part."""
    yield_pa, viscosity, diameter = 5.0, 0.008, 0.06
    for stress in (25.0, 60.0, 150.0):
        velocity = float(
            pipeflow.velocity_turbulent_wilson_thomas(
                wall_stress_pa=stress,
                yield_pa=yield_pa,
                consistency_pa_s=viscosity,
                index=1.0,
                diameter_m=diameter,
                density_kg_m3=1000.0,
            )
        )
        wilson = 2.0 * stress / (1000.0 * velocity**2)
        darby = pipeflow.fanning_darby_melson(
            reynolds=1000.0 * velocity * diameter / viscosity,
            hedstrom=1000.0 * yield_pa * diameter**2 / viscosity**2,
        )
        assert wilson == pytest.approx(float(darby), rel=0.25)


def test_dodge_metzner_meets_blasius_for_water() -> None:
    """With n = 1 the factor is Blasius' 0.0791 Re^-0.25 within 3 %."""
    reynolds = np.array([5e3, 2e4, 9e4])
    np.testing.assert_allclose(
        pipeflow.fanning_dodge_metzner(reynolds=reynolds, index=1.0),
        0.0791 * reynolds**-0.25,
        rtol=0.03,
    )


def test_pressure_drop_and_flow_are_inverses() -> None:
    """From creeping to turbulent the two directions agree, away from the jump at transition."""
    flow = np.geomspace(1e-5, 0.05, 40)
    drop = pipeflow.pressure_drop_herschel_bulkley(flow_m3_s=flow, **GEL, **HOSE)
    back = pipeflow.flow_herschel_bulkley(pressure_drop_pa=drop, **GEL, **HOSE)
    np.testing.assert_allclose(back, flow, rtol=1e-9)


def test_pressure_to_start_is_what_the_yield_stress_holds() -> None:
    """4 tau_y L/D at no flow, and no flow just below it."""
    start = float(pipeflow.pressure_drop_herschel_bulkley(flow_m3_s=0.0, **GEL, **HOSE))
    assert start == pytest.approx(4.0 * 40.0 * 60.0 / 0.0381)
    assert pipeflow.flow_herschel_bulkley(pressure_drop_pa=0.999 * start, **GEL, **HOSE) == 0.0
    assert pipeflow.flow_herschel_bulkley(pressure_drop_pa=1.01 * start, **GEL, **HOSE) > 0.0


def test_water_in_a_pipe_is_the_newtonian_chooser() -> None:
    """Laminar and turbulent water give Darcy-Weisbach with 64/Re or Colebrook."""
    for flow in (2e-5, 1e-3, 6e-3):
        bore = 0.25 * np.pi * 0.0381**2
        reynolds = friction.reynolds_pipe(
            velocity_m_s=flow / bore, diameter_m=0.0381, density_kg_m3=998.2, viscosity_pa_s=1e-3
        )
        darcy = friction.pressure_drop_darcy(
            friction_factor=friction.friction_factor_newtonian(
                reynolds=reynolds, relative_roughness=0.0
            ),
            length_m=60.0,
            diameter_m=0.0381,
            density_kg_m3=998.2,
            velocity_m_s=flow / bore,
        )
        drop = pipeflow.pressure_drop_herschel_bulkley(
            flow_m3_s=flow,
            yield_pa=0.0,
            consistency_pa_s=1e-3,
            index=1.0,
            density_kg_m3=998.2,
            **HOSE,
        )
        assert float(drop) == pytest.approx(float(darcy), rel=1e-9)


def test_wall_stress_balances_the_pressure() -> None:
    """Force balance on a plug of pipe: 64 kPa over 16 m of 40 mm bore is 40 Pa at the wall."""
    stress = pipeflow.wall_stress(pressure_drop_pa=64e3, diameter_m=0.04, length_m=16.0)
    assert stress == pytest.approx(40.0)


def test_friction_siblings_agree_with_colebrook() -> None:
    """Haaland, Swamee-Jain and Churchill stay within 3 % of Colebrook over their ranges."""
    reynolds, roughness = np.meshgrid([1e4, 1e5, 1e6], [1e-5, 1e-4, 1e-3])
    true = friction.friction_factor_colebrook(reynolds=reynolds, relative_roughness=roughness)
    for sibling in (
        friction.friction_factor_haaland,
        friction.friction_factor_swamee_jain,
        friction.friction_factor_churchill,
    ):
        found = sibling(reynolds=reynolds, relative_roughness=roughness)
        np.testing.assert_allclose(found, true, rtol=0.03)


def test_colebrook_is_solved_to_machine_accuracy() -> None:
    """Put back into its own equation, nothing is left, at both ends of the range."""
    reynolds = np.array([2.1e3, 4e3, 1e8])
    factor = np.asarray(
        friction.friction_factor_colebrook(reynolds=reynolds, relative_roughness=1e-3)
    )
    left = 1.0 / np.sqrt(factor) + 2.0 * np.log10(1e-3 / 3.7 + 2.51 / (reynolds * np.sqrt(factor)))
    np.testing.assert_allclose(left, 0.0, atol=1e-13)


def test_churchill_joins_laminar_to_turbulent() -> None:
    """At Re 500 it is 64/Re within 0.1 %."""
    found = friction.friction_factor_churchill(reynolds=500.0, relative_roughness=0.0)
    assert float(found) == pytest.approx(0.128, rel=1e-3)


def test_root_of_a_rising_function_and_of_one_that_never_gets_there() -> None:
    """Element by element: the cube root where there is one, infinity where there is none."""
    found = rising_root(
        function=lambda x: np.array([1.0, 0.0]) * x**3, target=np.array([27.0, 1.0]), low=0.5
    )
    np.testing.assert_allclose(found, [3.0, np.inf])


def test_the_plug_thins_the_turbulent_core_in_the_third_order() -> None:
    """Wilson & Thomas: beside a fluid of the wall's viscosity the velocity gains 11.6(a-1) - 2.5 ln
    a friction velocities from the thicker layer (a = 1 + x for Bingham); the blunt core takes away
    2.5 (x^3/3 + x^4/4 + ...), the series of its logarithm. x: yield over wall stress.
    """
    wall, consistency, density = 20.0, 0.004, 1000.0
    common = {"wall_stress_pa": wall, "index": 1.0, "diameter_m": 0.05, "density_kg_m3": density}
    for x in (0.1, 0.3, 0.6):
        thick = velocity_turbulent_wilson_thomas(
            yield_pa=x * wall, consistency_pa_s=consistency, **common
        )
        plain = velocity_turbulent_wilson_thomas(
            yield_pa=0.0, consistency_pa_s=consistency / (1.0 - x), **common
        )
        series = sum(x**n / n for n in range(3, 200))
        gain = 11.6 * x - 2.5 * np.log(1.0 + x) - 2.5 * series
        assert (thick - plain) / np.sqrt(wall / density) == pytest.approx(gain, rel=1e-9)
