"""One mix tried out: a ratio in a water, on a face, for a coat; does it cling, can it be pumped?"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stillwet.domain.mix_window import ClingCurve, FlowAtNozzle, Sign, Wall


class TryVerdict(StrEnum):
    """What becomes of the mix, the worst first."""

    TOO_THIN = "too thin: counted with its safety, the coat slides off"
    TOO_STIFF = "too stiff: counted with its safety, it falls off the face"
    NO_PUMP = "too stiff to pump: a crew's flow does not come out"
    OFF_LABEL = "clings, but the label does not allow this ratio"
    CLINGS = "clings"


@dataclass(frozen=True, slots=True)
class Tried:
    """What is asked. ``coat_kg_m2`` is to be kept on a face tilted so far from level."""

    ratio: float
    hardness_kg_m3: float
    temperature_k: float
    coat_kg_m2: float
    tilt_deg: float


@dataclass(frozen=True, slots=True)
class CrewPump:
    """One crew: the richest ratio it pumps by the worse coefficients, its flow at the ratio."""

    name: str
    wall: Wall
    flows: tuple[FlowAtNozzle, ...]
    wanted_flow_m3_s: float


@dataclass(frozen=True, slots=True)
class MixTried:
    """The answer. ``clings_kg_m2`` is what stays at the ratio: 5, 50, 95 %, and counted on."""

    tried: Tried
    verdict: TryVerdict
    lower: Wall
    upper: Wall
    label: tuple[float, float]
    ratio_basis: str
    clings_kg_m2: tuple[float, float, float]
    counted_kg_m2: float
    crews: tuple[CrewPump, ...]
    curve: ClingCurve
    hydration_wait_s: float
    signs: tuple[Sign, ...]
