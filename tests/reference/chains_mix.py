"""Test-side composites for the mix cases: textbook questions put to several functions in a row."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stillwet.physics import (
    friction,
    funnel,
    hose,
    pipeflow,
    product_types,
    proportioning,
    rheology,
    uncertainty,
)

Array = NDArray[np.float64]


def superabsorbent_reading(ratio: float, hardness_kg_m3: float) -> float:
    """60 rpm spindle reading [Pa s] of the median superabsorbent dispersion."""
    kind = product_types.product_type(name="superabsorbent_dispersion")
    water = {
        "hardness_kg_m3": hardness_kg_m3,
        "hardness_half_kg_m3": kind.hardness_half_kg_m3.median,
        "hardness_exponent": kind.hardness_exponent.median,
    }
    yield_pa = rheology.yield_stress(
        ratio=ratio,
        coefficient_pa=kind.yield_coefficient_pa.median,
        threshold=kind.yield_threshold.median,
        exponent=kind.yield_exponent.median,
        **water,
    )
    thickener = {
        "ratio": float(rheology.effective_ratio(ratio=ratio, **water)),
        "threshold": kind.yield_threshold.median,
    }
    consistency = rheology.consistency(
        coefficient_pa_s=kind.consistency_pa_s.median,
        exponent=kind.consistency_exponent.median,
        temperature_k=rheology.REFERENCE_TEMPERATURE_K,
        **thickener,
    )
    return float(
        funnel.spindle_viscosity(
            yield_pa=float(yield_pa),
            consistency_pa_s=float(consistency),
            index=float(rheology.flow_index(index_gel=kind.flow_index.median, **thickener)),
        )
    )


def power_law_drop_from_k_prime(
    k_prime: float, index: float, diameter_m: float, velocity_m_s: float, length_m: float
) -> list[float]:
    """Pressure drop [Pa] and Metzner-Reed Reynolds number at 1041 kg/m3, K' given (laminar)."""
    consistency = k_prime * (4.0 * index / (3.0 * index + 1.0)) ** index
    drop = pipeflow.pressure_drop_herschel_bulkley(
        flow_m3_s=velocity_m_s * math.pi / 4.0 * diameter_m**2,
        length_m=length_m,
        yield_pa=0.0,
        consistency_pa_s=consistency,
        index=index,
        diameter_m=diameter_m,
        density_kg_m3=1041.0,
    )
    reynolds = pipeflow.reynolds_metzner_reed(
        velocity_m_s=velocity_m_s,
        diameter_m=diameter_m,
        density_kg_m3=1041.0,
        consistency_pa_s=consistency,
        index=index,
    )
    return [float(drop), float(reynolds)]


def dodge_metzner_drop(
    k_prime: float,
    index: float,
    density_kg_m3: float,
    diameter_m: float,
    velocity_m_s: float,
    length_m: float,
) -> list[float]:
    """Reynolds number, Fanning f and pressure drop [Pa] of turbulent power-law flow."""
    consistency = k_prime * (4.0 * index / (3.0 * index + 1.0)) ** index
    reynolds = pipeflow.reynolds_metzner_reed(
        velocity_m_s=velocity_m_s,
        diameter_m=diameter_m,
        density_kg_m3=density_kg_m3,
        consistency_pa_s=consistency,
        index=index,
    )
    fanning = pipeflow.fanning_dodge_metzner(reynolds=reynolds, index=index)
    drop = friction.pressure_drop_darcy(
        friction_factor=4.0 * fanning,
        length_m=length_m,
        diameter_m=diameter_m,
        density_kg_m3=density_kg_m3,
        velocity_m_s=velocity_m_s,
    )
    return [float(reynolds), float(fanning), float(drop)]


def power_law_drop_from_centre_speed(
    centre_m_s: float, consistency_pa_s: float, index: float, diameter_m: float, length_m: float
) -> float:
    """Pressure drop [Pa] from the centre-line speed; mean is (n+1)/(3n+1) of it for a power law."""
    mean = centre_m_s * (index + 1.0) / (3.0 * index + 1.0)
    return float(
        pipeflow.pressure_drop_herschel_bulkley(
            flow_m3_s=mean * math.pi / 4.0 * diameter_m**2,
            length_m=length_m,
            yield_pa=0.0,
            consistency_pa_s=consistency_pa_s,
            index=index,
            diameter_m=diameter_m,
            density_kg_m3=1000.0,
        )
    )


