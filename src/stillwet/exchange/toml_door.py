"""TOML files: from bytes to sections whose keys are known, each value with its place."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.fields import Cell
from stillwet.exchange.files import decode_text
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.exchange.limits import MOST_TOML_BYTES, need_size

_LONG_KEY = re.compile(r"(?:[\w\"'-]{1,80}[ \t]{0,8}\.[ \t]{0,8}){40}")
_LINE = re.compile(r"\(at line (\d+), column \d+\)")


def load_toml(content: bytes, *, name: str, key: str) -> dict[str, Any]:
    """A TOML file as plain dictionaries; a fault names its line."""
    text = decode_text(content, name=name, key=key)
    need_size(content, MOST_TOML_BYTES, name=name, key=key, hint="put lists into CSV or map files")
    _need_short_keys(text, name, key)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line = _LINE.search(str(error))
        place = f"{name}, line {line[1]}" if line else name
        got = _LINE.sub("", str(error)).strip()
        raise StillwetError(Problem(key, "a TOML file", got, place)) from None
    except (ValueError, RecursionError):
        raise StillwetError(
            Problem(key, "a TOML file", "numbers or nesting too long", name)
        ) from None


def _need_short_keys(text: str, name: str, key: str) -> None:
    """Raise for a key of very many parts: reading it takes time by the square of their number."""
    if match := _LONG_KEY.search(text):
        line = text.count("\n", 0, match.start()) + 1
        wanted, got = "keys of a few parts", "a key of forty parts and more"
        raise StillwetError(Problem(key, wanted, got, f"{name}, line {line}"))


@dataclass(frozen=True, slots=True)
class Section:
    """One table of a TOML file, such as [fire], with the place its values are reported at."""

    label: str
    place: str
    values: Mapping[str, Any]

    def cells(self, names: Iterable[str]) -> dict[str, Cell]:
        """The values of these keys, ready to be read."""
        return {name: Cell(self.values[name], self.place) for name in names if name in self.values}

    def text(self, name: str, findings: Findings) -> str | None:
        """A text value, or None when it is missing or not a text (which is noted)."""
        raw = self.values.get(name)
        if raw is None or isinstance(raw, str):
            return raw
        findings.add(Problem(name, "a text in quotes", shown(raw), self.place))
        return None

    def table(self, name: str, findings: Findings) -> dict[str, Any]:
        """A nested table; empty when it is missing or not a table (which is noted)."""
        raw = self.values.get(name, {})
        if isinstance(raw, dict):
            return raw
        findings.add(Problem(name, "a table { ... }", shown(raw), self.place))
        return {}

    def check_keys(self, known: Iterable[str], findings: Findings) -> None:
        """Note every key that is not known, with the nearest one that is."""
        allowed = list(known)
        for key in self.values:
            if key not in allowed:
                wanted = "one of the keys " + ", ".join(allowed)
                hint = nearest_hint(key, allowed)
                findings.add(Problem(self.label, wanted, shown(key), self.place, hint))


def section_of(
    data: Mapping[str, Any], label: str, *, name: str, findings: Findings
) -> Section | None:
    """The table of this label, or None when the file has none or something else there."""
    if label not in data:
        return None
    if not isinstance(data[label], dict):
        wanted = f"a table headed [{label}]"
        findings.add(Problem(label, wanted, shown(data[label]), name))
        return None
    return Section(f"[{label}]", f"{name}, [{label}]", data[label])


def sections_of(
    data: Mapping[str, Any], label: str, *, name: str, findings: Findings
) -> list[Section]:
    """The tables of an array headed [[label]]; a single [label] counts as one."""
    raw = data.get(label, [])
    rows = [raw] if isinstance(raw, dict) else raw
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        findings.add(Problem(label, f"tables headed [[{label}]]", shown(raw), name))
        return []
    return [
        Section(f"[[{label}]]", f"{name}, [[{label}]] {number}", row)
        for number, row in enumerate(rows, start=1)
    ]
