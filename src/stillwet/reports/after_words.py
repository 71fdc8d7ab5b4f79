"""What text and sheets of an account say in the same words."""

from __future__ import annotations

import math

from stillwet.domain.after import (
    After,
    Amounts,
    AssetUse,
    CrewUse,
    DrySeen,
    Due,
    DueKind,
    LineUse,
    LookSeen,
    OutcomeRow,
    Residue,
    ResidueRow,
    SpillRow,
)
from stillwet.domain.left import Learned
from stillwet.domain.plan import Verdict
from stillwet.reports.local_time import LocalClock, clock_for
from stillwet.reports.words import (
    NONE,
    VERDICT_WORDS,
    Units,
    chance,
    clean,
    coat,
    concentrate_words,
    count_words,
    is_by_mass,
    money,
    number,
    percent_number,
    quantity,
    ratio_basis,
    short_name,
    unit_label,
)
from stillwet.units import from_si

NOTE = "Decision aid only: local orders, agency rules, the product label and its SDS come first."
USE_NOTE = (
    "Work is setting up once a visit and the time at the nozzle for the mix sprayed. *: the amount "
    "of a coat was not written down and counts as planned."
)
_LINE_NOTE = (
    " Along a line it is the nozzle's time alone; * there: no amount was written down, and it "
    "counts as planned or, where nothing says what was planned, as none."
)


def clock_of_after(after: After) -> LocalClock:
    """The clock of one account: weekdays when they are unambiguous, dates otherwise."""
    times = [after.now_s, *(row.laid_s for row in after.residue), *(one.to_s for one in after.due)]
    return clock_for(after.time_zone, times)


def concentrate_unit(after: After, units: Units) -> str:
    """What concentrate is counted in: powders by mass."""
    return unit_label("kg" if is_by_mass(after.ratio_basis) else "m3", units)


def amounts_row(
    name: str, asked: Amounts | None, used: Amounts, after: After, units: Units
) -> list[str]:
    """Name, then mix, water, concentrate and minutes of work, each used of planned."""
    had = _amounts(used, after, units)
    if asked is None:
        return [name, *had]
    wanted = _amounts(asked, after, units)
    return [name, *(f"{one} of {other}" for one, other in zip(had, wanted, strict=True))]


def _amounts(amounts: Amounts, after: After, units: Units) -> list[str]:
    return [
        number(amounts.mix_m3, "m3", units),
        number(amounts.water_m3, "m3", units),
        _concentrate(amounts.concentrate_m3, after, units).partition(" ")[0],
        f"{math.ceil(amounts.work_s / 60.0 - 1e-6):,}",
    ]


def _concentrate(volume_m3: float, after: After, units: Units) -> str:
    mass_kg = volume_m3 * after.density_kg_m3
    return concentrate_words(volume_m3, mass_kg, after.ratio_basis, units)


def use_note(after: After) -> str:
    """What the table of use counts, and what its star means."""
    return USE_NOTE + (_LINE_NOTE if after.lines else "")


def strip_lines(after: After) -> list[str]:
    """Stretches that were wetted near water, with what is near."""
    return [
        f"{clean(row.name)}: left to the weather; {' and '.join(row.wary)}. Flush and wash "
        "nothing there"
        for row in after.lines
        if row.wary
    ]


def coats_words(row: AssetUse | CrewUse | LineUse) -> str:
    """How many coats were laid, marked * where the amount of one was not written down."""
    return str(row.coats) + ("*" if row.said < row.coats else "")


def cost_lines(after: After, units: Units) -> list[tuple[str, str]]:
    """The cost, planned and used: (what, how much)."""
    cost = after.cost
    used = f"{count_words(cost.used_packs, 'pack')}, {money(cost.used_cost, cost.currency)}"
    way = "the coats and wetted lines logged" if after.lines else "the coats logged"
    if cost.by_stock:
        way = f"the stock counts of {', '.join(map(clean, cost.by_stock))}; else {way}"
    return [
        (
            "Planned",
            f"{count_words(cost.planned_packs, 'pack')}, {money(cost.planned_cost, cost.currency)}",
        ),
        ("Used", f"{used} ({_concentrate(cost.concentrate_m3, after, units)} of concentrate)"),
        ("Reckoned from", way),
    ]


def stock_lines(after: After, units: Units) -> list[str]:
    """What crews' own counts say, where they took stock."""
    lines = []
    for crew in after.crews:
        stock = crew.stock
        if stock is None:
            continue
        ratio = NONE if stock.ratio is None else f"{percent_number(stock.ratio)} %"
        taken = stock.concentrate_m3
        concentrate = NONE if taken is None else _concentrate(taken, after, units)
        lines.append(
            f"{clean(crew.name)}: water {quantity(stock.water_m3, 'm3', units)}, concentrate "
            f"{concentrate}, ratio of what left the tank {ratio} {ratio_basis(after.ratio_basis)}"
        )
    return lines


