"""Whether gel is right, as text of at most 100 columns: strictest first, with why and source."""

from __future__ import annotations

from stillwet.domain.plan import Plan, Verdict
from stillwet.domain.suitability import (
    AgentFit,
    Fit,
    JobSuitability,
    RuleFinding,
    Suitability,
    Task,
)
from stillwet.reports.text_table import WIDTH, bullets, fill, pad, wrap_cells
from stillwet.reports.words import clean, count_words

FIT_WORDS = {Fit.USE: "USE GEL", Fit.ONLY_IF: "ONLY IF", Fit.DO_NOT: "DO NOT"}
_COATS = {
    Verdict.WILL_NOT_HOLD: "WILL NOT HOLD, no coat that clings is enough, lay none",
    Verdict.DOUBTFUL: "DOUBTFUL, less than 90 % sure, have another answer ready",
}
_AGENT_WIDE, _FIT_WIDE = 20, 9
_NOTE = "Decision aid only: local orders, agency rules, the product label and its SDS come first."


def suits_text(answer: JobSuitability, plan: Plan | None = None) -> str:
    """The job's verdicts for a terminal or a plain printer.

    Places of which the same is said share a heading; a source is told once, by its number. With a
    plan, what its coats are worth comes first: a rule may allow gel where no coat is enough.
    """
    counts = ", ".join(
        f"{sum(place.fit is fit for place in answer.places)} {FIT_WORDS[fit]}"
        for fit in reversed(Fit)
    )
    sources = _Sources()
    blocks = [
        [
            *fill(f"IS GEL RIGHT HERE? {clean(answer.job_name)}: {clean(answer.product_name)}"),
            f"{count_words(len(answer.places), 'place')}: {counts}",
            _NOTE,
        ],
        _coats_block(plan),
        _job_block(answer.findings, sources),
        *_place_blocks(answer.places, sources),
        _use_block(answer.places, sources),
        bullets("CAUTIONS", answer.cautions),
        sources.lines(),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def agents_text(task: Task, agents: tuple[AgentFit, ...], *, job_name: str = "") -> str:
    """The agents compared for one task; with a job, its own findings stand at the gel."""
    title = f"WHICH AGENT FOR: {task}" + (f" ({clean(job_name)})" if job_name else "")
    lines = [*fill(title), _NOTE, ""]
    rule = "-" * WIDTH
    lines += [f"{pad('AGENT', _AGENT_WIDE)}  {pad('VERDICT', _FIT_WIDE)}  WHY, AND HOW", rule]
    for agent in agents:
        told = [part for one in agent.findings for part in _told(one)]
        lead = f"{pad(agent.agent, _AGENT_WIDE)}  {pad(agent.fit.upper(), _FIT_WIDE)}  "
        for part in told:
            lines.append((lead + part).rstrip())
            lead = " " * len(lead)
    return "\n".join([*lines, rule]) + "\n"


def _told(one: RuleFinding) -> list[str]:
    room = WIDTH - _AGENT_WIDE - _FIT_WIDE - 4
    return wrap_cells(f"{one.reason} {one.instead}", room) + wrap_cells(f"[{one.source}]", room)


def _coats_block(plan: Plan | None) -> list[str]:
    """Where no coat is enough, or none is sure, whatever the rules allow."""
    lines: list[str] = []
    for verdict, words in _COATS.items():
        found = [] if plan is None else [one for one in plan.assets if one.verdict is verdict]
        if found:
            names = ", ".join(clean(one.name) for one in found)
            lines += fill(f"{words}: {names}", first="  - ", rest="    ")
    return ["THE RULES ASIDE, WHAT A COAT IS WORTH (stillwet plan)", *lines] if lines else []


class _Sources:
    """The sources told so far, numbered in the order they are met."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}

    def mark(self, source: str) -> str:
        """The source's number in brackets."""
        return f"[{self._numbers.setdefault(source, len(self._numbers) + 1)}]"

    def lines(self) -> list[str]:
        """The list of sources."""
        told = [
            line
            for source, number in self._numbers.items()
            for line in fill(f"[{number}] {source}", first="  ", rest="      ")
        ]
        return ["SOURCES", *told] if told else []


def _job_block(findings: tuple[RuleFinding, ...], sources: _Sources) -> list[str]:
    lines = [line for one in findings for line in _finding_lines(one, sources)]
    return ["THE WHOLE JOB", *lines] if lines else []


def _place_blocks(places: tuple[Suitability, ...], sources: _Sources) -> list[list[str]]:
    """One block for all places that the same rules speak against, strictest first."""
    alike: dict[tuple[Fit, Task, tuple[str, ...]], list[Suitability]] = {}
    for place in places:
        rules = tuple(one.rule_id for one in _against(place))
        alike.setdefault((place.fit, place.task, rules), []).append(place)
    return [_place_block(group, sources) for group in alike.values()]


def _place_block(group: list[Suitability], sources: _Sources) -> list[str]:
    names = ", ".join(clean(place.name) for place in group)
    lines = fill(f"{FIT_WORDS[group[0].fit]}: {names} (task: {group[0].task})")
    for said in zip(*(_against(place) for place in group), strict=True):
        if len({one.reason for one in said}) == 1:
            lines += _finding_lines(said[0], sources)
            continue
        words = f"{said[0].fit}: {clean(said[0].instead)} {sources.mark(said[0].source)}"
        lines += fill(words, first="  - ", rest="    ")
        for place, one in zip(group, said, strict=True):
            lines += fill(f"{clean(place.name)}: {clean(one.reason)}", "      ", "        ")
    return lines


def _against(place: Suitability) -> list[RuleFinding]:
    """What sets the verdict: conditions of a coat that is not laid help nobody."""
    return [one for one in place.findings if one.fit is place.fit and one.fit is not Fit.USE]


def _use_block(places: tuple[Suitability, ...], sources: _Sources) -> list[str]:
    """How it is done where it may be done, each way once with the places it is for."""
    ways: dict[str, tuple[RuleFinding, list[str]]] = {}
    for place in places:
        for one in place.findings if place.fit is not Fit.DO_NOT else ():
            if one.fit is Fit.USE:
                ways.setdefault(one.rule_id, (one, []))[1].append(clean(place.name))
    lines = []
    for one, names in ways.values():
        words = f"{clean(one.reason)} {clean(one.instead)} {sources.mark(one.source)}"
        lines += fill(words, first="  - ", rest="    ")
        lines += fill(f"For {', '.join(names)}.", first="    ", rest="    ")
    return ["WHERE IT IS USED", *lines] if lines else []


def _finding_lines(one: RuleFinding, sources: _Sources) -> list[str]:
    words = f"{one.fit}: {clean(one.reason)} {clean(one.instead)} {sources.mark(one.source)}"
    return fill(words, first="  - ", rest="    ")
