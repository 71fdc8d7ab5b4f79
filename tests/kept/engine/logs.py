"""What a field log makes of a plan: what is left, the board, lines watched, and the account."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from after_fixture import CREEK, LAID_S, after_job
from job_fixture import HOUR, START_S, make_product
from kept.engine.days import DAYS, along_lines, crews_day, entries
from kept.engine.jobs import PLACES
from kept.engine.strips import STRIPS
from kept.keeping import Answers
from line_fixture import make_line, make_segment, make_work
from stillwet.domain.job import Job
from stillwet.domain.lines import Beginning, WetSides
from stillwet.domain.log import CoatLaid, Ignition, SegmentLit, SegmentWetted
from stillwet.domain.products import RatioBasis
from stillwet.domain.suitability import Well
from stillwet.engine.after import account_of
from stillwet.engine.after_holding import dried_of, predict
from stillwet.engine.board import make_board
from stillwet.engine.coat_evidence import CoatModel, member_weights
from stillwet.engine.left import what_is_left
from stillwet.engine.line_watch import watch_line
from stillwet.engine.lines import make_lines
from stillwet.engine.log_coats import logged_coats
from stillwet.engine.make_plan import plan_of
from stillwet.engine.particles import filter_particles
from stillwet.engine.prepared import prepare

COUNT = 128  # particles


def yard() -> Job:
    """A house at a creek, a shed that feeds a tank, and a tree, with few members."""
    wells = (Well("v1", "Bore", "well", 81.0, 12.0),)
    return replace(after_job(), members=12, wells=wells, trials=())


def left(day: str, hour: float) -> object:
    """What is left so many hours after the start."""
    prepared = prepare(yard())
    plan = plan_of(prepared, now_s=START_S)
    now_s = START_S + hour * HOUR
    found = what_is_left(prepared, plan, entries(DAYS[day]()), now_s=now_s, seed=3, count=COUNT)
    return replace(found, cautions=(), inputs=())


def evidence(day: str) -> object:
    """What a log says of coats, and what its looks teach."""
    prepared = prepare(yard())
    logged = logged_coats(prepared, plan_of(prepared, now_s=START_S), entries(DAYS[day]()))
    model, weights = CoatModel(prepared, logged), member_weights(prepared, logged.sightings)
    found = filter_particles(
        model.likelihood, dimensions=model.dimensions, member_weights=weights, seed=5, count=COUNT
    )
    return {
        "logged": logged,
        "weights": weights,
        "particles": found,
        "cases": model.cases(found.normal, found.member),
        "fits": model.fits(found.normal, found.member),
        "predicted": predict(prepared, logged, seed=7, count=COUNT),
    }


def banned() -> object:
    """Gel on what is not to be coated, and where no coat is planned."""
    prepared = prepare(PLACES["many fires"]())
    job = replace(
        prepared.job,
        assets=tuple(replace(asset, released=asset.id != "f5") for asset in prepared.job.assets),
    )
    prepared = replace(prepared, job=job)
    plan = plan_of(prepared, now_s=START_S)
    log = entries(
        (
            (LAID_S, CoatLaid(("f5/south-wall",), "c1", coat_kg_m2=3.1)),
            (LAID_S + 60.0, CoatLaid(("f1/south-wall", "f1/north-wall"), "c1")),
            (LAID_S + 90.0, CoatLaid(("f3/south-wall",), "c1", mix_m3=0.11)),
        )
    )
    found = what_is_left(prepared, plan, log, now_s=LAID_S + HOUR, seed=3, count=COUNT)
    return {
        "left": replace(found, cautions=(), inputs=()),
        "board": make_board(job, plan, None, found, log).rows,
        "account": replace(
            account_of(prepared, plan, None, log, now_s=LAID_S + HOUR, seed=1),
            cautions=(),
            inputs=(),
        ),
    }


def board(day: str, hour: float, *, has_crews: bool = True) -> object:
    """The wet board at a moment."""
    prepared = prepare(yard())
    plan, log = plan_of(prepared, now_s=START_S), entries(DAYS[day]())
    now_s = START_S + hour * HOUR
    found = what_is_left(prepared, plan, log, now_s=now_s, seed=3, count=COUNT)
    made = make_board(prepared.job, plan, crews_day() if has_crews else None, found, log)
    return {"rows": made.rows, "alarms": made.alarms, "seen": made.weather_seen_s}


def account(day: str, hour: float) -> object:
    """The whole account of a day without lines."""
    prepared = prepare(yard())
    plan = plan_of(prepared, now_s=START_S)
    log = entries(DAYS[day]())
    made = account_of(prepared, plan, crews_day(), log, now_s=START_S + hour * HOUR, seed=1)
    return replace(made, plan_id="", cautions=(), inputs=())


def _lined_yard(*, has_ratio: bool = True) -> Job:
    work = make_work(
        beginning=Beginning.FIRST,
        mix_ratio=0.02 if has_ratio else None,
        coverage_kg_m2=1.5,
        crew_id="c2",
        wet_sides=WetSides.BOTH,
    )
    second = make_line(id="l8", name="Lane", segments=(make_segment(0.0, 31.0),), work=make_work())
    return replace(yard(), lines=(make_line(work=work), second), streams_m=(CREEK,))


def line_account(*, has_plan: bool, is_powder: bool = False) -> object:
    """The account of a day along lines, with the plan of the first of them or without."""
    job = _lined_yard(has_ratio=has_plan)
    if is_powder:
        powder = make_product(ratio_basis=RatioBasis.MASS, density_kg_m3=710.0)
        job = replace(job, product=powder)
    prepared = prepare(job)
    lines = make_lines(replace(job, lines=job.lines[:1]), now_s=START_S) if has_plan else None
    made = account_of(
        prepared,
        plan_of(prepared, now_s=START_S),
        crews_day(),
        entries((*along_lines(), *DAYS["whole day"]()[-3:])),
        now_s=LAID_S + 9 * HOUR,
        seed=1,
        lines=lines,
    )
    return replace(made, plan_id="", cautions=(), inputs=(), holding=None)  # type: ignore[arg-type]


def watched(minute: float) -> object:
    """A burn line held against its log, so many minutes after the first wetting."""
    (line, *_) = make_lines(_lined_yard(), now_s=START_S).lines
    return watch_line(line, entries(along_lines()), now_s=LAID_S + 60.0 * minute)


def watched_early(job_name: str, minutes: tuple[float, ...]) -> object:
    """A line wetted and lit at the start of its plan, looked at as time passes."""
    (line, *_) = make_lines(STRIPS[job_name](), now_s=START_S).lines
    first, name = line.segments[0], line.line_id
    start, place = line.start_s, f"{line.line_id}/{line.segments[0].segment_id}"
    log = entries(
        (
            (start + 30.0, SegmentWetted(place, 20.0, coverage_kg_m2=0.5 * first.coverage_kg_m2)),
            (start + 90.0, SegmentWetted(place, 20.2)),
            (start + 300.0, SegmentWetted(place)),
            (start + 330.0, Ignition(name)),
            (start + 600.0, SegmentLit(place, 31.0)),
        )
    )
    return [watch_line(line, log, now_s=start + 60.0 * minute) for minute in minutes]


def dried() -> object:
    """Coats seen to dry sooner than predicted, later, in time, or nobody knows."""
    band, seen = (10.0, 20.0, 30.0), (None, 5.0, 15.0, 35.0)
    return {f"{wet} {dry}": dried_of(band, wet, dry) for wet in seen for dry in seen}


LEFT: Answers = {
    **{
        f"{day}, hour {hour}": partial(left, day, hour)
        for day, hour in (
            *(("quiet day", 5.0), ("whole day", 6.1), ("whole day", 12.0)),
            *(("bad day", 2.3), ("bad day", 3.7), ("sodden day", 4.4)),
        )
    },
    "evidence of whole day": partial(evidence, "whole day"),
    "evidence of bad day": partial(evidence, "bad day"),
    "banned": banned,
    "dried": dried,
}
BOARD: Answers = {
    f"{day}, hour {hour}": partial(board, day, hour)
    for day, hour in (
        *(("quiet day", 2.0), ("quiet day", 5.3), ("quiet day", 6.9), ("whole day", 5.2)),
        *(("whole day", 8.0), ("bad day", 3.7), ("sodden day", 4.4)),
    )
} | {"quiet day, no crews": partial(board, "quiet day", 4.0, has_crews=False)}
AFTER: Answers = {
    **{
        f"{day}, hour {hour}": partial(account, day, hour)
        for day, hour in (
            *(("quiet day", 9.0), ("whole day", 12.0), ("bad day", 4.0), ("bad day", 6.6)),
            ("sodden day", 5.0),
        )
    },
    "along lines": partial(line_account, has_plan=True),
    "along lines, no plan": partial(line_account, has_plan=False),
    "along lines, powder": partial(line_account, has_plan=True, is_powder=True),
}
WATCH: Answers = {
    **{f"minute {minute}": partial(watched, minute) for minute in (1.0, 7.5, 12.0, 31.0, 300.0)},
    **{
        job: partial(watched_early, job, (3.0, 11.0, 14.0, 40.0, 200.0))
        for job in ("burn line", "holding points", "slowing strip", "slow torch")
    },
}
