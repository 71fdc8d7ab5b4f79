"""The faces of an asset: walls and roof of a building, sides of a pole, fence or bridge."""

from __future__ import annotations

import math
from typing import Any

from stillwet.domain.assets import Asset, Geometry, Surface
from stillwet.tables import load_table

_COMPASS = (
    "north",
    "north-east",
    "east",
    "south-east",
    "south",
    "south-west",
    "west",
    "north-west",
)
_FLAT_ROOF_DEG = 5.0  # below this a roof is reckoned as one level face
_SHORTEST_WALL_M = 0.05  # digitising crumbs in footprints


def compass_word(azimuth_deg: float) -> str:
    """The eight-point compass word for a direction."""
    return _COMPASS[round(azimuth_deg / 45.0) % 8]


def is_building(asset: Asset) -> bool:
    """True for kinds with walls and a roof."""
    return _shape(asset) == "building"


def is_cylinder(asset: Asset) -> bool:
    """True for poles, trunks and tanks, whose width is a diameter."""
    return _shape(asset) == "cylinder"


def _shape(asset: Asset) -> str:
    kinds: dict[str, Any] = load_table("kinds")
    return str(kinds["kind"][asset.kind]["shape"])


def _face(
    asset: Asset,
    part: str,
    geometry: Geometry,
    *,
    tilt_deg: float,
    azimuth_deg: float,
    area_m2: float,
    length_m: float,
    height_m: float,
) -> Surface:
    return Surface(
        id=f"{asset.id}/{part.replace(' ', '-')}",
        asset_id=asset.id,
        label=part,
        geometry=geometry,
        tilt_deg=tilt_deg,
        azimuth_deg=round(azimuth_deg, 6) % 360.0,
        area_m2=area_m2,
        length_m=length_m,
        height_m=height_m,
    )


def corners(asset: Asset) -> tuple[tuple[float, float], ...]:
    """The footprint ring, or the rectangle that the typed length, width and facing stand for."""
    if asset.footprint_m is not None:
        return asset.footprint_m
    facing = math.radians(asset.facing_deg)
    out = (math.sin(facing), math.cos(facing))  # the way the front looks
    along = (out[1], -out[0])
    half_l, half_w = asset.length_m / 2, asset.width_m / 2
    signs = ((1, -1), (1, 1), (-1, 1), (-1, -1))  # counter-clockwise whatever the facing
    return tuple(
        (
            asset.x_m + side * half_l * along[0] + front * half_w * out[0],
            asset.y_m + side * half_l * along[1] + front * half_w * out[1],
        )
        for side, front in signs
    )


def ring_area(ring: tuple[tuple[float, float], ...]) -> float:
    """Signed area of a ring [m2], positive when counter-clockwise (shoelace formula)."""
    pairs = zip(ring, ring[1:] + ring[:1], strict=True)
    return 0.5 * sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs)


def _walls(asset: Asset) -> list[Surface]:
    """One face per compass octant that the footprint's edges look to."""
    ring = corners(asset)
    lengths: dict[str, float] = {}
    vectors: dict[str, tuple[float, float]] = {}
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        dx, dy = x1 - x0, y1 - y0
        length = math.hypot(dx, dy)
        if length < _SHORTEST_WALL_M:
            continue
        word = compass_word(math.degrees(math.atan2(dy, -dx)) % 360.0)
        east, north = vectors.get(word, (0.0, 0.0))
        # The outward normal of a counter-clockwise ring's edge is (dy, -dx).
        vectors[word] = (east + dy, north - dx)
        lengths[word] = lengths.get(word, 0.0) + length
    return [
        _face(
            asset,
            f"{word} wall",
            Geometry.WALL,
            tilt_deg=90.0,
            azimuth_deg=math.degrees(math.atan2(*vectors[word])),
            area_m2=lengths[word] * asset.eave_height_m,
            length_m=lengths[word],
            height_m=asset.eave_height_m / 2,
        )
        for word in _COMPASS
        if word in lengths
    ]


def _roofs(asset: Asset) -> list[Surface]:
    """A level roof as one face, a pitched one as two slopes off a ridge along the long side."""
    plan_area = abs(ring_area(corners(asset)))
    pitch = asset.roof_pitch_deg
    if pitch < _FLAT_ROOF_DEG:
        return [
            _face(
                asset,
                "roof",
                Geometry.ROOF,
                tilt_deg=pitch,
                azimuth_deg=asset.facing_deg,
                area_m2=plan_area,
                length_m=math.sqrt(plan_area),
                height_m=asset.eave_height_m,
            )
        ]
    slope_area = plan_area / 2 / math.cos(math.radians(pitch))
    rise = asset.width_m / 4 * math.tan(math.radians(pitch))
    return [
        _face(
            asset,
            f"{compass_word(azimuth)} roof",
            Geometry.ROOF,
            tilt_deg=pitch,
            azimuth_deg=azimuth,
            area_m2=slope_area,
            length_m=math.sqrt(plan_area / 2),
            height_m=asset.eave_height_m + rise,
        )
        for azimuth in (asset.facing_deg, (asset.facing_deg + 180.0) % 360.0)
    ]


def _round_sides(asset: Asset) -> list[Surface]:
    """The four quarters of a pole, trunk, tower leg or tank."""
    quarter = math.pi * asset.width_m * asset.eave_height_m / 4
    return [
        _face(
            asset,
            f"{_COMPASS[2 * index]} side",
            Geometry.CYLINDER,
            tilt_deg=90.0,
            azimuth_deg=90.0 * index,
            area_m2=quarter,
            length_m=asset.width_m,
            height_m=asset.eave_height_m / 2,
        )
        for index in range(4)
    ]


def _screen_sides(asset: Asset) -> list[Surface]:
    """Both sides of a fence."""
    return [
        _face(
            asset,
            f"{compass_word(azimuth)} side",
            Geometry.WALL,
            tilt_deg=90.0,
            azimuth_deg=azimuth,
            area_m2=asset.length_m * asset.eave_height_m,
            length_m=asset.eave_height_m,
            height_m=asset.eave_height_m / 2,
        )
        for azimuth in (asset.facing_deg, (asset.facing_deg + 180.0) % 360.0)
    ]


def _deck(asset: Asset) -> list[Surface]:
    """The top of a bridge and its two long edges."""
    top = _face(
        asset,
        "deck",
        Geometry.ROOF,
        tilt_deg=0.0,
        azimuth_deg=asset.facing_deg,
        area_m2=asset.length_m * asset.width_m,
        length_m=asset.width_m,
        height_m=asset.eave_height_m,
    )
    return [top, *_screen_sides(asset)]


def faces_of(asset: Asset) -> tuple[Surface, ...]:
    """All faces of an asset that a crew can coat, by the shape its kind stands for."""
    makers = {
        "building": lambda: _walls(asset) + _roofs(asset),
        "cylinder": lambda: _round_sides(asset),
        "screen": lambda: _screen_sides(asset),
        "deck": lambda: _deck(asset),
    }
    return tuple(makers[_shape(asset)]())
