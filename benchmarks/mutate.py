"""How many planted faults the tests of physics and engine notice: a seeded sample.

Run: ``python benchmarks/mutate.py`` (``make mutate``). Draws faults from every module of the two
rooms, plants each alone in a copy of the tree, runs the tests that touch its line, and writes down
whether one of them failed. ``--again`` tries those that survived the last time once more, after
new tests; ``--page`` only writes the page from what was found. What was found is kept in
benchmarks/planted/, so that the page can be made anew; explanations of survivors, and what each
draw was for, stand in benchmarks/mutants.toml. Fails below the limit.
"""

from __future__ import annotations

import argparse
import json
import math
import multiprocessing
import sys
import time
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "benchmarks"))

from mutants import EMPTIED, WEIGHTS, Mutant, draw, find  # noqa: E402
from planting import (  # noqa: E402
    KEPT,
    KILLED,
    SURVIVED,
    TIMED_OUT,
    Fate,
    Touch,
    Tree,
    measure_touch,
    preload,
    trees,
)

ROOMS = ("src/stillwet/physics", "src/stillwet/engine")
OUT = ROOT / "out" / "mutation"
FOUND = ROOT / "benchmarks" / "planted"
NUMBERS = FOUND / "numbers.json"
EXPLAINED = ROOT / "benchmarks" / "mutants.toml"
PAGE = ROOT / "docs" / "explanation" / "mutants.md"
LIMIT = 0.85
EQUAL, HARMLESS, GAP, GONE = "equal", "harmless", "gap", "gone"


@dataclass(frozen=True)
class Found:
    """A fault and its fate, as kept between runs."""

    name: str
    module: str
    kind: str
    line: int
    before: str
    after: str
    fate: str
    by: str
    tests: int
    seconds: float

    @property
    def room(self) -> str:
        """Physics or engine."""
        return Path(self.module).parent.name

    @classmethod
    def of(cls, mutant: Mutant, fate: Fate) -> Found:
        """What is kept of a fault once it was tried."""
        return cls(
            mutant.name,
            mutant.module,
            mutant.kind,
            mutant.line,
            mutant.before,
            mutant.after,
            **asdict(fate),
        )


Told = dict[str, dict[str, str]]  # of a survivor: kind and why
Notes = dict[str, str]  # of a draw: what it was for
Numbers = dict[str, dict[str, int]]  # of a draw: how many faults of each kind there were, and drawn


class Kept:
    """What was found, one line of a file for each fault, the last word about it counting."""

    def __init__(self, path: Path) -> None:
        self.path = path
        path.parent.mkdir(parents=True, exist_ok=True)

    def __iter__(self) -> Iterator[Found]:
        if self.path.exists():
            rows = map(json.loads, self.path.read_text(encoding="utf-8").splitlines())
            yield from {row["name"]: Found(**row) for row in rows}.values()

    def add(self, found: Found) -> None:
        """Written at once, so that a run that is stopped goes on where it was."""
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(asdict(found)) + "\n")


def wilson(hits: int, tries: int, z: float = 1.96) -> tuple[float, float]:
    """95 % interval of a share (Wilson 1927, J. Am. Stat. Assoc. 22, 209-212)."""
    if not tries:
        return 0.0, 1.0
    share, over = hits / tries, z * z / tries
    middle = (share + over / 2) / (1 + over)
    half = z * math.sqrt(share * (1 - share) / tries + over / (4 * tries)) / (1 + over)
    return middle - half, middle + half


class Worker:
    """In each process of the pool: its own tree."""

    tree: Tree
    touch: Touch
    most_s: float

    @classmethod
    def start(cls, source: Path, folder: Path, touch: Touch, most_s: float) -> None:
        """Copy the tree, with the kernels that measuring compiled."""
        name = multiprocessing.current_process().name
        cls.tree, cls.touch, cls.most_s = Tree(source, folder / name), touch, most_s

    @classmethod
    def work(cls, mutant: Mutant) -> Found:
        """Try one fault."""
        return Found.of(mutant, cls.tree.try_fault(mutant, cls.touch, cls.most_s))


def try_all(asked: argparse.Namespace, mutants: list[Mutant], kept: Kept) -> None:
    """Plant each and keep what becomes of it."""
    preload()
    OUT.mkdir(parents=True, exist_ok=True)
    with trees(ROOT) as folder:
        first = Tree(ROOT, folder / "first")
        touch = measure_touch(first, ROOMS, OUT / "touch.json", asked.measured)
        context = multiprocessing.get_context("fork")
        given = (first.folder, folder, touch, asked.most_seconds)
        with context.Pool(asked.jobs, Worker.start, given) as pool:
            started = time.monotonic()
            for number, found in enumerate(pool.imap_unordered(Worker.work, mutants), start=1):
                kept.add(found)
                print(
                    f"{number}/{len(mutants)} {time.monotonic() - started:5.0f} s  {found.fate:9} "
                    f"{found.name} {found.module}:{found.line}  {found.by[-70:]}",
                    flush=True,
                )


