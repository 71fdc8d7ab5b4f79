"""An outlook told by zones: which cells speak for a zone, what they say, and a small map."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.outlook_brief import FaceMap, Holding, Zone, ZoneAnswer, ZoneFace, ZoneGroup
from stillwet.outlook.ask import HOUR_S, Ask
from stillwet.outlook.grid import Grid, cell_positions
from stillwet.outlook.store import open_store

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]
NEEDED = ("hold_time_sure", "hold_time_even", "hold_chance", "earliest_start", "coat_needed")
MAP_COLUMNS, MAP_ROWS = 60, 44
_MARGIN = 0.06  # of the zones' extent, round the map
_LEAST_SPAN_DEG = 0.02
_NEAR_END_H = 1e-3
_MOST_CELL_KM = 60.0  # a spot farther than this from every cell lies off the grid
_KM_A_DEG = 111.2


@dataclass(frozen=True, eq=False)
class _Cells:
    """Answers of every cell at the hour by which the coat must be on; faces by cells."""

    latitude: Array
    longitude: Array
    sure_h: Array
    even_h: Array
    chance: Array
    start_h: Array
    coat_kg_m2: Array
    wanted_h: float  # how long it must hold from that hour
    end_h: float  # from that hour to the forecast's end
    on_by_h: float
    first_s: float
    near_km: float


def zone_groups(
    store: Path, data: xr.Dataset, grid: Grid, ask: Ask, zones: Sequence[Zone]
) -> tuple[ZoneGroup, ...]:
    """Every group with its zones' answers and maps; ``ask`` says from when until when."""
    cells = _read(store, data, grid, ask)
    names = list(dict.fromkeys(zone.group for zone in zones))
    return tuple(_group(name, [z for z in zones if z.group == name], cells, ask) for name in names)


