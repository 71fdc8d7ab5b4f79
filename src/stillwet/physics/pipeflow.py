"""Gel through a pipe or hose: Herschel-Bulkley, laminar in closed form, turbulent by rule.

The pivot is the wall shear stress ``tau_w = dp*D/(4L)``: both regimes give the velocity in closed
form from it, so a pressure drop for a flow is one root and a flow for a pressure drop none.
Arguments shared by all: yield_pa [Pa], consistency_pa_s [Pa s^n], index n [-], diameter_m [m],
density_kg_m3 [kg/m3], wall_stress_pa [Pa], velocity_m_s mean over the bore [m/s]; any shapes.
"""

from __future__ import annotations

import numpy as np

from stillwet.physics.guards import Numbers
from stillwet.physics.roots import rising_root

STABILITY_LIMIT = 808.0  # Ryan & Johnson 1959; equals Re 2100 for a Newtonian liquid
_SMALLEST_STRESS_PA = 1e-9


def wall_stress(*, pressure_drop_pa: Numbers, diameter_m: Numbers, length_m: Numbers) -> Numbers:
    """Shear stress at the wall [Pa] of a pipe with this pressure drop [Pa]: force balance."""
    return np.asarray(pressure_drop_pa, dtype=float) * diameter_m / (4.0 * np.asarray(length_m))


def velocity_laminar_herschel_bulkley(
    *,
    wall_stress_pa: Numbers,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
    diameter_m: Numbers,
) -> Numbers:
    """Mean velocity [m/s] of laminar Herschel-Bulkley flow; 0 where the yield stress holds it.

    ``V = R n (tau_w-tau_y)^(1+1/n)/(tau_w^3 K^(1/n)) * [(tau_w-tau_y)^2/(3n+1)
    + 2 tau_y (tau_w-tau_y)/(2n+1) + tau_y^2/(n+1)]``, the Rabinowitsch-Mooney integral in closed
    form (Chhabra & Richardson 2008, Non-Newtonian Flow and Applied Rheology, 2nd ed., eq. 3.15).
    Known fault: wall slip of gels lets them move at less stress than this.
    """
    stress = np.maximum(np.asarray(wall_stress_pa, dtype=float), _SMALLEST_STRESS_PA)
    over = np.maximum(stress - yield_pa, 0.0)
    n = np.asarray(index, dtype=float)
    bracket = (
        over**2 / (3.0 * n + 1.0)
        + 2.0 * yield_pa * over / (2.0 * n + 1.0)
        + np.asarray(yield_pa) ** 2 / (n + 1.0)
    )
    wall_rate = (over / consistency_pa_s) ** (1.0 / n)
    velocity: Numbers = 0.5 * np.asarray(diameter_m) * n * wall_rate * over * bracket / stress**3
    return velocity


def velocity_buckingham_reiner(
    *,
    wall_stress_pa: Numbers,
    yield_pa: Numbers,
    plastic_viscosity_pa_s: Numbers,
    diameter_m: Numbers,
) -> Numbers:
    """Mean velocity [m/s] of laminar Bingham flow, the sibling with n = 1.

    ``V = (D tau_w/8 mu_p)(1 - 4x/3 + x^4/3)``, ``x = tau_y/tau_w``; 0 for x above 1.
    Source: Buckingham 1921, Reiner 1926. Sibling of ``velocity_laminar_herschel_bulkley``.
    """
    stress = np.maximum(np.asarray(wall_stress_pa, dtype=float), _SMALLEST_STRESS_PA)
    x = np.minimum(np.asarray(yield_pa) / stress, 1.0)
    share = 1.0 - 4.0 * x / 3.0 + x**4 / 3.0
    velocity: Numbers = np.asarray(diameter_m) * stress / (8.0 * plastic_viscosity_pa_s) * share
    return velocity


def generalised_consistency(*, consistency_pa_s: Numbers, index: Numbers) -> Numbers:
    """Metzner-Reed ``K' = K ((3n+1)/(4n))^n`` [Pa s^n], the K of tables reduced as 8V/D."""
    n = np.asarray(index, dtype=float)
    value: Numbers = consistency_pa_s * ((3.0 * n + 1.0) / (4.0 * n)) ** n
    return value


