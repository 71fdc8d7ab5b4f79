"""Field logs: entries of every kind, and histories written on several devices."""

from __future__ import annotations

import random
import uuid
from typing import Any

from hypothesis import strategies as st

from job_strategies import NAMES, WORDS, maybe, number
from stillwet.domain.log import (
    Body,
    CoatChecked,
    CoatLaid,
    Entry,
    Fate,
    Feel,
    FirePassed,
    Ignition,
    Outcome,
    SegmentLit,
    SegmentWetted,
    Spill,
    Stock,
    WashedOff,
    WeatherSeen,
    Withdrawn,
)

MOMENT_S = 1_786_716_000.0
FACES = ("a1/north-wall", "a1/roof", "a2/east-side")


def ids(source: random.Random) -> str:
    """A fresh UUID from a seeded source."""
    return str(uuid.UUID(int=source.getrandbits(128), version=4))


UUIDS = st.uuids().map(str)
SEEN = st.builds(
    WeatherSeen,
    maybe(number(233.15, 333.15)),
    maybe(number(0, 1)),
    maybe(number(0, 60)),
    maybe(number(0, 360)),
    st.booleans(),
)
COATS: st.SearchStrategy[Any] = st.one_of(
    *(
        st.builds(
            CoatLaid,
            st.lists(NAMES, min_size=1, max_size=3, unique=True).map(tuple),
            WORDS,
            maybe(number(1e-5, 0.5)),
            **amount,
            seen=maybe(SEEN),
        )
        for amount in (
            {"coat_kg_m2": number(0.05, 50)},
            {"mix_m3": number(1e-4, 100)},
            {},
        )
    )
)
AMOUNTS = maybe(number(0, 1000))
BODIES: st.SearchStrategy[Any] = st.one_of(
    COATS,
    st.builds(CoatChecked, NAMES, st.sampled_from(list(Feel)), maybe(number(0, 50)), WORDS, WORDS),
    SEEN,
    st.builds(Ignition, NAMES),
    st.builds(
        SegmentWetted,
        NAMES,
        maybe(number(0, 5e4)),
        WORDS,
        maybe(number(0.05, 20)),
        maybe(number(1e-4, 100)),
    ),
    st.builds(SegmentLit, NAMES, maybe(number(0, 5e4))),
    st.builds(FirePassed, NAMES),
    st.builds(Outcome, NAMES, st.sampled_from(list(Fate))),
    st.builds(Stock, NAMES, number(0, 1000), AMOUNTS, AMOUNTS, AMOUNTS),
    st.builds(Spill, NAMES, NAMES, maybe(number(0, 100)), st.booleans()),
    st.builds(WashedOff, st.lists(NAMES, min_size=1, max_size=3, unique=True).map(tuple)),
)
ENTRIES = st.builds(
    Entry,
    id=UUIDS,
    when_s=number(0, 7e9),
    written_s=number(0, 7e9),
    writer=NAMES,
    device=WORDS,
    body=BODIES,
    replaces=st.none(),
    note=WORDS,
)


def history(seed: int) -> list[frozenset[Entry]]:
    """What two to four devices wrote: own entries, corrections of any, also crossing ones.

    Devices hear of each other's entries at random, clocks are off, some entries are sent twice,
    and once in a while one id stands for two accounts or corrections run in a circle.
    """
    source = random.Random(seed)
    devices: list[set[Entry]] = [set() for _ in range(source.randint(2, 4))]
    skews = [source.gauss(0.0, 600.0) for _ in devices]
    for step in range(source.randint(0, 25)):
        which = source.randrange(len(devices))
        if source.random() < 0.2:
            heard = source.choice(devices)
            devices[which] |= set(source.sample(sorted(heard, key=_key), len(heard) // 2))
            continue
        entry = _write(source, devices[which], MOMENT_S + 60.0 * step + skews[which], f"d{which}")
        devices[which].add(entry)
        if source.random() < 0.05:
            devices[which].add(_twin(source, entry))
    return [frozenset(device) for device in devices]


def _key(entry: Entry) -> tuple[str, str]:
    return entry.id, entry.content_hash


def _write(source: random.Random, known: set[Entry], now_s: float, device: str) -> Entry:
    target = source.choice(sorted(known, key=_key)) if known and source.random() < 0.5 else None
    name = ids(source)
    if target is not None and target.replaces is not None and source.random() < 0.1:
        name = target.replaces  # a circle: only a fault can make one
        target = target if target.id != name else None
    body: Body = _body(source)
    if target is not None and source.random() < 0.2:
        body = Withdrawn()
    return Entry(
        id=name,
        when_s=max(0.0, now_s - source.expovariate(1 / 600.0)),
        written_s=now_s,
        writer=device,
        device=device,
        body=body,
        replaces=None if target is None else target.id,
    )


def _body(source: random.Random) -> Body:
    face = source.choice(FACES)
    bodies: list[Body] = [
        CoatLaid((face,), coat_kg_m2=round(source.uniform(1, 6), 1)),
        CoatChecked(face, feel=source.choice(list(Feel))),
        WeatherSeen(air_temperature_k=source.uniform(280, 310)),
        FirePassed(face.split("/")[0]),
    ]
    return source.choice(bodies)


def _twin(source: random.Random, entry: Entry) -> Entry:
    return Entry(
        id=entry.id,
        when_s=entry.when_s,
        written_s=entry.written_s + source.choice([0.0, 5.0]),
        writer=entry.writer,
        device=entry.device,
        body=entry.body,
        replaces=entry.replaces,
        note="told otherwise",
    )
