"""Trials from a table (CSV, XLSX): mixes with their readings, and coats weighed while they dry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path, PurePath
from typing import Any

from stillwet.domain.basis import given
from stillwet.domain.products import Product, RatioBasis
from stillwet.domain.trials import (
    Coupon,
    DryingSeries,
    Funnel,
    Reading,
    Slump,
    Spread,
    Trial,
    TrialRecord,
    Viscosity,
    Weighing,
    YieldEstimate,
)
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock, read_zone
from stillwet.exchange.fields import Default, Picker, Quantity, is_labelled_by
from stillwet.exchange.files import Files, read_bytes
from stillwet.exchange.findings import Findings, note_doubles
from stillwet.exchange.products import RATIO_WORDS
from stillwet.exchange.records import TABLE_ENDINGS, Loose
from stillwet.exchange.tabular import Columns, Matched, Table, match_columns, read_table
from stillwet.exchange.toml_door import Section
from stillwet.tables import load_table

TRIALS_KEYS = ("file",)
UNNAMED = "the product"  # of rows that name none
_KEY = "trials file"
_SPECS = {
    spec.name: spec
    for spec in (
        Quantity("ratio", "fraction", 1e-5, 0.5, "fraction"),
        Quantity("hardness", "hardness", 0.0, 5.0, "g/L"),
        Quantity("water_temperature", "temperature", 273.15, 323.15, "K"),
        Quantity("age", "time", 1.0, 10 * 86400.0, "s"),
        Quantity("yield_stress", "pressure", 0.0, 2000.0, "Pa"),
        Quantity("slump", "length", 0.0, 0.5, "m"),
        Quantity("cylinder_height", "length", 0.01, 0.5, "m"),
        Quantity("spread_diameter", "length", 0.01, 2.0, "m"),
        Quantity("spread_volume", "volume", 1e-6, 0.02, "m3"),
        Quantity("coat", "water_depth", 0.01, 50.0, "kg/m2"),
        Quantity("tilt", "angle", 0.0, 90.0, "deg", bare=True),
        Quantity("slough_time", "time", 1.0, 86400.0, "s"),
        Quantity("viscosity", "viscosity", 1e-4, 100.0, "Pa s"),
        Quantity("speed_rpm", "", 0.3, 200.0),
        Quantity("funnel", "time", 20.0, 3600.0, "s"),
        Quantity("funnel_volume", "volume", 0.9e-3, 1.05e-3, "m3"),
        Quantity("weight", "mass", 1e-4, 200.0, "kg"),
        Quantity("board_weight", "mass", 0.0, 200.0, "kg"),
        Quantity("coupon_area", "area", 1e-3, 20.0, "m2"),
        Quantity("coupon_side", "length", 0.01, 5.0, "m"),
        Quantity("air_temperature", "temperature", 253.15, 333.15, "K"),
        Quantity("relative_humidity", "fraction", 0.0, 1.0, "fraction", bare=True),
        Quantity("wind_speed", "speed", 0.0, 40.0, "m/s"),
        Quantity("sun", "heat_flux", 0.0, 1500.0, "W/m2"),
        Quantity("cloud_cover", "fraction", 0.0, 1.0, "fraction", bare=True),
    )
}
_WORDS = ("id", "series", "when", "product", "ratio_basis", "water", "slid", "spindle", "note")
TRIAL_COLUMNS = Columns(quantities=_SPECS, words=_WORDS, required=("ratio",))
_QUART_M3 = 0.946352946e-3
_WARM_K = 294.15
_READINGS = (
    "yield_stress",
    "slump",
    "spread_diameter",
    "coat",
    "viscosity",
    "funnel",
)
_OF_COAT = ("ratio", "tilt", "coupon_side")  # of a coat that is weighed while it dries
_NEEDS = {"slump": "cylinder_height", "spread_diameter": "spread_volume", "coat": "tilt"}

Records = tuple[TrialRecord, ...]


def read_trials(
    path: Path, *, time_zone: str = "UTC", kind: str | None = None
) -> tuple[Records | None, tuple[str, ...], tuple[Problem, ...]]:
    """The trials of a file, remarks, and every problem found; without problems the first is there.

    ``kind`` is the product type, where it is known: a powder is then refused by volume.
    """
    findings = Findings()
    found: Records | None = None
    with findings.catching():
        clock = read_zone(time_zone, field="--time-zone", place="")
        content = read_bytes(path, name=path.name, key=_KEY)
        found = read_trial_bytes(content, path.name, clock=clock, kind=kind, findings=findings)
    return (None if findings.count else found), findings.remarks, findings.problems()


def read_trials_section(
    section: Section | None,
    product: Product | None,
    files: Files,
    clock: Clock,
    findings: Findings,
) -> Records:
    """The trials of the job's product, from the file that [trials] names."""
    if section is None or product is None:
        return ()
    section.check_keys(TRIALS_KEYS, findings)
    name = section.text("file", findings)
    if name is None:
        if "file" not in section.values:
            findings.add(Problem("file", "the name of a file", "nothing", section.place))
        return ()
    with findings.catching():
        content = files.read(name, key="[trials] file")
        every = read_trial_bytes(
            content, name, clock=clock, kind=product.product_type, findings=findings
        )
        return trials_of(every, product, name)
    return ()


