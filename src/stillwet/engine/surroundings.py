"""What lies round an asset or a line: how far it is to the nearest water and the nearest well."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from stillwet.domain.assets import Asset
from stillwet.domain.job import Job
from stillwet.domain.lines import LineSegment, Track, WetSides
from stillwet.engine.faces import corners, is_cylinder

if TYPE_CHECKING:
    from shapely import STRtree
    from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True, eq=False)
class Surroundings:
    """The waterways and wells of a job, ready to be measured to; None where none are drawn."""

    waters: STRtree | None
    wells: STRtree | None

    def to_water_m(self, shape: BaseGeometry) -> float | None:
        """Metres from a shape to the nearest waterway; 0 on, over or in it."""
        return _nearest_m(self.waters, shape)

    def to_well_m(self, shape: BaseGeometry) -> float | None:
        """Metres from a shape to the nearest well, spring or cistern."""
        return _nearest_m(self.wells, shape)


def surroundings_of(job: Job) -> Surroundings:
    """The surroundings of a job."""
    from shapely import STRtree
    from shapely.geometry import Point

    waters = _water_shapes(job.streams_m)
    wells = [Point(well.x_m, well.y_m) for well in job.wells]
    return Surroundings(STRtree(waters) if waters else None, STRtree(wells) if wells else None)


def asset_shape(asset: Asset) -> BaseGeometry:
    """The ground an asset stands on: its footprint, the circle of a pole, or a typed rectangle."""
    from shapely.geometry import Point, Polygon

    if is_cylinder(asset):
        return Point(asset.x_m, asset.y_m).buffer(asset.width_m / 2.0)
    return Polygon(corners(asset))


def strip_shape(segment: LineSegment, sides: WetSides) -> BaseGeometry:
    """The ground that may be wetted along a stretch of line, its strip taken on either side.

    A bare line beside the track is taken whole where one side is wetted, half where both are.
    """
    from shapely.geometry import LineString

    edge = segment.bare_width_m if sides is WetSides.ONE else segment.bare_width_m / 2.0
    return LineString(segment.track_m).buffer(edge + segment.width_m)


def _nearest_m(tree: STRtree | None, shape: BaseGeometry) -> float | None:
    if tree is None:
        return None
    nearest = tree.geometries[int(tree.nearest(shape))]
    return float(shape.distance(nearest))


def _water_shapes(tracks: tuple[Track, ...]) -> list[BaseGeometry]:
    """Streams as lines; rings as the water inside them, less the islands drawn inside those."""
    from shapely.geometry import LineString, Polygon

    rings = [Polygon(track) for track in tracks if _is_ring(track)]
    lines: list[BaseGeometry] = [LineString(track) for track in tracks if not _is_ring(track)]
    return lines + _ponds([ring if ring.is_valid else ring.buffer(0) for ring in rings])


def _is_ring(track: Track) -> bool:
    return len(track) >= 4 and math.dist(track[0], track[-1]) < 1e-6


def _ponds(rings: list[BaseGeometry]) -> list[BaseGeometry]:
    """Rings that lie inside an odd number of others are islands, the others are water."""
    from shapely import STRtree
    from shapely.ops import unary_union

    if not rings:
        return []
    inner, outer = STRtree(rings).query(rings, predicate="within")
    is_other = inner != outer
    inner, outer = inner[is_other], outer[is_other]
    depth = np.bincount(inner, minlength=len(rings))
    ponds = []
    for index, ring in enumerate(rings):
        if depth[index] % 2 == 0:
            inside = inner[(outer == index) & (depth[inner] == depth[index] + 1)]
            ponds.append(ring.difference(unary_union([rings[each] for each in inside])))
    return ponds
