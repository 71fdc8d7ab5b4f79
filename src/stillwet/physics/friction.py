"""Darcy friction factor of plain (Newtonian) liquids in round pipes.

``friction_factor_colebrook`` is the reference; the explicit ones are its siblings, kept because
they were fitted by other hands and so check it. All take the Reynolds number and the roughness
relative to the bore, scalars or arrays.
"""

from __future__ import annotations

import numpy as np

from stillwet.physics.guards import Numbers

LAMINAR_LIMIT = 2100.0  # Reynolds number, textbook round figure (2000 to 2300)


def reynolds_pipe(
    *, velocity_m_s: Numbers, diameter_m: Numbers, density_kg_m3: Numbers, viscosity_pa_s: Numbers
) -> Numbers:
    """Reynolds number ``rho*V*D/mu`` [-] from velocity [m/s], bore [m], density, viscosity."""
    return np.asarray(velocity_m_s, dtype=float) * diameter_m * density_kg_m3 / viscosity_pa_s


def friction_factor_laminar(*, reynolds: Numbers) -> Numbers:
    """Darcy friction factor ``64/Re`` [-]: Hagen-Poiseuille, Reynolds below about 2100."""
    return 64.0 / np.asarray(reynolds, dtype=float)


def friction_factor_colebrook(*, reynolds: Numbers, relative_roughness: Numbers) -> Numbers:
    """Darcy friction factor [-] in turbulent pipe flow, Colebrook 1939, solved to machine accuracy.

    ``1/sqrt(f) = -2 log10(e/3.7 + 2.51/(Re sqrt(f)))`` with the roughness e relative to the bore.
    Range: Re 4000 to 1e8, e 0 to 0.05. Known fault: off by some 5 to 10 % of measured pipes between
    smooth and rough. Solved by Newton steps on ``1/sqrt(f)`` from Haaland's value.
    """
    re, rough = np.asarray(reynolds, dtype=float), np.asarray(relative_roughness, dtype=float)
    x = 1.0 / np.sqrt(friction_factor_haaland(reynolds=re, relative_roughness=rough))
    slope = 2.51 / re
    for _ in range(6):
        inside = rough / 3.7 + slope * x
        residual = x + 2.0 * np.log10(inside)
        x = x - residual / (1.0 + 2.0 * slope / (inside * np.log(10.0)))
    return 1.0 / (x * x)


def friction_factor_haaland(*, reynolds: Numbers, relative_roughness: Numbers) -> Numbers:
    """Darcy friction factor [-], explicit: Haaland 1983, J. Fluids Eng. 105:89, within 2 %.

    ``1/sqrt(f) = -1.8 log10((e/3.7)^1.11 + 6.9/Re)``. Range: Re 4000 to 1e8, e 1e-6 to 0.05.
    """
    rough = np.asarray(relative_roughness, dtype=float)
    x = -1.8 * np.log10((rough / 3.7) ** 1.11 + 6.9 / np.asarray(reynolds, dtype=float))
    factor: Numbers = x**-2.0
    return factor


def friction_factor_swamee_jain(*, reynolds: Numbers, relative_roughness: Numbers) -> Numbers:
    """Darcy friction factor [-], explicit, within 3 %: Swamee & Jain 1976, J. Hydraul. Div. 102.

    ``f = 0.25/log10(e/3.7 + 5.74/Re^0.9)^2``. Range: Re 5000 to 1e8, e 1e-6 to 0.01.
    Sibling of ``friction_factor_colebrook``.
    """
    rough = np.asarray(relative_roughness, dtype=float)
    inside = np.log10(rough / 3.7 + 5.74 / np.asarray(reynolds, dtype=float) ** 0.9)
    factor: Numbers = 0.25 / inside**2
    return factor


def friction_factor_churchill(*, reynolds: Numbers, relative_roughness: Numbers) -> Numbers:
    """Darcy friction factor [-] over all regimes: Churchill 1977, Chem. Eng. 84(24):91.

    ``f = 8((8/Re)^12 + 1/(A + B)^1.5)^(1/12)``, ``A = (-2.457 ln((7/Re)^0.9 + 0.27 e))^16``,
    ``B = (37530/Re)^16``. Known fault: in the transition (2000 to 4000) it is a smooth guess.
    Sibling of ``friction_factor_newtonian``.
    """
    re, rough = np.asarray(reynolds, dtype=float), np.asarray(relative_roughness, dtype=float)
    a = (-2.457 * np.log((7.0 / re) ** 0.9 + 0.27 * rough)) ** 16
    b = (37530.0 / re) ** 16
    factor: Numbers = 8.0 * ((8.0 / re) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)
    return factor


def friction_factor_newtonian(*, reynolds: Numbers, relative_roughness: Numbers) -> Numbers:
    """The chooser: laminar below Re 2100, Colebrook above, Darcy [-].

    Between 2100 and 4000 Colebrook is used outside its range: it errs to more loss.
    """
    re = np.asarray(reynolds, dtype=float)
    turbulent = friction_factor_colebrook(
        reynolds=np.maximum(re, LAMINAR_LIMIT), relative_roughness=relative_roughness
    )
    laminar = friction_factor_laminar(reynolds=re)
    factor: Numbers = np.where(re < LAMINAR_LIMIT, laminar, turbulent)[()]
    return factor


def pressure_drop_darcy(
    *,
    friction_factor: Numbers,
    length_m: Numbers,
    diameter_m: Numbers,
    density_kg_m3: Numbers,
    velocity_m_s: Numbers,
) -> Numbers:
    """Pressure lost to friction [Pa]: ``f (L/D) rho V^2/2``, Darcy-Weisbach."""
    dynamic = 0.5 * np.asarray(density_kg_m3) * np.asarray(velocity_m_s, dtype=float) ** 2
    drop: Numbers = friction_factor * (np.asarray(length_m) / diameter_m) * dynamic
    return drop
