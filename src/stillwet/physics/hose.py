"""Fire-ground hydraulics of plain water: hose rule, nozzle, lift, fittings, eductor.

The handbook rules are in US units (psi, gpm, feet, inches); they are kept with their printed
constants and converted once, so that the printed examples come out digit for digit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from stillwet.constants import GRAVITY
from stillwet.errors import Problem, StillwetError, shown
from stillwet.physics.guards import Numbers
from stillwet.tables import load_table
from stillwet.units import to_si

GPM = to_si(1.0, "gpm", dimension="flow")
PSI = to_si(1.0, "psi", dimension="pressure")
FOOT = to_si(1.0, "ft", dimension="length")
INCH = to_si(1.0, "in", dimension="length")

NOZZLE_CONSTANT = 29.7  # gpm/(in2 psi^0.5), Freeman; a discharge coefficient of 0.995
EDUCTOR_LOSS = 0.35  # of the inlet pressure, NWCG guide: 0.25 to 0.60
EDUCTOR_FLOW_BAND = 0.1  # untested default, 0.05 to 0.2: off its flow by more, the ratio is off

CoefficientSet = Literal["a", "b"]


@dataclass(frozen=True, slots=True)
class HoseRule:
    """One row of ``data/hose.toml``; the sets disagree, and either may be missing."""

    bore_m: float
    coefficient_a: float
    coefficient_b: float | None
    flow_limit_m3_s: float | None  # field practice, a warning

    def coefficient(self, which: CoefficientSet) -> float:
        """C of the set asked for; set A where set B has no row."""
        if which == "b" and self.coefficient_b is not None:
            return self.coefficient_b
        return self.coefficient_a


def hose_rules() -> tuple[HoseRule, ...]:
    """Every hose of the table, thinnest first."""
    rows: list[dict[str, Any]] = load_table("hose")["hose"]
    return tuple(
        HoseRule(
            bore_m=row["bore_in"] * INCH,
            coefficient_a=row["coefficient_a"],
            coefficient_b=row.get("coefficient_b"),
            flow_limit_m3_s=None if "flow_limit_gpm" not in row else row["flow_limit_gpm"] * GPM,
        )
        for row in rows
    )


def hose_rule(*, bore_m: float) -> HoseRule:
    """The rule for a nominal bore [m], within 1 mm; raises StillwetError naming the bores known."""
    for rule in hose_rules():
        if abs(rule.bore_m - bore_m) < 1e-3:
            return rule
    known = ", ".join(f"{rule.bore_m / INCH:g}" for rule in hose_rules())
    raise StillwetError(
        Problem("hose bore", f"one of {known} in", f"{shown(round(bore_m / INCH, 3))} in")
    )


def hose_loss_rule(*, flow_m3_s: Numbers, length_m: Numbers, coefficient: Numbers) -> Numbers:
    """Friction loss of water in hose [Pa]: ``FL[psi] = C (Q/100 gpm)^2 (L/100 ft)``.

    Parameters: flow_m3_s [m3/s], length_m [m], coefficient C [psi per (100 gpm)^2 per 100 ft]; any
    shapes. Source: fire-department hydraulics manuals. Known faults: C implies bores that are not
    the nominal ones (1 in acts as 1.13 in); two published sets differ by up to 55 %.
    """
    hundreds_gpm = np.asarray(flow_m3_s, dtype=float) / GPM / 100.0
    hundreds_ft = np.asarray(length_m, dtype=float) / FOOT / 100.0
    return coefficient * hundreds_gpm**2 * hundreds_ft * PSI


def nozzle_flow_freeman(
    *, pressure_pa: Numbers, diameter_m: Numbers, constant: Numbers = NOZZLE_CONSTANT
) -> Numbers:
    """Flow of a smooth-bore nozzle [m3/s]: ``Q[gpm] = 29.7 d^2 sqrt(P)``, d in inches, P in psi.

    Parameters: pressure_pa at the nozzle [Pa], diameter_m of the tip [m], constant; any shapes.
    Source: Freeman 1889, as printed in fire-department hydraulics manuals (1 in at 50 psi: 210
    gpm). Inverse of ``nozzle_pressure_freeman``.
    """
    inches = np.asarray(diameter_m, dtype=float) / INCH
    flow: Numbers = constant * inches**2 * np.sqrt(np.asarray(pressure_pa) / PSI) * GPM
    return flow


def nozzle_flow_orifice(
    *,
    pressure_pa: Numbers,
    diameter_m: Numbers,
    density_kg_m3: Numbers,
    discharge_coefficient: Numbers = 0.995,
) -> Numbers:
    """Flow of a smooth bore [m3/s]: ``Cd (pi/4) d^2 sqrt(2 P/rho)``, no approach velocity.

    Bernoulli, in SI throughout. Sibling of ``nozzle_flow_freeman``.
    """
    area = 0.25 * np.pi * np.asarray(diameter_m, dtype=float) ** 2
    flow: Numbers = discharge_coefficient * area * np.sqrt(2.0 * pressure_pa / density_kg_m3)
    return flow


def nozzle_pressure_freeman(
    *, flow_m3_s: Numbers, diameter_m: Numbers, constant: Numbers = NOZZLE_CONSTANT
) -> Numbers:
    """Nozzle pressure [Pa] at a flow [m3/s]: the inverse of ``nozzle_flow_freeman``."""
    inches = np.asarray(diameter_m, dtype=float) / INCH
    return (np.asarray(flow_m3_s, dtype=float) / GPM / (constant * inches**2)) ** 2 * PSI


def equivalent_tip(*, flow_m3_s: float, pressure_pa: float) -> float:
    """Smooth bore [m] that passes a nozzle's rated flow [m3/s] at its rated pressure [Pa]."""
    psi, gpm = pressure_pa / PSI, flow_m3_s / GPM
    return math.sqrt(gpm / (NOZZLE_CONSTANT * math.sqrt(psi))) * INCH


