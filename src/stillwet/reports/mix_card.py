"""The mixing card: one sheet that stands beside the tank."""

from __future__ import annotations

from typing import Any

from stillwet.domain.mix_window import CrewWindow, Fit, MixWindow, Tank
from stillwet.reports.mix_figure import mix_figure_svg
from stillwet.reports.mix_words import (
    assumed_gear,
    crew_sentence,
    gear_interval,
    gear_value,
    hard_water_sentence,
    hardness_sentence,
    headline,
    name_of,
    percent,
    pumps_plan,
    sign_words,
    why_closed,
)
from stillwet.reports.plan_pdf import TYPST_PAPER, Paper
from stillwet.reports.typesetting import set_sheets
from stillwet.reports.words import (
    NONE,
    Units,
    clean,
    input_name,
    is_by_mass,
    is_untested,
    mass,
    minutes,
    packs_words,
    quantity,
    ratio,
    shorten,
    unit_label,
)
from stillwet.tables import load_table
from stillwet.units import from_si

_MOST_CLOSED = 6


def mix_card_bytes(window: MixWindow, *, units: str, paper: str) -> bytes:
    """The card as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    model = card_model(window, Units(units)) | {"paper": TYPST_PAPER[Paper(paper)]}
    return set_sheets("mix_card", model, mix_pictures(window, units), made_s=0.0)


def mix_pictures(window: MixWindow, units: str) -> dict[str, str]:
    """The figure of the window, by the name under which the card looks for it."""
    return {"window.svg": mix_figure_svg(window, units=units)}


def card_model(window: MixWindow, units: Units) -> dict[str, Any]:
    """Everything the card prints, in the reader's words."""
    steps = load_table("mix_steps")
    kind = next(
        name
        for name, row in load_table("product_types").items()
        if row["name"] == window.product_type
    )
    closed = window.closed[:_MOST_CLOSED]
    rest = len(window.closed) - len(closed)
    return {
        "about": shorten(clean(window.asset_name or window.job_name), 60),
        "plan": window.plan_id,
        "product": shorten(clean(window.product_name), 60),
        "kind": window.product_type,
        "label": f"{percent(window.label_low)} to {ratio(window.label_high, window.ratio_basis)}",
        "headline": headline(window),
        "basis": ratio(window.ratio_shown, window.ratio_basis).partition(" % ")[2],
        "crews": [_crew_row(crew, window, units) for crew in window.crews],
        "told": [
            f"{name_of(crew.name)}: {crew_sentence(crew, window, units)}"
            for crew in window.crews
            if crew.fit is not Fit.FITS
        ],
        "closed": [f"{name_of(one.name)}: {why_closed(one, window, units)}" for one in closed]
        + ([f"and {rest} more: see stillwet mix"] if rest > 0 else []),
        "hard_water": hard_water_sentence(window),
        "hardness": hardness_sentence(window),
        "wait": minutes(window.hydration_wait_s),
        "shown": ratio(window.ratio_shown, window.ratio_basis),
        "signs": [[sign.test, sign_words(sign, units)] for sign in window.signs],
        "before": steps["before"]["lines"],
        "mixing": steps[kind]["lines"],
        "fix": steps["fix"]["lines"],
        "flush": steps["flush"]["lines"],
        "daily": steps["daily"]["lines"],
        "cautions": list(window.cautions),
        "assumed": [
            f"{'! ' if is_untested(item) else ''}{input_name(item.name)} "
            f"{gear_value(item, units)} ({gear_interval(item, units)}) for {', '.join(crews)}"
            for item, crews in assumed_gear(window)
        ],
    }


def _crew_row(crew: CrewWindow, window: MixWindow, units: Units) -> dict[str, str]:
    tank = crew.tank
    if tank is None:
        return {
            "name": name_of(crew.name),
            "set": _set_without_window(crew, window),
            "tank": NONE,
            "concentrate": NONE,
            "water": NONE,
            "flow": NONE,
        }
    flows = sorted(flow.flow_m3_s for flow in crew.flows if not flow.reason)
    return {
        "name": name_of(crew.name),
        "set": percent(crew.ratio),
        "tank": quantity(tank.mix_m3, "m3", units),
        "concentrate": f"{_concentrate(tank, window.ratio_basis, units)} "
        f"({packs_words(tank.packs)})",
        "water": quantity(tank.water_m3, "m3", units),
        "flow": quantity(flows[0], "m3/s", units) if flows else "test the pattern",
    }


def _set_without_window(crew: CrewWindow, window: MixWindow) -> str:
    """Never another word than the crew's own sheet has: its ratio, marked, or why not."""
    if window.plan_ratio <= 0.0:
        return "do not mix"
    if not pumps_plan(crew, window):
        return "test the pattern"
    return f"{percent(window.plan_ratio)}, not sure"


def _concentrate(tank: Tank, ratio_basis: str, units: Units) -> str:
    """Powders by mass, liquids to a tenth of a gallon or litre: it is measured into a tank."""
    if is_by_mass(ratio_basis):
        return mass(tank.concentrate_kg, units)
    unit = unit_label("m3", units)
    return f"{from_si(tank.concentrate_m3, unit):.1f} {unit}"
