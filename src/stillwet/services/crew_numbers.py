"""Parts are called in the order in which they are laid: by the clock, not by how they were cut."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from stillwet.routing.plan import CrewRoute, RoutePlan, Stop
from stillwet.routing.problem import RoutingProblem, Visit
from stillwet.services.crew_parts import Cut, Pass
from stillwet.services.crew_rounds import Day

Cuts = Mapping[str, tuple[Cut, ...]]  # by asset id
Called = Mapping[str, tuple[Cut, Cut]]  # by visit id: a cut as it was made, and as it is called


def numbered_as_laid(day: Day, told: frozenset[str] = frozenset()) -> Day:
    """The day with the parts of every pass numbered by when their work starts.

    ``told``: the visits of a plan made before. Their numbers stand on sheets that people hold and
    in what crews report, so a pass that has one of them keeps all of its numbers.
    """
    starts = {stop.visit_id: stop.start_s for r in day.routed.routes.routes for stop in r.stops}
    called = {
        old.visit_id: (old, new)
        for asset_id, cuts in _passes(day)
        if all(cut.visit_id in starts and cut.visit_id not in told for cut in cuts)
        for old, new in _in_order(asset_id, cuts, starts)
    }
    return _called(day, called)


def _passes(day: Day) -> Iterator[tuple[str, tuple[Cut, ...]]]:
    """The cuts of each pass over each asset."""
    for found in (day.work.cuts, day.work.fresh.cuts):
        for asset_id, cuts in found.items():
            for stage in {cut.stage for cut in cuts}:
                yield asset_id, tuple(cut for cut in cuts if cut.stage == stage)


def _in_order(
    asset_id: str, cuts: tuple[Cut, ...], starts: Mapping[str, float]
) -> Iterator[tuple[Cut, Cut]]:
    laid = sorted(cuts, key=lambda cut: (starts[cut.visit_id], cut.number))
    for cut, number in zip(laid, sorted(cut.number for cut in cuts), strict=True):
        own = Pass(cut.coat, cut.coats, cut.is_recoat)
        yield cut, own.cut(asset_id, number, cut.of, cut.shares)


def _called(day: Day, called: Called) -> Day:
    """The same day under the new numbers, in every record that has a part's name."""
    work, routed = day.work, day.routed
    parts = {
        _new_id(visit_id, called): replace(part, cut=_new(part.cut, called))
        for visit_id, part in day.parts.items()
    }
    return replace(
        day,
        work=replace(
            work,
            cuts=_cuts(work.cuts, called),
            fresh=replace(work.fresh, cuts=_cuts(work.fresh.cuts, called)),
            paces={_new_id(visit_id, called): pace for visit_id, pace in work.paces.items()},
        ),
        routed=replace(
            routed,
            problem=_problem(routed.problem, called),
            routes=_routes(routed.routes, called),
        ),
        parts=parts,
    )


def _new(cut: Cut, called: Called) -> Cut:
    return called[cut.visit_id][1] if cut.visit_id in called else cut


def _new_id(visit_id: str, called: Called) -> str:
    return called[visit_id][1].visit_id if visit_id in called else visit_id


def _cuts(cuts: Cuts, called: Called) -> dict[str, tuple[Cut, ...]]:
    return {
        name: tuple(sorted((_new(c, called) for c in found), key=lambda c: (c.stage, c.number)))
        for name, found in cuts.items()
    }


def _problem(problem: RoutingProblem, called: Called) -> RoutingProblem:
    return replace(problem, visits=tuple(_visit(visit, called) for visit in problem.visits))


def _visit(visit: Visit, called: Called) -> Visit:
    after = None if visit.after is None else _new_id(visit.after, called)
    if visit.id not in called:
        return replace(visit, after=after)
    old, new = called[visit.id]
    name = visit.name.removesuffix(old.label) + new.label
    return replace(visit, id=new.visit_id, name=name, after=after)


def _routes(routes: RoutePlan, called: Called) -> RoutePlan:
    return replace(routes, routes=tuple(_route(route, called) for route in routes.routes))


def _route(route: CrewRoute, called: Called) -> CrewRoute:
    steps = tuple(
        replace(step, visit_id=_new_id(step.visit_id, called)) if isinstance(step, Stop) else step
        for step in route.steps
    )
    return replace(route, steps=steps)
