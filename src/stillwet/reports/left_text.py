"""What is left on the faces now, as text of at most 100 columns: worst first, minutes to go."""

from __future__ import annotations

import math

from stillwet.domain.left import FaceLeft, Learned, Left
from stillwet.reports.local_time import LocalClock, clock_for
from stillwet.reports.text_table import WIDTH, bullets, fill, pad, wrap_cells
from stillwet.reports.words import (
    NONE,
    VERDICT_WORDS,
    Units,
    basis_words,
    chance,
    clean,
    coat,
    count_words,
    input_interval,
    input_name,
    input_value,
    number,
)

# Heading lines, width and right-alignment of the columns; widths and gaps of two add up to WIDTH.
_COLUMNS = (
    (("FACE", ""), 18, False),
    (("LAID", "checks"), 9, False),
    (("LEFT", "5-95 %"), 10, True),
    (("TO GO", "at 90 %"), 9, True),
    (("HOLDS 90%", "50 %"), 9, False),
    (("CHANGE", "from plan"), 9, True),
    (("FIRE from", "to"), 9, False),
)
_KEY = (
    "LEFT: water of the mean coat, middle case and band. HOLDS: until when nine (five) cases in "
    "ten still meet the fire's demand and the reserve on the thinnest tenth. CHANGE: of HOLDS 90 % "
    "against the plan's own reckoning of that coat; without checks it is what laying by hand and "
    "an unmeasured site take away."
)
_VERDICT_WIDE = WIDTH - sum(width + 2 for _, width, _ in _COLUMNS)