HEAD = """# Planted faults, and which the tests did not notice

Made by `make mutate` from what it found (`benchmarks/planted/`) and from `benchmarks/mutants.toml`;
do not edit by hand.

A fault is planted in a copy of the code (a plus for a minus, a number one more or a tenth more, a
`<=` for a `<`, an argument left out), and the tests that run that line are run: a fault is
*killed* when one of them fails. The faults are a random draw of those that could be
planted in the modules of physics and engine, each module by its size and at least twice, kinds
drawn {weights}.
Values and arguments replaced by None (*emptied*), which almost any test notices, are drawn apart
and are not in the first three rows; faults in words are left out. Compiled kernels are in the draw
and compiled anew with the fault in them. Of those killed, *by kept alone* are those that no test
noticed but a kept answer (see [decision 0020](../decisions/0020-kept-answers.md)): something
changed, and nothing outside says which way was right. *Equal* faults change nothing that anyone
can see; nobody can kill them, and they are counted as survivors in the first share all the same.
"""
COUNTS = (
    "| | faults | killed | by kept alone | endless | survived | share killed (95 %, Wilson) "
    "| less equal |\n|---|---|---|---|---|---|---|---|\n"
)

TITLES = {EQUAL: "Equal", HARMLESS: "Harmless", GAP: "Gaps"}
COLUMNS = "| where | was | planted | why |\n|---|---|---|---|\n"


def row(words: str, rows: list[Found], equal: set[str]) -> str:
    """One line of the table."""
    fates = Counter(each.fate for each in rows)
    hits = fates[KILLED] + fates[TIMED_OUT]
    low, high = wilson(hits, len(rows))
    real = sum(each.fate != SURVIVED or each.name not in equal for each in rows)
    kept = sum(each.fate == KILLED and each.by.startswith(KEPT) for each in rows)
    return (
        f"| {words} | {len(rows)} | {fates[KILLED]} | {kept} | {fates[TIMED_OUT]} "
        f"| {fates[SURVIVED]} "
        f"| {hits / max(len(rows), 1):.1%} ({low:.1%} to {high:.1%}) "
        f"| {hits / max(real, 1):.1%} |\n"
    )


def table(rows: list[Found], equal: set[str]) -> str:
    """By room, by kind, and together."""
    hard = [each for each in rows if each.kind != EMPTIED]
    groups = {"both rooms": hard}
    groups |= {name: [x for x in hard if x.room == name] for name in ("physics", "engine")}
    groups |= {name: [x for x in rows if x.kind == name] for name in (*WEIGHTS, EMPTIED)}
    return "".join(row(words, chosen, equal) for words, chosen in groups.items())


def weighed(rows: list[Found], numbers: dict[str, int]) -> tuple[float, float]:
    """Share killed of all faults that there are, each kind by its number; its standard error."""
    everything, share, variance = sum(numbers.values()), 0.0, 0.0
    for kind, number in numbers.items():
        fates = [each.fate != SURVIVED for each in rows if each.kind == kind]
        weight = number / everything
        part = (sum(fates) + 1) / (len(fates) + 2)  # never quite sure of none or all
        share += weight * (sum(fates) / max(len(fates), 1))
        variance += weight**2 * part * (1.0 - part) / max(len(fates), 1)
    return share, math.sqrt(variance)


def code(text: str) -> str:
    """Code for a cell of a table."""
    fence = "``" if "`" in text else "`"
    return f"{fence} {text[:110].replace('|', chr(92) + '|')} {fence}" if text else "(left out)"


def section(seed: str, rows: list[Found], told: Told, notes: Notes, numbers: Numbers) -> str:
    """What became of one draw."""
    equal = {name for name, each in told.items() if each["kind"] == EQUAL}
    here = [each for each in rows if each.fate != GONE]
    text = f"\n## The draw of seed {seed}\n"
    text += f"\n{notes[seed]}\n" if seed in notes else ""
    text += f"\n{COUNTS}{table(here, equal)}" if here else ""
    counted = dict(numbers.get(seed, {}))
    drawn = counted.pop("drawn", len(rows))
    if len(rows) < drawn:
        text += (
            f"\nTried: {len(rows)} of the {drawn} drawn, taken in the order of a hash of each "
            "fault, which is as good as chance.\n"
        )
    if any(each.kind == EMPTIED for each in here):
        share, error = weighed(here, counted)
        text += (
            f"\nOf all {sum(counted.values()):,} faults that could be planted, each kind by its "
            f"number ({', '.join(f'{name} {number:,}' for name, number in counted.items())}): "
            f"{share:.1%} killed, give or take {1.96 * error:.1%} (95 %).\n"
        )
    gone = len(rows) - len(here)
    if gone:
        text += f"\nNot counted: {gone} that survived in lines which the code no longer has.\n"
    return text


