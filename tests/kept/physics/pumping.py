"""From the pump to the nozzle."""

from __future__ import annotations

from typing import Any

import numpy as np

from kept.keeping import Groups
from kept.physics.drawing import COUNT, at, each, every, log, many, seeded, to
from stillwet.physics import friction, hose, pipeflow, pump
from stillwet.physics.rheology import FlowCurve

_REYNOLDS: dict[str, Any] = {"reynolds": log(4e3, 1e7), "relative_roughness": log(1e-6, 0.05)}

_FRICTION = {
    "reynolds_pipe": many(
        friction.reynolds_pipe,
        velocity_m_s=to(0.1, 8.0),
        diameter_m=to(0.01, 0.15),
        density_kg_m3=to(990.0, 1060.0),
        viscosity_pa_s=log(1e-3, 1.0),
    ),
    "friction_factor_laminar": many(friction.friction_factor_laminar, reynolds=to(10.0, 2100.0)),
    "friction_factor_colebrook": many(friction.friction_factor_colebrook, **_REYNOLDS),
    "friction_factor_haaland": many(friction.friction_factor_haaland, **_REYNOLDS),
    "friction_factor_swamee_jain": many(friction.friction_factor_swamee_jain, **_REYNOLDS),
    "friction_factor_churchill": many(
        friction.friction_factor_churchill,
        reynolds=log(300.0, 1e7),
        relative_roughness=log(1e-6, 0.05),
    ),
    "friction_factor_newtonian": many(
        friction.friction_factor_newtonian,
        reynolds=log(300.0, 1e7),
        relative_roughness=log(1e-6, 0.05),
        edges=[{"reynolds": number} for number in (2099.0, 2100.0)],
    ),
    "pressure_drop_darcy": many(
        friction.pressure_drop_darcy,
        friction_factor=to(0.008, 0.05),
        length_m=to(1.0, 300.0),
        diameter_m=to(0.02, 0.15),
        density_kg_m3=to(990.0, 1060.0),
        velocity_m_s=to(0.0, 8.0),
    ),
}

_MIX: dict[str, Any] = {
    "yield_pa": to(0.0, 120.0),
    "consistency_pa_s": log(0.05, 20.0),
    "index": to(0.3, 1.0),
}
_PIPE: dict[str, Any] = {**_MIX, "diameter_m": to(0.02, 0.08), "density_kg_m3": to(990.0, 1060.0)}
_STRESS = log(5.0, 900.0)
_WATER = {"yield_pa": 0.0, "consistency_pa_s": 1e-3, "index": 1.0}

