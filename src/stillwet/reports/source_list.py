"""Where the numbers on the sheets came from: each source once, in a numbered list."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from stillwet.domain.basis import BasisKind, Input
from stillwet.reports.words import (
    Units,
    clean,
    input_interval,
    input_name,
    input_value,
    is_untested,
)

_BREAK_EVERY = 14  # letters; words longer than that may break


@dataclass
class SourceList:
    """Collects sources while the pages are written; the same source keeps its number."""

    units: Units
    numbers: dict[str, int] = field(default_factory=dict)

    def cite(self, item: Input) -> int:
        """The number of an input's source."""
        source = clean(item.basis.source) or str(item.basis.kind)
        return self.numbers.setdefault(source, len(self.numbers) + 1)

    def paragraphs(self, inputs: Sequence[Input]) -> list[dict[str, Any]]:
        """One paragraph a kind of source, untested defaults first because they need eyes."""
        kinds = [
            BasisKind.UNTESTED,
            *(kind for kind in BasisKind if kind is not BasisKind.UNTESTED),
        ]
        found = []
        for kind in kinds:
            items = [item for item in inputs if item.basis.kind is kind]
            if items:
                untested = kind is BasisKind.UNTESTED
                words = breakable(self._cited(items))
                found.append({"kind": str(kind), "untested": untested, "words": words})
        return found

    def _cited(self, items: Iterable[Input]) -> str:
        groups: dict[str, list[str]] = {}
        for item in items:
            groups.setdefault(self._mention(item), []).append(told(item, self.units))
        return "; ".join(f"{', '.join(group)} {mention}" for mention, group in groups.items())

    def _mention(self, item: Input) -> str:
        """The file a given number stood in, in full; any other source by its number."""
        is_given = item.basis.kind is BasisKind.GIVEN
        return f"({clean(item.basis.source)})" if is_given else f"[{self.cite(item)}]"

    def untested_line(self, inputs: Sequence[Input]) -> str:
        """The untested defaults among the inputs in one line, without numbers."""
        return breakable("; ".join(told(item, self.units) for item in inputs if is_untested(item)))

    def listed(self) -> list[list[str]]:
        """The list of sources: number and words."""
        return [[str(number), breakable(source)] for source, number in self.numbers.items()]


def told(item: Input, units: Units) -> str:
    """An input in a few words: "coat variation 0.35 (0.2 to 0.6)"."""
    interval = input_interval(item, units)
    shown = f"{input_name(item.name)} {input_value(item, units)}"
    return f"{shown} ({interval})" if interval else shown


def breakable(text: str) -> str:
    """The text with places to break inside words too long for a column (zero-width spaces)."""
    return " ".join(
        "\u200b".join(word[at : at + _BREAK_EVERY] for at in range(0, len(word), _BREAK_EVERY))
        for word in text.split(" ")
    )
