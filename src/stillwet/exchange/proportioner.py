"""Proportioner checks from a table (CSV, XLSX) or TOML: readings with their units and errors."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from pathlib import Path, PurePath
from typing import Any

from stillwet.domain.basis import given
from stillwet.domain.products import RatioBasis
from stillwet.domain.proportioner import Measured, Method, ProportionerCheck, Standard
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock, read_zone
from stillwet.exchange.fields import Cell, Default, Picker, Quantity, is_labelled_by
from stillwet.exchange.files import Files
from stillwet.exchange.findings import Findings, note_doubles
from stillwet.exchange.products import RATIO_WORDS
from stillwet.exchange.records import TABLE_ENDINGS, Loose
from stillwet.exchange.tabular import Columns, match_columns, read_table
from stillwet.exchange.toml_door import load_toml, sections_of
from stillwet.tables import load_table
from stillwet.units import to_si

_SPECS = {
    spec.name: spec
    for spec in (
        Quantity("dial", "fraction", 1e-5, 0.5, "fraction"),
        Quantity("shown", "fraction", 0.0, 0.5, "fraction"),
        Quantity("known_ratio", "fraction", 0.0, 0.5, "fraction"),
        Quantity("mix_flow", "flow", 1e-6, 0.1, "m3/s"),
        Quantity("concentrate_flow", "flow", 1e-9, 0.1, "m3/s"),
        Quantity("drawn", "volume", 1e-6, 5.0, "m3"),
        Quantity("water_used", "volume", 1e-5, 50.0, "m3"),
        Quantity("mix_volume", "volume", 1e-5, 50.0, "m3"),
        Quantity("drawn_mass", "mass", 1e-4, 5000.0, "kg"),
        Quantity("seconds", "time", 1.0, 7200.0, "s"),
        Quantity("mix_density", "density", 900.0, 1300.0, "kg/m3"),
        Quantity("water_density", "density", 950.0, 1050.0, "kg/m3"),
        Quantity("concentrate_density", "density", 100.0, 3000.0, "kg/m3"),
        Quantity("conductivity", "conductivity", 0.0, 20.0, "S/m"),
    )
}
_WITHIN = {f"{name}_within": spec for name, spec in _SPECS.items()}
_WORDS = ("id", "when", "proportioner", "method", "ratio_basis", "water_stood_in", "note")
CHECK_COLUMNS = Columns(
    quantities={
        **_SPECS,
        **{
            name: Quantity(name, spec.dimension, 0.0, spec.high, spec.unit)
            for name, spec in _WITHIN.items()
        },
    },
    words=_WORDS,
)
_PARTS = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*:\s*(\d+(?:\.\d+)?)\s*$")  # concentrate : water

Checks = tuple[tuple[ProportionerCheck, ...], tuple[Standard, ...]]


def read_checks(
    path: Path, time_zone: str = "UTC"
) -> tuple[Checks | None, tuple[str, ...], tuple[Problem, ...]]:
    """The checks and calibration samples of a file, remarks, and every problem found.

    Times without a shift are read in ``time_zone``. Without problems the first is there.
    """
    findings = Findings()
    found: Checks | None = None
    with findings.catching():
        clock = read_zone(time_zone, field="--time-zone", place="")
        found = read_check_rows(_rows(path, findings), clock, findings)
    return (None if findings.count else found), findings.remarks, findings.problems()


def _rows(path: Path, findings: Findings) -> list[Loose]:
    content = Files(path.parent).read(path.name, key="proportioner file")
    suffix = PurePath(path.name).suffix.lower()
    if suffix == ".toml":
        data = load_toml(content, name=path.name, key="proportioner file")
        sections = sections_of(data, "check", name=path.name, findings=findings)
        if not sections:
            raise StillwetError(Problem("check", "tables headed [[check]]", "none", path.name))
        for section in sections:
            section.check_keys(CHECK_COLUMNS.names, findings)
        return [Loose(one.place, one.cells(CHECK_COLUMNS.names)) for one in sections]
    if suffix not in TABLE_ENDINGS:
        wanted = f"a file ending in {', '.join(TABLE_ENDINGS)} or .toml"
        raise StillwetError(Problem("proportioner file", wanted, shown(path.name)))
    table = read_table(content, name=path.name, key="proportioner file")
    matched = match_columns(table, CHECK_COLUMNS, findings)
    return [Loose(row.place, matched.cells(row)) for row in table.rows]


def read_check_rows(rows: list[Loose], clock: Clock, findings: Findings) -> Checks:
    """The checks and calibration samples in rows of any list; faults are noted."""
    checks: list[ProportionerCheck] = []
    standards: list[Standard] = []
    places: list[str] = []
    for number, row in enumerate(rows, start=1):
        picker = Picker(row.cells, row.place, findings, clock, _word_defaults(number))
        device = picker.text("proportioner")
        method = picker.word("method", tuple(Method))
        if picker.failed:
            continue
        with findings.catching():
            if picker.has("known_ratio"):
                standards.append(_standard(row, Method(method), device))
            else:
                check = _check(row, picker, Method(method), device)
                if check is not None:
                    checks.append(check)
                    places.append(row.place)
    note_doubles(findings, zip(places, (one.id for one in checks), strict=True), "check")
    _need_one_basis(checks, findings)
    if not checks and not findings.count:
        findings.add(Problem("checks", "at least one check", "none"))
    return tuple(checks), tuple(standards)


def _word_defaults(number: int) -> Mapping[str, Default]:
    return {
        "id": Default(f"check {number}", given("its row")),
        "proportioner": Default("proportioner", given("the only one")),
        "ratio_basis": Default("volume", given("volume unless said")),
    }


def _check(row: Loose, picker: Picker, method: Method, device: str) -> ProportionerCheck | None:
    when = picker.time("when") if picker.has("when") else None
    basis = picker.word("ratio_basis", RATIO_WORDS)
    identity = picker.text("id")
    stood_in = picker.flag("water_stood_in", otherwise=False)
    findings = picker.findings
    before = findings.count
    readings: dict[str, Measured] = {}
    for name in _SPECS:
        if name in row.cells and name != "dial":
            with findings.catching():
                readings[name] = _measured(row.cells, name, method)
    dial = None
    with findings.catching():
        dial = _dial(row)
    if picker.failed or findings.count > before or dial is None:
        return None
    flow = readings.get("mix_flow")
    return ProportionerCheck(
        id=identity,
        when_s=when,
        device=device,
        method=method,
        dial=dial,
        ratio_basis=RATIO_WORDS[basis],
        readings=readings,
        flow_m3_s=None if flow is None else flow.value,
        water_stood_in=stood_in,
    )


def _dial(row: Loose) -> Measured:
    """The ratio set, in percent or as parts of concentrate to parts of water."""
    cell = row.cells.get("dial")
    if cell is None:
        hint = "what the proportioner was set to; without it nothing can be said of its bias"
        raise StillwetError(Problem("dial", "the ratio that was set", "nothing", row.place, hint))
    parts = _PARTS.match(cell.raw) if isinstance(cell.raw, str) else None
    if parts is None:
        return _measured(row.cells, "dial", None)
    concentrate, water = float(parts[1]), float(parts[2])
    if concentrate <= 0.0:
        raise StillwetError(Problem("dial", "parts such as 1:100", shown(cell.raw), row.place))
    ratio = concentrate / (concentrate + water)
    return _measured({**row.cells, "dial": Cell(ratio, cell.place, "fraction")}, "dial", None)


def _measured(cells: Mapping[str, Cell], name: str, method: Method | None) -> Measured:
    """A reading with its half-width: the file's own, else the method's stated default."""
    spec, cell = _SPECS[name], cells[name]
    value = spec.read(cell)
    told = cells.get(f"{name}_within")
    if told is not None:
        return Measured(value, _within(told, spec, value))
    table = load_table("proportioner_methods")
    key = "" if method is None else method.replace(" ", "_")
    entry = table.get("dial") if name == "dial" else table.get(key, {}).get(name)
    return Measured(value, _default_within(entry, spec, value), is_assumed=True)


def _default_within(entry: Mapping[str, Any] | None, spec: Quantity, value: float) -> float:
    if entry is None:  # a reading that this method does not use
        return 0.0
    if entry.get("of_reading"):
        return float(entry["within"]) * value
    return to_si(float(entry["within"]), str(entry["unit"]), dimension=spec.dimension)


def _within(cell: Cell, spec: Quantity, value: float) -> float:
    """Half a width: in the reading's own unit, or a share of the reading ("5 %")."""
    name = f"{spec.name}_within"
    if spec.dimension != "fraction" and is_labelled_by(cell, "fraction"):
        return Quantity(name, "fraction", 0.0, 1.0, "fraction").read(cell) * value
    return Quantity(name, spec.dimension, 0.0, spec.high, spec.unit).read(cell)


def _standard(row: Loose, method: Method, device: str) -> Standard:
    if method is not Method.CONDUCTIVITY or "conductivity" not in row.cells:
        wanted = "a conductivity beside it: known samples calibrate that method"
        raise StillwetError(Problem("known_ratio", wanted, str(method), row.place))
    return Standard(
        device=device,
        ratio=_measured(row.cells, "known_ratio", method),
        conductivity=_measured(row.cells, "conductivity", method),
    )


def _need_one_basis(checks: Iterable[ProportionerCheck], findings: Findings) -> None:
    """One proportioner is told in one basis: a volume percent beside a mass percent misleads."""
    seen: dict[str, RatioBasis] = {}
    for check in checks:
        first = seen.setdefault(check.device, check.ratio_basis)
        if first is not check.ratio_basis:
            got = f"{first.value} and {check.ratio_basis.value}"
            wanted = f"one basis for all checks of {check.device}"
            findings.add(Problem("ratio_basis", wanted, got, check.id))
