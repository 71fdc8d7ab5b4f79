"""Whether gel is right, as JSON (``stillwet.suits/1``, ``stillwet.agents/1``)."""

from __future__ import annotations

from typing import Any

from stillwet.domain.suitability import AgentFit, JobSuitability, RuleFinding, Task
from stillwet.reports.plan_json import json_text, sound_text

SCHEMA = "stillwet.suits/1"
AGENTS_SCHEMA = "stillwet.agents/1"


def suits_to_json(answer: JobSuitability) -> dict[str, Any]:
    """The job's verdicts as plain dictionaries that ``suits.schema.json`` accepts."""
    return {
        "schema": SCHEMA,
        "job_name": sound_text(answer.job_name),
        "product_name": sound_text(answer.product_name),
        "findings": [_finding(one) for one in answer.findings],
        "places": [
            {
                "id": sound_text(place.id),
                "name": sound_text(place.name),
                "kind": place.kind,
                "task": str(place.task),
                "verdict": str(place.fit),
                "findings": [_finding(one) for one in place.findings],
            }
            for place in answer.places
        ],
        "cautions": list(answer.cautions),
    }


def suits_json_text(answer: JobSuitability) -> str:
    """The same as JSON text, one trailing newline."""
    return json_text(suits_to_json(answer))


def agents_to_json(task: Task, agents: tuple[AgentFit, ...]) -> dict[str, Any]:
    """The agents compared for one task, as plain dictionaries."""
    return {
        "schema": AGENTS_SCHEMA,
        "task": str(task),
        "agents": [
            {
                "agent": str(agent.agent),
                "verdict": str(agent.fit),
                "findings": [_finding(one) for one in agent.findings],
            }
            for agent in agents
        ],
    }


def agents_json_text(task: Task, agents: tuple[AgentFit, ...]) -> str:
    """The same as JSON text, one trailing newline."""
    return json_text(agents_to_json(task, agents))


def _finding(one: RuleFinding) -> dict[str, Any]:
    return {
        "rule": one.rule_id,
        "scope": str(one.scope),
        "verdict": str(one.fit),
        "reason": sound_text(one.reason),
        "instead": sound_text(one.instead),
        "source": one.source,
        "facts": {fact.name: sound_text(fact.value) for fact in one.facts},
    }
