"""Every change that a what-if may make, and how coats that are already on fare then."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from job_fixture import START_S
from kept.engine.jobs import PLACES
from kept.engine.refusals import refusal
from kept.keeping import Answers
from kept.plain import Plain, leaves, to_plain
from stillwet.domain.job import Job
from stillwet.engine.as_laid import as_laid
from stillwet.engine.change_keys import KEYS
from stillwet.engine.changes import change_job, read_change, read_changes, usual_doubts
from stillwet.engine.make_plan import make_plan
from stillwet.engine.prepared import prepare

CHANGES = (
    *("wind=+30%", "wind=20 mph", "wind=-2 m/s", "wind=+700%", "temperature=+3 C"),
    *("temperature=95 F", "temperature=-31 C", "humidity=-5 %", "humidity=-30 %"),
    *("humidity=0.22", "humidity=+0.03", "cloud=0 %", "cloud=+40 %", "arrival=-1 h"),
    *("arrival=+90 min", "start=+30 min", "start=-1 h", "flame length=+30%", "flame_length=5 m"),
    *("spread rate=-40%", "spread rate=30 ft/min", "residence=+12 s", "setback=-2 m"),
    *("setback=12 ft", "sheltering=0.9", "sheltering=+0.2", "egress lead=1 h"),
    *("longest wait=6 h", "longest wait=-25%", "work window=+30 min", "ember period=1 h"),
    *("ember reserve=0.5 mm", "thinnest coat=+20%", "transfer efficiency=0.6"),
    *("transfer efficiency=+17 %", "water efficiency=-10 %", "water efficiency=0.5"),
    *("coat variation=0.5", "coat variation=+10 %", "drying exponent=0.5"),
    *("drying exponent=-0.1", "yield stress=-30%", "hardness=+100 ppm", "hardness=200 mg/l"),
    *("hardness=-50%", "hardness=-500 ppm"),
)
OTHERS = (
    ("measured sun", ("sun=+20%", "sun=-100%", "wind=1 m/s")),
    ("sun and cloud", ("cloud=+20 %",)),
    ("sunny ensemble", ("sun=-30%", "wind=+10%", "temperature=+2 C")),
    ("cloudy ensemble", ("humidity=+10 %", "cloud=+20 %", "temperature=70 F")),
    ("fires from fuel", ("wind=+25%", "flame length=+30%", "residence=20 s", "setback=+1 m")),
    ("many fires", ("flame length=-10%", "spread rate=+50%", "arrival=+20 min")),
)
_BOTH = ("flame length=+20%", "wind=+15%", "arrival=-30 min")
_MISREAD = (
    *("", "wind", "wnd=+3 mph", "wind=fast", "temperature=+10%", "sun=200", "wind=-130%"),
    *("arrival=3 h", "start=1 h", "yield stress=40 Pa", "humidity=7 h", "setback=+3 mph"),
)


def _changed(job: Job, texts: tuple[str, ...]) -> dict[str, Plain]:
    """What of the job is another: where, and what it is now."""
    old = dict(leaves(to_plain(job)))
    new = dict(leaves(to_plain(change_job(job, read_changes(texts)))))
    moved = {path: value for path, value in new.items() if path not in old or old[path] != value}
    return moved | {f"{path} gone": None for path in old if path not in new}


def each_change(job_name: str, texts: tuple[str, ...]) -> object:
    """Each change alone: what it was taken for, and what it does to the job."""
    job = PLACES[job_name]()
    return {text: (read_change(text), _changed(job, (text,))) for text in texts}


def together() -> object:
    """Three at once; the flame comes last, whatever the order."""
    job = PLACES["fires from fuel"]()
    return [_changed(job, _BOTH), _changed(job, _BOTH[::-1])]


def refused() -> object:
    """What cannot be read, and what cannot be done to a job."""
    house, sun, fires = (PLACES[name]() for name in ("one house", "measured sun", "many fires"))
    dry = replace(house, water_points=())
    cases = (
        *((house, text) for text in ("sun=+20%", "start=-40 h", "arrival=+60 h", "setback=700 m")),
        *((sun, "cloud=+10 %"), (dry, "hardness=+5 ppm"), (fires, "flame length=400 ft")),
        *(
            (house, text)
            for text in (
                "drying exponent=2",
                "start=+20 h",
                "transfer efficiency=+30 %",
                "coat variation=9",
            )
        ),
    )
    return {
        "misread": refusal(lambda: read_changes(_MISREAD)),
        "not done": [refusal(partial(_changed, job, (text,))) for job, text in cases],
    }


def laid(job_name: str, text: str) -> object:
    """How a plan's coats fare if this is the truth."""
    job = PLACES[job_name]()
    plan = make_plan(job, now_s=START_S)
    return as_laid(job, plan, prepare(change_job(job, read_changes((text,)))))


WHAT_IFS: Answers = {
    "each change": partial(each_change, "one house", CHANGES),
    **{f"each change of {job}": partial(each_change, job, texts) for job, texts in OTHERS},
    "together": together,
    "refused": refused,
    "usual doubts": lambda: [(change, change.what_if) for change in usual_doubts()],
    "keys": lambda: {
        name: (key.dimension, key.hows, key.wanted, key.is_flame) for name, key in KEYS.items()
    },
    **{
        f"{job}, laid, {text}": partial(laid, job, text)
        for job, text in (
            ("one house", "wind=+40%"),
            ("one house", "transfer efficiency=0.55"),
            ("every kind", "arrival=-3 h"),
            ("many fires", "flame length=+25%"),
            ("powder", "hardness=+150 ppm"),
        )
    },
}
