"""The work at one asset: its faces in the order of spraying, in as many parts as tanks ask for."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from stillwet.domain.plan import AssetPlan, SurfacePlan

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
class Split:
    """Which of an asset's parts are still to be made, and how many there are in all."""

    numbers: tuple[int, ...] = (1,)
    of: int = 1

    def grown(self, more: int) -> Split:
        """The same with so many parts added at the end."""
        last = self.of
        return Split((*self.numbers, *range(last + 1, last + more + 1)), last + more)

    def visit_id(self, asset_id: str, number: int) -> str:
        """What the visit of one part is called."""
        return asset_id if self.of == 1 else f"{asset_id} part {number}"


def split_in(count: int) -> Split:
    """A whole asset in so many parts."""
    return Split(tuple(range(1, count + 1)), count)


def parts_of(
    asset: AssetPlan,
    from_s: Mapping[str, float],
    split: Split,
    done_share: Mapping[str, float],
) -> tuple[Part, ...]:
    """What is left to do at an asset in parts of equal volume; times and shares by surface id.

    Faces that may be sprayed early come first, so that those that dry soonest are coated last.
    """
    faces = [face for face in asset.surfaces if face.mix_m3 > 0]
    faces.sort(key=lambda face: from_s[face.surface.id])
    left = [(face, face.mix_m3 * (1.0 - done_share.get(face.surface.id, 0.0))) for face in faces]
    whole, count = sum(mix for _, mix in left), len(split.numbers)
    parts = []
    for index, number in enumerate(split.numbers):
        bounds = (whole * index / count, whole * (index + 1) / count)
        name = split.visit_id(asset.asset_id, number)
        portions = tuple(_portions(left, from_s, bounds))
        parts.append(Part(name, asset.asset_id, number, split.of, portions))
    return tuple(parts)


def _portions(
    faces: Iterable[tuple[SurfacePlan, float]],
    from_s: Mapping[str, float],
    bounds: tuple[float, float],
) -> Iterable[Portion]:
    """The stretch between two volumes of what is left of the faces, laid end to end."""
    before = 0.0
    for face, mix in faces:
        low, high = max(bounds[0], before), min(bounds[1], before + mix)
        share = (high - low) / face.mix_m3
        if share > _CRUMB:
            yield Portion(
                surface_id=face.surface.id,
                label=face.surface.label,
                coat_kg_m2=face.coat_kg_m2,
                share=1.0 if share > 1.0 - _CRUMB else share,
                mix_m3=high - low,
                from_s=from_s[face.surface.id],
            )
        before += mix
