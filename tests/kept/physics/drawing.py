"""Arguments drawn by a seed of each function's own name, and what it answers to them.

A function is asked with a dozen values at once, with the first of them as plain numbers, and at the
edges named for it; one that takes no arrays, a dozen times. What it refuses is kept by its words.
"""

from __future__ import annotations

import itertools
import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import StillwetError

COUNT = 12
Answer = Callable[[], object]
Arguments = Mapping[str, Any]


@dataclass(frozen=True)
class Between:
    """Drawn evenly between two ends, or evenly in the logarithm."""

    low: float
    high: float
    is_log: bool = False

    def drawn(self, random: np.random.Generator) -> NDArray[np.float64]:
        """A dozen of them."""
        places = (np.arange(COUNT) + random.random(COUNT)) / COUNT  # one in each twelfth
        mixed = places[np.argsort(random.random(COUNT))]
        if self.is_log:
            return np.asarray(self.low * (self.high / self.low) ** mixed)
        return np.asarray(self.low + (self.high - self.low) * mixed)


@dataclass(frozen=True)
class Every:
    """One value after the other, the whole asked for each."""

    values: Sequence[Any]


def to(low: float, high: float) -> Between:
    """Evenly between."""
    return Between(low, high)


def log(low: float, high: float) -> Between:
    """Evenly in the logarithm."""
    return Between(low, high, is_log=True)


def every(*values: Any) -> Every:
    """Each of these switches."""
    return Every(values)


def outcome(function: Callable[..., Any], arguments: Arguments) -> object:
    """What it answers, or the words in which it refuses."""
    try:
        return function(**arguments)
    except StillwetError as error:
        return {"refused": str(error)}


def many(function: Callable[..., Any], *, edges: Sequence[Arguments] = (), **ranges: Any) -> Answer:
    """Of a function that takes arrays: the first alone, all at once, then at the edges."""

    def answer() -> object:
        return [
            [
                outcome(function, _one(drawn, 0)),
                outcome(function, drawn),
                *(outcome(function, {**_one(drawn, 0), **edge}) for edge in edges),
            ]
            for drawn in _sets(function, ranges)
        ]

    return answer


def each(function: Callable[..., Any], *, edges: Sequence[Arguments] = (), **ranges: Any) -> Answer:
    """Of a function of single numbers: a dozen times, then at the edges."""

    def answer() -> object:
        return [
            [
                *(outcome(function, _one(drawn, row)) for row in range(COUNT)),
                *(outcome(function, {**_one(drawn, 0), **edge}) for edge in edges),
            ]
            for drawn in _sets(function, ranges)
        ]

    return answer


def row_of(
    function: Callable[..., Any], *, edges: Sequence[Arguments] = (), **ranges: Any
) -> Answer:
    """Of a function that takes some rows of numbers and nothing else will do: all at once."""

    def answer() -> object:
        return [
            [
                outcome(function, drawn),
                *(outcome(function, {**drawn, **edge}) for edge in edges),
            ]
            for drawn in _sets(function, ranges)
        ]

    return answer


def at(function: Callable[..., Any], *sets: Arguments) -> Answer:
    """With exactly these arguments."""
    return lambda: [outcome(function, each_of) for each_of in sets]


def seeded(name: str) -> np.random.Generator:
    """The chance that bears this name, on any machine."""
    return np.random.Generator(np.random.PCG64(zlib.crc32(name.encode())))


def _sets(function: Callable[..., Any], ranges: Arguments) -> Iterator[dict[str, Any]]:
    """What was drawn, once for each choice of the switches."""
    random = seeded(f"{function.__module__}.{function.__name__}")
    drawn = {
        name: given.drawn(random) if isinstance(given, Between) else given
        for name, given in ranges.items()
    }
    switches = {name: each.values for name, each in drawn.items() if isinstance(each, Every)}
    for values in itertools.product(*switches.values()):
        yield {**drawn, **dict(zip(switches, values, strict=True))}


def _one(drawn: Arguments, row: int) -> dict[str, Any]:
    """The numbers of one row of what was drawn, the rest as it is."""
    return {
        name: float(given[row])
        if isinstance(given, np.ndarray) and given.shape == (COUNT,)
        else given
        for name, given in drawn.items()
    }
