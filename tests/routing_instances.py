"""Public vehicle routing instances (VRPLIB text) as routing problems, read without any library."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from routing_jobs import a_crew, a_fill_point, a_visit
from stillwet.routing.problem import RoutingProblem, TravelMatrix, places_of

FOLDER = Path(__file__).parent / "data" / "routing"
LITRE_M3 = 1e-3


@dataclass(frozen=True)
class Instance:
    """One instance: numbers as in the file, the depot first."""

    capacity: float
    service: float
    coordinates: list[list[float]]
    demand: list[float]
    windows: list[list[float]]


def read_instance(name: str) -> Instance:
    """Read an instance of FOLDER."""
    head: dict[str, str] = {}
    sections: dict[str, list[list[float]]] = {}
    section = ""
    for line in (FOLDER / name).read_text().splitlines():
        if line.strip().endswith("_SECTION"):
            section = line.strip().removesuffix("_SECTION")
            sections[section] = []
        elif ":" in line and not section:
            key, value = line.split(":", 1)
            head[key.strip()] = value.strip()
        elif section and line.strip() != "EOF":
            sections[section].append([float(one) for one in line.split()][1:])
    demand = [row[0] for row in sections["DEMAND"]]
    return Instance(
        capacity=float(head["CAPACITY"]),
        service=max(
            float(head.get("SERVICE_TIME", 0)),
            *(row[0] for row in sections.get("SERVICE_TIME", [[0.0], [0.0]])),
        ),
        coordinates=sections["NODE_COORD"],
        demand=demand,
        windows=sections.get("TIME_WINDOW", [[0.0, 1e6]] * len(demand)),
    )


def as_problem(
    instance: Instance,
    round_distance: Callable[[float], float],
    *,
    engines: int,
    fills: bool = False,
    scale: float = 1.0,
) -> RoutingProblem:
    """The instance as a job: capacity is tank, demand is mix, service is set-up, distance is time.

    Every visit is a must. Engines start full and end at the depot; with ``fills`` they may fill
    there, in no time, and so drive several trips. Lengths and times are multiplied by ``scale``.
    """
    (x_m, y_m), (_, day) = instance.coordinates[0], instance.windows[0]
    crews = tuple(
        a_crew(
            f"E{number}",
            x_m=x_m,
            y_m=y_m,
            end_m=(x_m, y_m),
            tank_m3=instance.capacity * LITRE_M3,
            water_m3=instance.capacity * LITRE_M3,
            reserve_m3=0.0,
            spray_flow_m3_s=1e6,
            setup_s=scale * instance.service,
            shift_to_s=scale * day,
        )
        for number in range(engines)
    )
    nodes = zip(instance.coordinates, instance.demand, instance.windows, strict=True)
    visits = tuple(
        a_visit(
            f"v{number}",
            x_m=x,
            y_m=y,
            mix_m3=demand * LITRE_M3,
            concentrate_m3=0.0,
            earliest_s=scale * opens,
            latest_s=scale * closes,
            must=True,
        )
        for number, ((x, y), demand, (opens, closes)) in enumerate(nodes)
        if number > 0
    )
    point = a_fill_point(x_m=x_m, y_m=y_m, fill_flow_m3_s=1e6, hookup_s=0.0, places=engines)
    points = (point,) if fills else ()
    places = places_of(crews, visits, points, ())
    seconds = [
        [round_distance(scale * math.dist(one, other)) for other in places] for one in places
    ]
    travel = {"road": TravelMatrix(np.array(seconds), "as the instance tells")}
    return RoutingProblem(crews, visits, points, (), travel)
