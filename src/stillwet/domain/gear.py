"""What stands between a crew's tank and the coat: pump, hose, nozzle and proportioner."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from stillwet.domain.checks import need_bounded
from stillwet.errors import Problem, StillwetError, shown


@dataclass(frozen=True, slots=True)
class Gear:
    """Pump curve, hose lay, nozzle, and how far the proportioner strays from what is set.

    The pump's points rise in flow and never in pressure. One point only: the pump is held at that
    pressure, up to that flow. ``delivered_low`` and ``delivered_high`` are delivered ratio over the
    ratio set.
    """

    pump_flow_m3_s: tuple[float, ...]
    pump_pressure_pa: tuple[float, ...]
    hoses_m: tuple[tuple[float, float], ...]  # (nominal bore, length), pump to nozzle
    lift_m: float  # nozzle above pump
    nozzle_flow_m3_s: float  # rated flow ...
    nozzle_pressure_pa: float  # ... at this pressure
    nozzle_least_pa: float  # below this the nozzle makes no pattern
    delivered_low: float
    delivered_high: float
    eductor_flow_m3_s: float | None = None  # rated flow of an in-line eductor; None: there is none

    def __post_init__(self) -> None:
        self._check_pump()
        if not self.hoses_m:
            raise StillwetError(Problem("hose", "at least one hose", "none"))
        for _, length_m in self.hoses_m:
            need_bounded("hose", length_m, 0.3, 3000.0, "m of length")
        need_bounded("lift", self.lift_m, -100.0, 150.0, "m")
        need_bounded("nozzle", self.nozzle_flow_m3_s, 1e-5, 0.1, "m3/s")
        need_bounded("nozzle", self.nozzle_pressure_pa, 1e4, 2e6, "Pa")
        need_bounded("nozzle_least", self.nozzle_least_pa, 0.0, 2e6, "Pa")
        need_bounded("delivered_low", self.delivered_low, 0.2, 2.0, "fraction of the ratio set")
        need_bounded("delivered_high", self.delivered_high, 0.2, 3.0, "fraction of the ratio set")
        if self.delivered_low > self.delivered_high:
            wanted = f"at most delivered_high ({self.delivered_high:g})"
            raise StillwetError(Problem("delivered_low", wanted, shown(self.delivered_low)))

    def _check_pump(self) -> None:
        flow, pressure = self.pump_flow_m3_s, self.pump_pressure_pa
        if not flow or len(flow) != len(pressure):
            raise StillwetError(
                Problem("pump", "flow and pressure in pairs", f"{len(flow)} and {len(pressure)}")
            )
        for one in flow:
            need_bounded("pump", one, 0.0, 0.5, "m3/s")
        for one in pressure:
            need_bounded("pump", one, 0.0, 5e6, "Pa")
        rises = all(b > a for a, b in pairwise(flow))
        falls = all(b <= a for a, b in pairwise(pressure))
        if not (rises and falls) or (len(flow) > 1 and flow[0] != 0.0) or flow[-1] == 0.0:
            wanted = "one flow and pressure, or points from flow 0 on with pressure never rising"
            got = "; ".join(
                f"{q:.3g} m3/s at {p:.3g} Pa" for q, p in zip(flow, pressure, strict=True)
            )
            hint = "begin with the pressure at a closed nozzle: 0 gal/min at 175 psi"
            raise StillwetError(Problem("pump", wanted, shown(got, 120), "", hint))

    @property
    def pump_curve(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Flows and pressures from flow 0 on; a single point is held from there."""
        if len(self.pump_flow_m3_s) > 1:
            return self.pump_flow_m3_s, self.pump_pressure_pa
        return (0.0, *self.pump_flow_m3_s), self.pump_pressure_pa * 2
