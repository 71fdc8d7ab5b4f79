"""The work at one asset: its faces in the order of spraying, in as many parts as tanks ask for."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from stillwet.domain.plan import AssetPlan, SurfacePlan

_NEAR_FACE = 0.15  # of a part's volume: so near a face's end, the part ends there
_CRUMB = 1e-9  # share of a face below which it is not worth a line on a sheet


@dataclass(frozen=True, slots=True)
class Portion:
    """What one visit lays on one face: all of its coat, or the ``share`` that the part holds.

    ``from_s``: its coat is reckoned from then, so it is not to be sprayed sooner.
    """

    surface_id: str
    label: str
    coat_kg_m2: float
    share: float
    mix_m3: float
    from_s: float


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast a crew works: set-up before spraying, and flow at the nozzle."""

    setup_s: float
    flow_m3_s: float


@dataclass(frozen=True, slots=True)
class Part:
    """One visit to an asset: portions in the order of spraying; ``number`` of ``of`` parts."""

    visit_id: str
    asset_id: str
    number: int
    of: int
    portions: tuple[Portion, ...]

    @property
    def mix_m3(self) -> float:
        """Finished mix sprayed in this visit."""
        return sum(portion.mix_m3 for portion in self.portions)

    def face_starts(self, start_s: float, pace: Pace) -> tuple[float, ...]:
        """When spraying of each portion begins, for work (set-up first) that starts at a time."""
        times, before = [], 0.0
        for portion in self.portions:
            times.append(start_s + pace.setup_s + before / pace.flow_m3_s)
            before += portion.mix_m3
        return tuple(times)

    def earliest_s(self, pace: Pace) -> float:
        """The earliest start of work at which no portion is sprayed before its time."""
        offsets = self.face_starts(0.0, pace)
        return max(
            portion.from_s - offset for portion, offset in zip(self.portions, offsets, strict=True)
        )


def parts_needed(mix_m3: float, tank_m3: float) -> int:
    """In how many parts a visit is made so that one usable tank does for each."""
    return max(1, math.ceil(mix_m3 / tank_m3 - 1e-9)) if tank_m3 > 0 else 1


@dataclass(frozen=True, slots=True)
class Cut:
    """Which shares of which faces one visit to an asset lays, in the order of spraying.

    Cuts stay as they are while coats change, so that a part never takes up another's faces.
    """

    visit_id: str
    number: int
    of: int
    shares: tuple[tuple[str, float], ...]  # surface id, share of its coat

    def mix_m3(self, asset: AssetPlan) -> float:
        """What the visit sprays with the coats of this plan."""
        mix = {face.surface.id: face.mix_m3 for face in asset.surfaces}
        return sum(share * mix[name] for name, share in self.shares)


def cut_asset(
    asset: AssetPlan,
    order: Mapping[str, float],
    numbers: Sequence[int],
    of: int,
    tank_m3: float,
    left: Mapping[str, float] | None = None,
) -> tuple[Cut, ...]:
    """An asset's work in parts of about equal volume, called by their ``numbers`` out of ``of``.

    Parts end with a face where that is near and each still fits ``tank_m3``. ``order``: from when
    each face may be sprayed at the earliest, by surface id: those come first, so that faces that
    dry soonest are coated last. ``left``: the share of each face still to do.
    """
    faces = [face for face in asset.surfaces if face.mix_m3 > 0]
    faces.sort(key=lambda face: order[face.surface.id])
    todo = [
        (face, face.mix_m3 * (1.0 if left is None else left.get(face.surface.id, 0.0)))
        for face in faces
    ]
    bounds = _bounds([mix for _, mix in todo], len(numbers), tank_m3)
    cuts = []
    for number, stretch in zip(numbers, pairwise(bounds), strict=True):
        name = asset.asset_id if of == 1 else f"{asset.asset_id} part {number}"
        cuts.append(Cut(name, number, of, tuple(_shares(todo, stretch))))
    return tuple(cuts)


def _bounds(mixes: Sequence[float], count: int, tank_m3: float) -> list[float]:
    """Volumes at which parts begin and end: equal, or moved to the end of a face near by."""
    edges = [0.0, *accumulate(mixes)]
    whole = edges[-1]
    bounds = [whole * index / count for index in range(count + 1)]
    for index in range(1, count):
        gaps = [abs(edge - bounds[index]) for edge in edges]
        nearest = edges[gaps.index(min(gaps))]
        moved = [*bounds[:index], nearest, *bounds[index + 1 :]]
        is_near = abs(nearest - bounds[index]) <= _NEAR_FACE * whole / count
        if is_near and all(end - start <= tank_m3 + _CRUMB for start, end in pairwise(moved)):
            bounds = moved
    return bounds


def _shares(
    faces: Iterable[tuple[SurfacePlan, float]], bounds: tuple[float, float]
) -> Iterator[tuple[str, float]]:
    """The stretch between two volumes of what is left of the faces, laid end to end."""
    before = 0.0
    for face, mix in faces:
        low, high = max(bounds[0], before), min(bounds[1], before + mix)
        share = (high - low) / face.mix_m3
        if share > _CRUMB:
            yield face.surface.id, 1.0 if share > 1.0 - _CRUMB else share
        before += mix


def recut(
    asset: AssetPlan, order: Mapping[str, float], cuts: tuple[Cut, ...], tank_m3: float
) -> tuple[Cut, ...]:
    """The cuts as they are, or more of them where coats that grew no longer fit a tank."""
    if tank_m3 <= 0.0 or all(cut.mix_m3(asset) <= tank_m3 + _CRUMB for cut in cuts):
        return cuts
    left: dict[str, float] = defaultdict(float)
    for cut in cuts:
        for name, share in cut.shares:
            left[name] += share
    mix = sum(cut.mix_m3(asset) for cut in cuts)
    more = max(0, parts_needed(mix, tank_m3) - len(cuts))
    last = max(cut.of for cut in cuts)
    numbers = [cut.number for cut in cuts] + list(range(last + 1, last + more + 1))
    return cut_asset(asset, order, numbers, last + more, tank_m3, left)


def part_of(asset: AssetPlan, cut: Cut, from_s: Mapping[str, float]) -> Part:
    """One visit with the coats of a plan; ``from_s`` by surface id."""
    faces = {face.surface.id: face for face in asset.surfaces}
    portions = tuple(
        Portion(
            surface_id=name,
            label=faces[name].surface.label,
            coat_kg_m2=faces[name].coat_kg_m2,
            share=share,
            mix_m3=share * faces[name].mix_m3,
            from_s=from_s[name],
        )
        for name, share in cut.shares
        if faces[name].mix_m3 > 0
    )
    return Part(cut.visit_id, asset.asset_id, cut.number, cut.of, portions)
