"""Use case: the ground under the maps, from files of tiles that the user brings, or none."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.map_tiles import open_tiles
from stillwet.exchange.tile_facts import TileReader, picture_type

BASE_MAP, HILLSHADE = "base-map", "hillshade"
GROUND_LAYERS = (BASE_MAP, HILLSHADE)  # from below


@dataclass(frozen=True, slots=True)
class Picture:
    """One tile: its bytes and what they are by their own beginning ("image/png")."""

    raw: bytes
    media: str


@dataclass(frozen=True, slots=True)
class Layer:
    """One file under the maps; ``version`` changes with the file."""

    id: str
    reader: TileReader
    version: str


class Ground:
    """The open files, from below; none is a ground, too. May be asked from several threads."""

    def __init__(self, layers: Sequence[Layer] = ()) -> None:
        self._layers = {layer.id: layer for layer in layers}

    def layers_json(self) -> dict[str, Any]:
        """Every layer as a map needs it: what it is called, credit, reach, zooms, version."""
        return {"layers": [_layer_json(one) for one in self._layers.values()]}

    def version(self, layer_id: str) -> str:
        """The version of a layer; empty where there is no such layer."""
        return self._layers[layer_id].version if layer_id in self._layers else ""

    def picture(self, layer_id: str, z: int, x: int, y: int) -> Picture | None:
        """A tile, y counted from the north; None where the layer has none there."""
        raw = self._layers[layer_id].reader.tile(z, x, y)
        if raw is None:
            return None
        media = picture_type(raw)
        if not media:
            place, wanted = f"{layer_id} {z}/{x}/{y}", "a picture (PNG, JPEG or WebP)"
            raise StillwetError(Problem("tile", wanted, shown(raw[:8]), place))
        return Picture(raw, media)

    def close(self) -> None:
        """Let the files go."""
        for layer in self._layers.values():
            layer.reader.close()


def open_ground(base_map: Path | None, hillshade: Path | None) -> Ground:
    """Open what was brought; StillwetError tells what is wrong with either file."""
    with ExitStack() as opened:
        layers = []
        for layer_id, path in zip(GROUND_LAYERS, (base_map, hillshade), strict=True):
            if path is not None:
                reader = open_tiles(path)
                opened.callback(reader.close)
                layers.append(Layer(layer_id, reader, _version_of(path)))
        opened.pop_all()
    return Ground(layers)


def _version_of(path: Path) -> str:
    found = path.stat()
    told = f"{path.absolute()} {found.st_size} {found.st_mtime_ns}"
    return hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()[:12]


def _layer_json(layer: Layer) -> dict[str, Any]:
    facts = layer.reader.facts
    return {
        "id": layer.id,
        "name": facts.name,
        "credit": facts.credit,
        "version": layer.version,
        "bounds_deg": [facts.west_deg, facts.south_deg, facts.east_deg, facts.north_deg],
        "min_zoom": facts.min_zoom,
        "max_zoom": facts.max_zoom,
    }
