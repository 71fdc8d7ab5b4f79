"""Logs of several devices as one, and what of a log stands. Both hang on no order of arrival.

A log is a set of entries and merging is the union of sets: commutative, associative, idempotent.
All judgement is made afterwards, from the whole set: which of two accounts under one id counts,
and which correction of several.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from stillwet.domain.log import Entry, Withdrawn

Log = frozenset[Entry]


@dataclass(frozen=True, slots=True)
class Standing:
    """What a log says once its corrections are followed.

    ``entries`` stand, in order of what happened. ``superseded`` have been corrected.
    ``contested``: corrections that lost to another of the same account, and accounts that lost to
    another under the same id; a person should look at them.
    """

    entries: tuple[Entry, ...]
    superseded: tuple[Entry, ...]
    contested: tuple[Entry, ...]


def in_order(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Entries by when they happened; ties by id and content, so that the order is always one."""
    return tuple(sorted(entries, key=lambda one: (one.when_s, one.id, one.content_hash)))


def standing(log: Iterable[Entry]) -> Standing:
    """Follow the corrections. Of several that correct one account, the one written last counts."""
    by_id, lost = _one_an_id(log)
    replaced = {one.replaces for one in by_id.values() if one.replaces is not None}
    stands: list[Entry] = []
    superseded: list[Entry] = []
    for account in _accounts(by_id):
        # In a circle of corrections, which only a fault can make, every entry is replaced.
        leaves = [one for one in account if one.id not in replaced] or account
        last = max(leaves, key=_lateness)
        stands.append(last)
        lost += [one for one in leaves if one is not last]
        superseded += [one for one in account if one not in leaves]
    return Standing(
        entries=in_order(one for one in stands if not isinstance(one.body, Withdrawn)),
        superseded=in_order(superseded),
        contested=in_order(lost),
    )


def _lateness(entry: Entry) -> tuple[float, str, str]:
    return entry.written_s, entry.id, entry.content_hash


def _one_an_id(log: Iterable[Entry]) -> tuple[dict[str, Entry], list[Entry]]:
    """The entries by id; of different ones under one id, the last written, and the others."""
    by_id: dict[str, Entry] = {}
    lost: list[Entry] = []
    for entry in set(log):
        known = by_id.setdefault(entry.id, entry)
        if known is not entry:
            winner, loser = sorted((known, entry), key=_lateness, reverse=True)
            by_id[entry.id] = winner
            lost.append(loser)
    return by_id, lost


def _accounts(by_id: dict[str, Entry]) -> list[list[Entry]]:
    """Entries grouped by what they are about: each with all that corrects it, directly or not."""
    account_of: dict[str, str] = {}

    def root(name: str) -> str:
        while account_of.setdefault(name, name) != name:
            name = account_of[name]
        return name

    for entry in by_id.values():
        if entry.replaces is not None:
            account_of[root(entry.id)] = root(entry.replaces)
    groups: dict[str, list[Entry]] = {}
    for entry in by_id.values():
        groups.setdefault(root(entry.id), []).append(entry)
    return list(groups.values())
