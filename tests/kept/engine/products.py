"""Invented jobs, one for each type of product."""

from __future__ import annotations

from typing import Any

from gear_fixture import make_gear
from job_fixture import (
    make_asset,
    make_crew,
    make_job,
    make_product,
    with_fire,
)
from kept.engine.places import HARD, told
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.job import Job
from stillwet.domain.products import CurveDraw, RatioBasis, WaterPoint


def powder() -> Job:
    """A powder by mass in cold, hard water; its price unknown."""
    basis = {
        **make_product().basis,
        "cost_per_pack": Basis(BasisKind.GIVEN, "no price given"),
        "yield_coefficient": Basis(BasisKind.UNTESTED, "of its type", 2e5, 9e5),
    }
    product = make_product(
        product_type="dry_superabsorbent",
        name="Invented powder",
        ratio_basis=RatioBasis.MASS,
        ratio_low=0.0006,
        ratio_high=0.0043,
        density_kg_m3=730.0,
        yield_coefficient_pa=4.1e5,
        yield_threshold=0.0004,
        yield_exponent=1.35,
        hardness_half_kg_m3=0.27,
        pack_m3=0.025,
        basis=basis,
    )
    return _of_product("Powder", product, (HARD, *make_job().water_points))


def starch() -> Job:
    """Starch and cellulose, no water point known."""
    product = make_product(
        product_type="starch_cellulose",
        name="Invented paste",
        ratio_low=0.011,
        ratio_high=0.052,
        yield_coefficient_pa=7.3e3,
        yield_threshold=0.006,
        hardness_half_kg_m3=5.0,
        drying_exponent=0.6,
        basis={"drying_exponent": Basis(BasisKind.GIVEN, "told")},
    )
    return _of_product("Starch", product, ())


def clay() -> Job:
    """Clay, which hardly minds hard water, too stiff at its highest ratio to wet a wall."""
    product = make_product(
        product_type="clay", name="Invented clay", ratio_high=0.09, yield_coefficient_pa=4.4e4
    )
    return _of_product("Clay", product, (HARD,))


def tried_product() -> Job:
    """A product whose curve trials have drawn."""
    curves = tuple(
        CurveDraw(
            coefficient_pa=4.3e4 + 700.0 * row,
            threshold=0.0028 + 0.00004 * row,
            exponent=1.5 - 0.01 * row,
            hardness_half_kg_m3=0.31 + 0.01 * row,
            hardness_exponent=1.0,
            temperature_slope_per_k=0.01,
            hydration_time_s=70.0 + row,
            consistency_pa_s=2.9 + 0.1 * row,
            consistency_exponent=1.3,
            flow_index=0.41,
            adhesion_pa=155.0 + 3.0 * row,
        )
        for row in range(9)
    )
    return _of_product("Tried product", make_product(curves=curves), make_job().water_points)


def _of_product(name: str, product: Any, water_points: tuple[WaterPoint, ...]) -> Job:
    crews = (
        make_crew(gear=make_gear(), basis=told(("hose_length", "lift", "delivered_low"))),
        make_crew(id="c2", name="No pump", spray_flow_m3_s=0.0031, gear=make_gear(lift_m=19.0)),
        make_crew(id="c3", name="Bare team"),
    )
    tank = make_asset(id="a2", name="Tank", kind="tank", material="metal sheet", x_m=31.0)
    return make_job(
        name=name,
        members=21,
        seed=9,
        product=product,
        crews=crews,
        water_points=water_points,
        assets=(make_asset(), with_fire(tank, setback_m=17.0)),
    )