def left_text(left: Left, units: str) -> str:
    """What is left, for a terminal or a plain printer. ``units`` is "us" or "metric"."""
    reader, clock = Units(units), left_clock(left)
    blocks = [
        _heading(left, clock),
        _warnings(left),
        _table(left, reader, clock),
        _named("PLANNED, BUT NO COAT IS LOGGED", left.not_laid),
        _named("THE FRONT HAS PASSED", left.passed),
        _named("WASHED OFF", left.washed),
        _learned(left.learned, left.checks),
        bullets("NOT USED", left.notes),
        bullets("CAUTIONS", left.cautions),
        _inputs(left, reader) if left.faces else [],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def left_clock(left: Left) -> LocalClock:
    """Weekdays where they are unambiguous, dates otherwise."""
    times = [left.now_s] + [
        time for face in left.faces for time in (face.laid_s, face.hold_50_s, face.fire_to_s)
    ]
    return clock_for(left.time_zone, times)


def _heading(left: Left, clock: LocalClock) -> list[str]:
    seen = count_words(left.checks, "check")
    weather = f"weather seen {left.weather_seen} time{'' if left.weather_seen == 1 else 's'}"
    times = [left.now_s, *(face.laid_s for face in left.faces)]
    lines = [
        f"WHAT IS LEFT: {clean(left.job_name)}",
        f"At {clock.full(left.now_s)}; times are {clock.zone_words(times)}: {clock.days(times)}",
        f"Counted: {count_words(len(left.faces), 'coat')} up, {seen}, {weather}",
    ]
    return [part for line in lines for part in fill(line)]


def _warnings(left: Left) -> list[str]:
    gone = [face for face in left.faces if face.minutes_to_go(left.now_s) <= 0.0]
    if not left.faces:
        return ["No coat is logged that is still up. stillwet log add says how to log one."]
    lines = []
    if gone:
        names = "; ".join(_name(face) for face in gone)
        lines += fill(f"NOT TO BE COUNTED ON ANY MORE ({len(gone)} of {len(left.faces)}): {names}")
    for flag in dict.fromkeys(flag for face in left.faces for flag in face.flags):
        names = "; ".join(_name(face) for face in left.faces if flag in face.flags)
        lines += fill(f"LOOK AT: {names}: {flag}")
    return lines


def _table(left: Left, units: Units, clock: LocalClock) -> list[str]:
    if not left.faces:
        return []
    heads = [[column[0][line] for column in _COLUMNS] for line in (0, 1)]
    lines = [
        _line([*heads[0], "VERDICT"]),
        _line([*heads[1], "chance"]),
        "-" * WIDTH,
    ]
    for face in left.faces:
        lines += _row(face, left.now_s, units, clock)
    return [*lines, "-" * WIDTH, *fill(_KEY, rest="")]


def _row(face: FaceLeft, now_s: float, units: Units, clock: LocalClock) -> list[str]:
    ends = (number(end, "kg/m2", units) for end in (face.left_low_kg_m2, face.left_high_kg_m2))
    stacks = (
        (_name(face),),
        (clock.short(face.laid_s), count_words(face.checks, "check") if face.checks else "none"),
        (coat(face.left_kg_m2, units), "-".join(ends)),
        (to_go(face.minutes_to_go(now_s)),),
        (clock.short(face.hold_90_s), clock.short(face.hold_50_s)),
        (change(face.hold_90_s - face.unchecked_90_s),),
        (clock.short(face.fire_from_s), clock.short(face.fire_to_s, up=True)),
        (VERDICT_WORDS[face.verdict], chance(face.chance)),
    )
    widths = [*(width for _, width, _ in _COLUMNS), _VERDICT_WIDE]
    cells = [
        [part for text in stack for part in wrap_cells(text, width)]
        for stack, width in zip(stacks, widths, strict=True)
    ]
    height = max(len(cell) for cell in cells)
    padded = [cell + [""] * (height - len(cell)) for cell in cells]
    return [_line([cell[index] for cell in padded]) for index in range(height)]


def _line(cells: list[str]) -> str:
    forms = [*((width, right) for _, width, right in _COLUMNS), (_VERDICT_WIDE, False)]
    return "  ".join(
        pad(text, width, right=right) for text, (width, right) in zip(cells, forms, strict=True)
    ).rstrip()


def _name(face: FaceLeft) -> str:
    return f"{clean(face.asset_name)}, {clean(face.label)}"


def to_go(minutes: float) -> str:
    """Minutes to go, cut down to the whole minute: "1 h 05 m", "12 min", "PAST"."""
    if not math.isfinite(minutes):
        return NONE
    if minutes < 1.0:
        return "PAST" if minutes <= 0.0 else "< 1 min"
    whole = math.floor(minutes)
    return f"{whole} min" if whole < 90 else f"{whole // 60} h {whole % 60:02d} m"


def change(seconds: float) -> str:
    """A shift in minutes with its sign: "+12 min", "-1 h 05 m"; "none" under half a minute."""
    if not math.isfinite(seconds):
        return NONE
    whole = round(abs(seconds) / 60.0)
    if whole == 0:
        return "none"
    size = f"{whole} min" if whole < 90 else f"{whole // 60} h {whole % 60:02d} m"
    return f"{'+' if seconds > 0 else '-'}{size}"


def _learned(learned: tuple[Learned, ...], checks: int) -> list[str]:
    if not learned or not checks:
        return []
    lines = ["WHAT THE CHECKS SAY OF THE WHOLE SITE (middle case, 5 to 95 %)"]
    for one in learned:
        words = f"{clean(one.name)}: {_band(one.after)}; before any check {_band(one.before)}"
        lines += fill(words, first="  - ", rest="    ")
    return lines


def _band(points: tuple[float, float, float]) -> str:
    low, middle, high = points
    return f"{middle:.2f} ({low:.2f} to {high:.2f})"


def _named(title: str, names: tuple[str, ...]) -> list[str]:
    return fill(f"{title}: {'; '.join(clean(name) for name in names)}") if names else []


def _inputs(left: Left, units: Units) -> list[str]:
    lines = ["WHAT THIS STANDS ON"]
    for item in left.inputs:
        span = input_interval(item, units)
        shown = f"{input_name(item.name)} {input_value(item, units)}" + (
            f" ({span})" if span else ""
        )
        lines += fill(f"{shown}: {basis_words(item.basis)}", first="  ! ", rest="    ")
    return lines
