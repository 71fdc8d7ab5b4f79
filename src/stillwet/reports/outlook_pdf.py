"""The outlook's brief to print: a page a group of zones, then where the numbers came from."""

from __future__ import annotations

import math
from typing import Any

from stillwet.domain.outlook_brief import OutlookBrief, ZoneAnswer, ZoneFace, ZoneGroup
from stillwet.reports.local_time import LocalClock
from stillwet.reports.outlook_map import legend_svg, outlook_map_svg
from stillwet.reports.plan_pdf import TYPST_PAPER, Paper
from stillwet.reports.source_list import SourceList, breakable
from stillwet.reports.typesetting import set_sheets
from stillwet.reports.words import NONE, Units, clean, coat, shorten
from stillwet.units import from_si

Model = dict[str, Any]
FACE_WORDS = {
    "N": "north wall",
    "NE": "north-east wall",
    "E": "east wall",
    "SE": "south-east wall",
    "S": "south wall",
    "SW": "south-west wall",
    "W": "west wall",
    "NW": "north-west wall",
    "roof": "flat roof",
    "pole": "pole",
    "grass": "grass",
}


def outlook_pdf_bytes(brief: OutlookBrief, *, units: str, paper: str) -> bytes:
    """The brief as PDF; ``units`` is "us" or "metric", ``paper`` "letter" or "a4"."""
    model = brief_model(brief, Units(units)) | {"paper": TYPST_PAPER[Paper(paper)]}
    pictures = {"legend.svg": legend_svg()}
    for page, group in enumerate(brief.groups, start=1):
        for place, face in enumerate(group.maps, start=1):
            pictures[f"map-{page}-{place}.svg"] = outlook_map_svg(group, face)
    return set_sheets("outlook", model, pictures, made_s=brief.made_s)


def brief_model(brief: OutlookBrief, units: Units) -> Model:
    """Everything the template prints, in the reader's words."""
    clock, references = LocalClock(brief.time_zone), SourceList(units)
    untested = references.untested_line(brief.inputs)
    return {
        "title": f"Outlook: {clean(shorten(brief.forecast, 60))}",
        "made": clock.full(brief.made_s),
        "question": _question(brief, units, clock),
        "span": f"Forecast from {clock.full(brief.first_s)} to {clock.full(brief.last_s)}, "
        + ("one member." if brief.members == 1 else f"{brief.members} members."),
        "caution": brief.cautions[0],
        "cautions": [breakable(clean(text)) for text in brief.cautions[1:]],
        "untested": untested,
        "groups": [
            _page(number, group, units, clock, brief.members)
            for number, group in enumerate(brief.groups, 1)
        ],
        "numbers": references.paragraphs(brief.inputs),
        "sources": references.listed(),
        "remarks": [breakable(clean(text)) for text in brief.remarks],
        "made_with": f"Model version {brief.model_version}.",
    }


def _question(brief: OutlookBrief, units: Units, clock: LocalClock) -> str:
    return (
        f"A coat of {coat(brief.coat_kg_m2, units)} on by {clock.full(brief.on_by_s)}: does its "
        f"thinnest tenth keep {coat(brief.keep_kg_m2, units)} until {clock.full(brief.until_s)}?"
    )


def _page(number: int, group: ZoneGroup, units: Units, clock: LocalClock, members: int) -> Model:
    return {
        "number": number,
        "many": members > 1,
        "name": clean(shorten(group.name, 60)),
        "maps": [FACE_WORDS[face.face] for face in group.maps],
        "zones": [
            {"number": place, **_zone(answer, units, clock, members)}
            for place, answer in enumerate(group.zones, start=1)
        ],
        "notes": [note for answer in group.zones for note in _notes(answer)],
    }


def _zone(answer: ZoneAnswer, units: Units, clock: LocalClock, members: int) -> Model:
    return {
        "name": breakable(clean(answer.zone.name)),
        "cells": f"{answer.cells:,} cell" + ("" if answer.cells == 1 else "s"),
        "faces": [_face(face, units, clock, members) for face in answer.faces],
    }


def _face(face: ZoneFace, units: Units, clock: LocalClock, members: int) -> Model:
    window = NONE
    if face.from_start_s is not None:
        window = _window(clock.short(face.from_start_s, up=True), clock.short(face.latest_start_s))
    return {
        "face": FACE_WORDS[face.face],
        "verdict": _verdict(face),
        "share": _share(face.share_sure),
        "even": _share(face.share_even),
        "chance": NONE if members == 1 else _chance(face),
        "least": hours(face.least_hold_s),
        "mean": ("over " if face.is_capped else "") + hours(face.mean_hold_s),
        "window": window,
        "coat": _coats(face, units),
    }


def _window(begin: str, end: str) -> str:
    """Such as "Sat 12:42 to 13:00": the day is said again only where it is another one."""
    day, _, _ = begin.partition(" ")
    return f"{begin} to {end.removeprefix(day).strip()}"


def _chance(face: ZoneFace) -> str:
    """In how many of the members a coat laid in time holds: over the cells, and in the worst."""
    if face.chance_mean is None:
        return NONE
    return f"{_share(face.chance_mean).removesuffix(' %')} / {_share(face.chance_least)}"


def _coats(face: ZoneFace, units: Units) -> str:
    if face.coat_most_kg_m2 is None:
        return NONE
    mean, unit = coat(face.coat_mean_kg_m2, units).rsplit(" ", 1)
    return f"{mean} / {coat(face.coat_most_kg_m2, units).removesuffix(unit).strip()} {unit}"


def _verdict(face: ZoneFace) -> str:
    """One word for a whole zone: HOLDS only where every cell does in nine of ten."""
    if face.share_sure is None:
        return "NO ANSWER"
    if face.share_sure >= 1:
        return "HOLDS"
    return "WILL NOT HOLD" if not face.share_even else "DOUBTFUL"


def _share(share: float | None) -> str:
    """A share of cells in whole percent, never rounded up to all nor down to none."""
    if share is None:
        return NONE
    percent = from_si(share, "percent")
    if 0 < percent < 1:
        return "under 1 %"
    return f"{math.floor(percent + 1e-9)} %"


def hours(span_s: float | None) -> str:
    """A hold time cut down to a tenth of an hour: "6.3 h"."""
    return NONE if span_s is None else f"{math.floor(from_si(span_s, 'h') * 10 + 1e-6) / 10:.1f} h"


def _notes(answer: ZoneAnswer) -> list[str]:
    name, said = clean(answer.zone.name), []
    if answer.cells == 0:
        said.append(f"{name} lies outside the forecast's grid.")
    elif answer.is_small:
        said.append(f"{name} is smaller than a cell: the nearest cell speaks for it.")
    if answer.missing:
        said.append(f"{name}: {answer.missing:,} of {answer.cells:,} cells have no answer.")
    return said
