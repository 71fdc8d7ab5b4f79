"""Keeps whole answers in files, and tells what has changed since.

A room's answers stand in a package of this folder: its GROUPS name, for each group, a function for
each answer. A group is kept in one file, ``tests/data/kept/<room>/<group>.json``. A kept answer
proves that nothing changed unseen; it does not prove that anything is right.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path

from kept.plain import Plain, to_plain

Answers = Mapping[str, Callable[[], object]]  # of a group: what each answer is made by
Groups = Mapping[str, Answers]  # of a room

FOLDER = Path(__file__).resolve().parent.parent / "data" / "kept"
COMMAND = "python tests/kept/keep.py"
RELATIVE, ABSOLUTE = 1e-6, 1e-12  # how far a number may be from the one that was kept
_MOST_TOLD = 20
_WIDTH = 200  # of a line of a file


def compare(
    kept: Plain, came: Plain, *, relative: float = RELATIVE, absolute: float = ABSOLUTE
) -> list[str]:
    """A line for each difference: where in the record, what was kept, what came."""
    old, new = dict(leaves(kept)), dict(leaves(came))
    told = []
    for path in {**old, **new}:
        if path not in new:
            told.append(f"{path}: kept {old[path]!r}, gone now")
        elif path not in old:
            told.append(f"{path}: came {new[path]!r}, nothing was kept")
        elif not _is_same(old[path], new[path], relative, absolute):
            told.append(f"{path}: kept {old[path]!r}, came {new[path]!r}")
    return told


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
