"""Keeps whole answers in files, and tells what has changed since.

A room's answers stand in a package of this folder: its GROUPS name, for each group, a function for
each answer. A group is kept in one file, ``tests/data/kept/<room>/<group>.json``. A kept answer
proves that nothing changed unseen; it does not prove that anything is right.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from functools import cache
from itertools import zip_longest
from pathlib import Path
from typing import Any

from kept.plain import Plain, to_plain

Answers = Mapping[str, Callable[[], object]]  # of a group: what each answer is made by
Groups = Mapping[str, Answers]  # of a room

FOLDER = Path(__file__).resolve().parent.parent / "data" / "kept"
COMMAND = "python tests/kept/keep.py"
RELATIVE, ABSOLUTE = 1e-6, 1e-12  # how far a number may be from the one that was kept
_MOST_TOLD = 20
_MOST_SHOWN = 1000
_NONE: Any = object()  # in the place of what is not there
_WIDTH = 200  # of a line of a file


def compare(
    kept: Plain,
    came: Plain,
    path: str = "",
    *,
    relative: float = RELATIVE,
    absolute: float = ABSOLUTE,
) -> list[str]:
    """A line for each difference: where in the record, what was kept, what came."""
    if isinstance(kept, dict) and isinstance(came, dict):
        names = {name: f"{path}.{name}" if path else name for name in {**kept, **came}}
        within = [(kept.get(name, _NONE), came.get(name, _NONE), at) for name, at in names.items()]
    elif isinstance(kept, list) and isinstance(came, list):
        pairs = enumerate(zip_longest(kept, came, fillvalue=_NONE))
        within = [(one, other, f"{path}[{number}]") for number, (one, other) in pairs]
    else:
        is_same = _is_same(kept, came, relative, absolute)
        return [] if is_same else [f"{path}: kept {_short(kept)}, came {_short(came)}"]
    told = []
    for one, other, at in within:
        told += compare(one, other, at, relative=relative, absolute=absolute)
    return told


def _short(value: Plain) -> str:
    text = "nothing" if value is _NONE else repr(value)
    return text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}..."


def _is_same(kept: Plain, came: Plain, relative: float, absolute: float) -> bool:
    both = (kept, came)
    if any(isinstance(each, bool) or not isinstance(each, int | float) for each in both):
        return type(kept) is type(came) and kept == came
    if all(isinstance(each, int) for each in both):
        return kept == came
    assert isinstance(kept, int | float) and isinstance(came, int | float)  # noqa: PT018
    return math.isclose(kept, came, rel_tol=relative, abs_tol=absolute)


@cache
def load(room: str, group: str) -> dict[str, Plain]:
    """The kept answers of a group, by name; none where nothing was ever kept."""
    path = _path(room, group)
    return dict(json.loads(path.read_text(encoding="utf-8"))) if path.exists() else {}


def assert_kept(room: str, group: str, name: str, answer: object) -> None:
    """Fails with every difference between an answer and the one that was kept."""
    kept = load(room, group)
    assert name in kept, f"nothing is kept of {name!r} in {room}/{group}: run {COMMAND} {room}"
    told = compare(kept[name], to_plain(answer))
    more = [f"... and {len(told) - _MOST_TOLD} more"] if len(told) > _MOST_TOLD else []
    hint = f"meant so? then look at every difference of: {COMMAND} {room}"
    assert not told, "\n".join([f"{name} in {room}/{group}:", *told[:_MOST_TOLD], *more, hint])


def keep(room: str, group: str, answers: Answers) -> list[str]:
    """Write the answers of a group; what has changed since they were last kept.

    What is the same within the tolerances stays as it was written.
    """
    kept = load(room, group)
    told = [f"{name}: gone" for name in kept if name not in answers]
    written: dict[str, Plain] = {}
    for name, make in answers.items():
        came = to_plain(make())
        changed = compare(kept[name], came) if name in kept else ["new"]
        told += [f"{name}: {line}" for line in changed]
        written[name] = came if changed else kept[name]
    if told:
        path = _path(room, group)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(_written(written) + "\n", encoding="utf-8", newline="\n")
        load.cache_clear()
    return told


def _path(room: str, group: str) -> Path:
    return FOLDER / room / f"{group}.json"


def _written(thing: Plain, indent: str = "", head: str = "") -> str:
    """JSON in which what fits on a line stands on one, so that a change is easy to read."""
    line = json.dumps(thing, ensure_ascii=False)
    if len(indent) + len(head) + len(line) < _WIDTH or not thing:
        return line
    inner = indent + " "
    if isinstance(thing, dict):
        heads = [f"{json.dumps(name, ensure_ascii=False)}: " for name in thing]
        rows = [
            inner + head + _written(value, inner, head)
            for head, value in zip(heads, thing.values(), strict=True)
        ]
        return "{\n" + ",\n".join(rows) + f"\n{indent}}}"
    if isinstance(thing, list):
        rows = [inner + _written(value, inner) for value in thing]
        return "[\n" + ",\n".join(rows) + f"\n{indent}]"
    return line
