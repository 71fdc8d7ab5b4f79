"""Trials written as the table they are read from (CSV), for the next job. SI, units in cells."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from datetime import UTC, datetime

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
from stillwet.exchange.trials import TRIAL_COLUMNS
from stillwet.units import from_si

Row = dict[str, str]

_BASES = {RatioBasis.VOLUME: "volume", RatioBasis.MASS: "mass"}


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
    writer.writerows([_safe(row.get(name, "")) for name in names] for row in rows)
    return page.getvalue()


def _safe(cell: str) -> str:
    """A name that no spreadsheet will run (OWASP, "CSV Injection"); the numbers never start so."""
    return f"'{cell}" if cell.startswith(("=", "+", "-", "@", "\t", "\r")) else cell


def _rows(record: TrialRecord) -> list[Row]:
    if isinstance(record, DryingSeries):
        return [_weighing(record, weighing) for weighing in record.weighings]
    return _mix(record)


def _mix(trial: Trial) -> list[Row]:
    rows: list[Row] = []
    for reading in trial.readings:
        cells = _reading(reading)
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
        "ratio": f"{trial.ratio!r} fraction",
        "ratio_basis": _BASES[trial.ratio_basis],
        "water": trial.water,
        "hardness": f"{from_si(trial.hardness_kg_m3, 'mg/l')!r} mg/l",
        "water_temperature": f"{trial.water_temperature_k!r} K",
        "age": f"{trial.age_s!r} s",
    }
    return row | ({"when": _when(trial.when_s)} if trial.when_s else {})


def _when(time_s: float) -> str:
    return datetime.fromtimestamp(time_s, UTC).isoformat()


def _reading(reading: Reading) -> Row:
    match reading:
        case YieldEstimate():
            return {"yield_stress": f"{reading.yield_pa!r} Pa"}
        case Slump():
            return {"slump": f"{reading.slump_m!r} m", "cylinder_height": f"{reading.height_m!r} m"}
        case Spread():
            return {
                "spread_diameter": f"{reading.diameter_m!r} m",
                "spread_volume": f"{reading.volume_m3!r} m3",
            }
        case Coupon():
            slough = {} if reading.slough_s is None else {"slough_time": f"{reading.slough_s!r} s"}
            return {
                "coat": f"{reading.coat_kg_m2!r} kg/m2",
                "tilt": f"{reading.tilt_deg!r} deg",
                "slid": "yes" if reading.slid else "no",
            } | slough
        case Viscosity():
            spindle = {} if reading.spindle is None else {"spindle": str(reading.spindle)}
            return {
                "viscosity": f"{reading.viscosity_pa_s!r} Pa s",
                "speed_rpm": repr(reading.revolutions_per_min),
            } | spindle
        case Funnel():
            return {
                "funnel": f"{reading.seconds!r} s",
                "funnel_volume": f"{reading.volume_m3!r} m3",
            }


def _weighing(series: DryingSeries, weighing: Weighing) -> Row:
    cloud = weighing.cloud_cover
    return {
        "series": series.id,
        "when": _when(weighing.when_s),
        "product": series.product_id,
        "ratio": f"{series.solids_share!r} fraction",
        "coat": f"{weighing.mass_kg_m2!r} kg/m2",
        "tilt": f"{series.tilt_deg!r} deg",
        "coupon_side": f"{series.length_m!r} m",
        "air_temperature": f"{weighing.air_temperature_k!r} K",
        "relative_humidity": f"{weighing.relative_humidity!r} fraction",
        "wind_speed": f"{weighing.wind_speed_m_s!r} m/s",
        "sun": f"{weighing.sun_w_m2!r} W/m2",
    } | ({} if cloud is None else {"cloud_cover": f"{cloud!r} fraction"})
