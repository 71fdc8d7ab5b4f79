"""What every form of the plan says in the same words: rows, opening statement, load and sources."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from stillwet.domain.basis import Input
from stillwet.domain.plan import AssetPlan, Plan, SurfacePlan, Verdict
from stillwet.domain.suitability import Fit
from stillwet.reports.local_time import LocalClock, clock_of
from stillwet.reports.words import (
    NONE,
    VERDICT_WORDS,
    Units,
    basis_words,
    chance,
    clean,
    coat,
    concentrate_words,
    count_words,
    input_interval,
    input_name,
    input_value,
    is_untested,
    mass,
    minutes,
    money,
    percent_number,
    quantity,
    ratio,
    short_name,
)


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One line of a plan's table, in the reader's words."""

    number: int
    name: str
    verdict: str
    chance: str
    coat: str
    mix: str  # percent, without the sign
    water: str
    apply_from: str
    apply_until: str
    hold_90: str
    hold_50: str
    fire_from: str
    fire_to: str
    governs: str


def asset_rows(plan: Plan, units: Units) -> list[PlanRow]:
    """One row an asset, in the plan's order: worst first."""
    clock = clock_of(plan)
    return [_asset_row(number, asset, units, clock) for number, asset in enumerate(plan.assets, 1)]


def _asset_row(number: int, asset: AssetPlan, units: Units, clock: LocalClock) -> PlanRow:
    face = asset.governing
    coated = any(surface.coat_kg_m2 > 0 for surface in asset.surfaces)
    return PlanRow(
        number=number,
        name=clean(asset.name),
        verdict=VERDICT_WORDS[asset.verdict],
        chance=NONE if asset.verdict is Verdict.DO_NOT_COAT else chance(face.probability),
        coat=coat(face.coat_kg_m2, units) if face.coat_kg_m2 > 0 else NONE,
        mix=percent_number(asset_ratio(asset)) if coated else NONE,
        water=quantity(asset.water_m3, "m3", units) if coated else NONE,
        apply_from=_apply_from(face, clock),
        apply_until=clock.short(face.apply_until_s),
        hold_90=clock.short(face.hold_until_90_s),
        hold_50=clock.short(face.hold_until_50_s),
        fire_from=clock.short(asset.fire_window_from_s),
        fire_to=clock.short(asset.fire_window_to_s, up=True),
        governs=clean(face.governs),
    )


def _apply_from(face: SurfacePlan, clock: LocalClock) -> str:
    """The earliest time, or "as late as" where the coat only just makes it and none is early."""
    if face.apply_from_s is None and face.apply_until_s is not None:
        return "as late as"
    return clock.short(face.apply_from_s, up=True)


def asset_ratio(asset: AssetPlan) -> float:
    """The one mix ratio for an asset: the highest that any face with a coat asks for."""
    return max(face.mix_ratio for face in asset.surfaces if face.coat_kg_m2 > 0)


def face_row(
    number: int, face: SurfacePlan, asset: AssetPlan, units: Units, clock: LocalClock
) -> PlanRow:
    """The row of one face on its asset's sheet."""
    coated = face.coat_kg_m2 > 0
    bare = not coated and face.verdict in (Verdict.HOLDS, Verdict.DOUBTFUL)
    return PlanRow(
        number=number,
        name=clean(face.surface.label),
        verdict="no coat" if bare else VERDICT_WORDS[face.verdict],  # it would hold, were it coated
        chance=NONE if face.verdict is Verdict.DO_NOT_COAT else chance(face.probability),
        coat=coat(face.coat_kg_m2, units) if coated else NONE,
        mix=percent_number(face.mix_ratio) if coated else NONE,
        water=quantity(face.water_m3, "m3", units) if coated else NONE,
        apply_from=_apply_from(face, clock),
        apply_until=clock.short(face.apply_until_s),
        hold_90=clock.short(face.hold_until_90_s),
        hold_50=clock.short(face.hold_until_50_s),
        fire_from=clock.short(asset.fire_window_from_s),
        fire_to=clock.short(asset.fire_window_to_s, up=True),
        governs=clean(face.governs),
    )


@dataclass(frozen=True, slots=True)
class Finding:
    """One group of the opening statement: the verdict, what it means, and which assets."""

    verdict: str
    count: int
    meaning: str
    reasons: tuple[tuple[str, str], ...]  # the names that share a reason, the reason


_MEANINGS = {
    Verdict.WILL_NOT_HOLD: "No coat that clings brings these through. Do not count on gel here.",
    Verdict.DO_NOT_COAT: "Leave these alone.",
    Verdict.DOUBTFUL: "Less than 90 % sure even with the coat shown. Have another answer ready.",
}


def findings(plan: Plan, without: Collection[str] = ()) -> list[Finding]:
    """What does not hold, plainly and first; empty when every asset holds.

    ``without``: ids of assets that are told of elsewhere.
    """
    found = []
    told_here = [asset for asset in plan.assets if asset.asset_id not in without]
    for verdict, meaning in _MEANINGS.items():
        assets = [asset for asset in told_here if asset.verdict is verdict]
        if assets:
            reasons = _shared_reasons(assets)
            found.append(Finding(VERDICT_WORDS[verdict], len(assets), meaning, reasons))
    return found


def _shared_reasons(assets: Iterable[AssetPlan]) -> tuple[tuple[str, str], ...]:
    return by_words((asset.reason, asset.name) for asset in assets)


