"""Hourly weather in and out of its tables; these rows are the weather, with no copy elsewhere."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.basis import Basis
from stillwet.domain.codec import CodecError, from_text, to_text
from stillwet.domain.weather import COLUMNS, ENSEMBLE_COLUMNS, Weather

Array = NDArray[np.float64]

_HEAD = (
    "source",
    "latitude_deg",
    "longitude_deg",
    "elevation_m",
    "wind_height_m",
    "time_zone",
    "issued_s",
    "sun_shift_s",
)


def save_weather(connection: sqlite3.Connection, weather: Weather) -> None:
    """Write the weather into tables that are empty, inside the transaction that is open."""
    head = [getattr(weather, name) for name in _HEAD]
    given = json.dumps([name for name in ENSEMBLE_COLUMNS if name in weather.ensemble])
    basis = to_text(weather.basis, Mapping[str, Basis])
    connection.execute(
        f"INSERT INTO forecasts (id, {', '.join(_HEAD)}, ensemble_columns, basis) "
        f"VALUES (1, {', '.join('?' * len(_HEAD))}, ?, ?)",
        (*head, given, basis),
    )
    columns = [weather.time_s, *(getattr(weather, name) for name in COLUMNS)]
    connection.executemany(
        f"INSERT INTO weather (id, forecast_id, time_s, {', '.join(COLUMNS)}) "
        f"VALUES (?, 1, ?, {', '.join('?' * len(COLUMNS))})",
        (
            (hour, *(float(column[hour - 1]) for column in columns))
            for hour in range(1, weather.hours + 1)
        ),
    )
    connection.executemany(
        f"INSERT INTO weather_members (weather_id, member, {', '.join(ENSEMBLE_COLUMNS)}) "
        f"VALUES (?, ?, {', '.join('?' * len(ENSEMBLE_COLUMNS))})",
        _member_rows(weather),
    )


def _member_rows(weather: Weather) -> Iterator[tuple[Any, ...]]:
    for hour in range(weather.hours):
        for member in range(weather.ensemble_size):
            values = (
                float(weather.ensemble[name][hour, member]) if name in weather.ensemble else None
                for name in ENSEMBLE_COLUMNS
            )
            yield (hour + 1, member, *values)


def load_weather(connection: sqlite3.Connection) -> Weather:
    """The weather that the tables hold; raises CodecError when there is none."""
    row = connection.execute(
        f"SELECT {', '.join(_HEAD)}, ensemble_columns, basis FROM forecasts"
    ).fetchone()
    if row is None:
        raise CodecError("no weather in the file")
    *head, told, basis = row
    given = from_text(told, tuple[str, ...])
    if not set(given) <= set(ENSEMBLE_COLUMNS):
        raise CodecError(f"no ensemble has the columns {told}")
    hours = _table(connection, f"SELECT time_s, {', '.join(COLUMNS)} FROM weather ORDER BY id")
    values: dict[str, Any] = dict(zip(_HEAD, head, strict=True))
    for name, column in zip(("time_s", *COLUMNS), hours.T, strict=True):
        values[name] = np.ascontiguousarray(column)
    return Weather(
        **values,
        basis=from_text(basis, Mapping[str, Basis]),  # type: ignore[type-abstract]
        ensemble=_ensemble(connection, hours.shape[0], given),
    )


def _ensemble(
    connection: sqlite3.Connection, hours: int, given: tuple[str, ...]
) -> dict[str, Array]:
    if not given:
        return {}
    found = _table(
        connection,
        f"SELECT {', '.join(given)} FROM weather_members ORDER BY weather_id, member",
    )
    if len(found) % hours:
        raise CodecError(f"{len(found)} rows of members in {hours} hours")
    return {
        name: np.ascontiguousarray(column.reshape(hours, -1))
        for name, column in zip(given, found.T, strict=True)
    }


def _table(connection: sqlite3.Connection, query: str) -> Array:
    """A query's rows as numbers; NULL is NaN, which is how SQLite keeps one."""
    rows = connection.execute(query).fetchall()
    if not rows:
        raise CodecError("no weather in the file")
    return np.array(rows, dtype=np.float64)
