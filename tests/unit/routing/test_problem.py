"""Routing problems are checked once, with every fault found at once."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from routing_jobs import HOUR, a_crew, a_fill_point, a_problem, a_visit
from stillwet.errors import StillwetError
from stillwet.routing.problem import (
    ConcentrateDepot,
    RoutingProblem,
    TravelMatrix,
)


def test_places_follow_one_order() -> None:
    """Starts, ends, visits, fill points, depots: the rows of a matrix are where places_of says."""
    crews = [a_crew("E1"), a_crew("E2", x_m=5.0, end_m=(7.0, 8.0))]
    depot = ConcentrateDepot("D", "Cache", 30.0, 40.0, 1.0, 60.0)
    job = a_problem(crews, [a_visit(x_m=11.0, y_m=12.0)], [a_fill_point()], [depot])
    assert job.places[job.start_place(1)] == (5.0, 0.0)
    assert job.places[job.end_place(0)] == (0.0, 0.0)
    assert job.places[job.end_place(1)] == (7.0, 8.0)
    assert job.places[job.visit_place(0)] == (11.0, 12.0)
    assert job.places[job.fill_place(0)] == (0.0, 500.0)
    assert job.places[job.depot_place(0)] == (30.0, 40.0)
    assert job.place_count == len(job.places) == 7


def test_usable_water_by_hand() -> None:
    """2.4 m3 less a reserve of 0.4 leave 2.0."""
    assert a_crew().usable_m3 == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"tank_m3": 0.0}, "tank"),
        ({"tank_m3": math.nan}, "tank"),
        ({"reserve_m3": -0.1}, "reserve"),
        ({"water_m3": 2.5}, "water"),
        ({"spray_flow_m3_s": 0.0}, "spray_flow"),
        ({"setup_s": -1.0}, "setup"),
        ({"shift_from_s": 9 * HOUR}, "shift"),
        ({"shift_to_s": math.inf}, "shift_to"),
        ({"concentrate_m3": 0.2}, "concentrate"),
        ({"profile": "boat"}, "profile"),
    ],
)
def test_a_crew_that_cannot_be_is_refused(changes: dict[str, Any], field: str) -> None:
    """Each impossible number of a crew is told with its field and the crew."""
    good = a_problem([a_crew()], [a_visit()])
    with pytest.raises(StillwetError) as caught:
        RoutingProblem((a_crew(**changes),), good.visits, (), (), good.travel)
    assert field in {problem.field for problem in caught.value.problems}
    assert all("E1" in str(problem.place) for problem in caught.value.problems)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"mix_m3": -1.0}, "mix"),
        ({"concentrate_m3": math.inf}, "concentrate"),
        ({"prize": -1.0}, "prize"),
        ({"egress_s": -1.0}, "egress"),
        ({"earliest_s": math.inf}, "earliest"),
        ({"latest_s": math.nan}, "latest"),
        ({"fire_s": math.nan}, "fire"),
        ({"after": "nobody"}, "after"),
        ({"after": "v1"}, "after"),
    ],
)
def test_a_visit_that_cannot_be_is_refused(changes: dict[str, Any], field: str) -> None:
    """Each impossible value of a visit is told with its field."""
    with pytest.raises(StillwetError) as caught:
        a_problem([a_crew()], [a_visit(**changes)])
    assert [problem.field for problem in caught.value.problems] == [field]


def test_visits_may_not_follow_each_other_in_a_circle() -> None:
    """Three visits that each wait for the next would never start: all three are told."""
    ring = [a_visit("a", after="b"), a_visit("b", after="c"), a_visit("c", after="a")]
    with pytest.raises(StillwetError, match="no circle of visits") as caught:
        a_problem([a_crew()], ring)
    assert len(caught.value.problems) == 3


def test_a_visit_may_not_follow_its_own_alternative() -> None:
    """Of a group one visit at most is made, so that one could never be made."""
    pair = [a_visit("a", group="g"), a_visit("b", group="g", after="a")]
    with pytest.raises(StillwetError, match="outside its own group"):
        a_problem([a_crew()], pair)


def test_places_that_cannot_be_are_refused() -> None:
    """Fill points and depots are checked too, and all faults come together."""
    point = a_fill_point(fill_flow_m3_s=0.0, opens_s=10.0, closes_s=10.0, places=0)
    depot = ConcentrateDepot("D", "Cache", 0.0, 0.0, -1.0, -1.0)
    with pytest.raises(StillwetError) as caught:
        a_problem([a_crew()], [], [point], [depot])
    told = [problem.field for problem in caught.value.problems]
    assert told == ["fill_flow", "places", "opening", "stock", "load"]


def test_ids_count_once() -> None:
    """Two visits of one id could not be told apart."""
    with pytest.raises(StillwetError, match="each id once"):
        a_problem([a_crew()], [a_visit(), a_visit()])


def test_travel_has_to_fit_the_places() -> None:
    """A matrix for another number of places is refused, and so is one with negative times."""
    with pytest.raises(StillwetError, match="3 places"):
        RoutingProblem(
            (a_crew(),), (a_visit(),), (), (), {"road": TravelMatrix(np.zeros((2, 2)), "")}
        )
    with pytest.raises(StillwetError, match="0 or more"):
        TravelMatrix(np.array([[0.0, -1.0], [1.0, 0.0]]), "")
    with pytest.raises(StillwetError, match="square"):
        TravelMatrix(np.zeros((2, 3)), "")


def test_a_travel_matrix_is_a_copy_nobody_can_change() -> None:
    """A problem never changes, also when the array it was made of does."""
    seconds = np.ones((2, 2))
    matrix = TravelMatrix(seconds, "")
    seconds[0, 1] = 99.0
    assert matrix.seconds[0, 1] == 1.0
    with pytest.raises(ValueError, match="read-only"):
        matrix.seconds[0, 1] = 2.0