def power_law_drop_from_mass_flow(
    mass_flow_kg_h: float,
    density_kg_m3: float,
    consistency_pa_s: float,
    index: float,
    diameter_m: float,
    length_m: float,
) -> float:
    """Pressure drop [Pa] of a power-law liquid from its mass flow."""
    return float(
        pipeflow.pressure_drop_herschel_bulkley(
            flow_m3_s=mass_flow_kg_h / 3600.0 / density_kg_m3,
            length_m=length_m,
            yield_pa=0.0,
            consistency_pa_s=consistency_pa_s,
            index=index,
            diameter_m=diameter_m,
            density_kg_m3=density_kg_m3,
        )
    )


def bingham_transition(hedstrom: float) -> list[float]:
    """Plug share x_c and Reynolds number at which laminar Bingham flow gives way."""
    diameter, density, viscosity = 0.1, 1000.0, 0.01
    yield_pa = hedstrom * viscosity**2 / (density * diameter**2)
    stress = pipeflow.critical_wall_stress(
        yield_pa=yield_pa,
        consistency_pa_s=viscosity,
        index=1.0,
        diameter_m=diameter,
        density_kg_m3=density,
    )
    velocity = pipeflow.velocity_buckingham_reiner(
        wall_stress_pa=stress,
        yield_pa=yield_pa,
        plastic_viscosity_pa_s=viscosity,
        diameter_m=diameter,
    )
    return [float(yield_pa / stress), float(velocity * diameter * density / viscosity)]


def power_law_transition(index: Array) -> Array:
    """Metzner-Reed Reynolds numbers at which laminar power-law flow gives way."""
    pipe: dict[str, float | Array] = {
        "diameter_m": 0.05,
        "consistency_pa_s": 0.2,
        "index": index,
    }
    stress = pipeflow.critical_wall_stress(yield_pa=0.0, density_kg_m3=1000.0, **pipe)
    velocity = pipeflow.velocity_laminar_herschel_bulkley(
        wall_stress_pa=stress, yield_pa=0.0, **pipe
    )
    return np.asarray(
        pipeflow.reynolds_metzner_reed(velocity_m_s=velocity, density_kg_m3=1000.0, **pipe)
    )


def herschel_bulkley_rabinowitsch(
    wall_stress_pa: float, yield_pa: float, consistency_pa_s: float, index: float, diameter_m: float
) -> float:
    """Closed form over the Rabinowitsch-Mooney integral done numerically: 1 when they agree."""
    from scipy.integrate import quad

    integral, _ = quad(
        lambda stress: stress**2 * ((stress - yield_pa) / consistency_pa_s) ** (1.0 / index),
        yield_pa,
        wall_stress_pa,
        epsabs=0.0,
        epsrel=1e-12,
    )
    flow = math.pi * (diameter_m / 2.0) ** 3 / wall_stress_pa**3 * integral
    mean = flow / (math.pi / 4.0 * diameter_m**2)
    closed = pipeflow.velocity_laminar_herschel_bulkley(
        wall_stress_pa=wall_stress_pa,
        yield_pa=yield_pa,
        consistency_pa_s=consistency_pa_s,
        index=index,
        diameter_m=diameter_m,
    )
    return float(closed / mean)


def water_pipe(
    flow_m3_s: float,
    diameter_m: float,
    roughness_m: float,
    length_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
) -> list[float]:
    """Friction factor and pressure drop [Pa] of plain water in a pipe."""
    velocity = flow_m3_s / (math.pi / 4.0 * diameter_m**2)
    reynolds = friction.reynolds_pipe(
        velocity_m_s=velocity,
        diameter_m=diameter_m,
        density_kg_m3=density_kg_m3,
        viscosity_pa_s=viscosity_pa_s,
    )
    factor = friction.friction_factor_newtonian(
        reynolds=reynolds, relative_roughness=roughness_m / diameter_m
    )
    drop = friction.pressure_drop_darcy(
        friction_factor=factor,
        length_m=length_m,
        diameter_m=diameter_m,
        density_kg_m3=density_kg_m3,
        velocity_m_s=velocity,
    )
    return [float(factor), float(drop)]