_PIPEFLOW = {
    "wall_stress": many(
        pipeflow.wall_stress,
        pressure_drop_pa=to(0.0, 1e6),
        diameter_m=to(0.02, 0.08),
        length_m=to(1.0, 300.0),
    ),
    "velocity_laminar_herschel_bulkley": many(
        pipeflow.velocity_laminar_herschel_bulkley,
        wall_stress_pa=_STRESS,
        **_MIX,
        diameter_m=to(0.02, 0.08),
        edges=[{"wall_stress_pa": 0.0}, {"wall_stress_pa": 0.0, "yield_pa": 0.0}],
    ),
    "velocity_buckingham_reiner": many(
        pipeflow.velocity_buckingham_reiner,
        wall_stress_pa=_STRESS,
        yield_pa=to(0.0, 120.0),
        plastic_viscosity_pa_s=log(0.01, 1.0),
        diameter_m=to(0.02, 0.08),
        edges=[{"wall_stress_pa": 0.0}],
    ),
    "generalised_consistency": many(
        pipeflow.generalised_consistency, consistency_pa_s=log(0.05, 20.0), index=to(0.3, 1.0)
    ),
    "reynolds_metzner_reed": many(
        pipeflow.reynolds_metzner_reed,
        velocity_m_s=to(0.1, 8.0),
        diameter_m=to(0.02, 0.08),
        density_kg_m3=to(990.0, 1060.0),
        consistency_pa_s=log(0.05, 20.0),
        index=to(0.3, 1.0),
    ),
    "fanning_dodge_metzner": many(
        pipeflow.fanning_dodge_metzner, reynolds=log(2900.0, 36e3), index=to(0.36, 1.0)
    ),
    "fanning_darby_melson": many(
        pipeflow.fanning_darby_melson, reynolds=log(3e3, 1e5), hedstrom=log(1e3, 1e6)
    ),
    "velocity_turbulent_wilson_thomas": many(
        pipeflow.velocity_turbulent_wilson_thomas,
        wall_stress_pa=log(5.0, 900.0),
        **_PIPE,
        edges=[{"roughness_m": 5e-5, **_WATER}, {"wall_stress_pa": 0.0}],
    ),
    "stability_ryan_johnson": many(
        pipeflow.stability_ryan_johnson,
        wall_stress_pa=_STRESS,
        **_PIPE,
        edges=[{"wall_stress_pa": 0.0}],
    ),
    "critical_wall_stress": many(pipeflow.critical_wall_stress, **_PIPE, edges=[_WATER]),
    "velocity_herschel_bulkley": many(
        pipeflow.velocity_herschel_bulkley,
        wall_stress_pa=_STRESS,
        **_PIPE,
        edges=[
            {**_WATER, "wall_stress_pa": stress, "roughness_m": 5e-5} for stress in (0.01, 0.3, 60)
        ]
        + [{**_WATER, "critical_pa": 20.0}],
    ),
    "flow_herschel_bulkley": many(
        pipeflow.flow_herschel_bulkley,
        pressure_drop_pa=log(1e4, 2e6),
        length_m=to(5.0, 120.0),
        **_PIPE,
        edges=[{**_WATER, "roughness_m": 5e-5}, {"pressure_drop_pa": 0.0}],
    ),
    "pressure_drop_herschel_bulkley": many(
        pipeflow.pressure_drop_herschel_bulkley,
        flow_m3_s=to(0.0, 0.008),
        length_m=to(5.0, 120.0),
        **_PIPE,
        edges=[{**_WATER, "roughness_m": 5e-5}, {"flow_m3_s": 0.0}],
    ),
    "fanning_of_wall_stress": many(
        pipeflow.fanning_of_wall_stress,
        wall_stress_pa=_STRESS,
        velocity_m_s=to(0.1, 8.0),
        density_kg_m3=to(990.0, 1060.0),
    ),
}

_BORES = tuple(
    inches * 0.0254 for inches in (0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0)
)

_HOSE = {
    "units": lambda: [hose.GPM, hose.PSI, hose.FOOT, hose.INCH, hose.EDUCTOR_FLOW_BAND],
    "hose_rules": hose.hose_rules,
    "hose_rule": at(
        hose.hose_rule, *({"bore_m": bore} for bore in (*_BORES, 0.0389, 0.0392, 0.0372, 0.5))
    ),
    "HoseRule.coefficient": lambda: [
        [rule.coefficient("a"), rule.coefficient("b")] for rule in hose.hose_rules()
    ],
    "hose_loss_rule": many(
        hose.hose_loss_rule,
        flow_m3_s=to(0.0, 0.02),
        length_m=to(10.0, 300.0),
        coefficient=log(0.05, 1100.0),
    ),
    "nozzle_flow_freeman": many(
        hose.nozzle_flow_freeman,
        pressure_pa=to(0.0, 7e5),
        diameter_m=to(0.005, 0.04),
        edges=[{"constant": 29.83}],
    ),
    "nozzle_flow_orifice": many(
        hose.nozzle_flow_orifice,
        pressure_pa=to(0.0, 7e5),
        diameter_m=to(0.005, 0.04),
        density_kg_m3=to(990.0, 1060.0),
        edges=[{"discharge_coefficient": 0.9}],
    ),
    "nozzle_pressure_freeman": many(
        hose.nozzle_pressure_freeman,
        flow_m3_s=to(0.0, 0.02),
        diameter_m=to(0.005, 0.04),
        edges=[{"constant": 29.83}],
    ),
    "equivalent_tip": each(
        hose.equivalent_tip, flow_m3_s=to(0.001, 0.02), pressure_pa=to(2e5, 7e5)
    ),
    "lift_pressure": many(
        hose.lift_pressure, height_m=to(-10.0, 40.0), density_kg_m3=to(990.0, 1060.0)
    ),
    "suction_lift_limit": many(
        hose.suction_lift_limit,
        air_pressure_pa=to(60e3, 105e3),
        vapour_pressure_pa=to(600.0, 7e3),
        density_kg_m3=to(990.0, 1060.0),
    ),
    "fitting_loss": many(
        hose.fitting_loss,
        flow_m3_s=to(0.0, 0.02),
        bore_m=to(0.02, 0.08),
        loss_coefficient=to(0.0, 8.0),
        density_kg_m3=to(990.0, 1060.0),
    ),
    "eductor_outlet": many(hose.eductor_outlet, inlet_pa=to(2e5, 2e6), edges=[{"loss_share": 0.5}]),
}