def lift_pressure(*, height_m: Numbers, density_kg_m3: Numbers) -> Numbers:
    """Pressure to lift a liquid [Pa]: ``rho g h``; water 0.434 psi per foot (NWCG table 3.1)."""
    return np.asarray(height_m, dtype=float) * GRAVITY * density_kg_m3


def suction_lift_limit(
    *, air_pressure_pa: Numbers, vapour_pressure_pa: Numbers, density_kg_m3: Numbers
) -> Numbers:
    """Highest suction lift physics allows [m]: ``(p - p_v)/(rho g)``; field practice is two thirds.

    NWCG table 3.1 prints 33.9 ft at sea level, which leaves the vapour pressure out.
    Beside ``lift_pressure``: the program does not use it.
    """
    return (np.asarray(air_pressure_pa) - vapour_pressure_pa) / (GRAVITY * density_kg_m3)


def fitting_loss(
    *, flow_m3_s: Numbers, bore_m: Numbers, loss_coefficient: Numbers, density_kg_m3: Numbers
) -> Numbers:
    """Loss in fittings [Pa]: ``k rho V^2/2``; loss_coefficient k [-] summed over the bore's."""
    area = 0.25 * np.pi * np.asarray(bore_m, dtype=float) ** 2
    dynamic = 0.5 * density_kg_m3 * (np.asarray(flow_m3_s, dtype=float) / area) ** 2
    loss: Numbers = np.asarray(loss_coefficient) * dynamic
    return loss


def eductor_outlet(*, inlet_pa: Numbers, loss_share: Numbers = EDUCTOR_LOSS) -> Numbers:
    """Pressure left behind an eductor [Pa]: 200 psi in, 130 out at the usual 35 % (25 to 60 %)."""
    return np.asarray(inlet_pa, dtype=float) * (1.0 - np.asarray(loss_share))