def reynolds_metzner_reed(
    *,
    velocity_m_s: Numbers,
    diameter_m: Numbers,
    density_kg_m3: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
) -> Numbers:
    """Generalised Reynolds number of a power-law liquid [-]: laminar Fanning f is 16/Re.

    ``Re = rho V^(2-n) D^n/(8^(n-1) K')``. Source: Metzner & Reed 1955, AIChE J. 1:434.
    Feeds ``fanning_dodge_metzner``.
    """
    n = np.asarray(index, dtype=float)
    k_prime = generalised_consistency(consistency_pa_s=consistency_pa_s, index=n)
    speed = np.asarray(velocity_m_s, dtype=float) ** (2.0 - n)
    value: Numbers = density_kg_m3 * speed * diameter_m**n / (8.0 ** (n - 1.0) * k_prime)
    return value


def fanning_dodge_metzner(*, reynolds: Numbers, index: Numbers) -> Numbers:
    """Fanning friction factor [-] of a power-law liquid, turbulent in a smooth pipe.

    ``1/sqrt(f) = (4/n^0.75) log10(Re f^(1-n/2)) - 0.4/n^1.2`` with the Metzner-Reed Reynolds
    number. Range: n 0.36 to 1, Re 2900 to 36000. Source: Dodge & Metzner 1959, AIChE J. 5:189.
    Known fault: drag-reducing (elastic) gels lose less.
    Sibling of ``velocity_turbulent_wilson_thomas``.
    """
    n, re = np.asarray(index, dtype=float), np.asarray(reynolds, dtype=float)

    def left_minus_right(f: Numbers) -> Numbers:
        right = 4.0 / n**0.75 * np.log10(re * f ** (1.0 - n / 2.0)) - 0.4 / n**1.2
        value: Numbers = right - 1.0 / np.sqrt(f)
        return value

    return rising_root(function=left_minus_right, target=np.zeros(np.shape(n * re)), low=1e-6)


def fanning_darby_melson(*, reynolds: Numbers, hedstrom: Numbers) -> Numbers:
    """Fanning friction factor [-] of a Bingham liquid, turbulent in a smooth pipe.

    ``f = 10^a Re^-0.193``, ``a = -1.47(1 + 0.146 exp(-2.9e-5 He))``; Re on the plastic viscosity,
    ``He = rho tau_y D^2/mu_p^2``. Range: Re 3000 to 1e5, He above 1000. Source: Darby & Melson
    1981, Chem. Eng. 88(26):59, digits with the later correction of -1.378 to -1.47 (from memory).
    Sibling of ``velocity_turbulent_wilson_thomas``.
    """
    a = -1.47 * (1.0 + 0.146 * np.exp(-2.9e-5 * np.asarray(hedstrom, dtype=float)))
    value: Numbers = 10.0**a * np.asarray(reynolds, dtype=float) ** -0.193
    return value


def velocity_turbulent_wilson_thomas(
    *,
    wall_stress_pa: Numbers,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
    diameter_m: Numbers,
    density_kg_m3: Numbers,
    roughness_m: Numbers = 0.0,
) -> Numbers:
    """Mean velocity [m/s] of turbulent Herschel-Bulkley flow at a wall stress.

    ``V = V_N + u*(11.6(a - 1) - 2.5 ln a + 2.5 ln(1-x) + 2.5 x(1 + x/2))`` with ``u* =
    sqrt(tau_w/rho)``, ``x = tau_y/tau_w``, ``a = 2(1 + n x)/(1 + n)`` the ratio of areas under the
    flow curve, and V_N the Newtonian (Colebrook) velocity at the same wall stress with the
    viscosity ``tau_w/rate_w``. Source: Wilson & Thomas 1985, Can. J. Chem. Eng. 63:539; Thomas &
    Wilson 1987, 65:335 (from memory). Known faults: no elastic drag reduction; within about 15 % of
    slurry data.
    """
    stress = np.maximum(np.asarray(wall_stress_pa, dtype=float), _SMALLEST_STRESS_PA)
    n = np.asarray(index, dtype=float)
    x = np.minimum(np.asarray(yield_pa) / stress, 1.0 - 1e-12)
    wall_rate = (stress * (1.0 - x) / consistency_pa_s) ** (1.0 / n)
    friction_velocity = np.sqrt(stress / density_kg_m3)
    newtonian = _velocity_colebrook(
        friction_velocity, stress / wall_rate, diameter_m, density_kg_m3, roughness_m
    )
    area = 2.0 * (1.0 + n * x) / (1.0 + n)
    thicker_layer = 11.6 * (area - 1.0) - 2.5 * np.log(area)
    plug = 2.5 * np.log1p(-x) + 2.5 * x * (1.0 + 0.5 * x)
    velocity: Numbers = np.maximum(newtonian + friction_velocity * (thicker_layer + plug), 0.0)
    return velocity


