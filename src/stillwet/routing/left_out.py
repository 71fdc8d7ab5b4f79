"""Why a visit is left out: the constraint that binds it, and the least change that would let it in.

First the visit is tried alone, every crew idle: what still stops it then is its own constraint. If
it could be made alone, the crews are busy, and the changes are tried against the finished plan by
inserting the visit into the routes with one constraint loosened at a time, all else as planned.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from stillwet.routing.arrays import Arrays, Limits, make_limits
from stillwet.routing.loosen import (
    Fits,
    Loosener,
    Way,
    fits_a_route,
    fits_alone,
    fits_the_plan,
    least,
    minute_words,
    one_more_engine,
    reliefs,
    volume_words,
)
from stillwet.routing.plan import Binding, Relief, ReliefKind, Unserved
from stillwet.routing.problem import RoutingProblem, Visit
from stillwet.routing.search import Model, Working, feasible_alone, make_model

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
    plan = _Finished(problem, model, working)
    alone = feasible_alone(model.arrays)
    return tuple(_explain(plan, number, alone[:, number]) for number in missing)


@dataclass(frozen=True, eq=False)
class _Finished:
    """What a plan ended with, and models with one more engine, made when first asked for."""

    problem: RoutingProblem
    model: Model
    working: Working
    with_twin: dict[int, Model] = field(default_factory=dict)

    def fits_with(self, arrays: Arrays, number: int) -> bool:
        """True when the visit goes into the finished plan under these arrays."""
        return fits_the_plan(replace(self.model, arrays=arrays), self.working.orders, number)

    def fits_with_another(self, crew: int, number: int) -> bool:
        """True when a second crew like this one lets the visit in."""
        if crew not in self.with_twin:
            self.with_twin[crew] = make_model(one_more_engine(self.problem, crew))
        return fits_the_plan(self.with_twin[crew], [*self.working.orders, []], number)


def _explain(plan: _Finished, number: int, alone: NDArray[np.bool_]) -> Unserved:
    problem, model = plan.problem, plan.model
    visit = problem.visits[number]
    finding = _first_coat(problem, model, plan.working, number)
    if finding is None and alone.any():
        finding = _busy(plan, number, alone)
    if finding is None:
        finding = _plain_fault(problem, model, visit, number) or _own_fault(plan, number)
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


def _busy(plan: _Finished, number: int, alone: NDArray[np.bool_]) -> Finding:
    """The visit could be made by an idle crew: what would make room for it in this plan."""
    problem, working = plan.problem, plan.working
    limits = make_limits(problem)
    exact = Loosener(limits, plan.model.arrays, number)
    frees = [*_another_engine(plan, number, alone), *_changes(plan, exact, limits)]
    if plan.model.arrays.after[number] >= 0 and not fits_alone(working.arrays, number):
        return _first_coat_late(plan, exact, frees)
    if problem.depots and plan.fits_with(exact.without_stock(), number):
        frees.insert(0, _more_concentrate(problem.visits[number]))
        return Binding.CONCENTRATE, "other visits take the concentrate there is", frees
    reason = "the crews that could make it are busy with other visits"
    return Binding.CREWS_BUSY, reason, frees


def _another_engine(plan: _Finished, number: int, alone: NDArray[np.bool_]) -> Iterator[Relief]:
    for crew in np.flatnonzero(alone):
        if plan.fits_with_another(int(crew), number):
            like = plan.problem.crews[crew].name
            yield Relief(
                ReliefKind.ENGINE, 1.0, f"one more engine like {like}, from where it starts"
            )
            return


def _changes(plan: _Finished, exact: Loosener, limits: Limits) -> Iterator[Relief]:
    """Tried on one route at a time first; a visit that follows another moves with that one."""
    working, number = plan.working, exact.number

    def confirm(arrays: Arrays) -> bool:
        return plan.fits_with(arrays, number)

    if plan.model.arrays.after[number] >= 0:
        return reliefs(exact.ways(), confirm, exact.ways(), confirm)
    quick = Loosener(limits, working.arrays, number)
    return reliefs(
        quick.ways(), lambda arrays: fits_a_route(working, arrays, number), exact.ways(), confirm
    )


def _first_coat_late(plan: _Finished, exact: Loosener, frees: list[Relief]) -> Finding:
    """Made after the visit it follows, it would be too late even for an idle crew."""
    number = exact.number
    first = plan.problem.visits[int(plan.model.arrays.after[number])].name
    sooner = Way(ReliefKind.FIRST_COAT, exact.first_sooner, f"{first} over {{}} sooner")
    amount = least(sooner, lambda arrays: plan.fits_with(arrays, number))
    if amount is not None:
        frees.insert(0, sooner.relief(amount))
    return Binding.FIRST_COAT_LATE, f"it follows {first}, which is over too late for it", frees


def _more_concentrate(visit: Visit) -> Relief:
    words = f"{volume_words(visit.concentrate_m3)} of concentrate on a crew that can get there"
    return Relief(ReliefKind.CONCENTRATE, visit.concentrate_m3, words)


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


def _own_fault(plan: _Finished, number: int) -> Finding:
    """Every crew idle and still no: water, concentrate, fire, window or shift, whichever lets it
    in.
    """
    problem = plan.problem
    visit = problem.visits[number]
    loosener = Loosener(make_limits(problem), plan.model.arrays, number)

    def fits(arrays: Arrays) -> bool:
        return fits_alone(arrays, number)

    frees = _own_changes(plan, loosener, fits)
    if fits(loosener.without_water()):
        reason = "the water on board is not enough and no fill point can be used in time"
        return Binding.WATER, reason, frees
    if fits(loosener.without_concentrate()):
        frees.insert(0, _more_concentrate(visit))
        return Binding.CONCENTRATE, "no crew can have enough concentrate there in time", frees
    if fits(loosener.without_fire()):
        reason = f"no crew can be done {minute_words(visit.egress_s)} before the fire"
        return Binding.EGRESS, reason, frees
    if fits(loosener.without_window()):
        return Binding.WINDOW, "no crew can be there before its window closes", frees
    if visit.earliest_s > max(crew.shift_to_s for crew in problem.crews):
        return Binding.SHIFT, "its window opens after the last shift ends", frees
    return Binding.SHIFT, "it cannot be reached, made and left within the shifts", frees


def _own_changes(plan: _Finished, loosener: Loosener, alone: Fits) -> list[Relief]:
    """What lets it into this plan; failing that, what would if a crew had nothing else to do."""

    def together(arrays: Arrays) -> bool:
        return plan.fits_with(arrays, loosener.number)

    ways = loosener.ways()
    in_plan = list(reliefs(ways, together, ways, together))
    spare = ", and a crew with time for it"
    return in_plan or [
        replace(one, words=one.words + spare) for one in reliefs(ways, alone, ways, alone)
    ]
