"""From metres of a job's CRS back to longitude and latitude, for what is written out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shapely.geometry import LineString, Point, Polygon

Spot = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Earth:
    """The way from a job's CRS to longitude, latitude (WGS 84)."""

    transformer: Any

    def degrees(self, spots: tuple[Spot, ...]) -> list[Spot]:
        """Longitude and latitude of places in metres."""
        xs, ys = zip(*spots, strict=True)
        east, north = self.transformer.transform(xs, ys)
        return [(float(x), float(y)) for x, y in zip(east, north, strict=True)]

    def point(self, x_m: float, y_m: float) -> Point:
        """One place."""
        from shapely.geometry import Point

        return Point(self.degrees(((x_m, y_m),))[0])

    def ring(self, footprint_m: tuple[Spot, ...]) -> Polygon:
        """A footprint."""
        from shapely.geometry import Polygon

        return Polygon(self.degrees(footprint_m))

    def track(self, track_m: tuple[Spot, ...]) -> LineString:
        """A drawn line."""
        from shapely.geometry import LineString

        return LineString(self.degrees(track_m))


def earth_of(crs: str) -> Earth:
    """The way back from a CRS such as "EPSG:32612"."""
    from pyproj import Transformer

    return Earth(Transformer.from_crs(crs, "EPSG:4326", always_xy=True))


def written_time(epoch_s: float, zone: Any) -> str:
    """A time to the microsecond with its shift, such as "2026-08-14T15:00:00-06:00"."""
    from datetime import datetime

    return datetime.fromtimestamp(epoch_s, tz=zone).isoformat()
