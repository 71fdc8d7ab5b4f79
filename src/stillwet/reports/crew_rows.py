"""The words that screen, sheets, calendar and tracks share about a crew's stops."""

from __future__ import annotations

from collections.abc import Iterable

from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep, FaceWork, LeftOut, StepKind
from stillwet.reports.local_time import LocalClock, clock_for
from stillwet.reports.words import (
    Units,
    chance,
    clean,
    coat,
    concentrate_words,
    count_words,
    gauge,
    minutes,
    minutes_held,
    packs_words,
    percent_number,
    quantity,
    ratio_basis,
    short_name,
)
from stillwet.units import from_si

_LONG_WAIT_S = 300.0  # a shorter wait is not worth a word
FOOTER = "Local orders, label and SDS come first. Escape route first. Leave by the time shown."


def crew_clock(plan: CrewPlan) -> LocalClock:
    """The clock for a crew plan: weekdays when they are unambiguous, dates otherwise."""
    return clock_for(plan.time_zone, crew_times(plan))


def crew_times(plan: CrewPlan) -> list[float]:
    """Moments that the crew plan shows, epoch seconds."""
    times = [moment for run in plan.crews for moment in (run.start_s, run.end_s)]
    for band in plan.bands:
        times += [band.laid_s, band.fire_to_s]
    return times or [plan.made_s]


def step_name(step: CrewStep, limit: int = 200) -> str:
    """Where a stop is: the asset with its coat and part, the water point or the depot.

    ``limit``: letters of the name itself, before which coat and part it is.
    """
    words = [short_name(step.name, limit)]
    if step.kind is StepKind.COAT:
        words += ["FRESH COAT"] if step.is_recoat else []
        words += [f"coat {step.coat} of {step.coats}"] if step.coats > 1 else []
        words += [f"part {step.part} of {step.parts}"] if step.parts > 1 else []
    return ", ".join(words)


def turn_words(step: CrewStep, clock: LocalClock) -> str:
    """What must be over before a visit, and until when what it is laid on holds; may be empty."""
    words = [f"Wait until this is reported done: {clean(name)}." for name in step.waits_for]
    if step.first_holds_until_s is not None:
        held = clock.short(step.first_holds_until_s)
        words.append(f"The coat below it holds until {held} by itself (90 % sure).")
    return " ".join(words)


def wait_words(step: CrewStep) -> str:
    """How long a crew is free between arriving and starting; empty for a short wait."""
    return f"free for {minutes_held(step.wait_s)} first" if step.wait_s >= _LONG_WAIT_S else ""


def step_amount(step: CrewStep, plan: CrewPlan, units: Units) -> str:
    """How much is sprayed, filled or loaded there: "320 gal", "22 lb (0.5 packs)"."""
    if step.kind is not StepKind.LOAD:
        return quantity(step.amount_m3, "m3", units)
    amount = _concentrate(step.amount_m3, plan, units)
    return f"{amount} ({packs_words(step.amount_m3 / plan.pack_m3)})"


def step_work(step: CrewStep, plan: CrewPlan, units: Units) -> str:
    """What is done there, in one line: "spray 320 gal at 1.85 %", "fill 400 gal"."""
    amount = step_amount(step, plan, units)
    if step.kind is StepKind.FILL:
        return f"fill {amount}"
    if step.kind is StepKind.LOAD:
        return f"load {amount} of concentrate"
    return f"spray {amount} at {percent_number(step.mix_ratio or 0.0)} %"


def ratio_words(step: CrewStep, plan: CrewPlan) -> str:
    """The ratio to set with its basis."""
    return f"{percent_number(step.mix_ratio or 0.0)} % {ratio_basis(plan.ratio_basis)}"


def face_coat(face: FaceWork, units: Units) -> str:
    """How thick the coat is to be; in US units also as a gauge shows it."""
    depth = coat(face.coat_kg_m2, units)
    return f"{depth} ({gauge(face.coat_kg_m2)})" if units is Units.US else depth


def face_share(face: FaceWork) -> str:
    """How much of the face's coat is laid in this visit; empty for all of it."""
    return "" if face.share == 1.0 else f"{from_si(face.share, 'percent'):.0f} % of it"


def tank_words(step: CrewStep, units: Units) -> str:
    """What is in the tank afterwards."""
    return quantity(step.tank_after_m3, "m3", units)


def coated_with(steps: Iterable[CrewStep], plan: CrewPlan, units: Units) -> str:
    """The concentrate in what these stops spray; powders by mass."""
    coats = (step.concentrate_m3 for step in steps if step.kind is StepKind.COAT)
    return _concentrate(sum(coats), plan, units)


def _concentrate(volume_m3: float, plan: CrewPlan, units: Units) -> str:
    mass_kg = volume_m3 * plan.density_kg_m3
    return concentrate_words(volume_m3, mass_kg, plan.ratio_basis, units)


def run_words(run: CrewRun, plan: CrewPlan, clock: LocalClock, units: Units) -> str:
    """One crew's day in a sentence."""
    people = count_words(run.people, "person", "people")
    if not run.steps:
        return f"{people}: nothing to do; stands by."
    coats, fills = run.steps_of(StepKind.COAT), run.steps_of(StepKind.FILL)
    mix = quantity(sum(step.amount_m3 for step in coats), "m3", units)
    concentrate = coated_with(coats, plan, units)
    return (
        f"{people}, {quantity(run.tank_m3, 'm3', units)} tank of which "
        f"{quantity(run.reserve_m3, 'm3', units)} stays; {clock.short(run.start_s, up=True)} to "
        f"{clock.short(run.end_s, up=True)}; {count_words(len(coats), 'visit')}, "
        f"{count_words(len(fills), 'fill')}; sprays {mix}, of it {concentrate} concentrate; "
        f"drives {minutes(run.drive_s)}"
    )


def coverage_words(plan: CrewPlan) -> str:
    """How much of what a coat can help is covered."""
    total = plan.covered + len(plan.left_out)
    if total == 0:
        return "No asset has a coat planned: there is nothing for crews to spray"
    share = f"{plan.worth:,.0f} of {plan.worth_possible:,.0f}"
    return (
        f"{plan.covered} of {count_words(total, 'asset')} that a coat can help "
        f"{'is' if plan.covered == 1 else 'are'} covered: worth "
        f"{share} (value x confidence gained)"
    )


def settling_words(plan: CrewPlan) -> str:
    """Whether coats and routes agree, and how long was searched."""
    told = f"Coats and routes {plan.settling}"
    stopped = "" if plan.stopped.startswith("all of") else f"; {plan.stopped}"
    return f"{told}{stopped}. {plan.solver}, seed {plan.seed}, {plan.budget}."


def chance_words(step: CrewStep) -> str:
    """The chance of the whole asset's coat, or nothing for other stops."""
    return "" if step.chance is None else chance(step.chance)


def free_words(left: LeftOut) -> str:
    """What would let a visit in; alternatives, not a list of all that is needed."""
    if not left.frees:
        return ""
    lead = "This" if len(left.frees) == 1 else "Any one of these"
    what = "it" if left.frees_whole else "that part"
    return f"{lead} would free {what}: {'; '.join(left.frees)}."
