"""Use case: is gel right for each asset and line of a job, and which agent suits a task."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stillwet.domain.plan import Plan
from stillwet.domain.suitability import AgentFit, JobSuitability, Task
from stillwet.services.planning import Progress, make_job_plan, read_whole_job, silent, with_knobs

# The plan, which says when a coat is laid and how rich it is mixed, takes this share of the work.
_PLANNED_SHARE = 0.9


@dataclass(frozen=True, slots=True)
class Suited:
    """The verdicts for a job, ready to be shown."""

    answer: JobSuitability
    plan: Plan | None = None  # the plan that the coats are laid by, where one was made

    def text(self) -> str:
        """The verdicts as text of at most 100 columns."""
        from stillwet.reports.suits_text import suits_text

        return suits_text(self.answer, self.plan).rstrip("\n")

    def json_text(self) -> str:
        """The verdicts as JSON (schema stillwet.suits/1)."""
        from stillwet.reports.suits_json import suits_json_text

        return suits_json_text(self.answer).rstrip("\n")


@dataclass(frozen=True, slots=True)
class Compared:
    """The agents compared for one task, ready to be shown."""

    task: Task
    agents: tuple[AgentFit, ...]
    job_name: str

    def text(self) -> str:
        """The comparison as a table of at most 100 columns."""
        from stillwet.reports.suits_text import agents_text

        return agents_text(self.task, self.agents, job_name=self.job_name).rstrip("\n")

    def json_text(self) -> str:
        """The comparison as JSON (schema stillwet.agents/1)."""
        from stillwet.reports.suits_json import agents_json_text

        return agents_json_text(self.task, self.agents).rstrip("\n")


def suits_of_job(
    path: Path,
    *,
    seed: int | None = None,
    members: int | None = None,
    progress: Progress | None = None,
) -> Suited:
    """The verdicts for every asset and line of the job at ``path``, with coats laid as planned.

    Raises StillwetError with every problem found in the job's files.
    """
    from stillwet.engine.cautions import job_cautions
    from stillwet.engine.suitability import job_suitability

    tell = progress or silent
    tell("reading the job", 0.0)
    job = with_knobs(read_whole_job(path), seed=seed, members=members)
    plan = make_job_plan(job, job.start_s, lambda label, share: tell(label, _PLANNED_SHARE * share))
    tell("asking the rules", _PLANNED_SHARE)
    suited = Suited(job_suitability(job, plan, job_cautions()), plan)
    tell("done", 1.0)
    return suited


def agents_for(task: str, path: Path | None = None) -> Compared:
    """The agents compared for a task; with a job, its own findings count for gel too."""
    from stillwet.engine.suitability import compare_agents

    job = None if path is None else read_whole_job(path)
    return Compared(Task(task), compare_agents(Task(task), job), "" if job is None else job.name)
