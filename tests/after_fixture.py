"""An invented job with a plan and a log, for the account that is made after it."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from job_fixture import HOUR, START_S, make_asset, make_crew, make_job
from line_fixture import make_line, make_work
from log_strategies import ids
from stillwet.domain.after import After
from stillwet.domain.crew_plan import CrewPlan
from stillwet.domain.job import Job
from stillwet.domain.lines import Beginning
from stillwet.domain.log import (
    Body,
    CoatChecked,
    CoatLaid,
    Entry,
    Fate,
    Feel,
    FirePassed,
    Outcome,
    SegmentWetted,
    Spill,
    Stock,
    WashedOff,
)
from stillwet.domain.plan import Plan
from stillwet.domain.suitability import Site
from stillwet.engine.after import account_of
from stillwet.engine.lines import make_lines
from stillwet.engine.make_plan import plan_of
from stillwet.engine.prepared import Prepared, prepare

_IDS = random.Random(5)
LAID_S = START_S + 5 * HOUR  # the front comes between hours 7 and 8
PASSED_S = START_S + 7.5 * HOUR
NOW_S = START_S + 12 * HOUR
CREEK = ((-500.0, 30.0), (500.0, 30.0))


@dataclass(frozen=True)
class Scene:
    """A job, ready to be accounted for."""

    job: Job
    prepared: Prepared
    plan: Plan

    def faces(self, asset_id: str) -> tuple[str, ...]:
        """The ids of an asset's faces."""
        return tuple(face.id for face in self.prepared.faces[asset_id])

    def account(self, *entries: Entry, day: CrewPlan | None = None, now_s: float = NOW_S) -> After:
        """The account with this log, in order of what happened."""
        told = sorted(entries, key=lambda entry: entry.when_s)
        return account_of(self.prepared, self.plan, day, told, now_s=now_s, seed=1)


def after_job(**changes: Any) -> Job:
    """A house at a creek, a shed that feeds a tank, and a tree; two engines."""
    assets = (
        make_asset(),
        make_asset(
            id="a2", name="Invented shed", kind="shed", x_m=80.0, site=Site(collects_rain=True)
        ),
        make_asset(id="a3", name="Invented oak", kind="tree", width_m=0.6, x_m=160.0),
    )
    crews = (make_crew(concentrate_m3=0.1), make_crew(id="c2", name="Second engine", setup_s=300.0))
    values: dict[str, Any] = {
        "assets": assets,
        "crews": crews,
        "streams_m": (CREEK,),
        "members": 32,
        "input_hash": "ab" * 32,
    }
    return make_job(**(values | changes))


@cache
def scene() -> Scene:
    """The job with its plan; reckoned once."""
    job = after_job()
    prepared = prepare(job)
    return Scene(prepared.job, prepared, plan_of(prepared, now_s=START_S))


@cache
def line_account() -> After:
    """The account of a job with a line at a creek, of which one segment was wetted."""
    line = make_line(work=make_work(beginning=Beginning.FIRST, mix_ratio=0.02, coverage_kg_m2=1.5))
    prepared = prepare(after_job(lines=(line,)))
    plan = plan_of(prepared, now_s=START_S)
    lines = make_lines(replace(prepared.job, members=16), now_s=START_S)
    wetted = SegmentWetted("l1/s0", crew_id="c2", mix_m3=0.6)
    later = SegmentWetted("l1/s80", 20.0, crew_id="c2")
    told = [*whole_log(), said(LAID_S + 60.0, wetted), said(LAID_S + 360.0, later)]
    told.sort(key=lambda entry: entry.when_s)
    return account_of(prepared, plan, None, told, now_s=NOW_S, seed=1, lines=lines)


def said(when_s: float, body: Body, *, writer: str = "Ash", note: str = "") -> Entry:
    """One entry, written when it happened."""
    return Entry(ids(_IDS), when_s, when_s, writer, "phone", body, note=note)


def whole_log() -> tuple[Entry, ...]:
    """Coats by two crews, checks, the front, outcomes, stock, a spill, and one house washed."""
    faces = scene().faces
    house, shed, oak = faces("a1"), faces("a2"), faces("a3")
    return (
        said(START_S, Stock("c1", water_taken_m3=2.0, concentrate_taken_m3=0.05)),
        said(LAID_S, CoatLaid(house, "c1", mix_m3=2.0)),
        said(LAID_S + 600.0, CoatLaid(shed, "c2", coat_kg_m2=4.0, ratio=0.02)),
        said(LAID_S + 900.0, CoatLaid(oak, "c2")),
        said(LAID_S + 1800.0, CoatChecked(house[0], Feel.WET)),
        said(LAID_S + 2 * HOUR, CoatChecked(house[0], weighed_kg_m2=2.0, coupon="c")),
        said(LAID_S + 2 * HOUR, CoatChecked(shed[1], Feel.TACKY)),
        said(LAID_S + 5 * HOUR, CoatChecked(shed[1], Feel.DRY)),
        said(PASSED_S, FirePassed("a1")),
        said(PASSED_S, FirePassed("a2")),
        said(PASSED_S + HOUR, Outcome("a1", Fate.UNHARMED)),
        said(PASSED_S + HOUR, Outcome("a2", Fate.SCORCHED)),
        said(PASSED_S + 2 * HOUR, Stock("c1", water_left_m3=0.4, concentrate_left_m3=0.09)),
        said(PASSED_S + 3 * HOUR, WashedOff(house), writer="Rowan"),
        said(LAID_S, Spill("concentrate", "by the ditch", 0.004, True), note="boom laid"),
    )
