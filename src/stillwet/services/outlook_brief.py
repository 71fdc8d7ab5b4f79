"""The outlook's brief by zones: read the polygons, ask the finished grid, print the sheets."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.basis import Basis, Input, given
from stillwet.domain.outlook_brief import OutlookBrief, Zone
from stillwet.errors import Problem, StillwetError
from stillwet.services.outputs import need_file_place, write_one
from stillwet.services.view import units_for
from stillwet.version import VERSION

if TYPE_CHECKING:
    from stillwet.outlook.ask import Answer, Ask
    from stillwet.outlook.loading import Forecast


@dataclass(frozen=True, slots=True)
class BriefAsk:
    """Where the zones are, where the brief goes, and how its reader wants it."""

    zones: Path
    out: Path
    made_s: float
    time_zone: str
    units: str | None = None
    paper: str = "letter"


def check_brief(asked: BriefAsk, ask: Ask, answers: tuple[Answer, ...]) -> tuple[Zone, ...]:
    """The zones, once everything a brief needs is there: said before hours of reckoning."""
    from stillwet.exchange.zones import read_zones
    from stillwet.outlook.zones import NEEDED

    need_file_place(asked.out, (".pdf",), field="--brief")
    if ask.from_s is None or ask.until_s is None:
        got = "no --until" if ask.until_s is None else "no --from"
        hint = "a brief says whether a coat laid in time lasts through the afternoon"
        raise StillwetError(Problem("--brief", "--from and --until", got, "", hint))
    missing = sorted(set(NEEDED) - {answer.name for answer in answers})
    if missing:
        wanted = "--write all, or with " + ", ".join(NEEDED)
        raise StillwetError(Problem("--brief", wanted, "no " + ", ".join(missing)))
    return read_zones(asked.zones)


def write_brief(
    asked: BriefAsk,
    store: Path,
    forecast: Forecast,
    ask: Ask,
    zones: tuple[Zone, ...],
    exponent: Basis,
) -> Path:
    """Reckon the zones over the finished store and write the PDF."""
    from stillwet.reports.outlook_pdf import outlook_pdf_bytes

    brief = make_brief(asked, store, forecast, ask, zones, exponent)
    return write_one(
        asked.out, outlook_pdf_bytes(brief, units=units_for(asked.units), paper=asked.paper)
    )


def make_brief(
    asked: BriefAsk,
    store: Path,
    forecast: Forecast,
    ask: Ask,
    zones: tuple[Zone, ...],
    exponent: Basis,
) -> OutlookBrief:
    """Everything the brief says, out of the finished store."""
    from stillwet.outlook.zones import zone_groups
    from stillwet.tables import load_table

    assert ask.from_s is not None
    assert ask.until_s is not None
    grid = forecast.grid
    return OutlookBrief(
        forecast=forecast.path.name,
        made_s=asked.made_s,
        time_zone=asked.time_zone,
        first_s=float(grid.hours_s[0]),
        last_s=float(grid.hours_s[-1]),
        on_by_s=ask.from_s,
        until_s=ask.until_s,
        coat_kg_m2=ask.coat_kg_m2,
        keep_kg_m2=ask.keep_kg_m2,
        members=grid.members,
        groups=zone_groups(store, forecast.data, grid, ask, zones),
        inputs=_inputs(ask, exponent),
        cautions=tuple(load_table("cautions")["general"]["lines"]),
        remarks=tuple(forecast.remarks()),
        model_version=VERSION,
    )


def _inputs(ask: Ask, exponent: Basis) -> tuple[Input, ...]:
    """What the answers hang on, with where each came from."""
    from stillwet.exchange.practice import practice_defaults

    defaults = practice_defaults()
    keep = defaults["ember_reserve"]
    kept = keep.basis if keep.value == ask.keep_kg_m2 else given("--keep")
    variation, albedo = defaults["coat_variation"], defaults["ground_albedo"]
    return (
        Input("coat_kg_m2", ask.coat_kg_m2, "kg/m2", given("--coat")),
        Input("water_kept_kg_m2", ask.keep_kg_m2, "kg/m2", kept),
        Input("coat_variation", float(variation.value), "", variation.basis),
        Input("ground_albedo", float(albedo.value), "fraction", albedo.basis),
        Input("drying_exponent", ask.exponent, "", exponent),
    )
