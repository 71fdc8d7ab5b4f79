"""Invented field logs: what crews wrote on a day, and the day that was planned for them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from typing import Any

from after_fixture import LAID_S, PASSED_S
from job_fixture import HOUR, START_S
from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep, FaceWork, StepKind
from stillwet.domain.log import (
    Body,
    CoatChecked,
    CoatLaid,
    Entry,
    Fate,
    Feel,
    FirePassed,
    Ignition,
    Outcome,
    SegmentLit,
    SegmentWetted,
    Spill,
    Stock,
    WashedOff,
    WeatherSeen,
)

Told = tuple[float, Body]  # when, and what
WALLS = ("a1/north-wall", "a1/east-wall", "a1/south-wall", "a1/west-wall")
ROOFS = ("a1/south-roof", "a1/north-roof")
SHED = ("a2/north-wall", "a2/south-wall")
OAK = ("a3/north-side", "a3/east-side", "a3/south-side", "a3/west-side")


def entries(told: Iterable[Told], *, writer: str = "Ash") -> list[Entry]:
    """The log of what was told, in order of what happened; ids by row."""
    return [
        Entry(f"00000000-0000-4000-8000-{row:012d}", when, when + 9.0, writer, "phone", body)
        for row, (when, body) in enumerate(sorted(told, key=lambda one: one[0]))
    ]


def quiet_day() -> tuple[Told, ...]:
    """Nobody wrote anything."""
    return ()


def whole_day() -> tuple[Told, ...]:
    """Coats by two crews, checks, the front, what became of things, stock, a spill, washing."""
    met = WeatherSeen(309.4, 0.13, 3.2, 220.0)
    return (
        (START_S, Stock("c1", water_taken_m3=2.0, concentrate_taken_m3=0.05)),
        (LAID_S, CoatLaid((*WALLS, *ROOFS), "c1", mix_m3=2.1, seen=met)),
        (LAID_S + 600.0, CoatLaid(SHED, "c2", coat_kg_m2=4.1, ratio=0.021)),
        (LAID_S + 900.0, CoatLaid(OAK, "c2")),
        (LAID_S + 1800.0, CoatChecked(WALLS[0], Feel.WET)),
        (LAID_S + 2000.0, WeatherSeen(310.7, None, None, None)),
        (LAID_S + 2 * HOUR, CoatChecked(WALLS[0], weighed_kg_m2=1.9, coupon="c")),
        (LAID_S + 2.1 * HOUR, CoatChecked(WALLS[0], weighed_kg_m2=1.8, coupon="c")),
        (LAID_S + 2.2 * HOUR, CoatChecked(SHED[1], Feel.TACKY, weighed_kg_m2=1.1)),
        (PASSED_S, FirePassed("a1")),
        (PASSED_S + 300.0, FirePassed("a2")),
        (PASSED_S + HOUR, Outcome("a1", Fate.UNHARMED)),
        (PASSED_S + HOUR, Outcome("a2", Fate.LOST)),
        (PASSED_S + 2 * HOUR, Stock("c1", water_left_m3=0.4, concentrate_left_m3=0.09)),
        (PASSED_S + 3 * HOUR, WashedOff((*WALLS[:2], "a9/wall"))),
        (LAID_S + 60.0, Spill("concentrate", "by the ditch", 0.004, True)),
    )


def bad_day() -> tuple[Told, ...]:
    """Coats too early, found dry and against all odds; rain; stock that cannot be; fresh coats."""
    rain = WeatherSeen(rain=True)
    return (
        (START_S - 2 * HOUR, CoatLaid((WALLS[0],), coat_kg_m2=2.3)),
        (START_S + HOUR, CoatLaid(WALLS[1:], "c1", ratio=0.017)),
        (START_S + 1.2 * HOUR, CoatLaid((SHED[0], "a9/wall"), "c7", mix_m3=0.07)),
        (START_S + 1.5 * HOUR, CoatChecked(ROOFS[0], Feel.WET)),
        (START_S + 1.7 * HOUR, CoatChecked(WALLS[1], photo="a.jpg")),
        (START_S + 2.1 * HOUR, CoatChecked(WALLS[1], Feel.DRY)),
        (START_S + 2.2 * HOUR, CoatChecked(WALLS[2], Feel.DRY)),
        (START_S + 2.9 * HOUR, CoatChecked(WALLS[2], Feel.WET)),
        (START_S + 3.0 * HOUR, CoatChecked(WALLS[3], weighed_kg_m2=9.7)),
        (START_S + 3.1 * HOUR, WeatherSeen(301.0, 0.31, 1.4, 200.0)),
        (START_S + 3.2 * HOUR, CoatLaid((SHED[0],), "c2", coat_kg_m2=3.3)),
        (START_S + 3.3 * HOUR, rain),
        (START_S + 3.4 * HOUR, CoatLaid((OAK[0],), "c2", coat_kg_m2=2.9)),
        (START_S + 3.5 * HOUR, Stock("c1", water_left_m3=7.0, concentrate_left_m3=0.3)),
        (START_S + 3.5 * HOUR, Stock("c2", water_left_m3=0.2, concentrate_taken_m3=0.02)),
        (START_S + 3.5 * HOUR, Stock("c7", concentrate_left_m3=0.1)),
        (START_S + 3.6 * HOUR, Outcome("a3", Fate.DAMAGED)),
    )


def sodden_day() -> tuple[Told, ...]:
    """A mix far off its label by the crew's own count, coats washed off and laid again."""
    return (
        (START_S + HOUR, CoatLaid(WALLS, "c1", mix_m3=0.9)),
        (START_S + 2 * HOUR, WashedOff(WALLS)),
        (START_S + 3 * HOUR, CoatLaid(WALLS[:1], "c1", mix_m3=0.4)),
        (START_S + 3 * HOUR, FirePassed("a3")),
        (START_S + 3 * HOUR, Stock("c1", water_left_m3=0.6, concentrate_left_m3=0.02)),
        (START_S + 4 * HOUR, FirePassed("a1")),
        (START_S + 4.2 * HOUR, CoatLaid(WALLS[1:2], "", coat_kg_m2=1.9)),
        (START_S + 4.3 * HOUR, Outcome("a1", Fate.SCORCHED)),
    )