_CURVE = {"flow_m3_s": (0.0, 0.004, 0.008), "pressure_pa": (1.2e6, 1.0e6, 4e5)}
_LAY: dict[str, Any] = {
    "hoses": ((0.0635, 60.0), (0.0381, 60.0)),
    "lift_m": 12.0,
    "tip_m": 0.013,
    "nozzle_pressure_min_pa": 3e5,
}
_GEL = FlowCurve(40.0, 6.0, 0.45, 1005.0)
_THICK = FlowCurve(700.0, 40.0, 0.35, 1030.0)


def _curve(**changes: Any) -> object:
    return pump.PumpCurve(**{**_CURVE, **changes})


def _point(gel: FlowCurve | None = None, which: hose.CoefficientSet = "a", **lay: Any) -> object:
    found = pump.operating_point(
        pump=pump.PumpCurve(**_CURVE), lay=pump.HoseLay(**{**_LAY, **lay}), gel=gel, which=which
    )
    return [found, found.works]


def _spare(which: hose.CoefficientSet, **lay: Any) -> object:
    random = seeded("spare pressure")
    return pump.spare_pressure(
        flow_m3_s=0.003,
        pump=pump.PumpCurve(**_CURVE),
        lay=pump.HoseLay(**{**_LAY, **lay}),
        yield_pa=90.0 * random.random(COUNT),
        consistency_pa_s=0.1 + 9.0 * random.random(COUNT),
        index=0.35 + 0.6 * random.random(COUNT),
        density_kg_m3=1005.0,
        which=which,
    )


_PUMP = {
    "PumpCurve": at(
        _curve,
        {},
        {"flow_m3_s": (0.0,), "pressure_pa": (1e6,)},
        {"flow_m3_s": (0.0, 0.004)},
        {"flow_m3_s": (0.001, 0.004, 0.008)},
        {"flow_m3_s": (0.0, 0.008, 0.008)},
        {"flow_m3_s": (0.0, 0.009, 0.008)},
        {"pressure_pa": (1.2e6, 1.2e6, 1.3e6)},
        {"pressure_pa": (1.2e6, 1.2e6, 1.2e6)},
    ),
    "PumpCurve.pressure_at": lambda: pump.PumpCurve(**_CURVE).pressure_at(
        np.array([0.0, 0.001, 0.004, 0.007, 0.008, 0.0081])
    ),
    "effective_bore": lambda: [
        [pump.effective_bore(rule=rule, which=which) for rule in hose.hose_rules()]
        for which in ("a", "b")
    ],
    "hose_loss": many(
        pump.hose_loss,
        flow_m3_s=to(0.0, 0.006),
        length_m=60.0,
        bore_m=every(0.0381, 0.04445),
        gel=every(None, _GEL),
        edges=[{"which": "b"}],
    ),
    "spare_pressure": lambda: [_spare("a"), _spare("b", fitting_coefficient=4.0, lift_m=-8.0)],
    "operating_point": lambda: [
        _point(),
        _point(which="b", hoses=((0.04445, 90.0),)),
        _point(fitting_coefficient=6.0),
        _point(_GEL),
        _point(_GEL, eductor_flow_m3_s=0.0028),
        _point(_GEL, eductor_flow_m3_s=0.006, eductor_loss=0.5),
        _point(_THICK),
        _point(lift_m=200.0),
        _point(nozzle_pressure_min_pa=9e5),
        _point(tip_m=0.05, hoses=((0.1016, 10.0),), nozzle_pressure_min_pa=0.0, lift_m=0.0),
        _point(hoses=((0.01905, 30.0), (0.0254, 30.0)), nozzle_pressure_min_pa=0.0),
    ],
    "operating_point at the eductor's limits": lambda: [
        _point(eductor_flow_m3_s=0.0034 * share, nozzle_pressure_min_pa=0.0)
        for share in np.linspace(0.8, 1.3, 11)
    ],
    "flow_warnings": at(
        pump.flow_warnings,
        *(
            {"flow_m3_s": flow, "lay": pump.HoseLay(**_LAY)}
            for flow in (0.001, 100 * hose.GPM, 0.007)
        ),
    ),
}

GROUPS: Groups = {"friction": _FRICTION, "pipeflow": _PIPEFLOW, "hose": _HOSE, "pump": _PUMP}
