"""One error shape for the whole house: which field, what was wanted, what came, what to do next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault in what a user handed over.

    ``place`` names the row, line or key ("yard.csv, row 17"); ``hint`` is the next step, or empty.
    """

    field: str
    wanted: str
    got: str
    place: str = ""
    hint: str = ""

    def __str__(self) -> str:
        where = f" ({self.place})" if self.place else ""
        hint = f"; {self.hint}" if self.hint else ""
        return f"{self.field}: wanted {self.wanted}, got {self.got}{where}{hint}"


class StillwetError(Exception):
    """Bad input, carrying every problem found, so that all bad rows are reported together."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (
            (problems,) if isinstance(problems, Problem) else tuple(problems)
        )
        super().__init__("\n".join(str(problem) for problem in self.problems))


def shown(value: object, limit: int = 60) -> str:
    """The value as a person should see it in a message: quoted if text, cut if long."""
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= limit else text[: limit - 3] + "..."
