"""A job as files that ``job_file.read_job`` reads back to an equal job."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import tzinfo
from typing import Any

from stillwet.domain.job import Job
from stillwet.exchange.asset_rows import asset_row
from stillwet.exchange.clock import read_zone
from stillwet.exchange.line_rows import line_row_list, road_row, stream_row
from stillwet.exchange.place_rows import crew_row, depot_row, water_row, well_row
from stillwet.exchange.places import Earth, earth_of
from stillwet.exchange.section_rows import (
    head_keys,
    local_keys,
    practice_keys,
    product_keys,
    uncertainty_keys,
)
from stillwet.exchange.sheet_maps import geojson_bytes, gpkg_bytes, gpx_bytes
from stillwet.exchange.sheet_tables import csv_bytes, xlsx_bytes
from stillwet.exchange.sheets import Form, Sheet, SheetRow
from stillwet.exchange.toml_text import toml_text
from stillwet.exchange.trial_sheet import trial_sheet
from stillwet.exchange.weather_rows import weather_keys, weather_sheet

JOB_NAME = "job.toml"
_WORKBOOK, _LAYERS = "tables.xlsx", "layers.gpkg"
_HEAD = (
    "# Written by stillwet. Numbers are in SI units and times carry their shift: nothing is\n"
    "# rounded. What is not here is a stated default, taken again when the job is read.\n\n"
)
_PLACES: dict[Form, Callable[[Sheet], bytes]] = {
    Form.CSV: csv_bytes,
    Form.GEOJSON: geojson_bytes,
    Form.GPX: gpx_bytes,
}


@dataclass(frozen=True, slots=True)
class JobFiles:
    """The files of a job by name, and what whoever reads them should know."""

    files: dict[str, bytes]
    remarks: tuple[str, ...]


@dataclass
class _Writing:
    """One job on its way out: the way to degrees, the local zone, and what has aged."""

    job: Job
    earth: Earth
    zone: tzinfo | None
    aged: list[str] = field(default_factory=list)

    def take(self, rows: Iterable[tuple[SheetRow, list[str]]], place: str) -> tuple[SheetRow, ...]:
        """The rows, once their aged fields are noted."""
        found = []
        for row, aged in rows:
            self.note(aged, place)
            found.append(row)
        return tuple(found)

    def note(self, aged: Iterable[str], place: str) -> None:
        """Note fields whose default had to be written as a value."""
        self.aged += [f"{place} {name}" for name in aged]


def make_job_files(job: Job, form: Form = Form.GEOJSON) -> JobFiles:
    """job.toml and the lists it names. Map formats hold what is drawn; the rest is CSV.

    Reading them gives an equal job, but for the names of files, their hash and the texts that say
    where a number stood; places agree to a thousandth of a millimetre.
    """
    writing = _Writing(job, earth_of(job.crs), read_zone(job.time_zone, field="", place="").zone)
    sheets = [sheet for sheet in _sheets(writing) if sheet.rows]
    files, where = _render(sheets, form)
    sections = _sections(writing, where)
    files = {JOB_NAME: (_HEAD + toml_text(sections)).encode(), **files}
    return JobFiles(files, _remarks(writing.aged))


def _sheets(writing: _Writing) -> Iterable[Sheet]:
    """Every list of the job, in the order of the job file's sections."""
    job, earth, zone, take = writing.job, writing.earth, writing.zone, writing.take
    yield Sheet("assets", take((asset_row(one, earth, zone) for one in job.assets), "assets"))
    yield Sheet("lines", tuple(_line_rows(writing)))
    streams = enumerate(job.streams_m, start=1)
    yield Sheet("streams", tuple(stream_row(track, number, earth) for number, track in streams))
    yield Sheet("wells", tuple(well_row(one, earth) for one in job.wells))
    yield weather_sheet(job.weather)
    yield trial_sheet(job.trials, zone)
    yield Sheet("water", take((water_row(one, earth) for one in job.water_points), "water"))
    yield Sheet("crews", take((crew_row(one, earth, zone) for one in job.crews), "crews"))
    yield Sheet("depots", take((depot_row(one, earth) for one in job.depots), "depots"))
    yield Sheet("roads", tuple(road_row(one, earth) for one in job.roads))


def _line_rows(writing: _Writing) -> Iterable[SheetRow]:
    for line in writing.job.lines:
        rows, aged = line_row_list(line, writing.earth, writing.zone)
        writing.note(aged, "lines")
        yield from rows


def _render(
    sheets: Sequence[Sheet], form: Form
) -> tuple[dict[str, bytes], dict[str, dict[str, Any]]]:
    """The lists as files, and the keys by which the job file names each."""
    if form is Form.XLSX:
        where = {sheet.name: {"file": _WORKBOOK, "sheet": sheet.name} for sheet in sheets}
        return {_WORKBOOK: xlsx_bytes(sheets)}, where
    drawn = [sheet for sheet in sheets if sheet.is_drawn] if form is not Form.CSV else []
    loose = [sheet for sheet in sheets if sheet not in drawn]
    files = {f"{sheet.name}.csv": csv_bytes(sheet) for sheet in loose}
    where = {sheet.name: {"file": f"{sheet.name}.csv"} for sheet in loose}
    if form is Form.GPKG:
        where |= {sheet.name: {"file": _LAYERS, "layer": sheet.name} for sheet in drawn}
        return {_LAYERS: gpkg_bytes(drawn), **files}, where
    files |= {f"{sheet.name}.{form}": _PLACES[form](sheet) for sheet in drawn}
    return files, where | {sheet.name: {"file": f"{sheet.name}.{form}"} for sheet in drawn}


def _sections(writing: _Writing, where: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Every section of the job file, in the order a reader meets them."""
    job = writing.job
    told = {
        "product": product_keys(job.product, job.currency),
        "practice": practice_keys(job.practice),
        "uncertainty": uncertainty_keys(job.uncertainty),
        "weather": weather_keys(job.weather),
    }
    for name, (_, aged) in told.items():
        writing.note(aged, name)
    keys = {name: own for name, (own, _) in told.items()}
    weather = {**where["weather"], "format": "hourly table", **keys["weather"]}
    return {
        "job": head_keys(job, writing.zone),
        **where,
        "local": local_keys(job.local),
        **keys,
        "weather": weather,
    }


def _remarks(aged: list[str]) -> tuple[str, ...]:
    """What was a stated default when the job was made, and is written as a value."""
    names = list(dict.fromkeys(aged))
    if not names:
        return ()
    return (f"was a stated default and stands as a given number now: {', '.join(names)}",)