def hose_loss_of_bore(flow: float, length: float, bore: float, which: str) -> float:
    """Loss [Pa] by the packaged coefficient set ("a" or "b") of a nominal bore."""
    rule = hose.hose_rule(bore_m=bore)
    return float(
        hose.hose_loss_rule(
            flow_m3_s=flow,
            length_m=length,
            coefficient=rule.coefficient("b" if which == "b" else "a"),
        )
    )


def two_hoses(
    supply_flow: float,
    supply_length: float,
    supply_bore: float,
    branch_flow: float,
    branch_length: float,
    branch_bore: float,
) -> float:
    """Loss [Pa] of a wyed lay by set B: the supply line and one branch."""
    return hose_loss_of_bore(supply_flow, supply_length, supply_bore, "b") + hose_loss_of_bore(
        branch_flow, branch_length, branch_bore, "b"
    )


def nozzle_then_hose(tip: float, pressure: float, length: float, bore: float) -> list[float]:
    """Nozzle flow [m3/s] rounded to 200 gpm as the manual does, and the hose loss [Pa] by set B."""
    flow = float(hose.nozzle_flow_freeman(pressure_pa=pressure, diameter_m=tip))
    hundreds = round(flow / hose.GPM / 100.0)
    return [flow, hose_loss_of_bore(hundreds * 100.0 * hose.GPM, length, bore, "b")]


def impedance(voltages: Array, currents: Array, phases: Array) -> list[float]:
    """GUM H.2: resistance, reactance, impedance and their standard uncertainties."""
    names = ("v", "i", "p")
    readings = np.array([voltages, currents, phases])
    values = dict(zip(names, readings.mean(axis=1).tolist(), strict=True))
    errors = readings.std(axis=1, ddof=1) / math.sqrt(readings.shape[1])
    r = np.corrcoef(readings)
    result: list[float] = []
    for function in (_resistance, _reactance, _modulus):
        reckoned = uncertainty.propagate_kragten(
            function=function,
            values=values,
            uncertainties=dict(zip(names, errors.tolist(), strict=True)),
            correlation={("v", "i"): r[0, 1], ("v", "p"): r[0, 2], ("i", "p"): r[1, 2]},
        )
        result += [reckoned.value, reckoned.uncertainty]
    return result


def _resistance(v: float, i: float, p: float) -> float:
    return v / i * math.cos(p)


def _reactance(v: float, i: float, p: float) -> float:
    return v / i * math.sin(p)


def _modulus(v: float, i: float, p: float) -> float:
    return math.hypot(_resistance(v, i, p), _reactance(v, i, p))


def york_line(x: Array, y: Array, weight_x: Array, weight_y: Array) -> list[float]:
    """Intercept, slope and their standard uncertainties from weights, as York 2004 gives them."""
    line = uncertainty.fit_line_york(
        x=x, y=y, x_uncertainty=weight_x**-0.5, y_uncertainty=weight_y**-0.5
    )
    return [line.intercept, line.slope, line.intercept_uncertainty, line.slope_uncertainty]


def norris_line() -> list[float]:
    """NIST Norris data by the York fit with x held exact and equal weights in y."""
    import scipy.stats

    path = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"
    y, x = np.loadtxt(path, skiprows=60).T
    line = uncertainty.fit_line_york(
        x=x, y=y, x_uncertainty=np.full(x.size, 1e-9), y_uncertainty=np.ones(x.size)
    )
    scatter = math.sqrt(line.residual_variance)
    return [
        line.intercept,
        line.slope,
        line.intercept_uncertainty * scatter,
        line.slope_uncertainty * scatter,
    ]


def drift(values: Array, target: float, deviation: float) -> list[float]:
    """Upper sum at its first alarm, and the number of that check counted from 1."""
    run = proportioning.drift_cusum(values=values, target=target, deviation=deviation)
    assert run.alarm_at is not None
    return [float(run.high[run.alarm_at]), float(run.alarm_at + 1)]


def mean_run_length(shift: float) -> float:
    """Checks until the two-sided cumulative sum alarms, mean over 4000 seeded normal runs."""
    random = np.random.default_rng(20240601)
    values = random.normal(shift, 1.0, size=(4000, 100))
    lengths = []
    for run in values:
        alarm = proportioning.drift_cusum(values=run, target=0.0, deviation=1.0).alarm_at
        lengths.append(100 if alarm is None else alarm + 1)
    return float(np.mean(lengths))
