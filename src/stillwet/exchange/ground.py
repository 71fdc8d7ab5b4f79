"""The job's ground: one local UTM zone chosen from the assets, and everything brought into it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from stillwet.errors import Problem, StillwetError

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_Shape = TypeVar("_Shape", bound="BaseGeometry")

FARTHEST_M = 150_000.0  # a UTM zone keeps lengths within 0.1 %; one job is far smaller
_UTM_LATITUDES = (-80.0, 84.0)


@dataclass(frozen=True, slots=True)
class Ground:
    """A projected CRS in metres and the way there from longitude, latitude."""

    crs: str  # "EPSG:32612"
    transformer: Any

    def project(self, geometry: _Shape) -> _Shape:
        """A geometry in longitude, latitude brought to metres east and north."""
        import shapely

        return shapely.transform(geometry, self.transformer.transform, interleaved=False)

    def point(self, longitude_deg: float, latitude_deg: float) -> tuple[float, float]:
        """Metres east and north of one point."""
        x, y = self.transformer.transform(longitude_deg, latitude_deg)
        return float(x), float(y)


def choose_ground(places: Iterable[tuple[str, float, float]]) -> Ground:
    """The UTM zone of the middle of all (place, longitude, latitude).

    Raises StillwetError naming every place implausibly far from the rest: that is how swapped or
    mistyped coordinates show.
    """
    import pyproj

    names, longitudes, latitudes = zip(*places, strict=True)
    middle = (float(np.median(longitudes)), float(np.median(latitudes)))
    if not _UTM_LATITUDES[0] <= middle[1] <= _UTM_LATITUDES[1]:
        got = f"{middle[1]:.4f} deg"
        raise StillwetError(Problem("latitude", "-80 to 84 deg (UTM)", got, names[0]))
    geod = pyproj.Geod(ellps="WGS84")
    count = len(names)
    _, _, far = geod.inv([middle[0]] * count, [middle[1]] * count, longitudes, latitudes)
    wanted = f"every asset within {FARTHEST_M / 1000:g} km of the middle of the job"
    problems = [
        Problem("position", wanted, f"{away / 1000:.0f} km away", name, "are the two swapped?")
        for name, away in zip(names, far, strict=True)
        if not away <= FARTHEST_M
    ]
    if problems:
        raise StillwetError(problems)
    zone = min(int((middle[0] + 180.0) // 6.0) + 1, 60)
    crs = f"EPSG:{(32600 if middle[1] >= 0 else 32700) + zone}"
    return Ground(crs, pyproj.Transformer.from_crs("EPSG:4326", crs, always_xy=True))
