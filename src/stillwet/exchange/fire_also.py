"""What burns beside the front: "burning wood pile 3 m from N; burning fence 2 m from E"."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping

from stillwet.domain.fire import StandingFire
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.fields import Cell, Default, Picker, Quantity
from stillwet.exchange.toml_door import Section
from stillwet.tables import load_table

ALSO = "also"
_AMOUNT = r"\d[\d.,/ ]*[a-z]+"
_WRITTEN = re.compile(
    rf"^\s*(?P<exposure>[a-z][a-z _-]*?)(?:\s+(?P<setback>{_AMOUNT}))??"
    rf"(?:\s+from\s+(?P<from>[^,]+?))?(?:\s*,?\s+(?P<flame_width>{_AMOUNT})\s+wide)?\s*$",
    re.IGNORECASE,
)
_LONGEST = 200  # letters of one fire: the pattern takes time by the square of their number
_EXAMPLE = 'write it as "burning fence 2 m from E, 6 m wide; burning shrub 1 m from S"'


def standing_fires() -> list[str]:
    """The named fires that burn where they stand."""
    return [name for name, row in load_table("exposures").items() if row["spread_rate_m_s"][0] == 0]


def read_also(
    picker: Picker,
    flame: Mapping[str, Quantity],
    named_fire: Mapping[str, Mapping[str, Default]],
) -> tuple[StandingFire, ...]:
    """Every standing fire of one asset; faults are noted and mark the picker as failed.

    ``flame`` are the quantities of a flame by name, ``named_fire`` each named fire's own numbers.
    """
    cell = picker.cells.get(ALSO)
    if cell is None:
        return ()
    before = picker.findings.count
    found = []
    for cells in _each(picker, cell):
        with picker.findings.catching():
            fire = _standing(cells, picker, flame, named_fire)
            if fire is not None:
                found.append(fire)
    picker.failed = picker.failed or picker.findings.count > before
    return tuple(found)


def _each(picker: Picker, cell: Cell) -> Iterator[dict[str, Cell]]:
    """The cells of each fire: from one text, or from [[fire.also]] tables, as such or as JSON."""
    listed = _listed(cell.raw)
    if isinstance(listed, list) and all(isinstance(row, dict) for row in listed):
        for number, row in enumerate(listed, start=1):
            place = f"{cell.place}, also {number}"
            section = Section("[[fire.also]]", place, row)
            section.check_keys(_KEYS, picker.findings)
            yield section.cells(_KEYS)
        return
    for part in str(cell.raw).split(";"):
        match = _WRITTEN.match(part) if len(part) <= _LONGEST else None
        if match is None or not isinstance(cell.raw, str):
            wanted = "fires that stand: what, how far, from where, how wide"
            picker.findings.add(Problem(ALSO, wanted, shown(cell.raw), cell.place, _EXAMPLE))
            return
        told = {name: text for name, text in match.groupdict().items() if text is not None}
        yield {name: Cell(text, cell.place) for name, text in told.items()}


def _listed(raw: object) -> object:
    """The tables of a cell that holds them as JSON text, as lists that are written hold them."""
    if not isinstance(raw, str) or not raw.startswith("["):
        return raw
    try:
        return json.loads(raw)
    except (ValueError, RecursionError):
        return raw


_KEYS = ("exposure", "setback", "from", "flame_length", "flame_width", "flame_tilt", "residence")


def _standing(
    cells: dict[str, Cell],
    picker: Picker,
    flame: Mapping[str, Quantity],
    named_fire: Mapping[str, Mapping[str, Default]],
) -> StandingFire | None:
    own = Picker(cells, picker.place, picker.findings, picker.clock)
    name = own.word("exposure", standing_fires())
    if not name:
        return None
    own.defaults = named_fire[name]
    numbers = {key: own.number(flame[key]) for key in _KEYS if key in flame}
    bearing = own.bearing("from") if own.has("from") else None
    if own.failed:
        return None
    basis = {key: own.basis[key] for key in numbers}
    if bearing is not None:
        basis["bearing"] = own.basis["from"]
    try:
        return StandingFire(
            name=name,
            flame_length_m=numbers["flame_length"],
            flame_width_m=numbers["flame_width"],
            flame_tilt_deg=numbers["flame_tilt"],
            residence_s=numbers["residence"],
            setback_m=numbers["setback"],
            bearing_deg=bearing,
            basis=basis,
        )
    except StillwetError as error:
        raise StillwetError(
            Problem(p.field, p.wanted, p.got, picker.place, p.hint) for p in error.problems
        ) from None
