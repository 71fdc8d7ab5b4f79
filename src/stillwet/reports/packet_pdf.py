"""The packet: every sheet of a job in one PDF, the forms with it.

Set by typst from ``packet.typ``, which calls the same functions as each sheet's own PDF.
"""

from __future__ import annotations

from typing import Any

from stillwet.domain.packet import Packet
from stillwet.reports.crew_pdf import crew_model, crew_pictures
from stillwet.reports.drying_figure import drying_figure_svg
from stillwet.reports.line_model import lines_model
from stillwet.reports.line_pdf import line_pictures
from stillwet.reports.local_time import clock_of
from stillwet.reports.map_figure import map_svg
from stillwet.reports.mix_card import card_model, mix_pictures
from stillwet.reports.packet_clean import clean_page
from stillwet.reports.packet_cover import (
    cautions_by_place,
    cover,
    crew_of_asset,
    doubt_words,
    no_crew_ids,
)
from stillwet.reports.packet_tables import cost_page, pocket_pages, weather_page
from stillwet.reports.page_model import page_model
from stillwet.reports.plan_pdf import TYPST_PAPER, Paper, card_pictures
from stillwet.reports.source_list import breakable
from stillwet.reports.typesetting import set_sheets
from stillwet.reports.words import Units, clean, short_name, shorten, unit_label

Model = dict[str, Any]
_MAP = (540.0, 610.0)  # points across and up


def packet_pdf_bytes(packet: Packet, *, units: str, paper: str, address: str = "") -> bytes:
    """The packet as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    shown = Units(units)
    model = packet_model(packet, shown, address) | {"paper": TYPST_PAPER[Paper(paper)]}
    return set_sheets("packet", model, _pictures(packet, shown, address), made_s=packet.plan.made_s)


def packet_model(packet: Packet, units: Units, address: str = "") -> Model:
    """Everything the packet prints, in the reader's words, in the order of the pages."""
    plan, clock = packet.plan, clock_of(packet.plan)
    alone = no_crew_ids(packet)
    pages = page_model(plan, units, alone)
    numbers = [_sure_numbers(card) for card in pages["assets"]]
    for card, row, asset in zip(pages["assets"], pages["rows"], plan.assets, strict=True):
        card["job_untested"] = ""  # the foot of every page names them, with the page they are on
        if packet.crews is not None:
            card["crew"] = crew_of_asset(asset, packet.crews, clock)
        if asset.asset_id in alone:
            card["told"] = row["told"] = "NO CREW"
    return {
        "job": breakable(shorten(clean(plan.job_name), 48)),
        "doubt": doubt_words(plan),
        "plan": pages,
        "cover": cover(packet, clock, units),
        "crews": None if packet.crews is None else crew_model(packet.crews, units, address),
        "mix": None if packet.mix is None else card_model(packet.mix, units),
        "lines": None if packet.lines is None else lines_model(packet.lines, units),
        "weather": weather_page(packet, clock, units),
        "pocket": pocket_pages(packet, clock, units),
        "numbers": numbers,
        "places": cautions_by_place(plan.assets),
        "clean": clean_page(packet, units),
        "spill": _spill(packet),
        "cost": cost_page(packet, units),
        "words": _units_of_forms(units),
    }


def _sure_numbers(card: Model) -> Model:
    """Takes what is not in doubt off a card, to be listed with the sources at the end."""
    sure = [one for one in card["numbers"] if not one["untested"]]
    card["numbers"] = [one for one in card["numbers"] if one["untested"]]
    return {"name": f"{card['number']} {card['name']}", "numbers": sure}


def _spill(packet: Packet) -> Model:
    depots = "; ".join(short_name(name, 40) for name in packet.depots)
    return {
        "product": breakable(shorten(clean(packet.plan.product_name), 60)),
        "depots": breakable(depots) or "no depot in the job",
    }


def _units_of_forms(units: Units) -> dict[str, str]:
    """What is written behind a blank."""
    written = {
        "volume": "m3",
        "mass": "kg",
        "depth": "kg/m2",
        "temperature": "K",
        "speed": "m/s",
        "length": "m",
    }
    return {name: unit_label(unit, units) for name, unit in written.items()}


def _pictures(packet: Packet, units: Units, address: str) -> dict[str, str]:
    plan = packet.plan
    pictures = {
        "map.svg": map_svg(plan, units=str(units), width=_MAP[0], height=_MAP[1]),
        "drying.svg": drying_figure_svg(
            packet.demand,
            time_zone=plan.time_zone,
            units=str(units),
            fire_window_s=_fire_window(packet),
        ),
    }
    pictures |= card_pictures(plan)
    if packet.crews is not None:
        pictures |= crew_pictures(packet.crews, units, address)
    if packet.mix is not None:
        pictures |= mix_pictures(packet.mix, str(units))
    if packet.lines is not None:
        pictures |= line_pictures(packet.lines, units)
    return pictures


def _fire_window(packet: Packet) -> tuple[float, float]:
    assets = packet.plan.assets
    return (
        min(asset.fire_window_from_s for asset in assets),
        max(asset.fire_window_to_s for asset in assets),
    )
