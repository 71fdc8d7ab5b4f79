"""Whole plans of lines, and what they stand on."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from job_fixture import START_S
from kept.engine.refusals import refusal
from kept.engine.strips import STRIPS, lacking
from kept.keeping import Answers
from line_fixture import frame_of
from stillwet.engine.line_holding import retention
from stillwet.engine.line_members import draw_line_members
from stillwet.engine.line_schedule import play_walk, random_delays
from stillwet.engine.line_search import search
from stillwet.engine.line_work import place_along
from stillwet.engine.lines import make_lines


def plan(job_name: str) -> object:
    """The plan of a job's lines, less the marks of the version that made it."""
    made = make_lines(STRIPS[job_name](), now_s=START_S - 55.0)
    return replace(made, id="", model_version="", cautions=())


def grounds(job_name: str) -> object:
    """What the plan of a job's first line stands on: strips, schedule, and two days with delays."""
    job = STRIPS[job_name]()
    frame = frame_of(job)
    attempt = search(frame)
    late = random_delays(attempt.steps, share=0.4, rng=np.random.default_rng(3))
    return {
        "strips": [(strip.fire, strip.drying, strip.black_s) for strip in frame.strips],
        "kept": [retention(strip, frame.mix, attempt.ratio) for strip in frame.strips],
        "members": draw_line_members(job.lines[0], members=job.members, seed=job.seed),
        "attempt": replace(attempt, efforts=[], holds=[]),
        "holds": attempt.holds,
        "with delays": play_walk(attempt.steps, attempt.walk, late),
    }


def refused() -> object:
    """What is said of lines that cannot be reckoned."""
    job = lacking()
    return {
        "lacking": refusal(lambda: make_lines(job, now_s=START_S)),
        "no lines": refusal(lambda: make_lines(replace(job, lines=()), now_s=START_S)),
        "no crews": refusal(lambda: make_lines(replace(job, crews=()), now_s=START_S)),
    }


def places() -> object:
    """Points along a segment, its ends and beyond."""
    segment = STRIPS["burn line"]().lines[0].segments[1]
    bent = replace(segment, track_m=((0.0, 0.0), (0.0, 0.0), (30.0, 40.0), (30.0, 90.0)))
    return [place_along(bent, share) for share in (0.0, 0.37, 0.5, 0.83, 1.0, 1.2)]


def progress() -> object:
    """What is told while two lines are reckoned."""
    steps: list[tuple[str, float]] = []
    make_lines(STRIPS["dry shrub"](), now_s=START_S, progress=lambda *step: steps.append(step))
    return steps


LINES: Answers = {name: partial(plan, name) for name in STRIPS} | {
    "refused": refused,
    "places along": places,
    "progress": progress,
}
LINE_GROUNDS: Answers = {
    name: partial(grounds, name)
    for name in (
        *("burn line", "holding points", "beside a road", "slowing strip", "wind turns"),
        *("no direction", "slow torch", "dry shrub"),
    )
}
