"""Suitability as text and JSON: at most 100 columns, nothing unsaid, valid by the schema."""

from __future__ import annotations

import json
from dataclasses import replace

import jsonschema
import pytest

from job_fixture import HOUR, START_S, make_asset, make_job, make_practice
from line_fixture import make_line
from stillwet.domain.plan import Verdict
from stillwet.domain.suitability import Fit, JobSuitability, LocalRules, Task
from stillwet.engine.cautions import job_cautions
from stillwet.engine.make_plan import make_plan
from stillwet.engine.suitability import compare_agents, job_suitability
from stillwet.reports.plan_json import packaged_schema
from stillwet.reports.suits_json import agents_json_text, suits_json_text
from stillwet.reports.suits_text import agents_text, suits_text

CREEK = ((-500.0, 20.0), (500.0, 20.0))


@pytest.fixture(scope="module")
def answer() -> JobSuitability:
    """A house at a creek, one not released, one by itself, and a line that crosses the creek."""
    nasty = "Evil \x1b[31m\u202ehouse"
    assets = (
        make_asset(name=nasty),
        make_asset(id="a2", name="Held house", released=False, y_m=400.0),
        make_asset(id="a3", name="Far house", y_m=800.0),
        make_asset(id="a4", name="Near house", x_m=100.0),
    )
    job = make_job(
        assets=assets,
        lines=(make_line(),),
        streams_m=(CREEK, ((120.0, -9.0), (120.0, 9.0))),
        local=LocalRules(approved=("p1",)),
        # 0.75 h of egress lead, 1 h of work and 1 h of doubtful arrival: laid 2.75 h ahead, under 3
        practice=make_practice(work_window_s=HOUR),
    )
    return job_suitability(job, make_plan(job, now_s=START_S), job_cautions())


def test_text_fits_and_is_plain(answer: JobSuitability) -> None:
    """At most 100 columns, ASCII of our own, no control or direction-override character."""
    text = suits_text(answer)
    assert max(len(line) for line in text.splitlines()) <= 100
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert text.isascii()


def test_text_says_every_place_and_what_sets_its_verdict(answer: JobSuitability) -> None:
    """Each name under a heading of its verdict; the reasons of the strictest, and the sources."""
    text = " ".join(suits_text(answer).split())
    fits = {place.name: place.fit for place in answer.places}
    assert fits["Held house"] is Fit.DO_NOT
    assert fits["Far house"] is Fit.USE
    assert "DO NOT: Held house (task: structure)" in text
    assert "USE GEL: Far house (task: structure)" in text
    assert "Not released by its owner or utility" in text
    assert "Near house: 14 m (46 ft) from a waterway" in text
    for caution in answer.cautions:
        assert caution in text
    used = {one.source for one in answer.findings}
    for place in answer.places:
        used |= {one.source for one in place.findings if one.fit is place.fit}
    for source in used:
        assert " ".join(source.split()) in text


def test_the_worst_comes_first(answer: JobSuitability) -> None:
    """DO NOT before ONLY IF before USE GEL."""
    lines = suits_text(answer).splitlines()
    heads = [line.partition(":")[0] for line in lines if line.startswith(("DO NOT:", "ONLY IF:"))]
    assert heads == sorted(heads)
    assert lines[1].startswith("6 places: ")


def test_conditions_of_a_coat_that_is_not_laid_are_left_out(answer: JobSuitability) -> None:
    """How it is done is told of no place that is forbidden."""
    text = suits_text(answer)
    use = text[text.index("WHERE IT IS USED") : text.index("CAUTIONS")]
    assert "Far house" in use
    assert "Held house" not in use


def test_json_is_valid_and_says_the_facts(answer: JobSuitability) -> None:
    """By the shipped schema; each finding has the facts it went by, in words."""
    document = json.loads(suits_json_text(answer))
    jsonschema.Draft202012Validator(packaged_schema("suits")).validate(document)
    near = next(place for place in document["places"] if place["name"] == "Near house")
    (found,) = [one for one in near["findings"] if one["rule"] == "near_water"]
    # Its east wall stands 6 m east of its middle at 100, the ditch runs at 120: 14 m.
    assert found["facts"] == {"water_distance": "14 m (46 ft)"}
    assert found["source"].startswith("Bureau of Land Management")
    assert {place["verdict"] for place in document["places"]} <= {"use", "only if", "do not"}


def test_schema_refuses_what_is_not_a_verdict(answer: JobSuitability) -> None:
    """An invented verdict and an unknown key do not pass."""
    document = json.loads(suits_json_text(answer))
    document["places"][0]["verdict"] = "maybe"
    validator = jsonschema.Draft202012Validator(packaged_schema("suits"))
    assert not validator.is_valid(document)


@pytest.mark.parametrize("task", Task)
def test_agents_of_each_task(task: Task) -> None:
    """A table of 100 columns with all five agents, and JSON that the schema takes."""
    agents = compare_agents(task)
    text = agents_text(task, agents)
    assert max(len(line) for line in text.splitlines()) <= 100
    for agent in agents:
        assert any(line.startswith(f"{agent.agent} ") for line in text.splitlines())
    document = json.loads(agents_json_text(task, agents))
    jsonschema.Draft202012Validator(packaged_schema("suits")).validate(document)
    assert [row["verdict"] for row in document["agents"]] == [str(one.fit) for one in agents]


def test_a_job_named_in_the_table() -> None:
    """With a job, its name stands in the title and its own rules beside gel."""
    job = replace(make_job(), local=LocalRules(approved=("other",)))
    text = agents_text(Task.STRUCTURE, compare_agents(Task.STRUCTURE, job), job_name=job.name)
    assert text.startswith("WHICH AGENT FOR: structure (Invented job)")
    assert "is not on the list of approved products" in " ".join(text.split())


def test_a_place_that_rules_allow_is_not_taken_for_one_that_a_coat_protects() -> None:
    """Where the plan says that no coat is enough, that stands above what the rules allow."""
    job = make_job(assets=(make_asset(name="Far house"), make_asset(id="a2", name="Near house")))
    plan = make_plan(job, now_s=START_S)
    first, second = plan.assets
    judged = replace(
        plan,
        assets=(
            replace(first, verdict=Verdict.WILL_NOT_HOLD),
            replace(second, verdict=Verdict.DOUBTFUL),
        ),
    )
    text = " ".join(suits_text(job_suitability(job, plan, job_cautions()), judged).split())
    assert f"WILL NOT HOLD, no coat that clings is enough, lay none: {first.name}" in text
    assert f"DOUBTFUL, less than 90 % sure, have another answer ready: {second.name}" in text
    assert text.index("WILL NOT HOLD") < text.index(
        "ONLY IF:" if "ONLY IF:" in text else "USE GEL:"
    )
    sure = replace(judged, assets=tuple(replace(a, verdict=Verdict.HOLDS) for a in plan.assets))
    assert "THE RULES ASIDE" not in suits_text(job_suitability(job, plan, job_cautions()), sure)
