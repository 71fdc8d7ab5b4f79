"""Records as pieces of HTML, for a notebook: a plan as map and table, others as figure and text."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from stillwet.domain.plan import Plan
from stillwet.reports.map_figure import map_svg
from stillwet.reports.plan_rows import PlanRow, asset_rows, findings, mix_words, tally
from stillwet.reports.words import Units, clean

# What stands side by side on a page of a notebook; the other columns are those of to_frame(plan).
_HEADS = {
    "number": "#",
    "name": "asset",
    "verdict": "verdict",
    "chance": "chance",
    "coat": "coat",
    "apply_until": "apply until",
    "hold_90": "holds until, 90 %",
    "fire_from": "fire from",
}


def plan_html(plan: Plan, units: str) -> str:
    """What does not hold first, then the table, the map and the cautions."""
    told = Units(units)
    counts = ", ".join(f"{count} {words}" for words, count in tally(plan))
    said = [
        f"{found.verdict} ({found.count} of {len(plan.assets)}): {found.meaning}"
        for found in findings(plan)
    ]
    return "\n".join(
        [
            "<div>",
            f"<p><strong>Plan {escape(plan.id)}: {escape(clean(plan.job_name))}</strong><br>",
            f"Mix: {escape(mix_words(plan))}<br>{escape(counts)}</p>",
            _list(said),
            _table(asset_rows(plan, told)),
            map_svg(plan, units=units, width=520.0, height=400.0),
            _list(clean(caution) for caution in plan.cautions),
            "</div>",
        ]
    )


def text_html(text: str, svg: str = "") -> str:
    """Plain text; under a figure, where there is one, folded away until asked for."""
    plain = f"<pre>{escape(text)}</pre>"
    if not svg:
        return plain
    return f"<div>\n{svg}\n<details><summary>in words</summary>{plain}</details>\n</div>"


def _table(rows: Iterable[PlanRow]) -> str:
    head = "".join(f"<th>{escape(word)}</th>" for word in _HEADS.values())
    body = [
        "<tr>" + "".join(f"<td>{escape(str(getattr(row, name)))}</td>" for name in _HEADS) + "</tr>"
        for row in rows
    ]
    return "\n".join([f"<table><thead><tr>{head}</tr></thead><tbody>", *body, "</tbody></table>"])


def _list(lines: Iterable[str]) -> str:
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<ul>{items}</ul>" if items else ""
