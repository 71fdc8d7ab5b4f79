"""Lines, roads and streams as rows that their readers read back to the same."""

from __future__ import annotations

from typing import Any

from stillwet.domain.fire import Fuel
from stillwet.domain.lines import (
    Beginning,
    Line,
    LineModel,
    LinePurpose,
    LineSegment,
    LineWork,
    WetSides,
)
from stillwet.domain.roads import Road
from stillwet.exchange.line_fields import (
    LINE_TIMES,
    MODEL_NAMES,
    SPECS,
    WORK_NAMES,
    line_defaults,
)
from stillwet.exchange.places import Earth, Spot, written_time
from stillwet.exchange.roads import ROAD_SPEED
from stillwet.exchange.sheets import Cells, Filler, SheetRow


def line_row_list(line: Line, earth: Earth, zone: Any) -> tuple[list[SheetRow], list[str]]:
    """A row a segment, each with what is told of the whole line; and the fields that have aged."""
    whole = Filler(line_defaults(), line.basis)
    whole.word("line", line.id)
    whole.word("line_name", line.name)
    whole.word("purpose", line.purpose.value)
    _work_cells(whole, line.work, line.purpose, zone)
    _model_cells(whole, line.model)
    rows = [_segment_row(segment, whole, earth) for segment in line.segments]
    return rows, whole.aged


def _work_cells(filler: Filler, work: LineWork, purpose: LinePurpose, zone: Any) -> None:
    filler.flag("ignite", work.is_lit, otherwise=purpose == LinePurpose.BURN)
    filler.word("fire_side", work.fire_side.value if work.fire_side else "")
    filler.word("wet_sides", "" if work.wet_sides is WetSides.ONE else work.wet_sides.value)
    beginning = work.beginning
    filler.word("beginning", "" if beginning is Beginning.DOWNWIND else beginning.value)
    filler.word("crew", work.crew_id)
    for name, attribute in WORK_NAMES.items():
        filler.number(SPECS[name], getattr(work, attribute))
    for name in LINE_TIMES:
        time_s = getattr(work, f"{name}_s")
        filler.word(name, "" if time_s is None else written_time(time_s, zone))
    filler.plain("wind_from", work.wind_from_deg)
    filler.plain("wind_to", work.wind_to_deg)


def _model_cells(filler: Filler, model: LineModel) -> None:
    for name, attribute in MODEL_NAMES.items():
        filler.number(SPECS[name], getattr(model, attribute))


def _segment_row(segment: LineSegment, whole: Filler, earth: Earth) -> SheetRow:
    own = Filler(line_defaults(), segment.basis, aged=whole.aged)
    own.word("id", segment.id)
    own.word("name", segment.name)
    own.cells |= whole.cells
    own.number(SPECS["width"], segment.width_m)
    own.number_unless_zero(SPECS["bare_width"], segment.bare_width_m)
    own.number(SPECS["black_depth"], segment.black_depth_m)
    own.plain("aspect", segment.aspect_deg)
    if segment.fuel is not None:
        _fuel_cells(own, segment.fuel)
    own.word("note", segment.note)
    return SheetRow(own.cells, earth.track(segment.track_m))


def _fuel_cells(into: Filler, fuel: Fuel) -> None:
    own = Filler(line_defaults(), fuel.basis, into.cells, into.aged)
    own.word("fuel_model", fuel.model)
    own.number(SPECS["slope"], fuel.slope_deg)
    for name in ("moisture_1h", "moisture_herb", "moisture_woody"):
        own.number(SPECS[name], getattr(fuel, name))
    own.number_unless_zero(SPECS["canopy_cover"], fuel.canopy_cover)
    own.number_unless_zero(SPECS["canopy_height"], fuel.canopy_height_m)
    own.number_unless_zero(SPECS["crown_ratio"], fuel.crown_ratio)


def road_row(road: Road, earth: Earth) -> SheetRow:
    """One stretch of road."""
    filler = Filler()
    filler.number(ROAD_SPEED, road.speed_m_s)
    filler.flag("one_way", road.one_way)
    return SheetRow(filler.cells, earth.track(road.track_m))


def stream_row(track_m: tuple[Spot, ...], number: int, earth: Earth) -> SheetRow:
    """One stream."""
    cells: Cells = {"number": float(number)}
    return SheetRow(cells, earth.track(track_m))