def by_words(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    """(words, name) pairs as (all names of the same words, the words), in order of appearance."""
    names: dict[str, list[str]] = {}
    for said, name in pairs:
        names.setdefault(clean(said), []).append(short_name(name, 60))
    return tuple(("; ".join(group), said) for said, group in names.items())


def conditional(plan: Plan) -> list[AssetPlan]:
    """The assets with a coat planned where gel is right only on a condition."""
    return [one for one in plan.assets if one.suitability is Fit.ONLY_IF and one.mix_m3 > 0]


def conditions(plan: Plan) -> tuple[tuple[str, str], ...]:
    """On which conditions the planned coats may be laid: the names that share one, and it."""
    return by_words((said, one.name) for one in conditional(plan) for said in one.conditions)


def conditional_words(plan: Plan) -> str:
    """Where gel is right only on a condition, for a plan's first page; empty when nowhere."""
    names = [short_name(asset.name, 60) for asset in conditional(plan)]
    if not names:
        return ""
    told = ", ".join(names)
    return f"Gel only if a condition is met, which the asset's sheet tells: {told}."


def tally(plan: Plan) -> list[tuple[str, int]]:
    """How many assets have each verdict, worst first, those with none left out."""
    counts = dict.fromkeys(VERDICT_WORDS.values(), 0)
    for asset in plan.assets:
        counts[VERDICT_WORDS[asset.verdict]] += 1
    return [(words, count) for words, count in counts.items() if count]


def mix_words(plan: Plan) -> str:
    """The job's mix: "Demo gel L at 1.20 % by volume of the finished mix", or its range."""
    coated = [asset_ratio(asset) for asset in plan.assets if asset.mix_m3 > 0]
    if not coated:
        return f"{clean(plan.product_name)}: none to mix, nothing gets a coat"
    mixed = ratio(plan.mix_ratio, plan.ratio_basis)
    if percent_number(min(coated)) != percent_number(plan.mix_ratio):
        mixed = f"{percent_number(min(coated))} to {mixed}, set asset by asset,"
    return f"{clean(plan.product_name)} at {mixed} of the finished mix"


def load_lines(plan: Plan, units: Units) -> list[tuple[str, str]]:
    """The load list for the whole job: (what, how much)."""
    load = plan.load
    amounts = dict.fromkeys(
        (plan_concentrate(plan, load.concentrate_m3, units), mass(load.concentrate_kg, units))
    )
    concentrate = f"{', '.join(amounts)} ({count_words(load.packs, 'pack')})"
    return [
        ("Finished mix", quantity(load.mix_m3, "m3", units)),
        ("Water", quantity(load.water_m3, "m3", units)),
        ("Concentrate", concentrate),
        ("Cost of packs", money(load.cost, load.currency)),
        ("Coated area", quantity(coated_area(plan), "m2", units)),
        (f"Work, {clean(load.reference_crew)}", minutes(sum(a.work_s for a in plan.assets))),
    ]


def plan_concentrate(plan: Plan, volume_m3: float, units: Units) -> str:
    """So much of a plan's concentrate: liquids by volume, powders by mass."""
    load = plan.load
    share = volume_m3 / load.concentrate_m3 if load.concentrate_m3 > 0 else 0.0
    return concentrate_words(volume_m3, share * load.concentrate_kg, plan.ratio_basis, units)


def coated_area(plan: Plan) -> float:
    """Area of every face that gets a coat [m2]."""
    faces = (face for asset in plan.assets for face in asset.surfaces)
    return sum(face.surface.area_m2 for face in faces if face.coat_kg_m2 > 0)


def crew_lines(plan: Plan, units: Units) -> list[tuple[str, str, str, str]]:
    """Per crew, if it did all of the work: (name, usable tank, fills, nozzle time)."""
    return [
        (
            clean(crew.name),
            quantity(crew.usable_m3, "m3", units),
            "none: its reserve takes the tank" if crew.fills is None else str(crew.fills),
            NONE if crew.fills is None else minutes(crew.spray_s),
        )
        for crew in plan.load.crews
    ]


def weather_lines(plan: Plan, units: Units) -> list[tuple[str, str]]:
    """The weather the plan stood on: (what, value)."""
    weather, clock = plan.weather, clock_of(plan)
    issued = clock.full(weather.issued_s) if weather.issued_s is not None else "not said"
    return [
        ("Source", clean(weather.source)),
        ("Issued", issued),
        ("Hours used", f"{clock.short(weather.from_s)} to {clock.short(weather.to_s)}"),
        ("Hottest", quantity(weather.air_temperature_max_k, "K", units)),
        ("Driest", quantity(weather.relative_humidity_min, "fraction", units) + " RH"),
        ("Strongest wind", quantity(weather.wind_speed_max_m_s, "m/s", units)),
        ("Rain", coat(weather.rain_kg_m2, units)),
    ]


def untested_words(plan: Plan) -> str:
    """How many untested defaults the plan stands on, for its first page; empty when none."""
    names = {item.name for item in plan.inputs if is_untested(item)}
    names |= {item.name for asset in plan.assets for item in asset.inputs if is_untested(item)}
    if not names:
        return ""
    stand = "stands" if len(names) == 1 else "stand"
    counted = count_words(len(names), "untested default")
    return f"{counted} {stand} behind these answers, marked ! with an interval where used."


@dataclass(frozen=True, slots=True)
class SourceLine:
    """One number of the plan, its interval and where it came from."""

    name: str
    value: str
    interval: str
    source: str
    untested: bool


def source_lines(inputs: Iterable[Input], units: Units) -> list[SourceLine]:
    """Where each number came from, untested defaults first because they need eyes most."""
    lines = [
        SourceLine(
            name=input_name(item.name),
            value=input_value(item, units),
            interval=input_interval(item, units),
            source=basis_words(item.basis),
            untested=is_untested(item),
        )
        for item in inputs
    ]
    return sorted(lines, key=lambda line: not line.untested)
