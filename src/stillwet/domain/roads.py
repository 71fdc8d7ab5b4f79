"""Roads that crews drive on, as drawn; without any, ways are straight lines with a detour."""

from __future__ import annotations

from dataclasses import dataclass

from stillwet.domain.checks import need_bounded
from stillwet.errors import Problem, StillwetError


@dataclass(frozen=True, slots=True)
class Road:
    """One stretch of road in the job's CRS; roads join where they share a drawn point.

    ``speed_m_s`` is what the road allows, None where only the vehicle's own speed counts.
    ``one_way`` roads are driven only in the order drawn.
    """

    track_m: tuple[tuple[float, float], ...]
    speed_m_s: float | None = None
    one_way: bool = False

    def __post_init__(self) -> None:
        if len(self.track_m) < 2:
            raise StillwetError(Problem("road", "at least 2 points", str(len(self.track_m))))
        if self.speed_m_s is not None:
            need_bounded("speed", self.speed_m_s, 0.1, 40.0, "m/s")
