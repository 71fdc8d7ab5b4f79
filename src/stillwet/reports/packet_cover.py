"""The front of a packet: the answer, who sprays what, and what each card says of its crew."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep, LeftOut, StepKind
from stillwet.domain.packet import Packet
from stillwet.domain.plan import AssetPlan, Plan, Verdict
from stillwet.reports.crew_rows import step_name
from stillwet.reports.local_time import LocalClock
from stillwet.reports.map_figure import runs
from stillwet.reports.mix_words import headline
from stillwet.reports.plan_rows import by_words
from stillwet.reports.source_list import breakable
from stillwet.reports.words import (
    VERDICT_WORDS,
    Units,
    clean,
    first_sentences,
    input_name,
    is_untested,
    quantity,
    short_name,
    shorten,
)

Model = dict[str, Any]
_ROOM = 60  # letters of untested defaults named at the foot of a page


def cover(packet: Packet, clock: LocalClock, units: Units) -> Model:
    """What the cover says beside the plan's own opening."""
    alone = no_crew_ids(packet)
    return {
        "tally": _tally(packet.plan, alone),
        "mix": "" if packet.mix is None else headline(packet.mix),
        "holds": breakable(_holding(packet.plan, alone)),
        "holds_short": breakable(shorten(_holding(packet.plan, alone), 420)),
        "no_crew": _numbers(packet.plan, alone),
        "crews": [] if packet.crews is None else _who(packet.crews, clock, units),
        "left_out": [] if packet.crews is None else _left_out(packet.crews),
        "left_out_short": [] if packet.crews is None else _left_out_short(packet.crews),
        "crew_plan": "" if packet.crews is None else packet.crews.id,
        "missing": {part: breakable(clean(words)) for part, words in packet.missing.items()},
    }


def no_crew_ids(packet: Packet) -> frozenset[str]:
    """The assets that a coat would help and no crew comes to."""
    crews = packet.crews
    return frozenset() if crews is None else frozenset(one.asset_id for one in crews.left_out)


def _tally(plan: Plan, alone: frozenset[str]) -> list[list[Any]]:
    """How many assets have each verdict; those that no crew comes to are counted apart."""
    counts = dict.fromkeys([*VERDICT_WORDS.values(), "NO CREW"], 0)
    for asset in plan.assets:
        counts["NO CREW" if asset.asset_id in alone else VERDICT_WORDS[asset.verdict]] += 1
    return [[words, count] for words, count in counts.items() if count]


def _holding(plan: Plan, alone: frozenset[str]) -> str:
    names = [
        clean(asset.name)
        for asset in plan.assets
        if asset.verdict is Verdict.HOLDS and asset.asset_id not in alone
    ]
    return "; ".join(names)


def _numbers(plan: Plan, alone: frozenset[str]) -> str:
    numbered = enumerate(plan.assets, start=1)
    return runs([number for number, asset in numbered if asset.asset_id in alone])


def _who(crews: CrewPlan, clock: LocalClock, units: Units) -> list[Model]:
    """A row a crew: when, how much, and its coats in order with their starts."""
    return [
        {
            "name": breakable(short_name(run.name, 40)),
            "span": f"{clock.short(run.start_s, up=True)} to {clock.short(run.end_s, up=True)}"
            if run.steps
            else "stands by",
            "mix": quantity(sum(s.amount_m3 for s in run.steps_of(StepKind.COAT)), "m3", units),
            "stops": breakable(_stops(run, clock)),
        }
        for run in crews.crews
    ]


def _stops(run: CrewRun, clock: LocalClock) -> str:
    told = [
        f"{clock.short(step.start_s, up=True).split()[-1]} {step_name(step, 34)}"
        + (" (again)" if step.is_recoat else "")
        for step in run.steps_of(StepKind.COAT)
    ]
    return "; ".join(told) or "nothing to spray"


def _left_out(crews: CrewPlan) -> list[Model]:
    """What a coat would help and nobody comes to, musts first."""
    return [
        {"name": breakable(_left_name(one)), "why": breakable(clean(one.reason))}
        for one in _musts_first(crews)
    ]


def _left_out_short(crews: CrewPlan) -> list[Model]:
    """The same for a page that cannot hold it: assets of one reason together, reasons cut."""
    pairs = (
        (first_sentences(clean(one.reason), 120), _left_name(one)) for one in _musts_first(crews)
    )
    return [{"name": breakable(names), "why": breakable(why)} for names, why in by_words(pairs)]