def trials_of(records: Records, product: Product, name: str) -> Records:
    """Those trials that are this product's; rows that name no product are.

    Raises StillwetError where a file has other products' alone, or the product's in another basis.
    """
    own = tuple(one for one in records if one.product_id in (product.id, product.name, UNNAMED))
    if records and not own:
        ids = ", ".join(sorted({one.product_id for one in records}))
        raise StillwetError(Problem("product", f"trials of {product.id}", ids, name))
    for one in own:
        if isinstance(one, Trial) and one.ratio_basis is not product.ratio_basis:
            raise StillwetError(
                Problem(
                    "ratio_basis",
                    product.ratio_basis.value,
                    one.ratio_basis.value,
                    f"{name}, {one.id}",
                    "the label's basis and the trials' must be one",
                )
            )
    return own


def read_trial_bytes(
    content: bytes, name: str, *, clock: Clock, kind: str | None, findings: Findings
) -> Records:
    """The trials in a file's bytes; faults are noted, and the rows without any are given back."""
    table, matched = open_trials(content, name, findings)
    rows = [Loose(row.place, matched.cells(row)) for row in table.rows]
    return read_trial_rows(rows, clock, kind, findings)


def open_trials(content: bytes, name: str, findings: Findings) -> tuple[Table, Matched]:
    """The table in a file's bytes, and which column feeds which field."""
    need_table_name(name)
    table = read_table(content, name=name, key=_KEY)
    return table, match_columns(table, TRIAL_COLUMNS, findings)


def need_table_name(name: str) -> None:
    """Raise unless a file's name ends as a table's does."""
    if PurePath(name).suffix.lower() not in TABLE_ENDINGS:
        wanted = "a file ending in " + ", ".join(TABLE_ENDINGS)
        raise StillwetError(Problem(_KEY, wanted, shown(name)))


def read_trial_rows(
    rows: list[Loose], clock: Clock, kind: str | None, findings: Findings
) -> Records:
    """The trials in rows of any list; faults are noted, rows without any are given back."""
    trials: list[Trial] = []
    places: list[str] = []
    coats: dict[str, list[Loose]] = {}
    for number, row in enumerate(rows, start=1):
        if "series" in row.cells:
            coats.setdefault(str(row.cells["series"].raw).strip(), []).append(row)
            continue
        with findings.catching(row.place):
            trial = _trial(Picker(row.cells, row.place, findings, clock, _defaults(number, kind)))
            if trial is not None:
                trials.append(trial)
                places.append(row.place)
    note_doubles(findings, zip(places, (one.id for one in trials), strict=True), "trial")
    _need_one_basis(trials, kind, places, findings)
    _tell_copies(trials, places, findings)
    series = [_series(name, group, clock, findings) for name, group in coats.items()]
    return (*trials, *(one for one in series if one is not None))


