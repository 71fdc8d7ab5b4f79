"""Why a visit is left out: the constraint that binds it, and the least change that would let it in.

First the visit is tried alone, every crew idle: what still stops it then is its own constraint. If
it could be made alone, the crews are busy, and the changes are tried against the finished plan by
inserting the visit into the routes with one constraint loosened at a time, all else as planned.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.arrays import Arrays, make_limits
from stillwet.routing.loosen import (
    Loosener,
    fits_a_route,
    fits_alone,
    fits_the_plan,
    minute_words,
    volume_words,
)
from stillwet.routing.plan import Binding, Relief, ReliefKind, Unserved
from stillwet.routing.problem import RoutingProblem, Visit
from stillwet.routing.search import Model, Working, feasible_alone

Finding = tuple[Binding, str, list[Relief]]


def explain_left_out(
    problem: RoutingProblem, model: Model, working: Working
) -> tuple[Unserved, ...]:
    """One record per visit left out, must visits and large prizes first.

    An alternative whose group is served is not left out.
    """
    covered = set(model.unit[working.served].tolist())
    missing = [
        number
        for number in range(len(problem.visits))
        if not working.served[number] and int(model.unit[number]) not in covered
    ]
    missing.sort(key=lambda n: (not problem.visits[n].must, -problem.visits[n].prize, n))
    if not missing:
        return ()
    alone = feasible_alone(model.arrays)
    return tuple(_explain(problem, model, working, number, alone[:, number]) for number in missing)


def _explain(
    problem: RoutingProblem,
    model: Model,
    working: Working,
    number: int,
    alone: NDArray[np.bool_],
) -> Unserved:
    visit = problem.visits[number]
    finding = _first_coat(problem, model, working, number)
    if finding is None and alone.any():
        finding = _busy(problem, model, working, number, alone)
    if finding is None:
        finding = _plain_fault(problem, model, visit, number) or _own_fault(problem, model, number)
    binding, reason, frees = finding
    return Unserved(
        visit.id, visit.asset_id, visit.must, visit.prize, binding, reason, tuple(frees)
    )


def _first_coat(
    problem: RoutingProblem, model: Model, working: Working, number: int
) -> Finding | None:
    follows = int(model.arrays.after[number])
    if follows < 0 or working.served[follows]:
        return None
    first = problem.visits[follows]
    relief = Relief(ReliefKind.FIRST_COAT, 1.0, f"making {first.name} first")
    return Binding.FIRST_COAT, f"it follows {first.name}, which is not made", [relief]


def _busy(
    problem: RoutingProblem,
    model: Model,
    working: Working,
    number: int,
    alone: NDArray[np.bool_],
) -> Finding:
    """The visit could be made by an idle crew: what would make room for it in this plan."""
    able = [crew.name for crew, fits in zip(problem.crews, alone, strict=True) if fits]
    engine = f"one more engine like {able[0]}, from where it starts"
    frees = [Relief(ReliefKind.ENGINE, 1.0, engine)]
    frees += Loosener(make_limits(problem), working.arrays, number).reliefs(
        lambda arrays: fits_a_route(working, arrays, number),
        lambda arrays: fits_the_plan(model, working, arrays, number),
    )
    reason = "the crews that could make it are busy with visits that count for more"
    return Binding.CREWS_BUSY, reason, frees


def _plain_fault(
    problem: RoutingProblem, model: Model, visit: Visit, number: int
) -> Finding | None:
    """Faults that need no reckoning of times."""
    if not problem.crews:
        return Binding.NO_CREW, "there is no crew", [Relief(ReliefKind.ENGINE, 1.0, "one engine")]
    able = [k for k, crew in enumerate(problem.crews) if visit.needs <= crew.capabilities]
    if not able:
        needs = ", ".join(sorted(visit.needs))
        more = Relief(ReliefKind.CAPABILITY, 1.0, f"a crew with {needs}")
        return Binding.CAPABILITY, f"no crew has {needs}", [more]
    place = problem.visit_place(number)
    if not any(math.isfinite(model.arrays.travel[k, k, place]) for k in able):
        more = Relief(ReliefKind.ROAD, 0.0, "a road or track to it, or a crew that can walk in")
        return Binding.UNREACHABLE, "no way leads there from where the crews stand", [more]
    largest = max(problem.crews[k].usable_m3 for k in able)
    if visit.mix_m3 > largest + 1e-9:
        return Binding.TANK, *_too_large(visit, largest)
    return None


def _too_large(visit: Visit, largest_m3: float) -> tuple[str, list[Relief]]:
    frees = []
    if largest_m3 > 0:
        parts = math.ceil(visit.mix_m3 / largest_m3 - 1e-9)
        frees.append(Relief(ReliefKind.SPLIT, float(parts), f"splitting it in {parts} parts"))
    short = visit.mix_m3 - largest_m3
    frees.append(Relief(ReliefKind.WATER, short, f"{volume_words(short)} more in a tank"))
    asks, holds = volume_words(visit.mix_m3), volume_words(largest_m3)
    return f"it asks {asks} and the largest usable tank is {holds}", frees


def _own_fault(problem: RoutingProblem, model: Model, number: int) -> Finding:
    """Every crew idle and still no: water, concentrate, fire, window or shift, whichever lets it
    in.
    """
    visit = problem.visits[number]
    loosener = Loosener(make_limits(problem), model.arrays, number)

    def fits(arrays: Arrays) -> bool:
        return fits_alone(arrays, number)

    frees = list(loosener.reliefs(fits, fits))
    if fits(loosener.without_water()):
        reason = "the water on board is not enough and no fill point can be used in time"
        return Binding.WATER, reason, frees
    if fits(loosener.without_concentrate()):
        words = f"{visit.concentrate_m3 * 1000:.1f} L of concentrate on a crew that can get there"
        frees.insert(0, Relief(ReliefKind.CONCENTRATE, visit.concentrate_m3, words))
        return Binding.CONCENTRATE, "no crew can have enough concentrate there in time", frees
    if fits(loosener.without_fire()):
        reason = f"no crew can be done {minute_words(visit.egress_s)} before the fire"
        return Binding.EGRESS, reason, frees
    if fits(loosener.without_window()):
        return Binding.WINDOW, "no crew can be there before its window closes", frees
    if visit.earliest_s > max(crew.shift_to_s for crew in problem.crews):
        return Binding.SHIFT, "its window opens after the last shift ends", frees
    return Binding.SHIFT, "it cannot be reached, made and left within the shifts", frees
