"""What stands on the crew sheets, as plain words in boxes: the page model the template sets."""

from __future__ import annotations

from typing import Any

from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep, FaceWork, LeftOut, StepKind
from stillwet.reports.crew_rows import (
    chance_words,
    coated_with,
    coverage_words,
    crew_clock,
    crew_times,
    face_coat,
    face_share,
    free_words,
    ratio_words,
    run_words,
    settling_words,
    step_amount,
    step_name,
    tank_words,
    turn_words,
    wait_words,
)
from stillwet.reports.local_time import LocalClock
from stillwet.reports.source_list import breakable
from stillwet.reports.words import (
    VERDICT_WORDS,
    Units,
    clean,
    quantity,
    short_name,
    shorten,
)

Model = dict[str, Any]


def crew_pages(plan: CrewPlan, units: Units) -> Model:
    """Everything the template prints, in the order of the pages."""
    clock, times = crew_clock(plan), crew_times(plan)
    must = f"NOT POSSIBLE: {plan.musts_missed} of the musts cannot be covered."
    return {
        "id": plan.id,
        "plan_id": plan.plan_id,
        "job": breakable(shorten(clean(plan.job_name), 90)),
        "made": clock.full(plan.made_s),
        "zone": f"Times are {clock.zone_words(times)}: {clock.days(times)}.",
        "coverage": coverage_words(plan) + ".",
        "must": must if plan.musts_missed else "",
        "settling": settling_words(plan),
        "unsettled": not plan.settled,
        "is_replan": plan.is_replan,
        "changes": [breakable(clean(words)) for words in plan.changes],
        "done": [
            breakable(f"{clean(one.name)}: {clean(one.crew_name)}, {clock.short(one.time_s)}")
            for one in plan.done
        ],
        "left_out": [_left(one) for one in plan.left_out],
        "not_recoated": [_left(one) for one in plan.not_recoated],
        "not_sprayed": [
            {
                "name": breakable(("MUST: " if one.must else "") + short_name(one.name, 60)),
                "why": breakable(f"{VERDICT_WORDS[one.verdict]}. {clean(one.reason)}"),
            }
            for one in plan.not_sprayed
        ],
        "stands_on": [
            *(f"Driving: {words}." for words in plan.travel),
            *(breakable(clean(words)) for words in plan.assumed),
        ],
        "warnings": [breakable(clean(text)) for text in plan.warnings],
        "cautions": [breakable(clean(text)) for text in plan.cautions],
        "crews": [_crew(run, plan, clock, units) for run in plan.crews],
    }


def _left(one: LeftOut) -> Model:
    return {
        "name": breakable(("MUST: " if one.must else "") + short_name(one.name, 60)),
        "why": breakable(f"{clean(one.reason)} {free_words(one)}"),
    }


def _crew(run: CrewRun, plan: CrewPlan, clock: LocalClock, units: Units) -> Model:
    return {
        "name": breakable(short_name(run.name, 60)),
        "day": run_words(run, plan, clock, units),
        "before": before_first(run, plan, units),
        "stops": [
            _stop(number, step, plan, clock, units)
            for number, step in enumerate(run.steps, start=1)
        ],
        "hazards": _hazards(run),
    }


def before_first(run: CrewRun, plan: CrewPlan, units: Units) -> list[str]:
    """The tick boxes before the first stop."""
    loads = [n for n, step in enumerate(run.steps) if step.kind is StepKind.LOAD]
    until = loads[0] if loads else len(run.steps)
    aboard = coated_with(run.steps[:until], plan, units)
    return [
        "Escape route and safety zone known to all",
        "No foam or retardant left in pump, tank and hose",
        f"Water on board: {quantity(run.water_at_start_m3, 'm3', units)}",
        f"Concentrate on board: at least {aboard}",
        "Radio checked; leave-by times read back",
        *_pattern_tick(run),
    ]


def _pattern_tick(run: CrewRun) -> list[str]:
    """Nobody leaves with a mix that does not come out of the nozzle."""
    if not run.steps_of(StepKind.COAT):
        return []
    doubt = " It may NOT come out of this pump and hose: see the warnings" if run.pump_note else ""
    return [f"Pattern tested with the mix, hose as it will be laid.{doubt}"]


def _stop(number: int, step: CrewStep, plan: CrewPlan, clock: LocalClock, units: Units) -> Model:
    shown: Model = {
        "number": number,
        "kind": str(step.kind),
        "name": breakable(step_name(step, 60)),
        "arrive": clock.short(step.arrive_s, up=True),
        "start": clock.short(step.start_s, up=True),
        "done": clock.short(step.finish_s, up=True),
        "amount": step_amount(step, plan, units),
        "tank": tank_words(step, units),
        "wait": wait_words(step),
    }
    if step.kind is not StepKind.COAT:
        return shown
    return shown | {
        "gone_by": clock.short(step.leave_by_s),
        "ratio": ratio_words(step, plan),
        "concentrate": coated_with((step,), plan, units),
        "chance": chance_words(step),
        "must": step.must,
        "needs": ", ".join(clean(need) for need in step.needs),
        "faces": [_face(face, clock, units) for face in step.faces],
        "note": breakable(shorten(clean(step.note), 200)),
        "turn": breakable(turn_words(step, clock)),
    }


def _face(face: FaceWork, clock: LocalClock, units: Units) -> Model:
    return {
        "label": breakable(clean(face.label)),
        "coat": face_coat(face, units),
        "share": face_share(face),
        "amount": quantity(face.mix_m3, "m3", units),
        "starts": clock.short(face.starts_s, up=True),
    }


def _hazards(run: CrewRun) -> list[Model]:
    """Each caution once, with the numbers of the stops it holds for."""
    stops: dict[str, list[str]] = {}
    for number, step in enumerate(run.steps, start=1):
        for caution in step.cautions:
            stops.setdefault(clean(caution), []).append(str(number))
    return [{"stops": ", ".join(at), "words": breakable(words)} for words, at in stops.items()]