def _defaults(number: int, kind: str | None) -> Mapping[str, Default]:
    usual = "volume" if kind is None else str(load_table("product_types")[kind]["ratio_basis"])
    return {
        "id": Default(f"trial {number}", given("its row")),
        "product": Default(UNNAMED, given("the only one")),
        "ratio_basis": Default(usual, given("as usual for its type")),
        "water": Default("water", given("the only one")),
        "tilt": Default(90.0, given("a wall")),
        "funnel_volume": Default(_QUART_M3, given("a quart")),
        "speed_rpm": Default(60.0, given("60 rpm")),
        "coupon_side": Default(0.3, given("0.3 m")),
        "board_weight": Default(0.0, given("taken off already")),
        "water_temperature": Default(_WARM_K, given("21 C")),
    }


def _trial(picker: Picker) -> Trial | None:
    """One mix with its readings, or None where a value is bad (noted)."""
    _need_no_volume(picker)
    ratio = picker.number(_SPECS["ratio"])
    hardness = picker.number(_SPECS["hardness"])
    age = picker.number(_SPECS["age"])
    warm = picker.number(_SPECS["water_temperature"])
    when = picker.time("when") if picker.has("when") else 0.0
    basis = picker.word("ratio_basis", RATIO_WORDS)
    words = {name: picker.text(name) for name in ("id", "product", "water")}
    if not picker.has("water_temperature"):
        picker.findings.tell("trials: water temperature taken as 21 C where a row gives none")
    readings = _readings(picker)
    if picker.failed:
        return None
    return Trial(
        id=words["id"],
        product_id=words["product"],
        when_s=when,
        ratio=ratio,
        ratio_basis=RATIO_WORDS[basis],
        water=words["water"],
        hardness_kg_m3=hardness,
        water_temperature_k=warm,
        age_s=age,
        readings=readings,
    )


def _need_no_volume(picker: Picker) -> None:
    """A ratio told as so many ounces is no ratio."""
    cell = picker.cells.get("ratio")
    for dimension in ("volume", "mass"):
        if cell is not None and is_labelled_by(cell, dimension):
            wanted = "percent of the finished mix"
            hint = "weigh a powder and divide by the weight of the mix"
            raise StillwetError(Problem("ratio", wanted, shown(cell.raw), cell.place, hint))


def _readings(picker: Picker) -> tuple[Reading, ...]:
    """Everything read off one mix."""
    numbers = {
        name: picker.number(_SPECS[name])
        for name in (*_READINGS, "cylinder_height", "spread_volume", "slough_time")
        if picker.has(name)
    }
    for name, other in _NEEDS.items():
        if name in numbers and other != "tilt" and other not in numbers:
            picker.failed = True
            picker.findings.add(Problem(other, f"a value beside {name}", "nothing", picker.place))
    tilt = picker.number(_SPECS["tilt"])
    slid = picker.flag("slid", otherwise=True)
    spindle = picker.whole("spindle", 1, 4) if picker.has("spindle") else None
    speed, quart = picker.number(_SPECS["speed_rpm"]), picker.number(_SPECS["funnel_volume"])
    if not picker.failed and not any(name in numbers for name in _READINGS):
        picker.failed = True
        wanted = "at least one reading: " + ", ".join(_READINGS)
        picker.findings.add(Problem("readings", wanted, "none", picker.place))
    if picker.failed:
        return ()
    found: list[Reading] = []
    if "yield_stress" in numbers:
        found.append(YieldEstimate(numbers["yield_stress"]))
    if "slump" in numbers:
        found.append(Slump(numbers["slump"], numbers["cylinder_height"]))
    if "spread_diameter" in numbers:
        found.append(Spread(numbers["spread_diameter"], numbers["spread_volume"]))
    if "coat" in numbers:
        found.append(Coupon(numbers["coat"], tilt, slid, numbers.get("slough_time")))
    if "viscosity" in numbers:
        found.append(Viscosity(numbers["viscosity"], spindle, speed))
    if "funnel" in numbers:
        found.append(Funnel(numbers["funnel"], quart))
    return tuple(found)


