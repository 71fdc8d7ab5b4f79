"""The best plan of a small routing problem by trying everything; written apart from the solvers.

For problems in which crews cannot hinder each other (no queue, no visit that follows another, no
shared concentrate). Every order of every set of visits with every choice of fill before each visit.
"""

from __future__ import annotations

from stillwet.routing.problem import RoutingProblem

_S, _M3 = 1e-6, 1e-9

State = tuple[float, float, float]  # time, water in the tank, seconds on the road


def best_rank(problem: RoutingProblem) -> tuple[int, float]:
    """Must units missed and prize collected of the best plan there is."""
    best: dict[int, bool] = {0: True}
    for number in range(len(problem.crews)):
        own = _sets_one_crew_can_make(problem, number)
        best = {a | b: True for a in best for b in own if not a & b}
    ranks = [_rank(problem, mask) for mask in best if _is_allowed(problem, mask)]
    missed, lost = min(ranks)
    return missed, -lost


def _rank(problem: RoutingProblem, mask: int) -> tuple[int, float]:
    made = [visit for n, visit in enumerate(problem.visits) if mask >> n & 1]
    musts = {visit.unit for visit in problem.visits if visit.must}
    return len(musts - {v.unit for v in made}), -sum(visit.prize for visit in made)


def _is_allowed(problem: RoutingProblem, mask: int) -> bool:
    groups = [v.group for n, v in enumerate(problem.visits) if mask >> n & 1 and v.group]
    return len(groups) == len(set(groups))


def _sets_one_crew_can_make(problem: RoutingProblem, number: int) -> set[int]:
    crew = problem.crews[number]
    seconds = problem.travel[crew.profile].seconds
    home = problem.end_place(number)
    start = (0, problem.start_place(number))
    layer: dict[tuple[int, int], list[State]] = {start: [(crew.shift_from_s, crew.water_m3, 0.0)]}
    possible = {0}
    while layer:
        following: dict[tuple[int, int], list[State]] = {}
        for (mask, place), states in layer.items():
            for n in range(len(problem.visits)):
                if mask >> n & 1 or not problem.visits[n].needs <= crew.capabilities:
                    continue
                row = problem.visit_place(n)
                for state in states:
                    for ready, at in _with_and_without_fill(problem, number, state, place):
                        after = _make(problem, number, ready, at, n)
                        if after is not None:
                            _keep(following.setdefault((mask | 1 << n, row), []), after)
        for (mask, place), states in following.items():
            back = float(seconds[place, home]) if crew.end_m is not None else 0.0
            if any(time + back <= crew.shift_to_s + _S for time, _, _ in states):
                possible.add(mask)
        layer = following
    return possible


def _with_and_without_fill(
    problem: RoutingProblem, number: int, state: State, place: int
) -> list[tuple[State, int]]:
    crew = problem.crews[number]
    seconds = problem.travel[crew.profile].seconds
    choices = [(state, place)]
    for n, point in enumerate(problem.fill_points):
        time, water, road = state
        leg = float(seconds[place, problem.fill_place(n)])
        begin = max(time + leg, point.opens_s)
        over = begin + point.hookup_s + max(0.0, crew.tank_m3 - water) / point.fill_flow_m3_s
        if over <= min(point.closes_s, crew.shift_to_s) + _S:
            choices.append(((over, max(water, crew.tank_m3), road + leg), problem.fill_place(n)))
    return choices


def _make(problem: RoutingProblem, number: int, state: State, place: int, n: int) -> State | None:
    crew, visit = problem.crews[number], problem.visits[n]
    time, water, road = state
    leg = float(problem.travel[crew.profile].seconds[place, problem.visit_place(n)])
    begin = max(time + leg, visit.earliest_s)
    over = begin + crew.setup_s + visit.mix_m3 / crew.spray_flow_m3_s
    left = water - visit.mix_m3
    by = min(visit.fire_s - visit.egress_s, crew.shift_to_s)
    if begin > visit.latest_s + _S or over > by + _S or left < crew.reserve_m3 - _M3:
        return None
    return over, left, road + leg


def _keep(states: list[State], new: State) -> None:
    if any(t <= new[0] and w >= new[1] and r <= new[2] for t, w, r in states):
        return
    states[:] = [
        one for one in states if not (new[0] <= one[0] and new[1] >= one[1] and new[2] <= one[2])
    ]
    states.append(new)
