"""The mix window as plain text of at most 100 columns."""

from __future__ import annotations

from collections.abc import Iterable

from stillwet.domain.mix_window import MixWindow, Wall
from stillwet.reports.mix_words import (
    assumed_gear,
    crew_sentence,
    flow_sentence,
    gear_interval,
    gear_value,
    hard_water_sentence,
    hardness_sentence,
    headline,
    later_sentence,
    name_of,
    percent,
    sign_words,
    span,
    stopped_by,
    water_sentence,
    why_closed,
)
from stillwet.reports.text_table import bullets, fill, pad, wrap_cells
from stillwet.reports.words import Units, clean, coat, input_name, is_untested, minutes, ratio

_WALL_COLUMNS = (44, 14, 24)


def mix_text(window: MixWindow, units: str) -> str:
    """The window for a terminal: what to set first, then the walls and what they stand on."""
    shown = Units(units)
    blocks = [
        _heading(window),
        _settings(window, shown),
        _walls(window),
        _closed(window, shown),
        _waters(window),
        _leaves(window, shown),
        _signs(window, shown),
        _assumed(window, shown),
        bullets("CAUTIONS", window.cautions),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _heading(window: MixWindow) -> list[str]:
    about = window.asset_name or window.job_name
    lines = [f"MIX WINDOW: {clean(about)}"]
    lines.append(
        f"{clean(window.product_name)}, {window.product_type}; label {percent(window.label_low)} "
        f"to {ratio(window.label_high, window.ratio_basis)}; coats of plan {window.plan_id}"
    )
    lines.append(f"How stiff it is at each ratio: {clean(window.curve_basis)}.")
    lines.append(headline(window))
    return [part for line in lines for part in fill(line)]


def _settings(window: MixWindow, units: Units) -> list[str]:
    lines = ["WHAT TO SET"]
    for crew in window.crews:
        lines += fill(f"{name_of(crew.name)}: {crew_sentence(crew, window, units)}", "  - ", "    ")
        for flow in crew.flows:
            lines += fill(flow_sentence(flow, units), "      ", "      ")
    if not window.crews:
        lines.append("  No crew's gear is known: the pump is left out.")
    return lines + [
        part
        for text in (later_sentence(window), hard_water_sentence(window))
        if text
        for part in fill(text, "  ", "  ")
    ]


def _walls(window: MixWindow) -> list[str]:
    rows: list[tuple[str, Wall]] = [
        (f"least: {stopped_by(window.lower)} ({name_of(window.lower_asset)})", window.lower),
        (f"most: {stopped_by(window.upper)}", window.upper),
        ("best: clings thickest; beyond it, falls off", window.best),
    ]
    for crew in window.crews:
        for letter, wall in zip("ab", crew.pumps, strict=True):
            rows.append((f"pump, {name_of(crew.name)}, hose set {letter}", wall))
    lines = ["WALLS", "  " + _row(("", "counted on", "may stand at (90 %)"))]
    for what, wall in rows:
        first, *rest = wrap_cells(what, _WALL_COLUMNS[0])
        lines.append("  " + _row((first, percent(wall.ratio), span(wall.low, wall.high))))
        lines += ["  " + part for part in rest]
    lines += fill(
        "The least ratio is counted on with the plan's safety; where it may stand is told without. "
        "A pump's wall is the middle one: test the pattern before it counts. Two published sets of "
        "hose coefficients disagree; both are shown. Gel in hose is likely reckoned too thick.",
        "  ",
        "  ",
    )
    return lines


def _row(cells: Iterable[str]) -> str:
    return "  ".join(
        pad(text, width) for text, width in zip(cells, _WALL_COLUMNS, strict=True)
    ).rstrip()


def _closed(window: MixWindow, units: Units) -> list[str]:
    if not window.closed:
        return []
    lines = [f"NO RATIO SERVES ({len(window.closed)} of {len(window.assets)} assets)"]
    for asset in window.closed:
        lines += fill(f"{name_of(asset.name)}: {why_closed(asset, window, units)}", "  - ", "    ")
    return lines


def _waters(window: MixWindow) -> list[str]:
    lines = ["WATER"]
    for water in window.waters:
        lines += fill(f"{name_of(water.name)}, {water_sentence(water, window)}", "  - ", "    ")
    return lines + fill(hardness_sentence(window), "  ", "  ")


def _leaves(window: MixWindow, units: Units) -> list[str]:
    lines = [f"LEAVES AND BLADES at {ratio(window.ratio_shown, window.ratio_basis)}"]
    for leaf in window.leaves:
        text = (
            f"{leaf.what}, {1000 * leaf.width_m:g} mm wide: at most {coat(leaf.coat_kg_m2, units)} "
            f"on the leaf's own area ({coat(leaf.low_kg_m2, units)} to "
            f"{coat(leaf.high_kg_m2, units)}); plain water leaves {coat(leaf.water_kg_m2, units)}"
        )
        lines += fill(text, "  - ", "    ")
    return lines + fill(
        "! untested default: the shape, half to twice. Leaves bend and shake, so it errs high.",
        "  ",
        "  ",
    )


def _signs(window: MixWindow, units: Units) -> list[str]:
    lines = [f"WHAT A GOOD MIX SHOWS at {ratio(window.ratio_shown, window.ratio_basis)}"]
    lines += fill(
        f"Wait {minutes(window.hydration_wait_s)} after mixing: it thickens until then.", "  - "
    )
    for sign in window.signs:
        lines += fill(f"{sign.test}: {sign_words(sign, units)}", "  - ", "    ")
    return lines


def _assumed(window: MixWindow, units: Units) -> list[str]:
    if not window.inputs:
        return []
    lines = ["GEAR THAT NOBODY GAVE"]
    for item, crews in assumed_gear(window):
        mark = "! " if is_untested(item) else "- "
        text = (
            f"{input_name(item.name)} {gear_value(item, units)} ({gear_interval(item, units)}), "
            f"{', '.join(crews)}: {item.basis.kind} ({clean(item.basis.source)})"
        )
        lines += fill(text, f"  {mark}", "    ")
    return lines
