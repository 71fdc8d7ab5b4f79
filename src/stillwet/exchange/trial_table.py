"""Trials written as the table they are read from (CSV), for the next job. SI, units in cells."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from datetime import UTC, datetime

from stillwet.domain.trials import Coupon, DryingSeries, Trial, TrialRecord, Weighing
from stillwet.exchange.guard import guarded
from stillwet.exchange.products import ratio_word
from stillwet.exchange.sheets import flag_word
from stillwet.exchange.trial_cells import Numbers, mix_numbers, reading_numbers, weighing_numbers
from stillwet.exchange.trials import TRIAL_COLUMNS

Row = dict[str, str]


def trials_csv_text(records: Iterable[TrialRecord]) -> str:
    """The trials as CSV text (RFC 4180, CRLF); reading it again gives the same trials.

    A mix with two readings of one kind, which a row cannot hold, becomes two rows, the later ones
    with the same id and a number. A moment that was not written down stays out.
    """
    rows = [row for record in records for row in _rows(record)]
    names = [name for name in TRIAL_COLUMNS.names if any(name in row for row in rows)]
    page = io.StringIO()
    writer = csv.writer(page)
    writer.writerow(names)
    writer.writerows([guarded(row.get(name, "")) for name in names] for row in rows)
    return page.getvalue()


def _rows(record: TrialRecord) -> list[Row]:
    if isinstance(record, DryingSeries):
        return [_weighing(record, weighing) for weighing in record.weighings]
    return _mix(record)


def _mix(trial: Trial) -> list[Row]:
    rows: list[Row] = []
    for reading in trial.readings:
        cells = _cells(reading_numbers(reading))
        if isinstance(reading, Coupon):
            cells["slid"] = flag_word(reading.slid)
        free = next((row for row in rows if not row.keys() & cells.keys()), None)
        if free is None:
            rows.append(_head(trial, len(rows)) | cells)
        else:
            free |= cells
    return rows


def _head(trial: Trial, number: int) -> Row:
    row = {
        "id": trial.id if number == 0 else f"{trial.id} ({number + 1})",
        "product": trial.product_id,
        "ratio_basis": ratio_word(trial.ratio_basis),
        "water": trial.water,
    } | _cells(mix_numbers(trial))
    return row | ({"when": _when(trial.when_s)} if trial.when_s else {})


def _when(time_s: float) -> str:
    return datetime.fromtimestamp(time_s, UTC).isoformat()


def _cells(numbers: Numbers) -> Row:
    """Numbers with every figure, each with its unit where it has one."""
    units = {name: spec.unit for name, spec in TRIAL_COLUMNS.quantities.items()}
    return {name: f"{value!r} {units.get(name, '')}".strip() for name, value in numbers.items()}


def _weighing(series: DryingSeries, weighing: Weighing) -> Row:
    words = {"series": series.id, "when": _when(weighing.when_s), "product": series.product_id}
    return words | _cells(weighing_numbers(series, weighing))