def page(draws: dict[str, list[Found]], told: Told, notes: Notes, numbers: Numbers) -> str:
    """The whole page."""
    weights = ", ".join(f"{name} {weight}" for name, weight in WEIGHTS.items())
    text = HEAD.format(weights=f"({weights})")
    for seed in sorted({*draws, *notes}, reverse=True):
        text += section(seed, draws.get(seed, []), told, notes, numbers)
    survivors = {x.name: x for rows in draws.values() for x in rows if x.fate == SURVIVED}
    text += classes(list(survivors.values()), told)
    for kind, title in TITLES.items():
        chosen = [x for x in survivors.values() if meant(x, told)["kind"] == kind]
        if chosen:
            text += f"\n## {title}: {len(chosen)}\n\n{COLUMNS}"
        for each in sorted(chosen, key=lambda each: (each.module, each.line)):
            why = meant(each, told)["why"]
            where = f"{each.room}/{Path(each.module).name}"
            text += f"| {where} | {code(each.before)} | {code(each.after)} | {why} |\n"
    return text


def meant(each: Found, told: Told) -> dict[str, str]:
    """What is known of a survivor."""
    return told.get(each.name, {"kind": GAP, "why": "no test sees it yet"})


def classes(survivors: list[Found], told: Told) -> str:
    """How many survivors there are of each class, for those that have one."""
    counted = Counter(
        (meant(each, told)["kind"], meant(each, told).get("class", "one of a kind"))
        for each in survivors
    )
    text = "\n## Survivors by class\n\n| class | kind | survivors |\n|---|---|---|\n"
    for (kind, name), count in sorted(counted.items(), key=lambda pair: (pair[0][0], -pair[1])):
        text += f"| {name} | {kind} | {count} |\n"
    return text


def explanations() -> Told:
    """Why some survivors may stay, by name."""
    return {name: each for name, each in _explained().items() if name != "draws"}


def notes_of_draws() -> Notes:
    """What each draw was for, by seed."""
    return dict(_explained()["draws"])


def _explained() -> dict[str, dict[str, str]]:
    return tomllib.loads(EXPLAINED.read_text(encoding="utf-8"))


def arguments() -> argparse.Namespace:
    """What the command was given."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=320, help="about how many faults to draw")
    parser.add_argument("--emptied", type=int, default=60, help="faults that put None somewhere")
    parser.add_argument("--seed", type=int, default=1, help="of the draw")
    parser.add_argument("--jobs", type=int, default=2, help="processes")
    parser.add_argument(
        "--most-seconds",
        type=float,
        default=math.inf,
        help="of tests for one fault, nearest first; what they miss counts as survived",
    )
    parser.add_argument("--again", action="store_true", help="only those not killed")
    parser.add_argument("--measured", action="store_true", help="who touches what is known")
    parser.add_argument("--page", action="store_true", help="only write the page")
    return parser.parse_args()


def all_numbers() -> Numbers:
    """The faults that there were, of every draw."""
    return dict(json.loads(NUMBERS.read_text(encoding="utf-8"))) if NUMBERS.exists() else {}


def to_try(asked: argparse.Namespace, kept: Kept) -> list[Mutant]:
    """A draw less what was tried already, in mixed order of modules; or what was not killed."""
    if asked.again:
        names: dict[str, dict[str, tuple[str, str]]] = defaultdict(dict)
        explained = explanations()
        for each in kept:
            if each.fate in {SURVIVED, TIMED_OUT} and each.name not in explained:
                names[each.module][each.name] = each.kind, each.before
        mutants = find(ROOT, names)
        here = {each.name for each in mutants}
        for each in [x for x in kept if x.name in names[x.module] and x.name not in here]:
            kept.add(replace(each, fate=GONE))
        return mutants
    known = {each.name for each in kept}
    drawn = draw(ROOT, ROOMS, asked.count, asked.emptied, asked.seed)
    numbers = all_numbers() | {str(asked.seed): drawn.numbers | {"drawn": len(drawn.mutants)}}
    NUMBERS.write_text(json.dumps(numbers, indent=1) + "\n", encoding="utf-8")
    new = (each for each in drawn.mutants if each.name not in known)
    return sorted(new, key=lambda each: each.name)


def main() -> None:
    """Draw, plant, write the page, fail below the limit."""
    asked = arguments()
    kept = Kept(FOUND / f"found-{asked.seed}.jsonl")
    if not asked.page:
        try_all(asked, to_try(asked, kept), kept)
    told = explanations()
    files = {path.stem.removeprefix("found-"): path for path in sorted(FOUND.glob("found-*.jsonl"))}
    draws = {seed: list(Kept(path)) for seed, path in files.items()}
    PAGE.write_text(page(draws, told, notes_of_draws(), all_numbers()), encoding="utf-8")
    rows = [each for each in kept if each.fate != GONE]
    print(table(rows, {name for name, each in told.items() if each["kind"] == EQUAL}))
    hard = [each for each in rows if each.kind != EMPTIED]
    hits = sum(each.fate != SURVIVED for each in hard)
    if hits < LIMIT * len(hard):
        sys.exit(f"wanted {LIMIT:.0%} killed, got {hits} of {len(hard)}")


if __name__ == "__main__":
    main()
