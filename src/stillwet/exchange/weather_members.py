"""The members of an ensemble forecast: one long table or many columns become one draft."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.weather import ENSEMBLE_COLUMNS
from stillwet.errors import Problem, StillwetError
from stillwet.exchange.findings import Findings
from stillwet.exchange.tabular import Row
from stillwet.exchange.weather_series import RECORD_NAMES, Draft

Array = NDArray[np.float64]

MEMBER = "member"
_MOST_MEMBERS = 1000


def rows_by_member(rows: tuple[Row, ...], header: str) -> dict[str, tuple[Row, ...]]:
    """The rows of each member, in the order the members come; blank is a member of its own."""
    found: dict[str, list[Row]] = {}
    for row in rows:
        label = row.values.get(header)
        name = str(int(label)) if isinstance(label, float) and label == int(label) else str(label)
        found.setdefault(name, []).append(row)
    return {name: tuple(own) for name, own in found.items()}


def need_same_hours(times: Mapping[str, list[float]], *, name: str) -> None:
    """Raise unless every member has the hours of the first."""
    first, wanted = next(iter(times.items()))
    for label, own in times.items():
        if own != wanted:
            got = f"{len(own)} rows of member {label} that differ from the {len(wanted)} of {first}"
            raise StillwetError(Problem(MEMBER, "the same hours for every member", got, name))


def join_members(draft: Draft, columns: Mapping[str, Array], findings: Findings) -> None:
    """Put columns (hours, E) into the draft: the members where they may differ, and their mean.

    Wind direction is averaged round the compass; of rain the wettest member's counts.
    """
    size = max(column.shape[1] for column in columns.values())
    if size > _MOST_MEMBERS:
        raise StillwetError(
            Problem(MEMBER, f"at most {_MOST_MEMBERS} members", f"{size}", draft.name)
        )
    sizes = {column.shape[1] for column in columns.values()} - {1}
    if len(sizes) > 1 or 0 in sizes:
        got = " and ".join(map(str, sorted(sizes)))
        raise StillwetError(Problem(MEMBER, "one number of members", got, draft.name))
    for name, column in columns.items():
        draft.columns[name] = _of_all(name, column)
        if size > 1 and RECORD_NAMES[name] in ENSEMBLE_COLUMNS:
            draft.ensemble[RECORD_NAMES[name]] = np.ascontiguousarray(
                np.broadcast_to(column, (column.shape[0], size))
            )
    if size > 1:
        findings.tell(
            f"{draft.name}: an ensemble of {size} members; each is followed by its share of the "
            "plan's own, so what grows with lead time is the ensemble's spread"
        )


def _of_all(name: str, column: Array) -> Array:
    if name == "precipitation":
        return np.asarray(column.max(axis=1))
    if name != "wind_direction":
        return np.asarray(column.mean(axis=1))
    turn = np.radians(column)
    return np.asarray(np.degrees(np.arctan2(np.sin(turn).mean(1), np.cos(turn).mean(1))) % 360.0)
