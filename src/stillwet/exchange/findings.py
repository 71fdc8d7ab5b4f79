"""What reading found: every fault, gathered so that all are reported together, and every remark."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace

from stillwet.errors import Problem, StillwetError, shown

MOST_SHOWN = 200  # a wrong unit in a long file faults every row; nobody reads further than this
_MOST_KEPT = 20_000  # a file of millions of faulty rows must not fill the memory with them


class Findings:
    """Gathers problems (which stop the job) and remarks (what was assumed, for the plan)."""

    def __init__(self) -> None:
        self._problems: list[Problem] = []
        self._dropped = 0
        self._remarks: list[str] = []

    def add(self, problem: Problem) -> None:
        """Note a fault."""
        if len(self._problems) < _MOST_KEPT:
            self._problems.append(problem)
        else:
            self._dropped += 1

    def tell(self, remark: str) -> None:
        """Note something the reader had to assume or leave out, once."""
        if remark not in self._remarks:
            self._remarks.append(remark)

    @contextmanager
    def catching(self, place: str = "") -> Iterator[None]:
        """Gather the faults of what runs inside instead of letting them stop the reading.

        A fault that does not know its own place is given ``place``.
        """
        try:
            yield
        except StillwetError as error:
            for problem in error.problems:
                placed = problem if problem.place or not place else replace(problem, place=place)
                self.add(placed)

    @property
    def count(self) -> int:
        """How many faults there are so far."""
        return len(self._problems) + self._dropped

    @property
    def remarks(self) -> tuple[str, ...]:
        """The remarks, in the order they arose."""
        return tuple(self._remarks)

    def problems(self) -> tuple[Problem, ...]:
        """The faults in the order found, each once; beyond ``MOST_SHOWN`` only their number."""
        every = tuple(dict.fromkeys(self._problems))
        if len(every) <= MOST_SHOWN:
            return every
        rest = len(every) - MOST_SHOWN + self._dropped
        more = Problem(
            "more problems", "none", f"{rest} further problems not shown", "", "mend these first"
        )
        return (*every[:MOST_SHOWN], more)

    def need_none(self) -> None:
        """Raise StillwetError with every fault there is."""
        if self.count:
            raise StillwetError(self.problems())


def note_doubles(findings: Findings, places_by_id: Iterable[tuple[str, str]], noun: str) -> None:
    """Note every (place, id) whose id has been used before, with all the places."""
    places: dict[str, list[str]] = {}
    for place, name in places_by_id:
        places.setdefault(name, []).append(place)
    for name, where in places.items():
        if len(where) > 1:
            got = f"{shown(name)} {len(where)} times"
            findings.add(Problem("id", f"each {noun} id once", got, " and ".join(where)))


def nearest_hint(name: str, known: Iterable[str]) -> str:
    """A hint naming the known word nearest to a misspelt one, or an empty text."""
    close = difflib.get_close_matches(name, list(known), n=1, cutoff=0.6)
    return f'did you mean "{close[0]}"?' if close else ""
