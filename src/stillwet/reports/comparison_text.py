"""Plan beside plan as plain text that fits 100 columns: what flips is said first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from stillwet.domain.comparison import Comparison, NotTried, Pair
from stillwet.domain.plan import AssetPlan, Plan, Verdict
from stillwet.reports.local_time import LocalClock, clock_for, plan_times
from stillwet.reports.plan_rows import plan_concentrate
from stillwet.reports.text_table import WIDTH, bullets, fill, pad, wrap_cells
from stillwet.reports.words import (
    NONE,
    VERDICT_WORDS,
    Units,
    chance,
    clean,
    coat,
    count_words,
    minutes,
    money,
    quantity,
    short_name,
)

_MOST_NAMES = 20

# Heading lines, width and right-alignment of the columns of plan beside plan.
_COLUMNS = (
    (("", "#"), 3, True),
    (("ASSET", ""), 14, False),
    (("VERDICT", ""), 13, False),
    (("CHANCE", ""), 9, True),
    (("CHANCE IF", "ALREADY ON"), 10, True),
    (("COAT", ""), 8, True),
    (("WATER", ""), 10, True),
    (("APPLY", "until"), 9, False),
    (("HOLD", "90 %"), 9, False),
)


def comparison_text(found: Comparison, units: str) -> str:
    """One comparison: how many flip and which, every asset before and after, and the totals.

    ``units`` is "us" or "metric".
    """
    told = Units(units)
    clock = _clock(found)
    blocks = [
        [*fill(flip_words(found)), *fill(let_down_words(found)), *_heading(found)],
        _table("FLIPPED", found.flipped, found.before, told, clock),
        _table("VERDICT AS BEFORE", _moved(found, told, clock), found.before, told, clock),
        _same(found, told, clock),
        _totals(found, told),
        bullets("NEW WARNINGS", found.new_warnings),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def comparisons_text(found: Sequence[Comparison], not_tried: Sequence[NotTried], units: str) -> str:
    """Changes tried one at a time: how many flip a verdict, and what each does."""
    told = Units(units)
    blocks = [
        [*fill(_each_words(found)), *_cases(found[0].before)],
        _each_table(found, told),
        _each_names(found),
        _left_out(not_tried),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def flip_words(found: Comparison) -> str:
    """How many verdicts flip, and which: "2 of 20 assets flip. HOLDS -> DOUBTFUL: Barn, Shed"."""
    flipped, whole = found.flipped, count_words(len(found.pairs), "asset")
    if not flipped:
        return f"None of {whole} flips"
    groups = _grouped(
        (f"{VERDICT_WORDS[pair.before.verdict]} -> {VERDICT_WORDS[pair.after.verdict]}", pair)
        for pair in flipped
    )
    verb = "flips" if len(flipped) == 1 else "flip"
    return f"{len(flipped)} of {whole} {verb}. {groups}"


def let_down_words(found: Comparison) -> str:
    """How many coats, laid as the plan as it stands says, the change lets down, and which."""
    down = found.let_down
    if not down:
        return "If the coats are already on, laid by the plan as it stands: none is let down"
    groups = _grouped(
        (VERDICT_WORDS[pair.as_laid.verdict], pair) for pair in down if pair.as_laid is not None
    )
    verb = "is" if len(down) == 1 else "are"
    return (
        f"If the coats are already on, laid by the plan as it stands: {len(down)} {verb} let down. "
        f"{groups}"
    )


def _grouped(labelled: Iterable[tuple[str, Pair]]) -> str:
    """The names behind each label: "DOUBTFUL: Barn, Shed; WILL NOT HOLD: Pole 1"."""
    names: dict[str, list[str]] = {}
    for label, pair in labelled:
        names.setdefault(label, []).append(short_name(pair.before.name, 40))
    return "; ".join(f"{label}: {_listed(group)}" for label, group in names.items())


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    return ", ".join(names[:_MOST_NAMES]) + more


def change_words(found: Comparison) -> str:
    """The changes as they were taken: "wind times 1.3, arrival earlier by 2 h"."""
    return ", ".join(clean(change.words) for change in found.changes)


def _clock(found: Comparison) -> LocalClock:
    times = plan_times(found.before) + plan_times(found.after)
    return clock_for(found.before.time_zone, times)


def _heading(found: Comparison) -> list[str]:
    times = plan_times(found.before) + plan_times(found.after)
    clock = _clock(found)
    lines = [
        f"What if: {change_words(found)}",
        f"Plan {found.before.id} beside plan {found.after.id}: {clean(found.before.job_name)}",
        f"Times are {clock.zone_words(times)}: {clock.days(times)}",
    ]
    return [part for line in lines for part in fill(line)] + _cases(found.before)


def _cases(plan: Plan) -> list[str]:
    return fill(f"{plan.members} cases, seed {plan.seed} in both, so that only the change tells")


def _table(
    title: str, pairs: Sequence[Pair], before: Plan, units: Units, clock: LocalClock
) -> list[str]:
    if not pairs:
        return []
    numbers = {asset.asset_id: number for number, asset in enumerate(before.assets, 1)}
    heads = [_line([column[0][line] for column in _COLUMNS]) for line in (0, 1)]
    lines = [
        f"{title}: first line before, second after; coat and times of the weakest face",
        *heads,
        "-" * WIDTH,
    ]
    for pair in pairs:
        lines += _pair_lines(numbers[pair.before.asset_id], pair, units, clock)
    return lines


@dataclass(frozen=True, slots=True)
class _Cells:
    """What a table shows of one asset in one plan."""

    verdict: str
    chance: str
    coat: str
    water: str
    until: str
    hold: str

    def row(self, if_on: str) -> list[str]:
        """The cells of a line, the chance of a coat already on among them."""
        return [self.verdict, self.chance, if_on, self.coat, self.water, self.until, self.hold]


def _cells(asset: AssetPlan, units: Units, clock: LocalClock) -> _Cells:
    face = asset.governing
    coated = any(surface.coat_kg_m2 > 0 for surface in asset.surfaces)
    return _Cells(
        verdict=VERDICT_WORDS[asset.verdict],
        chance=NONE if asset.verdict is Verdict.DO_NOT_COAT else chance(face.probability),
        coat=coat(face.coat_kg_m2, units) if face.coat_kg_m2 > 0 else NONE,
        water=quantity(asset.water_m3, "m3", units) if coated else NONE,
        until=clock.short(face.apply_until_s),
        hold=clock.short(face.hold_until_90_s),
    )


def _pair_lines(number: int, pair: Pair, units: Units, clock: LocalClock) -> list[str]:
    names = wrap_cells(short_name(pair.before.name, 60), _COLUMNS[1][1])
    names += [""] * (2 - len(names))
    if_on = NONE if pair.as_laid is None else chance(pair.as_laid.probability)
    before = [str(number), names[0], *_cells(pair.before, units, clock).row("")]
    after = ["->", names[1], *_cells(pair.after, units, clock).row(if_on)]
    return [_line(before), _line(after), *(_line(["", name]) for name in names[2:])]


def _line(cells: Sequence[str]) -> str:
    shown = (
        pad(text, width, right=right)
        for text, (_, width, right) in zip(cells, _COLUMNS, strict=False)
    )
    first, *rest = shown
    return f"{first} {'  '.join(rest)}".rstrip()


def _looks_same(pair: Pair, units: Units, clock: LocalClock) -> bool:
    before = _cells(pair.before, units, clock)
    on = before.chance if pair.as_laid is None else chance(pair.as_laid.probability)
    return before == _cells(pair.after, units, clock) and on == before.chance


def _moved(found: Comparison, units: Units, clock: LocalClock) -> list[Pair]:
    return [
        pair for pair in found.pairs if not pair.is_flipped and not _looks_same(pair, units, clock)
    ]


def _same(found: Comparison, units: Units, clock: LocalClock) -> list[str]:
    names = [
        short_name(pair.before.name, 40) for pair in found.pairs if _looks_same(pair, units, clock)
    ]
    if not names:
        return []
    return fill(f"Nothing moves for {count_words(len(names), 'asset')}: {'; '.join(names)}")


def _totals(found: Comparison, units: Units) -> list[str]:
    both = zip(_total_rows(found.before, units), _total_rows(found.after, units), strict=True)
    lines = [f"{'TOTALS':<25}{'before':>16}{'after':>16}"]
    return lines + [f"  {name:<23}{before:>16}{after:>16}" for (name, before), (_, after) in both]


def _total_rows(plan: Plan, units: Units) -> list[tuple[str, str]]:
    load = plan.load
    counts = [(words, str(count)) for words, count in tallied(plan).items()]
    return [
        *counts,
        ("Finished mix", quantity(load.mix_m3, "m3", units)),
        ("Water", quantity(load.water_m3, "m3", units)),
        ("Concentrate", plan_concentrate(plan, load.concentrate_m3, units)),
        ("Packs", str(load.packs)),
        ("Cost of packs", money(load.cost, load.currency)),
        ("Work, first crew listed", minutes(sum(asset.work_s for asset in plan.assets))),
    ]


def tallied(plan: Plan) -> dict[str, int]:
    """How many assets have each verdict, worst first, with none as 0."""
    return {
        words: sum(asset.verdict is verdict for asset in plan.assets)
        for verdict, words in VERDICT_WORDS.items()
    }


# ---- changes tried one at a time


def _each_words(found: Sequence[Comparison]) -> str:
    tried = count_words(len(found), "change")
    down = _most("let some down", tried, {change_words(one): one.let_down for one in found}, found)
    flip = _most("flip a verdict", tried, {change_words(one): one.flipped for one in found}, found)
    return f"Tried one at a time. Coats already on: {down}. Planned again: {flip}."


def _most(
    does: str, tried: str, hit: Mapping[str, Sequence[Pair]], found: Sequence[Comparison]
) -> str:
    """How many changes do something, and which does most: "3 of 14 changes flip a verdict, ..."."""
    count = sum(bool(pairs) for pairs in hit.values())
    if not count:
        return f"none of {tried} would {does}"
    worst = max(hit, key=lambda words: len(hit[words]))
    whole = count_words(len(found[0].pairs), "asset")
    return f"{count} of {tried} {does}, the most by {worst} ({len(hit[worst])} of {whole})"


_CHANGE = 34
_EACH_WIDTHS = (8, 4, 8, 8, 5, 6, 11)


def _each_table(found: Sequence[Comparison], units: Units) -> list[str]:
    top = ["LET DOWN", "FLIP", "WILL NOT", "DOUBTFUL", "HOLDS", "DO NOT", "WATER"]
    under = ["IF ON", "", "HOLD", "", "", "COAT", ""]
    lines = [
        _each_line("ONE CHANGE AT A TIME", top),
        _each_line("", under),
        "-" * WIDTH,
        *_each_row("as it stands", (NONE, NONE), found[0].before, units),
    ]
    for one in found:
        counts = (str(len(one.let_down)), str(len(one.flipped)))
        lines += _each_row(change_words(one), counts, one.after, units)
    return [
        *lines,
        *fill(
            "Let down if on: coats laid by the plan as it stands that then keep less than it said."
        ),
        *fill("Flip: verdicts of the plan made again, knowing the change."),
    ]


def _each_row(words: str, counts: tuple[str, str], plan: Plan, units: Units) -> list[str]:
    first, *more = wrap_cells(words, _CHANGE)
    order = (Verdict.WILL_NOT_HOLD, Verdict.DOUBTFUL, Verdict.HOLDS, Verdict.DO_NOT_COAT)
    told = [str(tallied(plan)[VERDICT_WORDS[verdict]]) for verdict in order]
    water = quantity(plan.load.water_m3, "m3", units)
    return [_each_line(first, [*counts, *told, water]), *(f"  {part}" for part in more)]


def _each_line(lead: str, cells: Sequence[str]) -> str:
    shown = (f"  {cell:>{width}}" for cell, width in zip(cells, _EACH_WIDTHS, strict=True))
    return (pad(lead, _CHANGE) + "".join(shown)).rstrip()


def _each_names(found: Sequence[Comparison]) -> list[str]:
    lines = []
    for one in found:
        if one.flipped or one.let_down:
            lines += fill(change_words(one), first="  - ", rest="    ")
        if one.let_down:
            lines += fill(let_down_words(one), first="    ", rest="      ")
        if one.flipped:
            lines += fill(flip_words(one), first="    ", rest="      ")
    return ["WHICH", *lines] if lines else []


def _left_out(not_tried: Sequence[NotTried]) -> list[str]:
    lines = [
        line
        for item in not_tried
        for line in fill(f"{clean(item.change.words)}: {clean(item.reason)}", "  - ", "    ")
    ]
    return ["NOT TRIED", *lines] if lines else []