def _read(store: Path, data: xr.Dataset, grid: Grid, ask: Ask) -> _Cells:
    found = open_store(store)
    first, last = float(grid.hours_s[0]), float(grid.hours_s[-1])
    until = last if ask.until_s is None else ask.until_s
    on_by = until if ask.from_s is None else ask.from_s
    hour = int((on_by - first) // HOUR_S)  # a coat laid up to an hour early: on the safe side

    def at_hour(name: str) -> Array:
        values = found[name].isel(time=hour).to_numpy().astype(np.float64)
        return values.reshape(len(ask.faces), -1)

    north, east = cell_positions(data, grid, slice(0, grid.height), slice(0, grid.width))
    starts = found["earliest_start"].to_numpy().astype(np.float64)
    return _Cells(
        latitude=north,
        longitude=east,
        sure_h=at_hour("hold_time_sure"),
        even_h=at_hour("hold_time_even"),
        chance=at_hour("hold_chance"),
        start_h=starts.reshape(len(ask.faces), -1),
        coat_kg_m2=at_hour("coat_needed"),
        wanted_h=(until - first) / HOUR_S - hour,
        end_h=(last - first) / HOUR_S - hour,
        on_by_h=(on_by - first) / HOUR_S,
        first_s=first,
        near_km=_spacing_km(north, east, grid),
    )


def _spacing_km(north: Array, east: Array, grid: Grid) -> float:
    """The reach of one cell: the diagonal between neighbours in the middle of the grid."""
    row, column = grid.height // 2, grid.width // 2
    middle = row * grid.width + column
    other = max(row - 1, 0) * grid.width + max(column - 1, 0)
    apart = np.hypot(
        (north[middle] - north[other]) * _KM_A_DEG,
        ((east[middle] - east[other] + 180) % 360 - 180)
        * _KM_A_DEG
        * np.cos(np.radians(north[middle])),
    )
    return float(min(max(apart, 0.5), _MOST_CELL_KM))


def _polygon(zone: Zone) -> Any:
    from shapely import MultiPolygon, Polygon, prepare

    made = MultiPolygon([Polygon(rings[0], rings[1:]) for rings in zone.polygons])
    prepare(made)
    return made


def _speakers(zone: Zone, cells: _Cells) -> tuple[NDArray[np.int64], bool]:
    """The cells whose middles lie in a zone; the nearest one where the zone has none."""
    from shapely import contains_xy

    shape = _polygon(zone)
    inside = np.flatnonzero(contains_xy(shape, cells.longitude, cells.latitude))
    if inside.size:
        return inside, False
    spot = shape.representative_point()
    away = _km_from(cells, float(spot.y), float(spot.x))
    nearest = int(np.argmin(away))
    reached = away[nearest] <= cells.near_km
    return np.array([nearest] if reached else [], dtype=np.int64), True


def _km_from(cells: _Cells, north: float, east: float) -> Array:
    along = (cells.longitude - east + 180) % 360 - 180
    return np.asarray(
        np.hypot(cells.latitude - north, along * np.cos(np.radians(north))) * _KM_A_DEG
    )


def _answer(zone: Zone, cells: _Cells, ask: Ask) -> ZoneAnswer:
    chosen, is_small = _speakers(zone, cells)
    good = chosen[np.isfinite(cells.sure_h[0, chosen])]
    faces = tuple(_face(face.name, s, good, cells) for s, face in enumerate(ask.faces))
    return ZoneAnswer(zone, int(chosen.size), int(chosen.size - good.size), is_small, faces)


def _face(name: str, s: int, good: NDArray[np.int64], cells: _Cells) -> ZoneFace:
    if good.size == 0:
        return ZoneFace(name, None, None, False, *[None] * 8)
    sure, even, start = cells.sure_h[s, good], cells.even_h[s, good], cells.start_h[s, good]
    holds = sure >= cells.wanted_h - _NEAR_END_H
    in_time = start[holds].max() if holds.any() else np.nan
    coat, chance = cells.coat_kg_m2[s, good], cells.chance[s, good]
    return ZoneFace(
        face=name,
        mean_hold_s=float(sure.mean() * HOUR_S),
        least_hold_s=float(sure.min() * HOUR_S),
        is_capped=bool((sure >= cells.end_h - _NEAR_END_H).any()),
        share_sure=float(holds.mean()),
        share_even=float((even >= cells.wanted_h - _NEAR_END_H).mean()),
        chance_mean=float(chance.mean()),
        chance_least=float(chance.min()),
        from_start_s=float(cells.first_s + in_time * HOUR_S) if holds.any() else None,
        latest_start_s=float(cells.first_s + cells.on_by_h * HOUR_S) if holds.any() else None,
        coat_mean_kg_m2=float(coat.mean()),
        coat_most_kg_m2=float(coat.max()),
    )


def _group(name: str, zones: Sequence[Zone], cells: _Cells, ask: Ask) -> ZoneGroup:
    bounds = _bounds(zones)
    nearest, is_near = _spots(bounds, cells)
    maps = tuple(_map(face.name, s, nearest, is_near, cells) for s, face in enumerate(ask.faces))
    return ZoneGroup(name, bounds, tuple(_answer(zone, cells, ask) for zone in zones), maps)


def _bounds(zones: Sequence[Zone]) -> tuple[float, float, float, float]:
    points = np.array([p for zone in zones for rings in zone.polygons for p in rings[0]])
    (west, south), (east, north) = points.min(axis=0), points.max(axis=0)
    wide = _MARGIN * max(east - west, _LEAST_SPAN_DEG)
    high = _MARGIN * max(north - south, _LEAST_SPAN_DEG)
    return float(west - wide), float(south - high), float(east + wide), float(north + high)


def _spots(
    bounds: tuple[float, float, float, float], cells: _Cells
) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """The nearest cell of every spot of a map, and whether the spot lies on the grid."""
    from scipy.spatial import cKDTree

    west, south, east, north = bounds
    across = west + (np.arange(MAP_COLUMNS) + 0.5) * (east - west) / MAP_COLUMNS
    down = north - (np.arange(MAP_ROWS) + 0.5) * (north - south) / MAP_ROWS
    up, along = np.meshgrid(down, across, indexing="ij")
    away, nearest = cKDTree(_on_sphere(cells.latitude, cells.longitude)).query(
        _on_sphere(up.ravel(), along.ravel())
    )
    is_near = away * 6371.0 <= cells.near_km
    shape = (MAP_ROWS, MAP_COLUMNS)
    return np.asarray(nearest).reshape(shape), np.asarray(is_near).reshape(shape)


def _on_sphere(latitude: Array, longitude: Array) -> Array:
    north, east = np.radians(latitude), np.radians(longitude)
    return np.stack([np.cos(north) * np.cos(east), np.cos(north) * np.sin(east), np.sin(north)], 1)


def _map(
    name: str, s: int, nearest: NDArray[np.int64], is_near: NDArray[np.bool_], cells: _Cells
) -> FaceMap:
    sure, even = cells.sure_h[s][nearest], cells.even_h[s][nearest]
    least = cells.wanted_h - _NEAR_END_H
    kind = np.where(even >= least, int(Holding.EVEN), int(Holding.NOT))
    kind = np.where(sure >= least, int(Holding.SURE), kind)
    kind = np.where(is_near & np.isfinite(sure), kind, int(Holding.UNKNOWN))
    return FaceMap(name, tuple(tuple(Holding(int(v)) for v in row) for row in kind))