def holding_lines(after: After) -> list[str]:
    """How the predictions did, all checks together."""
    holding = after.holding
    if not holding.touched and not holding.weighed:
        return [holding.verdict.capitalize() + "."]
    low, middle, high = holding.expected_wet
    lines = [holding.verdict.capitalize() + "."]
    if holding.touched:
        lines.append(
            f"Found wet: {holding.found_wet} of {holding.touched}; predicted "
            f"{middle:.0f}, and {low:.0f} to {high:.0f} in 9 cases of 10."
        )
    if holding.brier is not None:
        lines.append(
            f"Brier score {holding.brier:.2f} (0 is perfect, 0.25 is saying 50 % each time)."
        )
    if holding.weighed:
        lines.append(
            f"Coupons: {holding.weighed_within} of {holding.weighed} weighed within the band that "
            "9 in 10 should lie in."
        )
    return lines


def learned_line(one: Learned) -> str:
    """What the checks say of the whole site, before and after."""

    def band(values: tuple[float, float, float]) -> str:
        if one.unit == "fraction":
            low, middle, high = (f"{from_si(value, 'percent'):.0f}" for value in values)
            return f"{middle} % ({low} to {high} %)"
        low, middle, high = (f"{value:.2f}" for value in values)
        return f"{middle} ({low} to {high})"

    return f"{one.name}: taken {band(one.before)}, now {band(one.after)}"


def look_cells(look: LookSeen, units: Units, clock: LocalClock) -> list[str]:
    """One check: face, when, chances of wet and of dry, what was felt, weight and its band."""
    weighed = NONE
    if look.weighed_kg_m2 is not None:
        weighed = coat(look.weighed_kg_m2, units)
        if look.weight_band is not None:
            low, _, high = look.weight_band
            weighed += f" ({number(low, 'kg/m2', units)} to {number(high, 'kg/m2', units)})"
    felt = NONE if look.feel is None else str(look.feel)
    name = f"{short_name(look.asset_name, 24)}, {clean(look.label)}"
    chances = f"{chance(look.chance_wet)}, {chance(look.chance_dry)}"
    return [name, clock.short(look.when_s), chances, felt, weighed]


def dry_cells(dry: DrySeen, until_s: float, clock: LocalClock) -> list[str]:
    """One coat: face, when laid, when it was to be dry, between which looks it was, the verdict."""
    name = f"{short_name(dry.asset_name, 24)}, {clean(dry.label)}"
    return [
        name,
        clock.short(dry.laid_s),
        _dry_span(dry.predicted_s[0], dry.predicted_s[2], until_s, clock),
        clock.short(dry.wet_at_s),
        clock.short(dry.dry_at_s),
        str(dry.dried),
    ]


def outcome_cells(row: OutcomeRow, clock: LocalClock) -> list[str]:
    """One asset: planned verdict, last coat, front, chance not dry then, last felt, fate."""
    felt = NONE
    if row.last_feel is not None:
        felt = f"{row.last_feel} {clock.short(row.last_feel_s)}"
    chances = "" if row.verdict is Verdict.DO_NOT_COAT else f" {chance(row.chance)}"
    return [
        short_name(row.name, 40),
        f"{VERDICT_WORDS[row.verdict]}{chances}",
        clock.short(row.laid_s),
        clock.short(row.passed_s),
        NONE if row.chance_not_dry is None else chance(row.chance_not_dry),
        felt,
        NONE if row.fate is None else str(row.fate),
    ]


def _dry_span(low_s: float, high_s: float, until_s: float, clock: LocalClock) -> str:
    """The predicted span; open where the weather reckoned ends before the coat is dry."""
    if not math.isfinite(low_s):
        return f"after {clock.short(until_s)}"
    if not math.isfinite(high_s):
        return f"{clock.short(low_s)} or later"
    return f"{clock.short(low_s)} to {clock.short(high_s, up=True)}"


def residue_groups(after: After, state: Residue) -> list[tuple[ResidueRow, tuple[str, ...]]]:
    """The faces of one state by asset: a row of each, and the labels of all."""
    groups: dict[str, list[ResidueRow]] = {}
    for row in after.residue_in(state):
        groups.setdefault(row.asset_id, []).append(row)
    return [(rows[0], tuple(clean(row.label) for row in rows)) for rows in groups.values()]


def due_words(due: Due, clock: LocalClock) -> str:
    """One thing to do: "Coat again, School house: Wed 13:40 to Wed 14:15; south wall".

    Which faces are to be washed stands in the list of gel on faces.
    """
    span = f"{clock.short(due.from_s, up=True)} to {clock.short(due.to_s)}"
    faces = ""
    if due.kind is DueKind.RECOAT:
        faces = f"; {', '.join(clean(face) for face in due.faces)}"
    return f"{due.kind.capitalize()}, {clean(due.asset_name)}: {span}{faces}"


def due_lines(after: After, clock: LocalClock) -> list[str]:
    """Everything still to do, in order of time, and how, each way once."""
    ways = dict.fromkeys(f"{due.kind.capitalize()}: {due.words}" for due in after.due)
    return [*(due_words(due, clock) for due in after.due), *ways]


def spill_words(spill: SpillRow, units: Units, clock: LocalClock) -> str:
    """One spill: when, what, how much, where, and whether it reached water."""
    amount = "amount not known"
    if spill.amount_m3 is not None:
        amount = quantity(spill.amount_m3, "m3", units)
    told = "; REACHED WATER" if spill.reached_water else ""
    note = f"; {spill.note}" if spill.note else ""
    words = f"{spill.substance}, {amount}, {spill.place}{told}{note} ({spill.writer})"
    return f"{clock.short(spill.when_s)}: {clean(words)}"
