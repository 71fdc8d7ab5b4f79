"""Hose, nozzle, lift, fittings, eductor: plain water by the handbook."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics import hose
from stillwet.physics.hose import FOOT, GPM, INCH, PSI


def test_every_hose_of_the_table_is_in_bounds() -> None:
    """Bores and coefficients are positive, and a wider hose never loses more, in either set."""
    rules = hose.hose_rules()
    bores = [rule.bore_m / INCH for rule in rules]
    assert bores == sorted(bores)
    assert bores[0] == pytest.approx(0.75)
    assert bores[-1] == pytest.approx(6.0)
    for which in ("a", "b"):
        coefficients = [rule.coefficient("b" if which == "b" else "a") for rule in rules]
        assert all(0.0 < c <= 1100.0 for c in coefficients)
        assert coefficients == sorted(coefficients, reverse=True)


def test_the_two_published_sets_disagree_where_they_are_known_to() -> None:
    """At 1.75 in set A is 55 % above set B; at 2.5 in they are one."""
    thin = hose.hose_rule(bore_m=1.75 * INCH)
    wide = hose.hose_rule(bore_m=2.5 * INCH)
    assert thin.coefficient("a") / thin.coefficient("b") == pytest.approx(1.55)
    assert wide.coefficient("a") == wide.coefficient("b") == 2.0


def test_set_b_falls_back_to_set_a() -> None:
    """Where set B has no row, 2 in among them, set A stands in."""
    rule = hose.hose_rule(bore_m=2.0 * INCH)
    assert rule.coefficient_b is None
    assert rule.coefficient("b") == rule.coefficient_a == 8.0


def test_capacity_in_the_table_is_the_geometry_of_the_bore() -> None:
    """100 ft of 1 in holds 4.1 gal and of 1.5 in 9.2 gal, as NWCG prints."""
    from stillwet.tables import load_table
    from stillwet.units import from_si

    for row in load_table("hose")["hose"]:
        if "capacity_gal" in row:
            volume = math.pi / 4.0 * (row["bore_in"] * INCH) ** 2 * 100.0 * FOOT
            assert from_si(volume, "gal") == pytest.approx(row["capacity_gal"], abs=0.05)


def test_unknown_bore_names_the_known_ones() -> None:
    """A bore no rule covers is refused with the list."""
    with pytest.raises(
        StillwetError, match=r"hose bore: wanted one of 0\.75, 1, .* in, got 1\.1 in"
    ):
        hose.hose_rule(bore_m=1.1 * INCH)


def test_nozzle_pressure_inverts_nozzle_flow() -> None:
    """Both ways round the same nozzle, over an array of pressures."""
    pressures = np.array([20.0, 50.0, 100.0]) * PSI
    flow = hose.nozzle_flow_freeman(pressure_pa=pressures, diameter_m=0.5 * INCH)
    back = hose.nozzle_pressure_freeman(flow_m3_s=flow, diameter_m=0.5 * INCH)
    np.testing.assert_allclose(back, pressures, rtol=1e-12)


def test_equivalent_tip_passes_the_rated_flow() -> None:
    """A nozzle rated 95 gpm at 100 psi is a tip of 0.57 in that gives just that."""
    tip = hose.equivalent_tip(flow_m3_s=95.0 * GPM, pressure_pa=100.0 * PSI)
    assert tip / INCH == pytest.approx(0.5656, abs=1e-3)
    flow = hose.nozzle_flow_freeman(pressure_pa=100.0 * PSI, diameter_m=tip)
    assert float(flow) == pytest.approx(95.0 * GPM, rel=1e-12)


def test_fitting_loss_against_a_library() -> None:
    """K rho V^2/2 as the fluids library has it."""
    flow, bore = 0.004, 0.0381
    velocity = flow / (math.pi / 4.0 * bore**2)
    independent = fluids.dP_from_K(K=2.3, rho=998.0, V=velocity)
    found = hose.fitting_loss(
        flow_m3_s=flow, bore_m=bore, loss_coefficient=2.3, density_kg_m3=998.0
    )
    assert float(found) == pytest.approx(independent, rel=1e-12)


def test_eductor_takes_a_quarter_to_three_fifths() -> None:
    """The published range of losses leaves 150 to 80 of 200 psi."""
    left = hose.eductor_outlet(inlet_pa=200.0, loss_share=np.array([0.25, 0.6]))
    np.testing.assert_allclose(left, [150.0, 80.0])