def _velocity_colebrook(
    friction_velocity: Numbers,
    viscosity: Numbers,
    diameter: Numbers,
    density: Numbers,
    roughness: Numbers,
) -> Numbers:
    """Newtonian turbulent velocity at a wall stress: ``Re sqrt(f) = sqrt(8) rho u* D/mu``."""
    karman = np.sqrt(8.0) * density * friction_velocity * diameter / viscosity
    inside = np.asarray(roughness) / diameter / 3.7 + 2.51 / karman
    velocity: Numbers = -2.0 * np.sqrt(8.0) * friction_velocity * np.log10(np.minimum(inside, 1.0))
    return velocity


def stability_ryan_johnson(
    *,
    wall_stress_pa: Numbers,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
    diameter_m: Numbers,
    density_kg_m3: Numbers,
) -> Numbers:
    """Largest stability parameter ``rho R v (dv/dr)/tau_w`` across a laminar HB flow [-].

    Laminar flow gives way above 808. Closed form for the Herschel-Bulkley profile:
    ``Z = n rho R^2 (tau_w/K)^(2/n) (1-x)^(1+2/n) (2+n)^(-(2+n)/(1+n))/tau_w``. For a power law this
    is Ryan & Johnson 1959 (AIChE J. 5:433), ``Re_c = 6464 n (2+n)^((2+n)/(1+n))/(3n+1)^2``; for a
    Bingham liquid it is Hanks 1963 (AIChE J. 9:306), ``x_c/(1-x_c)^3 = He/16800``.
    """
    stress = np.maximum(np.asarray(wall_stress_pa, dtype=float), _SMALLEST_STRESS_PA)
    n = np.asarray(index, dtype=float)
    x = np.minimum(np.asarray(yield_pa) / stress, 1.0)
    rate = (stress / consistency_pa_s) ** (2.0 / n) * (1.0 - x) ** (1.0 + 2.0 / n)
    shape = n * (2.0 + n) ** (-(2.0 + n) / (1.0 + n))
    value: Numbers = shape * density_kg_m3 * (0.5 * np.asarray(diameter_m)) ** 2 * rate / stress
    return value


def critical_wall_stress(
    *,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
    diameter_m: Numbers,
    density_kg_m3: Numbers,
) -> Numbers:
    """Wall stress [Pa] at which laminar Herschel-Bulkley flow gives way (stability 808)."""

    def stability(stress: Numbers) -> Numbers:
        return stability_ryan_johnson(
            wall_stress_pa=stress,
            yield_pa=yield_pa,
            consistency_pa_s=consistency_pa_s,
            index=index,
            diameter_m=diameter_m,
            density_kg_m3=density_kg_m3,
        )

    shape = np.broadcast(yield_pa, consistency_pa_s, index, diameter_m, density_kg_m3).shape
    low = np.maximum(np.asarray(yield_pa, dtype=float), _SMALLEST_STRESS_PA)
    return rising_root(function=stability, target=np.full(shape, STABILITY_LIMIT), low=low)