def _musts_first(crews: CrewPlan) -> list[LeftOut]:
    return sorted(crews.left_out, key=lambda one: not one.must)


def _left_name(one: LeftOut) -> str:
    return ("MUST: " if one.must else "") + short_name(one.name, 60)


def crew_of_asset(asset: AssetPlan, crews: CrewPlan, clock: LocalClock) -> Model:
    """Who comes to this asset and until when it is then wet; or, in black, that nobody does."""
    visits = [
        (run, step)
        for run in crews.crews
        for step in run.steps_of(StepKind.COAT)
        if step.place_id == asset.asset_id
    ]
    done = [one for one in crews.done if one.asset_id == asset.asset_id]
    if visits or done:
        told = [
            f"{clean(one.crew_name)} has coated it by {clock.short(one.time_s)}" for one in done
        ]
        words = "; ".join([*told, *(_visit(run, step, clock) for run, step in visits)])
        leave = min((step.leave_by_s for _, step in visits if step.leave_by_s), default=None)
        gone = "" if leave is None else f" Gone by {clock.short(leave)}."
        again = any(step.is_recoat for _, step in visits)
        wet = f" {_wet(asset, crews, clock)}" if again else _not_again(asset, crews)
        return {"none": False, "words": breakable(f"{words}.{gone}{wet}")}
    left = next((one for one in crews.left_out if one.asset_id == asset.asset_id), None)
    if left is not None:
        return {"none": True, "words": breakable(f"NO CREW COMES HERE. {clean(left.reason)}")}
    return {"none": False, "words": "No crew is sent here: there is no coat to lay."}


def _not_again(asset: AssetPlan, crews: CrewPlan) -> str:
    """That nobody can lay the fresh coat that would help, where that is so."""
    left = next((one for one in crews.not_recoated if one.asset_id == asset.asset_id), None)
    return "" if left is None else f" NOBODY COATS IT AGAIN: {clean(left.reason)}"


def _visit(run: CrewRun, step: CrewStep, clock: LocalClock) -> str:
    part = f", part {step.part} of {step.parts}" if step.parts > 1 else ""
    what = ", fresh coat" if step.is_recoat else ""
    return f"{clean(run.name)}{part}{what} from {clock.short(step.start_s, up=True)}"


def _wet(asset: AssetPlan, crews: CrewPlan, clock: LocalClock) -> str:
    """Until when the first face to dry is wet with its last coat; a card tells of the first."""
    last: dict[str, tuple[float, float, float]] = {}
    for band in crews.bands:
        if band.asset_id == asset.asset_id:
            shown = (band.laid_s, band.hold_90_s, band.hold_50_s)
            last[band.label] = max(shown, last.get(band.label, shown))
    if not last:
        return ""
    sure = clock.short(min(hold for _, hold, _ in last.values()))
    even = clock.short(min(hold for _, _, hold in last.values()))
    return (
        f"With the fresh coat the first face to dry is wet until {sure} (90 % sure), {even} (50 %)."
    )


def doubt_words(plan: Plan) -> str:
    """The untested defaults of the whole job by name, for the foot of each page they reach."""
    names = list(
        dict.fromkeys(_short(input_name(item.name)) for item in plan.inputs if is_untested(item))
    )
    return breakable(_as_many(names, _ROOM)) if names else ""


def _short(name: str) -> str:
    """An input's name without what stands in brackets or behind a comma."""
    return name.partition(" (")[0].partition(",")[0]


def _as_many(names: list[str], room: int) -> str:
    told: list[str] = []
    for name in names:
        if len(", ".join([*told, name])) > room:
            break
        told.append(name)
    rest = len(names) - len(told)
    more = f" and {rest} more" if rest else ""
    return f"Untested defaults reach this page: {', '.join(told)}{more}."


def cautions_by_place(assets: Sequence[AssetPlan]) -> list[Model]:
    """Each caution of the cards once, with the numbers of the assets it holds for."""
    places: dict[str, list[int]] = {}
    for number, asset in enumerate(assets, start=1):
        for caution in asset.cautions:
            places.setdefault(clean(caution), []).append(number)
    return [
        {"where": _where(numbers, len(assets)), "words": breakable(words)}
        for words, numbers in places.items()
    ]


def _where(numbers: list[int], count: int) -> str:
    return "All assets" if len(numbers) == count > 1 else runs(numbers)
