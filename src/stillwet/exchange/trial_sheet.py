"""Trials as rows of a table that ``trials.read_trials`` reads back to the same trials."""

from __future__ import annotations

from typing import Any

from stillwet.domain.trials import Coupon, DryingSeries, Trial, TrialRecord, Weighing
from stillwet.errors import Problem, StillwetError
from stillwet.exchange.places import written_time
from stillwet.exchange.products import ratio_word
from stillwet.exchange.sheets import Filler, Sheet, SheetRow, flag_word
from stillwet.exchange.trial_cells import Numbers, mix_numbers, reading_numbers, weighing_numbers
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
    filler.word("ratio_basis", ratio_word(trial.ratio_basis))
    filler.word("water", trial.water)
    _number_cells(filler, mix_numbers(trial))
    for reading in trial.readings:
        _number_cells(filler, reading_numbers(reading))
        if isinstance(reading, Coupon):
            filler.cells["slid"] = flag_word(reading.slid)
    return SheetRow(filler.cells)


def _product_cell(filler: Filler, product_id: str) -> None:
    filler.word("product", "" if product_id == UNNAMED else product_id)


def _number_cells(filler: Filler, numbers: Numbers) -> None:
    for name, value in numbers.items():
        if name in _SPECS:
            filler.number(_SPECS[name], value)
        else:
            filler.plain(name, value)


def _weighing_row(series: DryingSeries, weighing: Weighing, zone: Any) -> SheetRow:
    filler = Filler()
    filler.word("series", series.id)
    filler.word("when", written_time(weighing.when_s, zone))
    _product_cell(filler, series.product_id)
    _number_cells(filler, weighing_numbers(series, weighing))
    return SheetRow(filler.cells)
