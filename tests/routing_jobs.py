"""Routing problems for tests: one small problem to bend, and random ones of every kind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from stillwet.routing.problem import (
    ConcentrateDepot,
    FillPoint,
    RoutingCrew,
    RoutingProblem,
    TravelMatrix,
    Visit,
    places_of,
)
from stillwet.routing.roads import straight_line_travel

HOUR = 3600.0


def a_crew(id: str = "E1", **changes: Any) -> RoutingCrew:
    """An engine at (0, 0) with 2 m3 usable, full, spraying 1 L/s after 5 min of set-up."""
    fields: dict[str, Any] = {
        "id": id,
        "name": f"Engine {id}",
        "x_m": 0.0,
        "y_m": 0.0,
        "profile": "road",
        "tank_m3": 2.4,
        "reserve_m3": 0.4,
        "water_m3": 2.4,
        "spray_flow_m3_s": 1e-3,
        "setup_s": 300.0,
        "shift_from_s": 0.0,
        "shift_to_s": 8 * HOUR,
        "concentrate_m3": 0.1,
        "concentrate_capacity_m3": 0.1,
    }
    return RoutingCrew(**{**fields, **changes})


def a_visit(id: str = "v1", **changes: Any) -> Visit:
    """A house 1 km east asking 0.6 m3 of mix at any time of the first 8 h, worth 10."""
    fields: dict[str, Any] = {
        "id": id,
        "asset_id": f"asset of {id}",
        "name": f"House {id}",
        "x_m": 1000.0,
        "y_m": 0.0,
        "mix_m3": 0.6,
        "concentrate_m3": 0.006,
        "earliest_s": 0.0,
        "latest_s": 8 * HOUR,
        "prize": 10.0,
    }
    return Visit(**{**fields, **changes})


def a_fill_point(id: str = "W1", **changes: Any) -> FillPoint:
    """A hydrant 500 m north: 10 L/s after 2 min of hooking up, one engine at a time."""
    fields: dict[str, Any] = {
        "id": id,
        "name": f"Hydrant {id}",
        "x_m": 0.0,
        "y_m": 500.0,
        "fill_flow_m3_s": 0.01,
        "hookup_s": 120.0,
    }
    return FillPoint(**{**fields, **changes})


def a_problem(
    crews: Sequence[RoutingCrew] = (),
    visits: Sequence[Visit] = (),
    fill_points: Sequence[FillPoint] = (),
    depots: Sequence[ConcentrateDepot] = (),
    *,
    speed_m_s: float = 10.0,
) -> RoutingProblem:
    """A problem on straight lines (factor 1) at 10 m/s for every profile named."""
    places = places_of(crews, visits, fill_points, depots)
    matrix = straight_line_travel(places, speed_m_s=speed_m_s, factor=1.0)
    travel: dict[str, TravelMatrix] = {crew.profile: matrix for crew in crews} or {"road": matrix}
    return RoutingProblem(tuple(crews), tuple(visits), tuple(fill_points), tuple(depots), travel)


def random_problem(
    seed: int,
    *,
    visits: int | None = None,
    crews: int | None = None,
    plain: bool = False,
) -> RoutingProblem:
    """A random job, the same for the same seed.

    ``plain`` leaves out what couples crews (queues, visits that follow, shared concentrate), so
    that a brute-force answer is within reach; else everything a problem may ask turns up.
    """
    r = np.random.default_rng(seed)
    count = int(r.integers(3, 16)) if visits is None else visits
    engines = int(r.integers(1, 5)) if crews is None else crews
    side = float(r.uniform(2e3, 12e3))
    fleet = [_random_crew(r, number, side, plain) for number in range(engines)]
    fills = [
        a_fill_point(
            f"W{number}",
            x_m=float(r.uniform(0, side)),
            y_m=float(r.uniform(0, side)),
            fill_flow_m3_s=float(r.uniform(0.003, 0.03)),
            hookup_s=float(r.uniform(0, 300)),
            opens_s=float(r.uniform(0, HOUR)) if r.random() < 0.2 else -math.inf,
            closes_s=float(r.uniform(2, 6)) * HOUR if r.random() < 0.2 else math.inf,
            places=engines if plain else int(r.integers(1, 3)),
        )
        for number in range(int(r.integers(0 if not plain else 1, 3)))
    ]
    depots = [] if plain else [_random_depot(r, number, side) for number in range(r.integers(0, 3))]
    wanted = [_random_visit(r, number, side, plain) for number in range(count)]
    return a_problem(fleet, wanted, fills, depots, speed_m_s=float(r.uniform(5, 15)))


def _random_crew(r: np.random.Generator, number: int, side: float, plain: bool) -> RoutingCrew:
    tank = float(r.uniform(0.8, 4.0))
    carries = float(r.uniform(0.005, 0.06))
    return a_crew(
        f"E{number}",
        x_m=float(r.uniform(0, side)),
        y_m=float(r.uniform(0, side)),
        tank_m3=tank,
        reserve_m3=float(r.uniform(0.0, 0.5)),
        water_m3=tank * float(r.uniform(0.0, 1.0)),
        spray_flow_m3_s=float(r.uniform(5e-4, 3e-3)),
        setup_s=float(r.uniform(60, 600)),
        shift_from_s=float(r.uniform(0, HOUR)),
        shift_to_s=float(r.uniform(2, 8)) * HOUR,
        concentrate_m3=10.0 if plain else carries * float(r.uniform(0, 1)),
        concentrate_capacity_m3=10.0 if plain else carries,
        capabilities=frozenset(one for one in ("ladder", "long hose") if r.random() < 0.5),
        end_m=(float(r.uniform(0, side)), 0.0) if r.random() < 0.3 else None,
    )


def _random_depot(r: np.random.Generator, number: int, side: float) -> ConcentrateDepot:
    x, y = (float(one) for one in r.uniform(0, side, 2))
    stock, load = float(r.uniform(0.0, 0.1)), float(r.uniform(60, 600))
    return ConcentrateDepot(f"D{number}", f"Cache {number}", x, y, stock, load)


def _random_visit(r: np.random.Generator, number: int, side: float, plain: bool) -> Visit:
    mix = float(r.uniform(0.0, 1.5))
    earliest = float(r.uniform(0, 4)) * HOUR
    follows = number > 0 and not plain and r.random() < 0.25
    return a_visit(
        f"v{number}",
        x_m=float(r.uniform(0, side)),
        y_m=float(r.uniform(0, side)),
        mix_m3=mix,
        concentrate_m3=mix * float(r.uniform(0.0, 0.02)),
        earliest_s=earliest,
        latest_s=earliest + float(r.uniform(0.1, 3)) * HOUR if r.random() < 0.8 else math.inf,
        prize=float(r.integers(1, 50)),
        fire_s=earliest + float(r.uniform(0.5, 5)) * HOUR if r.random() < 0.7 else math.inf,
        egress_s=float(r.uniform(0, 1800)),
        must=bool(r.random() < 0.15),
        needs=frozenset({"ladder"} if r.random() < 0.15 else set()),
        group=f"g{number // 3}" if r.random() < 0.2 and not follows else None,
        after=f"v{int(r.integers(0, number))}" if follows else None,
        after_gap_s=float(r.uniform(0, 1200)) if follows else 0.0,
    )
