"""From numbers to what a crew is told: the verdict on one face, what governs it, and why."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stillwet.domain.plan import Verdict
from stillwet.units import depth_in_inches

CONFIDENT = 0.9
EVEN = 0.5
_LEAST_SHOWN = 0.05  # kg/m2: less would be printed as 0.0 mm


@dataclass(frozen=True, slots=True)
class Finding:
    """The numbers of one face that decide its verdict. Coats in kg/m2, times in epoch seconds."""

    probability: float
    coat: float
    needed: float
    cling: float  # the thickest coat counted on
    thinnest: float
    water_demand: float  # median
    reserve: float
    drying: float  # median, lay time to latest arrival
    apply_until_s: float
    start_s: float
    contact: bool


def verdict_of(probability: float) -> Verdict:
    """The verdict that a probability of meeting the demand allows."""
    if probability >= CONFIDENT:
        return Verdict.HOLDS
    return Verdict.DOUBTFUL if probability >= EVEN else Verdict.WILL_NOT_HOLD


def _depth(water_kg_m2: float) -> str:
    """A depth of water for a sentence that both kinds of reader see."""
    if water_kg_m2 < _LEAST_SHOWN:
        return "under 0.1 mm (0.01 in)"
    return f"{water_kg_m2:.1f} mm ({depth_in_inches(water_kg_m2):.2f} in)"


def governing_cause(found: Finding) -> str:
    """The one thing that sets this face's coat, or stops it."""
    if found.apply_until_s < found.start_s:
        return "time"
    if verdict_of(found.probability) is not Verdict.HOLDS:
        return "fire" if found.water_demand > found.drying else "cling"
    if found.coat <= found.thinnest + 1e-9:
        return "thinnest coat"
    if found.water_demand > found.drying:
        return "fire"
    return "drying" if found.drying > found.reserve else "embers"


def _too_little(found: Finding) -> str:
    """What a sure coat takes against what clings: the two numbers that belong side by side."""
    clings = _depth(found.cling)
    if not math.isfinite(found.needed):
        return f"No thickness is sure to be enough; the thickest coat that clings is {clings}."
    if found.needed <= found.cling:
        return f"The thickest coat that clings, {clings}, holds in fewer than half of the cases."
    return f"To be sure takes a coat of {_depth(found.needed)}; no more than {clings} clings."


def _what_takes_it(found: Finding, cause: str) -> str:
    """What the weather and the fire take in the middle case, the greater of them first."""
    weather = f"the weather takes {_depth(found.drying)} before the fire"
    if cause == "fire":
        return f"The fire boils off {_depth(found.water_demand)} in the middle case, {weather}."
    return f"In the middle case {weather}, the fire {_depth(found.water_demand)}."


def reason_of(found: Finding) -> str:
    """Why, in a sentence a crew can act on."""
    cause = governing_cause(found)
    if cause == "time":
        return "No time: crews must be clear before a coat could be finished."
    flames = " Flames reach the face." if found.contact else ""
    verdict = verdict_of(found.probability)
    if verdict is Verdict.WILL_NOT_HOLD:
        return f"{_too_little(found)} {_what_takes_it(found, cause)}{flames}"
    if verdict is Verdict.DOUBTFUL:
        return (
            f"The thickest coat that clings, {_depth(found.cling)}, is enough in "
            f"{int(100 * found.probability)} of 100 cases, laid as late as crews may stay.{flames}"
        )
    told = {
        "thinnest coat": "The thinnest even coat is already enough.",
        "fire": f"Set by the fire: it takes {_depth(found.water_demand)} in the middle case.",
        "drying": f"Set by drying: the weather takes {_depth(found.drying)} before the fire.",
        "embers": "Set by the embers: the coat must stay wet through the ember period.",
    }
    return told[cause] + flames
