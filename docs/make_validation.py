"""Writes reference/validation.md and its figure and PDF from the reference cases themselves.

Run by ``make validate``. Every number on the page is worked when the page is made: ours by calling
the function, the published one by reading the case; nothing is typed here.
"""

from __future__ import annotations

import argparse
import json
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from itertools import groupby
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from reference.cases import Array, Case, all_cases  # noqa: E402 (the tests' folder comes first)
from stillwet.reports import svg  # noqa: E402
from stillwet.reports.typesetting import typeset  # noqa: E402
from stillwet.services.explaining import explain_job  # noqa: E402

PAGE = ROOT / "docs" / "reference" / "validation.md"
FIGURE = ROOT / "docs" / "img" / "validation.svg"
DEMO = ROOT / "src" / "stillwet" / "data" / "demo" / "job.toml"
SHOWN = 4  # numbers of a long case that are printed; the difference is of them all

HEAD = """# Every outside check

Made by `make validate` from the cases in `tests/reference/`; do not edit by hand.

Each row is a value that somebody outside this project published, or that a general-purpose
library or a calculation made apart from our code gives, beside what our function gives. The
difference is the largest of the case, in SI and as a share of what the check allows. "From
memory" in a source means that the digits were written down without the page at hand: treat them
as a check on slips, not as a quotation.

| kind | meaning | cases |
|---|---|---|
"""
MEANINGS = {
    "published": "printed in a standard, handbook, paper or agency table",
    "independent": "given by a general-purpose library or a calculation made apart from our code",
    "hand": "worked by hand from the named relation, or a limit that must hold",
    "pinned": "our own earlier answer, kept so that a change is noticed",
}
WIDE = """
## What is not validated, and how wide that leaves the answer

No published measurement was found for the defaults below. Each is an *untested default*: the plan
draws it from its interval, or names it, and a crew's own trial or local figure replaces it.

| table | default | value | interval | unit | why |
|---|---|---|---|---|---|
"""
SHARES = """
## What the spread of the demo's answer hangs on

How much of the spread of the demo's answer (the chance that a coat still meets the demand when
the fire comes) each doubtful input causes, alone and with others, by `stillwet explain`. The demo
is invented; the shares of a real job are its own.

| input | alone | with others |
|---|---|---|
"""
NOT_AT_ALL = """
## Never measured

Not validated against a measurement at all, for want of published data: the drying of a named gel
on a named wall in measured weather; the cling of a named gel on real siding; a burning house
beside a gelled one; the wetting of litter and grass by gel under a moving front.
`docs/explanation/limits.md` says what follows from that.
"""


@dataclass(frozen=True)
class Row:
    """One case, worked."""

    case: Case
    ours: Array
    expected: Array
    worst: float  # largest absolute difference, SI
    used: float  # largest share of what is allowed

    @classmethod
    def of(cls, case: Case) -> Row:
        """Work one case."""
        ours, expected = case.worked(), case.expected()
        ours, expected = np.broadcast_arrays(ours, expected)
        same = ours == expected  # endless times are equal, not apart
        apart = np.abs(np.where(same, 0.0, ours) - np.where(same, 0.0, expected))
        allowed = case.allowed()
        share = np.where(allowed > 0.0, apart / np.where(allowed > 0.0, allowed, 1.0), 0.0)
        return cls(case, ours, expected, float(np.max(apart)), float(np.max(share)))

    def line(self) -> str:
        """The row of the page."""
        cells = (
            self.case.name,
            self.case.source,
            numbers(self.expected),
            numbers(self.ours),
            f"{self.worst:.2g}",
            f"{self.used:.0%}",
            self.case.kind,
        )
        return "| " + " | ".join(plain(cell) for cell in cells) + " |"


def numbers(values: Array) -> str:
    """The first few of them, in as many digits as tell them apart."""
    flat = np.ravel(values)
    shown = ", ".join(f"{value:.5g}" for value in flat[:SHOWN])
    return shown if flat.size <= SHOWN else f"{shown} and {flat.size - SHOWN} more"


def plain(text: str) -> str:
    """Text for a cell of a table."""
    marked = text.replace("|", "\\|").replace("<", "&lt;").replace("*", "\\*").replace("_", "\\_")
    return " ".join(marked.split())


def topics(rows: list[Row]) -> Iterator[tuple[str, list[Row]]]:
    """The rows by the file they stand in."""
    for topic, group in groupby(rows, key=lambda row: row.case.topic):
        yield topic.replace("_", " "), list(group)


def untested() -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Every untested default of the packaged tables: table, name, row."""
    for entry in sorted(resources.files("stillwet.data").iterdir(), key=lambda item: item.name):
        if entry.name.endswith(".toml"):
            table = tomllib.loads(entry.read_text(encoding="utf-8"))
            for name, row in rows_in(table, ()):
                yield entry.name.removesuffix(".toml").replace("_", " "), name, row


def rows_in(table: Any, path: tuple[str, ...]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every row of a nested table that says it is untested, with its name."""
    if isinstance(table, dict):
        if str(table.get("kind", "")).startswith("untested") and "value" in table:
            yield " ".join(path[1:] or path).replace("_", " "), table
        for key, value in table.items():
            yield from rows_in(value, (*path, key))
    elif isinstance(table, list):
        for number, value in enumerate(table, start=1):
            yield from rows_in(value, (*path, str(number)))


def shares() -> Iterator[str]:
    """What the spread of the demo's answer hangs on."""
    told = json.loads(explain_job(DEMO, None, None).json_text())
    for share in told["shares"]:
        alone, together = share["alone_fraction"], share["with_others_fraction"]
        yield f"| {plain(share['words'])} | {alone:.0%} | {together:.0%} |\n"