DAYS: dict[str, Callable[[], tuple[Told, ...]]] = {
    "quiet day": quiet_day,
    "whole day": whole_day,
    "bad day": bad_day,
    "sodden day": sodden_day,
}


def along_lines() -> tuple[Told, ...]:
    """Two lines wetted and lit in pieces: what was told of mix and coverage, and what was not."""
    return (
        (LAID_S, SegmentWetted("l1/s0", 0.0, crew_id="c2")),
        (LAID_S + 120.0, SegmentWetted("l1/s0", 40.0, crew_id="c2", mix_m3=0.61)),
        (LAID_S + 260.0, SegmentWetted("l1/s0", crew_id="c2", coverage_kg_m2=1.1)),
        (LAID_S + 330.0, Ignition("North edge")),
        (LAID_S + 400.0, SegmentLit("l1/s0", 55.0)),
        (LAID_S + 420.0, SegmentWetted("l1/s80", 20.0)),
        (LAID_S + 500.0, SegmentWetted("l1/s80", 33.0, crew_id="c1")),
        (LAID_S + 560.0, SegmentLit("l1/s0")),
        (LAID_S + 700.0, SegmentLit("l1/s80", 60.0)),
        (LAID_S + 900.0, SegmentWetted("l1/s80", 30.0, mix_m3=0.2)),
        (LAID_S + 950.0, SegmentWetted("l1/nowhere", 12.0, mix_m3=0.1)),
        (LAID_S + 960.0, SegmentWetted("l9/s0", 12.0)),
        (LAID_S + 970.0, SegmentWetted("l8/s0", 15.0, coverage_kg_m2=2.0)),
        (LAID_S + 980.0, Ignition("the far field")),
        (LAID_S + 990.0, CoatLaid(WALLS, "c2", mix_m3=1.3)),
        (LAID_S + 999.0, SegmentLit("l9/s0", 4.0)),
    )


@dataclass(frozen=True)
class _Visit:
    """A stop of a crew at an asset: its faces, from when."""

    asset_id: str
    faces: tuple[str, ...]
    starts_s: float


_VISITS = {
    "c1": (_Visit("a1", WALLS, LAID_S - 300.0), _Visit("a1", WALLS[:2], LAID_S + 1.9 * HOUR)),
    "c2": (_Visit("a2", SHED, LAID_S + 500.0),),
}


def crews_day() -> CrewPlan:
    """Two crews' day: the house twice, the shed once, and a fill."""
    values: dict[str, Any] = {field.name: () for field in fields(CrewPlan)}
    runs = tuple(_run(crew, visits) for crew, visits in _VISITS.items())
    return CrewPlan(**(values | {"crews": runs}))


def _run(crew_id: str, visits: tuple[_Visit, ...]) -> CrewRun:
    steps = [_step(StepKind.FILL, "w1", (), START_S + HOUR)]
    steps += [_step(StepKind.COAT, one.asset_id, one.faces, one.starts_s) for one in visits]
    return CrewRun(
        crew_id=crew_id,
        name=f"Engine {crew_id}",
        people=3,
        tank_m3=1.1,
        reserve_m3=0.4,
        start_at_m=(0.0, 0.0),
        start_s=START_S,
        end_s=LAID_S + 3 * HOUR,
        drive_s=700.0,
        water_at_start_m3=1.1,
        steps=tuple(steps),
    )


def _step(kind: StepKind, place: str, faces: tuple[str, ...], starts_s: float) -> CrewStep:
    work = tuple(
        FaceWork(name, name, 4.0, 1.0, 0.2, starts_s + 90.0 * row) for row, name in enumerate(faces)
    )
    return CrewStep(
        kind=kind,
        place_id=place,
        visit_id=place,
        name=place,
        x_m=0.0,
        y_m=0.0,
        arrive_s=starts_s - 200.0,
        start_s=starts_s,
        finish_s=starts_s + 1300.0,
        amount_m3=0.47,
        concentrate_m3=0.011,
        tank_after_m3=None,
        drive_s=190.0,
        mix_ratio=0.0215 if kind is StepKind.COAT else None,
        faces=work,
    )
