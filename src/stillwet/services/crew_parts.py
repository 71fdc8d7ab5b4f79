"""The work at one asset: its faces in the order of spraying, in as many parts as tanks ask for."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from stillwet.domain.plan import AssetPlan

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
    """One visit to an asset: what its cut says, with portions in the order of spraying."""

    cut: Cut
    asset_id: str
    portions: tuple[Portion, ...]

    @property
    def visit_id(self) -> str:
        """The visit's id."""
        return self.cut.visit_id

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

    Cuts stay as they are while coats change, so that a part never takes up another's faces. It is
    part ``number`` of ``of`` of pass ``coat`` of ``coats``, or of a fresh coat on one laid before.
    """

    visit_id: str
    number: int
    of: int
    shares: tuple[tuple[str, float], ...]  # surface id, share of its coat
    coat: int = 1
    coats: int = 1
    is_recoat: bool = False

    @property
    def stage(self) -> int:
        """Visits of a later stage follow those of an earlier one."""
        return self.coats + 1 if self.is_recoat else self.coat

    @property
    def label(self) -> str:
        """What sets it apart from other visits to the asset, as in "coat 2 of 2, part 1 of 3"."""
        words = ["recoat"] if self.is_recoat else []
        words += [f"coat {self.coat} of {self.coats}"] if self.coats > 1 else []
        words += [f"part {self.number} of {self.of}"] if self.of > 1 else []
        return ", ".join(words)

    def mix_m3(self, layers: Layers) -> float:
        """What the visit sprays with these coats."""
        return sum(share * layers[name].mix_m3 for name, share in self.shares if name in layers)


@dataclass(frozen=True, slots=True)
class Layer:
    """The whole coat of one face as it is to be sprayed; ``from_s``: it is reckoned from then."""

    label: str
    coat_kg_m2: float
    mix_m3: float
    from_s: float


Layers = Mapping[str, Layer]  # by surface id


def layers_of(asset: AssetPlan, from_s: Mapping[str, float]) -> Layers:
    """The planned coats of an asset's faces; ``from_s`` by surface id."""
    return {
        face.surface.id: Layer(
            face.surface.label, face.coat_kg_m2, face.mix_m3, from_s[face.surface.id]
        )
        for face in asset.surfaces
        if face.mix_m3 > 0
    }


@dataclass(frozen=True, slots=True)
class Pass:
    """One time over the faces: pass ``coat`` of ``coats``, or a fresh coat."""

    coat: int = 1
    coats: int = 1
    is_recoat: bool = False

    def cut(self, asset_id: str, number: int, of: int, shares: Shares) -> Cut:
        """One visit of this pass."""
        words = [asset_id]
        words += ["recoat"] if self.is_recoat else []
        words += [f"coat {self.coat}"] if self.coats > 1 else []
        words += [f"part {number}"] if of > 1 else []
        return Cut(" ".join(words), number, of, shares, self.coat, self.coats, self.is_recoat)


Shares = tuple[tuple[str, float], ...]


def cut_layers(
    asset_id: str,
    layers: Layers,
    order: Mapping[str, float],
    numbers: Sequence[int],
    of: int,
    tank_m3: float,
    left: Mapping[str, float] | None = None,
    laid: Pass | None = None,
) -> tuple[Cut, ...]:
    """An asset's work in parts of about equal volume, called by their ``numbers`` out of ``of``.

    Parts end with a face where that is near and each still fits ``tank_m3``. ``order``: from when
    each face may be sprayed at the earliest, by surface id: those come first, so that faces that
    dry soonest are coated last. ``left``: the share of each face still to do in this pass.
    """
    names = sorted(layers, key=lambda name: order[name])
    todo = [
        (name, layers[name].mix_m3, 1.0 if left is None else left.get(name, 0.0)) for name in names
    ]
    bounds = _bounds([mix * share for _, mix, share in todo], len(numbers), tank_m3)
    made = laid or Pass()
    return tuple(
        made.cut(asset_id, number, of, tuple(_shares(todo, stretch)))
        for number, stretch in zip(numbers, pairwise(bounds), strict=True)
    )


def cut_passes(
    asset_id: str, layers: Layers, order: Mapping[str, float], tank_m3: float, passes: int
) -> tuple[Cut, ...]:
    """All visits that lay an asset's coat, in equal passes, each in as few parts as tanks allow."""
    share = 1.0 / passes
    count = parts_needed(share * sum(layer.mix_m3 for layer in layers.values()), tank_m3)
    left = dict.fromkeys(layers, share)
    return tuple(
        cut
        for coat in range(1, passes + 1)
        for cut in cut_layers(
            asset_id,
            layers,
            order,
            range(1, count + 1),
            count,
            tank_m3,
            left,
            Pass(coat, passes),
        )
    )


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
    faces: Iterable[tuple[str, float, float]], bounds: tuple[float, float]
) -> Iterator[tuple[str, float]]:
    """The stretch between two volumes of what is left of the faces, laid end to end.

    ``faces``: surface id, mix of its whole coat [m3], share of it left.
    """
    before = 0.0
    for name, mix, left in faces:
        low, high = max(bounds[0], before), min(bounds[1], before + mix * left)
        share = (high - low) / mix
        if share > _CRUMB:
            yield name, 1.0 if share > 1.0 - _CRUMB else share
        before += mix * left


def recut(
    asset_id: str, layers: Layers, order: Mapping[str, float], cuts: tuple[Cut, ...], tank_m3: float
) -> tuple[Cut, ...]:
    """The cuts as they are, or more of them where coats that grew no longer fit a tank."""
    passes = {cut.stage: Pass(cut.coat, cut.coats, cut.is_recoat) for cut in cuts}
    return tuple(
        cut
        for stage, laid in sorted(passes.items())
        for cut in _recut_pass(
            asset_id,
            layers,
            order,
            tuple(one for one in cuts if one.stage == stage),
            tank_m3,
            laid,
        )
    )


def _recut_pass(
    asset_id: str,
    layers: Layers,
    order: Mapping[str, float],
    cuts: tuple[Cut, ...],
    tank_m3: float,
    laid: Pass,
) -> tuple[Cut, ...]:
    if tank_m3 <= 0.0 or all(cut.mix_m3(layers) <= tank_m3 + _CRUMB for cut in cuts):
        return cuts
    left: dict[str, float] = defaultdict(float)
    for cut in cuts:
        for name, share in cut.shares:
            left[name] += share
    mix = sum(cut.mix_m3(layers) for cut in cuts)
    more = max(0, parts_needed(mix, tank_m3) - len(cuts))
    last = max(cut.of for cut in cuts)
    numbers = [cut.number for cut in cuts] + list(range(last + 1, last + more + 1))
    return cut_layers(asset_id, layers, order, numbers, last + more, tank_m3, left, laid)


def part_of(asset_id: str, cut: Cut, layers: Layers) -> Part:
    """One visit with the coats of a plan."""
    portions = tuple(
        Portion(
            surface_id=name,
            label=layers[name].label,
            coat_kg_m2=layers[name].coat_kg_m2,
            share=share,
            mix_m3=share * layers[name].mix_m3,
            from_s=layers[name].from_s,
        )
        for name, share in cut.shares
        if name in layers
    )
    return Part(cut, asset_id, portions)
