"""The reckoned pages of a packet: weather with drying demand, pocket table, use and cost."""

from __future__ import annotations

from typing import Any

from stillwet.domain.crew_plan import CrewRun, StepKind
from stillwet.domain.packet import Packet, SkyHour
from stillwet.domain.pocket import Pocket, PocketCell, PocketFace, PocketFire
from stillwet.reports.local_time import LocalClock
from stillwet.reports.source_list import breakable
from stillwet.reports.words import (
    NONE,
    Units,
    clean,
    coat,
    compass,
    concentrate_words,
    count_words,
    gauge,
    minutes,
    money,
    number,
    quantity,
    ratio,
    short_name,
    shorten,
    unit_label,
)

Model = dict[str, Any]
_HOUR_S = 3600.0
_MOST_HOURS = 26
_RATE = "kg/m2/h"


def weather_page(packet: Packet, clock: LocalClock, units: Units) -> Model:
    """The forecast by the hour with what it takes from a wet face on each side."""
    step = max(1, -(-len(packet.sky) // _MOST_HOURS))
    return {
        "labels": list(packet.demand.labels),
        "unit": unit_label(_RATE, units),
        "rows": [
            _sky_row(packet, index, clock, units) for index in range(0, len(packet.sky), step)
        ],
        "step": "" if step == 1 else f"Every {count_words(step, 'hour')}.",
    }


def _sky_row(packet: Packet, index: int, clock: LocalClock, units: Units) -> Model:
    hour = packet.sky[index]
    demand = packet.demand
    rates = demand.demand_kg_m2_s[:, index] if index < demand.time_s.size else ()
    return {
        "time": clock.short(hour.time_s),
        "sky": [
            quantity(hour.air_temperature_k, "K", units),
            quantity(hour.relative_humidity, "fraction", units),
            quantity(hour.wind_speed_m_s, "m/s", units),
            _from(hour),
            NONE if hour.cloud_cover is None else quantity(hour.cloud_cover, "fraction", units),
            coat(hour.rain_kg_m2, units) if hour.rain_kg_m2 > 0.0 else NONE,
        ],
        "rates": [number(float(rate) * _HOUR_S, _RATE, units) for rate in rates],
    }


def _from(hour: SkyHour) -> str:
    return NONE if hour.wind_from_deg is None else compass(hour.wind_from_deg)


def pocket_pages(packet: Packet, clock: LocalClock, units: Units) -> Model:
    """The pocket table, a set of small tables for each fire."""
    pocket = packet.pocket
    past = clock.short(pocket.end_s)
    return {
        "ratio": ratio(pocket.ratio, packet.plan.ratio_basis),
        "reserve": coat(pocket.reserve_kg_m2, units),
        "end": past,
        "other_fires": breakable("; ".join(clean(name) for name in pocket.fires_left_out)),
        "fires": [_fire(fire, pocket, clock, units) for fire in pocket.fires],
    }


def _fire(fire: PocketFire, pocket: Pocket, clock: LocalClock, units: Units) -> Model:
    asks = f"{coat(fire.demand_50_kg_m2, units)}, in 9 of 10 cases no more than "
    asks += coat(fire.demand_90_kg_m2, units)
    hardest = shorten(clean(fire.hardest), 40)
    return {
        "name": breakable(clean(fire.name)),
        "asks": f"Counts on what it asks of the hardest face sprayed, on {hardest}: {asks}."
        if fire.hardest
        else "No front is counted on: embers only.",
        "faces": [_face(face, pocket, clock, units) for face in fire.faces],
    }


def _face(face: PocketFace, pocket: Pocket, clock: LocalClock, units: Units) -> Model:
    """One facing's table; a coat that it does not keep has no column."""
    kept = [at for at, coat_ in enumerate(pocket.coats_kg_m2) if coat_ <= face.cling_kg_m2]
    return {
        "name": face.label,
        "keeps": f"keeps up to {coat(face.cling_kg_m2, units)}",
        "coats": [_thickness(pocket.coats_kg_m2[at], units) for at in kept],
        "rows": [
            {
                "laid": clock.short(laid_s, up=True),
                "cells": [_cell(row[at], laid_s, pocket.end_s, clock) for at in kept],
            }
            for laid_s, row in zip(pocket.lay_s, face.rows, strict=True)
        ],
    }


def _thickness(water_kg_m2: float, units: Units) -> str:
    return gauge(water_kg_m2) if units is Units.US else coat(water_kg_m2, units)


def _cell(cell: PocketCell | None, laid_s: float, end_s: float, clock: LocalClock) -> list[str]:
    if cell is None:
        return [NONE, NONE]
    return [_until(hold, laid_s, end_s, clock) for hold in (cell.hold_90_s, cell.hold_50_s)]


def _until(hold_s: float | None, laid_s: float, end_s: float, clock: LocalClock) -> str:
    """The time alone where it is the day of laying, with the day otherwise; "no" for never."""
    if hold_s is None:
        return "no"
    shown = clock.short(hold_s)
    day, _, time = shown.partition(" ")
    told = time if clock.short(laid_s).startswith(day) else shown
    return f"past {told}" if hold_s >= end_s - 1.0 else told


def cost_page(packet: Packet, units: Units) -> Model:
    """What is planned to be used, and its price where one is given."""
    load, price = packet.plan.load, packet.pack_price
    crews = packet.crews.crews if packet.crews is not None else ()
    lines = packet.lines.lines if packet.lines is not None else ()
    water = load.water_m3 + sum(line.water_m3 for line in lines)
    concentrate = load.concentrate_m3 + sum(line.concentrate_m3 for line in lines)
    return {
        "rows": [
            ["Finished mix, assets", quantity(load.mix_m3, "m3", units)],
            *(
                [f"Finished mix, {_name(line.name)}", quantity(line.mix_m3, "m3", units)]
                for line in lines
            ),
            ["Water in it", quantity(water, "m3", units)],
            ["Concentrate in it", _concentrate(concentrate, packet, units)],
            [f"Packs of {_concentrate(packet.pack_m3, packet, units)}", str(packet.packs)],
            ["Price of a pack", money(price, packet.currency, cents=True)],
            ["Cost of packs", _cost(packet)],
        ],
        "crews": [_crew_use(run, packet, units) for run in crews],
        "no_crews": breakable(clean(packet.missing.get("crews", ""))),
        "by_plan": "All that has a coat planned is counted, left out by the crews or not.",
    }


def _cost(packet: Packet) -> str:
    price = packet.pack_price
    return money(None if price is None else packet.packs * price, packet.currency)


def _concentrate(volume_m3: float, packet: Packet, units: Units) -> str:
    mass_kg = volume_m3 * packet.density_kg_m3
    return concentrate_words(volume_m3, mass_kg, packet.plan.ratio_basis, units)


def _crew_use(run: CrewRun, packet: Packet, units: Units) -> list[str]:
    coats = run.steps_of(StepKind.COAT)
    return [
        _name(run.name),
        quantity(sum(step.amount_m3 for step in coats), "m3", units),
        _concentrate(sum(step.concentrate_m3 for step in coats), packet, units),
        str(len(run.steps_of(StepKind.FILL))),
        minutes(run.end_s - run.start_s) if run.steps else NONE,
        str(run.people),
    ]


def _name(text: str) -> str:
    return breakable(short_name(text, 34))