def velocity_herschel_bulkley(
    *,
    wall_stress_pa: Numbers,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
    diameter_m: Numbers,
    density_kg_m3: Numbers,
    roughness_m: Numbers = 0.0,
    critical_pa: Numbers | None = None,
) -> Numbers:
    """The chooser: mean velocity [m/s] at a wall stress, laminar, at transition, or turbulent.

    Past the critical wall stress (found here unless critical_pa [Pa] hands it in) the velocity
    stays at the laminar one there until the turbulent rule gives more: friction jumps at
    transition, and the flow cannot fall as the pressure rises.
    """
    if critical_pa is None:
        critical_pa = critical_wall_stress(
            yield_pa=yield_pa,
            consistency_pa_s=consistency_pa_s,
            index=index,
            diameter_m=diameter_m,
            density_kg_m3=density_kg_m3,
        )
    laminar = velocity_laminar_herschel_bulkley(
        wall_stress_pa=np.minimum(wall_stress_pa, critical_pa),
        yield_pa=yield_pa,
        consistency_pa_s=consistency_pa_s,
        index=index,
        diameter_m=diameter_m,
    )
    turbulent = velocity_turbulent_wilson_thomas(
        wall_stress_pa=wall_stress_pa,
        yield_pa=yield_pa,
        consistency_pa_s=consistency_pa_s,
        index=index,
        diameter_m=diameter_m,
        density_kg_m3=density_kg_m3,
        roughness_m=roughness_m,
    )
    is_past = np.asarray(wall_stress_pa) > critical_pa
    velocity: Numbers = np.where(is_past, np.maximum(laminar, turbulent), laminar)[()]
    return velocity


def flow_herschel_bulkley(
    *,
    pressure_drop_pa: Numbers,
    length_m: Numbers,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
    diameter_m: Numbers,
    density_kg_m3: Numbers,
    roughness_m: Numbers = 0.0,
) -> Numbers:
    """Flow [m3/s] that a pressure drop [Pa] drives through a pipe; 0 where the gel stands still.

    Inverse of ``pressure_drop_herschel_bulkley``.
    """
    velocity = velocity_herschel_bulkley(
        wall_stress_pa=wall_stress(
            pressure_drop_pa=pressure_drop_pa, diameter_m=diameter_m, length_m=length_m
        ),
        yield_pa=yield_pa,
        consistency_pa_s=consistency_pa_s,
        index=index,
        diameter_m=diameter_m,
        density_kg_m3=density_kg_m3,
        roughness_m=roughness_m,
    )
    return velocity * 0.25 * np.pi * np.asarray(diameter_m) ** 2


def pressure_drop_herschel_bulkley(
    *,
    flow_m3_s: Numbers,
    length_m: Numbers,
    yield_pa: Numbers,
    consistency_pa_s: Numbers,
    index: Numbers,
    diameter_m: Numbers,
    density_kg_m3: Numbers,
    roughness_m: Numbers = 0.0,
) -> Numbers:
    """Pressure drop [Pa] of a flow [m3/s]: the inverse of ``flow_herschel_bulkley``.

    At no flow it is what the yield stress can hold, ``4 tau_y L/D``: the pressure to start moving.
    """
    bore = 0.25 * np.pi * np.asarray(diameter_m, dtype=float) ** 2
    speed = np.asarray(flow_m3_s, dtype=float) / bore
    critical_pa = critical_wall_stress(
        yield_pa=yield_pa,
        consistency_pa_s=consistency_pa_s,
        index=index,
        diameter_m=diameter_m,
        density_kg_m3=density_kg_m3,
    )

    def velocity(stress: Numbers) -> Numbers:
        return velocity_herschel_bulkley(
            wall_stress_pa=stress,
            yield_pa=yield_pa,
            consistency_pa_s=consistency_pa_s,
            index=index,
            diameter_m=diameter_m,
            density_kg_m3=density_kg_m3,
            roughness_m=roughness_m,
            critical_pa=critical_pa,
        )

    shape = np.broadcast(speed, yield_pa, consistency_pa_s, index, density_kg_m3, roughness_m).shape
    low = np.maximum(np.asarray(yield_pa, dtype=float), _SMALLEST_STRESS_PA)
    stress = rising_root(function=velocity, target=np.broadcast_to(speed, shape), low=low)
    stress = np.where(speed > 0.0, stress, yield_pa)
    drop: Numbers = (4.0 * stress * np.asarray(length_m) / diameter_m)[()]
    return drop


def fanning_of_wall_stress(
    *, wall_stress_pa: Numbers, velocity_m_s: Numbers, density_kg_m3: Numbers
) -> Numbers:
    """Fanning friction factor ``2 tau_w/(rho V^2)`` [-], the form textbooks print.

    Checks ``velocity_turbulent_wilson_thomas`` against printed factors.
    """
    speed = np.asarray(velocity_m_s, dtype=float)
    value: Numbers = 2.0 * np.asarray(wall_stress_pa) / (density_kg_m3 * speed**2)
    return value
