"""Trials as rows of a table that ``trials.read_trials`` reads back to the same trials."""

from __future__ import annotations

from typing import Any

from stillwet.domain.products import RatioBasis
from stillwet.domain.trials import (
    Coupon,
    DryingSeries,
    Funnel,
    Reading,
    Slump,
    Spread,
    Trial,
    TrialRecord,
    Viscosity,
    Weighing,
    YieldEstimate,
)
from stillwet.errors import Problem, StillwetError
from stillwet.exchange.places import written_time
from stillwet.exchange.sheets import Filler, Sheet, SheetRow, flag_word
from stillwet.exchange.trials import TRIAL_COLUMNS, UNNAMED

_SPECS = TRIAL_COLUMNS.quantities


def trial_sheet(records: tuple[TrialRecord, ...], zone: Any) -> Sheet:
    """A row a mix, and a row a weighing of a drying coat."""
    rows: list[SheetRow] = []
    for record in records:
        if isinstance(record, DryingSeries):
            rows += [_weighing_row(record, weighing, zone) for weighing in record.weighings]
        else:
            rows.append(_trial_row(record, zone))
    return Sheet("trials", tuple(rows))


def _trial_row(trial: Trial, zone: Any) -> SheetRow:
    kinds = [type(reading) for reading in trial.readings]
    if len(set(kinds)) < len(kinds):
        raise StillwetError(
            Problem("readings", "one reading of a kind in a row", "two of a kind", trial.id)
        )
    filler = Filler()
    filler.word("id", trial.id)
    filler.word("when", written_time(trial.when_s, zone) if trial.when_s else "")
    _product_cell(filler, trial.product_id)
    filler.number(_SPECS["ratio"], trial.ratio)
    filler.word("ratio_basis", "volume" if trial.ratio_basis is RatioBasis.VOLUME else "mass")
    filler.word("water", trial.water)
    filler.number(_SPECS["hardness"], trial.hardness_kg_m3)
    filler.number(_SPECS["water_temperature"], trial.water_temperature_k)
    filler.number(_SPECS["age"], trial.age_s)
    for reading in trial.readings:
        _reading_cells(filler, reading)
    return SheetRow(filler.cells)


def _product_cell(filler: Filler, product_id: str) -> None:
    filler.word("product", "" if product_id == UNNAMED else product_id)


def _reading_cells(filler: Filler, reading: Reading) -> None:
    numbers: dict[str, float | None]
    match reading:
        case YieldEstimate():
            numbers = {"yield_stress": reading.yield_pa}
        case Slump():
            numbers = {"slump": reading.slump_m, "cylinder_height": reading.height_m}
        case Spread():
            numbers = {
                "spread_diameter": reading.diameter_m,
                "spread_volume": reading.volume_m3,
            }
        case Coupon():
            numbers = {
                "coat": reading.coat_kg_m2,
                "tilt": reading.tilt_deg,
                "slough_time": reading.slough_s,
            }
            filler.cells["slid"] = flag_word(reading.slid)
        case Viscosity():
            numbers = {
                "viscosity": reading.viscosity_pa_s,
                "speed_rpm": reading.revolutions_per_min,
            }
            filler.plain("spindle", reading.spindle)
        case Funnel():
            numbers = {"funnel": reading.seconds, "funnel_volume": reading.volume_m3}
    for name, value in numbers.items():
        filler.number(_SPECS[name], value)


def _weighing_row(series: DryingSeries, weighing: Weighing, zone: Any) -> SheetRow:
    filler = Filler()
    filler.word("series", series.id)
    filler.word("when", written_time(weighing.when_s, zone))
    _product_cell(filler, series.product_id)
    for name, value in (
        ("ratio", series.solids_share),
        ("tilt", series.tilt_deg),
        ("coupon_side", series.length_m),
        ("coat", weighing.mass_kg_m2),
        ("air_temperature", weighing.air_temperature_k),
        ("relative_humidity", weighing.relative_humidity),
        ("wind_speed", weighing.wind_speed_m_s),
        ("sun", weighing.sun_w_m2),
        ("cloud_cover", weighing.cloud_cover),
    ):
        filler.number(_SPECS[name], value)
    return SheetRow(filler.cells)