def page(rows: list[Row]) -> str:
    """The whole page."""
    kinds = [row.case.kind for row in rows]
    text = HEAD
    for kind, meaning in MEANINGS.items():
        text += f"| {kind} | {meaning} | {kinds.count(kind)} |\n"
    text += f"\n{len(rows)} cases, {sum(row.ours.size for row in rows)} numbers.\n"
    text += "\n![Share of what each check allows that is used](../img/validation.svg)\n"
    for topic, group in topics(rows):
        text += f"\n## {topic[0].upper()}{topic[1:]}\n\n"
        text += "| quantity | source | theirs (SI) | ours (SI) | difference | of allowed | kind |\n"
        text += "|---|---|---|---|---|---|---|\n"
        text += "".join(f"{row.line()}\n" for row in group)
    text += WIDE
    for table, name, row in untested():
        cells = (
            table,
            name,
            f"{row['value']}",
            f"{row.get('low', '')} to {row.get('high', '')}" if "low" in row else "",
            str(row.get("unit", "")),
            str(row.get("source", "")),
        )
        text += "| " + " | ".join(plain(cell) for cell in cells) + " |\n"
    return text + SHARES + "".join(shares()) + NOT_AT_ALL


LEFT, WIDTH, STEP = 150.0, 620.0, 20.0


def figure(rows: list[Row]) -> str:
    """One dot a case: how much of what its check allows is used, by topic."""
    groups = list(topics(rows))
    height = 40.0 + STEP * len(groups)
    span = WIDTH - LEFT - 20.0
    parts: list[str] = []
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        x = LEFT + span * share
        parts.append(svg.line((x, 20), (x, height - 18), stroke="#999", stroke_width=0.6))
        parts.append(svg.words(x, height - 5, f"{share:.0%}", 9, text_anchor="middle"))
    for number, (topic, group) in enumerate(groups):
        y = 32.0 + STEP * number
        label = f"{topic} ({len(group)})"
        parts.append(svg.words(LEFT - 8, y + 3, label, 10, text_anchor="end"))
        for row in group:
            x = LEFT + span * min(row.used, 1.0)
            parts.append(
                svg.element(
                    "circle", cx=x, cy=y, r=3.2, fill="none", stroke="black", stroke_width=0.9
                )
            )
    parts.append(svg.words(LEFT, 13, "share of the allowed difference that is used", 10))
    return svg.document(WIDTH, height, parts, title="Share of what each check allows")


SHEET = """#set page(paper: "a4", flipped: true, margin: 12mm, numbering: "1 of 1")
#set text(font: "DejaVu Sans", size: 7pt)
#set par(justify: false)
#let given = json("page.json")
= Stillwet: every outside check
#given.said
#image("figure.svg", width: 62%)
#for part in given.parts [
  == #part.name
  #table(columns: part.columns.map(each => each * 1fr), inset: 3pt, stroke: 0.3pt,
    table.header(..part.head.map(strong)), ..part.rows.flatten())
]
#given.end
"""


SHAPES = {7: [2, 3, 2, 2, 1, 1, 1], 6: [2, 2, 1, 1, 1, 4], 3: [4, 1, 1]}  # widths of columns


def sheet(rows: list[Row], text: str, drawn: str) -> bytes:
    """The same as a PDF, from the page's own tables."""
    parts: list[dict[str, Any]] = []
    for block in text.split("\n## ")[1:]:
        name, _, rest = block.partition("\n")
        lines = [line for line in rest.splitlines() if line.startswith("| ")]
        cells = [[cell.strip() for cell in split(line)] for line in lines]
        if cells:
            body = [row for row in cells[1:] if len(row) == len(cells[0])]
            parts.append({"name": name, "columns": SHAPES[len(cells[0])], "head": cells[0]})
            parts[-1]["rows"] = body
    given = {"said": f"{len(rows)} cases", "parts": parts, "end": NOT_AT_ALL.split("\n\n")[1]}
    files = {
        "main.typ": SHEET.encode(),
        "page.json": json.dumps(given).encode(),
        "figure.svg": drawn.encode(),
    }
    return typeset(files, "pdf")


def split(line: str) -> list[str]:
    """The cells of a line of a table, without the marks that Markdown needs."""
    inner = line.strip().removeprefix("|").removesuffix("|").replace("\\|", "\0")
    kept = inner.replace("\\*", "*").replace("\\_", "_").replace("&lt;", "<")
    return [cell.replace("\0", "|") for cell in kept.split("|")]


def main() -> None:
    """Write the page, its figure and the PDF; say how many hold."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pdf", type=Path, default=ROOT / "out" / "validation.pdf")
    given = parser.parse_args()
    rows = [Row.of(case) for case in all_cases()]
    drawn = figure(rows)
    text = page(rows)
    PAGE.write_text(text, encoding="utf-8")
    FIGURE.write_text(drawn, encoding="utf-8")
    given.pdf.parent.mkdir(parents=True, exist_ok=True)
    given.pdf.write_bytes(sheet(rows, text, drawn))
    inside = sum(row.used <= 1.0 + 1e-9 for row in rows)
    print(f"{inside} of {len(rows)} cases within what their check allows")
    print(f"{PAGE.relative_to(ROOT)}, {FIGURE.relative_to(ROOT)}, {given.pdf}")
    sys.exit(0 if inside == len(rows) else 1)


if __name__ == "__main__":
    main()
