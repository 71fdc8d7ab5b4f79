"""Any record as plain data, small enough to keep: what JSON holds, long tables abbreviated.

Up to a dozen numbers are kept one by one. Of more, twelve are kept with two sums of all of them,
the second weighed by place, so that two that change places are seen. Of many words twelve are kept
with a digest of all. Four records of one kind and more are kept field by field, each field so
abbreviated.
"""

from __future__ import annotations

import dataclasses
import hashlib
import math
from collections.abc import Iterator, Mapping, Sequence, Set
from datetime import date
from enum import Enum
from typing import Any, TypeAlias

import numpy as np

Plain: TypeAlias = "bool | int | float | str | list[Plain] | dict[str, Plain] | None"

FEW = 12  # so many of a row are kept one by one ...
FEW_RECORDS = 3  # ... and so many records
DIGITS = 9  # significant, of every number


def to_plain(thing: Any) -> Plain:
    """A record of any depth as lists, dictionaries, words and numbers of nine digits."""
    if isinstance(thing, Enum):
        return thing.name
    if thing is None or isinstance(thing, bool | int | str):
        return thing
    if isinstance(thing, np.ndarray | np.generic):
        return _array(np.asarray(thing))
    if isinstance(thing, float):
        return _number(thing)
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        names = [field.name for field in dataclasses.fields(thing)]
        return {name: to_plain(getattr(thing, name)) for name in names}
    if isinstance(thing, Mapping):
        return {_key(key): to_plain(value) for key, value in thing.items()}
    if isinstance(thing, Set):
        return to_plain(sorted(thing, key=str))
    if isinstance(thing, list | tuple):
        return _row(thing)
    if isinstance(thing, date):
        return thing.isoformat()
    raise TypeError(f"wanted something that can be kept, got {type(thing).__qualname__}")


def _number(value: float) -> Plain:
    return float(f"{value:.{DIGITS}g}") if math.isfinite(value) else str(value)


def _key(key: Any) -> str:
    if isinstance(key, tuple):
        return ", ".join(map(_key, key))
    return key.name if isinstance(key, Enum) else str(key)


def _array(array: Any) -> Plain:
    if array.dtype.kind in "mM":
        return _row([str(value) for value in array.ravel()])
    if array.size <= FEW or array.dtype.kind not in "biuf":
        return to_plain(array.tolist())
    flat = np.where(np.isfinite(array), array, 0).astype(float).ravel()
    return {
        "shape": list(array.shape),
        "some": [to_plain(value) for value in array.ravel()[_places(array.size)].tolist()],
        "sum": _number(float(flat.sum())),
        "sum by place": _number(float(flat @ np.arange(1, flat.size + 1)) / flat.size),
        "not finite": int((~np.isfinite(array)).sum()),
    }


def _places(size: int) -> list[int]:
    """Twelve places of a long row, both ends among them."""
    return [round(place) for place in np.linspace(0, size - 1, FEW).tolist()]


def _row(items: Sequence[Any]) -> Plain:
    """A list or tuple; one that is long and all of a kind is abbreviated."""
    kinds = {type(item) for item in items}
    if len(items) > FEW_RECORDS and len(kinds) == 1 and dataclasses.is_dataclass(items[0]):
        names = [field.name for field in dataclasses.fields(items[0])]
        columns = {name: _row([getattr(item, name) for item in items]) for name in names}
        return {"of": len(items), "each": columns}
    if len(items) > FEW:
        if kinds <= {bool} or kinds <= {int, float, np.float64}:
            return _array(np.asarray(items))
        if kinds <= {int, float, np.float64, type(None)}:
            return _array(np.array([np.nan if item is None else item for item in items]))
        if all(item is None or isinstance(item, str | Enum) for item in items):
            return _words([to_plain(item) for item in items])
        if all(isinstance(item, list | tuple) for item in items):
            return _table(items)
    return [to_plain(item) for item in items]


def _table(rows: Sequence[Sequence[Any]]) -> Plain:
    """Rows of one length, kept column by column; others one by one."""
    if len({len(row) for row in rows}) > 1 or not rows[0]:
        return [to_plain(row) for row in rows]
    return {"of": len(rows), "each": [_row(column) for column in zip(*rows, strict=True)]}


def _words(words: list[Plain]) -> Plain:
    digest = hashlib.sha256("\n".join(map(str, words)).encode()).hexdigest()[:16]
    return {"of": len(words), "some": [words[n] for n in _places(len(words))], "digest": digest}


def leaves(thing: Plain, path: str = "") -> Iterator[tuple[str, Plain]]:
    """Every number and word of a record with its place in it."""
    if isinstance(thing, dict) and thing:
        for name, value in thing.items():
            yield from leaves(value, f"{path}.{name}" if path else name)
    elif isinstance(thing, list) and thing:
        for number, value in enumerate(thing):
            yield from leaves(value, f"{path}[{number}]")
    else:
        yield path, thing
