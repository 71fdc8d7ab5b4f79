"""Logs of several devices come to one and the same log, whatever the order."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from log_strategies import MOMENT_S, history, ids
from stillwet.domain.log import CoatChecked, CoatLaid, Entry, Feel, Withdrawn
from stillwet.domain.log_merge import Log, in_order, standing

NAMES = random.Random(1)


def entry(feel: Feel = Feel.WET, *, written: float = 0.0, replaces: str | None = None) -> Entry:
    """A check that somebody wrote so many seconds after the first moment."""
    return Entry(
        id=ids(NAMES),
        when_s=MOMENT_S,
        written_s=MOMENT_S + written,
        writer="Ash",
        device="phone",
        body=CoatChecked("a1/roof", feel=feel),
        replaces=replaces,
    )


def holds_for(seed: int) -> None:
    """Union in any order and grouping, twice over, is one log, and it stands for one thing."""
    logs = history(seed)
    source = random.Random(seed)
    whole = frozenset().union(*logs)
    for _ in range(3):
        shuffled = [list(in_order(log)) for log in source.sample(logs, len(logs))]
        for log in shuffled:
            source.shuffle(log)
        one_by_one: Log = frozenset()
        for log in shuffled:
            one_by_one = one_by_one.union(log, log)
        assert one_by_one == whole
    left = (logs[0] | logs[1]).union(*logs[2:])
    right = logs[0] | frozenset().union(*logs[1:])
    assert left == right == whole
    assert whole | whole == whole
    mixed = list(whole)
    source.shuffle(mixed)
    told = standing(mixed)
    assert told == standing(in_order(whole))
    nothing_is_lost(whole, told.entries + told.superseded + told.contested)


def nothing_is_lost(whole: Log, told: tuple[Entry, ...]) -> None:
    """Every entry stands, is superseded or is contested, once; only withdrawals fall silent."""
    assert len(told) == len(set(told))
    silent = whole - set(told)
    assert all(isinstance(one.body, Withdrawn) for one in silent)


@pytest.mark.parametrize("first", range(0, 300, 50))
def test_merging_hangs_on_no_order(first: int) -> None:
    """300 random histories: commutative, associative, idempotent, and the same judgement."""
    for seed in range(first, first + 50):
        holds_for(seed)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 10_000, 500))
def test_merging_hangs_on_no_order_10_000_times(first: int) -> None:
    """The same for 10,000 histories."""
    for seed in range(first, first + 500):
        holds_for(seed)


def test_the_last_correction_counts() -> None:
    """Of a check, its correction and the correction's correction, only the last one stands."""
    first = entry(Feel.WET)
    second = entry(Feel.TACKY, written=60, replaces=first.id)
    third = entry(Feel.DRY, written=120, replaces=second.id)
    told = standing([third, first, second])
    assert told.entries == (third,)
    assert set(told.superseded) == {first, second}
    assert told.contested == ()


def test_two_corrections_of_one_account() -> None:
    """Two devices corrected the same entry: the later one counts, the other is shown."""
    first = entry(Feel.WET)
    here = entry(Feel.TACKY, written=60, replaces=first.id)
    there = entry(Feel.DRY, written=90, replaces=first.id)
    told = standing([there, here, first])
    assert told.entries == (there,)
    assert told.contested == (here,)


def test_a_correction_counts_whatever_the_clocks_say() -> None:
    """The corrector's clock is an hour behind: the correction still replaces the entry."""
    first = entry(Feel.WET, written=3600)
    mended = entry(Feel.DRY, written=0, replaces=first.id)
    assert standing([first, mended]).entries == (mended,)


def test_a_withdrawn_entry_counts_for_nothing() -> None:
    """An entry that was a mistake and its withdrawal leave nothing standing."""
    first = entry()
    gone = replace(entry(written=60, replaces=first.id), body=Withdrawn())
    told = standing([first, gone])
    assert told.entries == ()
    assert told.superseded == (first,)


def test_a_correction_may_come_first() -> None:
    """A correction that comes before what it corrects stands already, and stays standing."""
    first = entry()
    mended = entry(Feel.DRY, written=60, replaces=first.id)
    assert standing([mended]).entries == (mended,)
    assert standing([mended, first]).entries == (mended,)


def test_one_id_with_two_accounts() -> None:
    """Two accounts under one id: the one written last counts and the other is shown."""
    first = entry()
    other = replace(first, written_s=first.written_s + 1, body=CoatLaid(("a1/roof",)))
    told = standing([first, other])
    assert told.entries == (other,)
    assert told.contested == (first,)