def _need_one_basis(
    trials: list[Trial], kind: str | None, places: list[str], findings: Findings
) -> None:
    """A volume percent beside a mass percent misleads, and so does a powder by volume."""
    usual = None if kind is None else str(load_table("product_types")[kind]["ratio_basis"])
    seen: dict[str, RatioBasis] = {}
    for trial, place in zip(trials, places, strict=True):
        if usual == "mass" and trial.ratio_basis is RatioBasis.VOLUME:
            hint = "weigh it: a scoop of powder holds half as much or twice as much"
            findings.add(Problem("ratio_basis", "mass, for a powder", "volume", place, hint))
            continue
        first = seen.setdefault(trial.product_id, trial.ratio_basis)
        if first is not trial.ratio_basis:
            wanted = f"one basis for all trials of {trial.product_id}"
            got = f"{first.value} and {trial.ratio_basis.value}"
            findings.add(Problem("ratio_basis", wanted, got, place))


def _tell_copies(trials: list[Trial], places: list[str], findings: Findings) -> None:
    """Rows that agree in everything are likelier a copy than so many readings."""
    seen: dict[object, list[str]] = {}
    for trial, place in zip(trials, places, strict=True):
        key = (trial.ratio, trial.hardness_kg_m3, trial.age_s, trial.readings)
        seen.setdefault(key, []).append(place)
    for where in seen.values():
        if len(where) > 1:
            findings.tell(
                f"{' and '.join(where)}: the same mix with the same readings to the last figure; "
                "each counts as a trial of its own, so take copies out"
            )


def _series(name: str, rows: list[Loose], clock: Clock, findings: Findings) -> DryingSeries | None:
    """One drying coat from its rows, in order of time, or None where something is bad (noted)."""
    defaults = _defaults(0, None)
    pickers = [Picker(row.cells, row.place, findings, clock, defaults) for row in rows]
    first = pickers[0]
    coat: dict[str, Any] = {own: first.number(_SPECS[own]) for own in _OF_COAT}
    coat["product"] = first.text("product")
    _need_one_coat(name, coat, pickers[1:])
    weighings = [_weighing(picker) for picker in pickers]
    made = [one for one in weighings if one is not None]
    if any(picker.failed for picker in pickers) or len(made) < len(weighings):
        return None
    with findings.catching(f"{first.place}, {name}"):
        return DryingSeries(
            id=name,
            product_id=coat["product"],
            solids_share=coat["ratio"],
            tilt_deg=coat["tilt"],
            length_m=coat["coupon_side"],
            weighings=tuple(sorted(made, key=lambda one: one.when_s)),
        )
    return None


def _need_one_coat(name: str, coat: Mapping[str, Any], later: Iterable[Picker]) -> None:
    """Note what a later weighing says otherwise of the coat than the first: it is another coat."""
    for picker in later:
        for own in (own for own in coat if picker.has(own)):
            told = picker.text(own) if own == "product" else picker.number(_SPECS[own])
            if told != coat[own] and not picker.failed:
                picker.failed = True
                got = f"{shown(picker.cells[own].raw)} after another in its first row"
                wanted = f"one {own} for all weighings of {name}"
                picker.findings.add(Problem(own, wanted, got, picker.place))


def _weighing(picker: Picker) -> Weighing | None:
    values = {
        name: picker.number(_SPECS[name])
        for name in ("air_temperature", "relative_humidity", "wind_speed", "sun")
    }
    when = picker.time("when")
    cloud = picker.optional_number(_SPECS["cloud_cover"])
    mass = _coat_mass(picker)
    if picker.failed:
        return None
    with picker.findings.catching(picker.place):
        return Weighing(
            when_s=when,
            mass_kg_m2=mass,
            air_temperature_k=values["air_temperature"],
            relative_humidity=values["relative_humidity"],
            wind_speed_m_s=values["wind_speed"],
            sun_w_m2=values["sun"],
            cloud_cover=cloud,
        )
    return None


_DRY_COAT = Quantity("coat", "water_depth", 0.0, 50.0, "kg/m2")


def _coat_mass(picker: Picker) -> float:
    """Mass of the coat on its area: written down so, or weighed with its board."""
    if picker.has("coat") or not picker.has("weight"):
        return picker.number(_DRY_COAT)
    weight, board = picker.number(_SPECS["weight"]), picker.number(_SPECS["board_weight"])
    area = picker.number(_SPECS["coupon_area"])
    if not picker.failed and weight < board:
        picker.failed = True
        got = f"{weight:g} kg on a board of {board:g} kg"
        picker.findings.add(Problem("weight", "at least the board's own", got, picker.place))
    return (weight - board) / area
