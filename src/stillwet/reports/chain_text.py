"""Why a plan says what it says, as plain text that fits 100 columns."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from stillwet.domain.basis import Basis, BasisKind, Input
from stillwet.domain.chain import AssetShares, Chain, JobShares, Link, Share, Step
from stillwet.domain.plan import AssetPlan, Plan
from stillwet.reports.causes import (
    SHARES_MEAN,
    advice,
    cause_of,
    cling_words,
    counted,
    not_drawn_words,
    percent,
    small_words,
)
from stillwet.reports.local_time import LocalClock, clock_of, plan_times
from stillwet.reports.text_table import fill, pad, wrap_cells
from stillwet.reports.words import (
    VERDICT_WORDS,
    Units,
    chance,
    clean,
    input_interval,
    input_name,
    input_value,
    is_untested,
    minutes_held,
    quantity,
    ratio,
    short_name,
)

_BAR = 28  # characters for a share of 100 %
_VALUE = 18  # columns of a link's number
_NAME = 18  # columns of an asset's name in the job's table


def chain_text(chain: Chain, units: str) -> str:
    """One asset's answer explained: what it hangs on, then every step with its numbers.

    ``units`` is "us" or "metric".
    """
    told, clock = Units(units), clock_of(chain.plan)
    inputs = [item for step in chain.steps for item in step.inputs]
    blocks = [
        _heading(chain, told),
        _ranking(
            "WHAT THIS ANSWER HANGS ON, as shares of the scatter of the water to spare",
            chain.shares,
            not_drawn_words(inputs),
        ),
        [part for text in cling_words(chain.asset) for part in fill(text)],
        *(_step(number, step, chain, told, clock) for number, step in enumerate(chain.steps, 1)),
        _others(chain.others, told),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def job_shares_text(found: JobShares) -> str:
    """What the whole plan hangs on: the mean over its assets by value, then asset by asset."""
    inputs = [item for part in found.assets for item in part.asset.inputs]
    blocks = [
        [*fill(f"WHY: plan {found.plan.id}, {clean(found.plan.job_name)}"), *_cases(found.plan)],
        _ranking(
            "WHAT THE PLAN HANGS ON, mean of its assets' shares by value",
            found.shares,
            not_drawn_words([*inputs, *found.plan.inputs]),
        ),
        _asset_table(found),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _heading(chain: Chain, units: Units) -> list[str]:
    asset, face = chain.asset, chain.asset.governing
    area = quantity(face.surface.area_m2, "m2", units)
    lines = [
        f"WHY: {clean(asset.name)}: {VERDICT_WORDS[asset.verdict]}, {chance(face.probability)}",
        clean(asset.reason),
        f"The face that governs is the {clean(face.surface.label)} ({area}); "
        f"plan {chain.plan.id}, {clean(chain.plan.job_name)}.",
    ]
    return [part for line in lines for part in fill(line)] + _cases(chain.plan)


def _cases(plan: Plan) -> list[str]:
    clock, times = clock_of(plan), plan_times(plan)
    return fill(
        f"{plan.members} cases, seed {plan.seed}. "
        f"Times are {clock.zone_words(times)}: {clock.days(times)}."
    )


def _ranking(title: str, shares: Sequence[Share], not_drawn: str) -> list[str]:
    if not shares:
        return [title, "  Nothing that is drawn moves this answer."]
    lines = fill(title)
    for share in counted(shares):
        lead = f"  {percent(share.total):>5}  {pad(_bar(share), _BAR)}  "
        lines += fill(cause_of(share.cause).words, first=lead, rest=" " * len(lead))
    after = [
        small_words(shares),
        "Bars: # alone, + with others. " + SHARES_MEAN,
        not_drawn,
        *advice(shares),
    ]
    return lines + [part for text in after if text for part in fill(text, "  ", "    ")]


def _bar(share: Share) -> str:
    whole = max(1, round(_BAR * min(1.0, share.total)))
    alone = min(whole, max(0, round(_BAR * share.first_order)))
    return "#" * alone + "+" * (whole - alone)


def _step(number: int, step: Step, chain: Chain, units: Units, clock: LocalClock) -> list[str]:
    lines = [f"{number}. {step.question.upper()}"]
    for link in step.links:
        lines += _link(link, chain.plan, units, clock)
    if step.inputs:
        lines += ["  Stands on", *_inputs(step.inputs, units)]
    return lines + _uncertain(step, chain.shares)


def _link(link: Link, plan: Plan, units: Units, clock: LocalClock) -> list[str]:
    value = pad(link_value(link, plan, units, clock), _VALUE)
    rest = " " * (_VALUE + 4)
    lines = fill(link.quantity, first=f"  {value}  ", rest=rest)
    return lines + fill(f"{link.model}. From: {link.source}.", first=rest + "- ", rest=rest + "  ")


def link_value(link: Link, plan: Plan, units: Units, clock: LocalClock) -> str:
    """A link's number in the reader's words; what stands for it where there is none."""
    value = link.value
    if value is None or not math.isfinite(value):
        return link.absent
    if link.unit == "time":
        return clock.short(value)
    if link.unit == "s":
        return minutes_held(value)
    if link.unit == "ratio":
        return ratio(value, plan.ratio_basis)
    return chance(value) if link.unit == "fraction" else quantity(value, link.unit, units)


def _inputs(inputs: Iterable[Input], units: Units) -> list[str]:
    """Untested defaults one a line with interval and source; the others joined by source."""
    lines: list[str] = []
    known: dict[Basis, list[str]] = {}
    for item in inputs:
        shown = f"{input_name(item.name)} {input_value(item, units)}"
        span = input_interval(item, units)
        shown = f"{shown} ({span})" if span else shown
        if is_untested(item):
            text = f"{shown}: untested default, {clean(item.basis.source)}"
            lines += fill(text, first="  ! ", rest="      ")
        else:
            known.setdefault(Basis(item.basis.kind, item.basis.source), []).append(shown)
    for basis, names in known.items():
        source = clean(basis.source)
        origin = source if basis.kind is BasisKind.GIVEN else f"{basis.kind}, {source}"
        lines += fill(f"{', '.join(names)}: {origin}", first="    ", rest="      ")
    return lines


def _uncertain(step: Step, shares: Sequence[Share]) -> list[str]:
    found = [share for share in shares if share.cause in step.causes]
    if not found:
        return []
    told = ", ".join(f"{share.cause} {percent(share.total)}" for share in found)
    return fill(f"Share of the scatter: {told}", first="  ", rest="    ")


def _others(inputs: Sequence[Input], units: Units) -> list[str]:
    return ["OTHER NUMBERS OF THIS PLAN", *_inputs(inputs, units)] if inputs else []


def _asset_table(found: JobShares) -> list[str]:
    if not found.assets:
        return []
    head = f"{pad('ASSET', _NAME)}  {pad('VERDICT', 13)}  {'CHANCE':>9}  HANGS MOST ON"
    numbers = {asset.asset_id: number for number, asset in enumerate(found.plan.assets, 1)}
    lines = ["ASSET BY ASSET, worst first", f"     {head}", "-" * 100]
    for part in found.assets:
        lines += _asset_lines(numbers[part.asset.asset_id], part)
    left = len(found.plan.assets) - len(found.assets)
    if left:
        lines += fill(f"{left} left out: not to be coated, or nothing that is drawn moves them.")
    return lines


def _asset_lines(number: int, part: AssetShares) -> list[str]:
    asset: AssetPlan = part.asset
    names = wrap_cells(short_name(asset.name, 3 * _NAME), _NAME)
    most = [f"{share.cause} {percent(share.total)}" for share in counted(part.shares)[:2]]
    lead = (
        f"{number:>3}  {pad(names[0], _NAME)}  {pad(VERDICT_WORDS[asset.verdict], 13)}  "
        f"{chance(asset.governing.probability):>9}  "
    )
    rest = [f"     {name}" for name in names[1:]]
    return [*fill(", ".join(most), first=lead, rest=" " * (_NAME + 33)), *rest]
