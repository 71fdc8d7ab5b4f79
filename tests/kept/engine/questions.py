"""What is asked of a plan once it is made: why, what may be laid when, what it means for water."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from job_fixture import HOUR, START_S
from kept.engine.jobs import PLACES
from kept.engine.refusals import refusal
from kept.engine.strips import STRIPS
from kept.keeping import Answers
from stillwet.domain.job import Job
from stillwet.domain.suitability import Task
from stillwet.engine.cautions import job_cautions
from stillwet.engine.chain import asset_named, chain_of, job_shares_of
from stillwet.engine.cleaning import make_clean_up
from stillwet.engine.lay_windows import as_sprayed, lay_windows
from stillwet.engine.make_plan import make_plan, plan_of
from stillwet.engine.pocket import lay_hours, make_pocket
from stillwet.engine.prepared import prepare
from stillwet.engine.recoating import recoats, recoats_as_sprayed
from stillwet.engine.suitability import compare_agents, job_suitability

COATS = (1.6, 3.2, 4.8, 9.6, 19.0)


def why(job_name: str, asset: str) -> object:
    """The chain of numbers behind an asset's answer."""
    job = PLACES[job_name]()
    chain = chain_of(job, make_plan(job, now_s=START_S), asset_named(job, asset))
    return {"steps": chain.steps, "others": chain.others, "shares": chain.shares}


def job_shares(value: float) -> object:
    """What a whole plan hangs on, assets of this value but the last, which is worth 30."""
    job = PLACES["too late"]()
    assets = [replace(asset, value=value) for asset in job.assets[:2]]
    job = replace(job, assets=(*assets, replace(job.assets[2], value=30.0 if value else 0.0)))
    told: list[tuple[str, float]] = []
    found = job_shares_of(
        job, make_plan(job, now_s=START_S), progress=lambda *step: told.append(step)
    )
    return {"told": told, "of all": found.shares, "of each": [one.shares for one in found.assets]}


def names() -> object:
    """Assets found by id and by name, in any case; and what is said where none or two are."""
    job = PLACES["every kind"]()
    twins = replace(job, assets=tuple(replace(asset, name="Twin") for asset in job.assets))
    many = replace(job, assets=tuple(replace(job.assets[0], id=f"n{row}") for row in range(34)))
    return {
        "found": [asset_named(job, text).id for text in ("k3", " K4", "invented barn")],
        "none": refusal(lambda: asset_named(job, "Invented born")),
        "two": refusal(lambda: asset_named(twins, "twin")),
        "none of many": refusal(lambda: asset_named(many, "zebra")),
    }


def windows(job_name: str) -> object:
    """From when each face may be coated, and what the planned coats are worth an hour sooner."""
    prepared = prepare(PLACES[job_name]())
    found = lay_windows(prepared)
    plan = plan_of(prepared, now_s=START_S)
    sooner = {name: one.until_s - 1.3 * HOUR for name, one in found.items()} | {"nowhere": 0.0}
    return {"windows": found, "sprayed": as_sprayed(prepared, plan.assets, sooner)}


def second_coats(job_name: str, early_h: float) -> object:
    """Fresh coats on coats laid so long before crews go, as planned and a quarter hour later."""
    prepared = prepare(PLACES[job_name]())
    plan = plan_of(prepared, now_s=START_S)
    until = {face.id: float(prepared.until_s[row]) for row, face in enumerate(prepared.surfaces)}
    first = {name: when - early_h * HOUR for name, when in until.items()}
    second = {name: when - 0.4 * HOUR for name, when in until.items()}
    found = recoats(prepared, plan.assets, first_s=first, second_s=second)
    later = {name: when + 0.25 * HOUR for name, when in second.items()}
    return {
        "planned": found,
        "sprayed": recoats_as_sprayed(prepared, plan.assets, found, first_s=first, second_s=later),
        "none": recoats(prepared, plan.assets, first_s={}, second_s=second),
        "none sprayed": recoats_as_sprayed(
            prepared, plan.assets, {}, first_s=first, second_s=second
        ),
    }


def pocket(job_name: str) -> object:
    """The pocket table."""
    prepared = prepare(PLACES[job_name]())
    return make_pocket(prepared, plan_of(prepared, now_s=START_S), coats=COATS)


def suits(job_name: str) -> object:
    """Where gel is right, by place."""
    job = (PLACES | STRIPS)[job_name]()
    return job_suitability(job, make_plan(job, now_s=START_S), job_cautions())


def clean_up(job_name: str) -> object:
    """What is to be washed and flushed."""
    job = PLACES[job_name]()
    return make_clean_up(job, make_plan(job, now_s=START_S))


def agents(task: Task, job: Job | None = None) -> object:
    """Every agent for a task: which rules speak, and what they say."""
    return {
        fit.agent: (fit.fit, [(one.rule_id, one.fit, one.facts) for one in fit.findings])
        for fit in compare_agents(task, job)
    }


WHY: Answers = {
    f"{asset} of {job}": partial(why, job, asset)
    for job, asset in (
        ("one house", "a1"),
        ("many fires", "f0"),
        ("many fires", "f2"),
        ("fires from fuel", "g1"),
        ("too late", "t1"),
        ("approved here", "r0"),
        ("cloudy ensemble", "a1"),
        ("nothing in doubt", "a1"),
    )
} | {
    "shares of a job": partial(job_shares, 70.0),
    "shares of a job without values": partial(job_shares, 0.0),
    "names": names,
}
WORK: Answers = {
    **{
        f"windows of {job}": partial(windows, job)
        for job in ("one house", "many fires", "too late", "powder")
    },
    **{
        f"second coats of {job}": partial(second_coats, job, early_h)
        for job, early_h in (("one house", 5.1), ("cool morning", 1.1), ("powder", 4.3))
    },
    **{
        f"pocket of {job}": partial(pocket, job)
        for job in ("one house", "many fires", "local rules", "powder")
    },
    "lay hours": lambda: [
        lay_hours(1800.0, 1801.0),
        lay_hours(7200.0, 12.4 * HOUR),
        lay_hours(60.0, 31.0 * HOUR),
    ],
    **{f"clean-up of {job}": partial(clean_up, job) for job in ("approved here", "every kind")},
}
SUITS: Answers = {
    **{job: partial(suits, job) for job in ("local rules", "approved here", "near a creek")},
    **{f"agents for {task}": partial(agents, task) for task in Task},
    "agents in local rules": lambda: agents(Task.STRUCTURE, PLACES["local rules"]()),
}
