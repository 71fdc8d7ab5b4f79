"""What a line's segments and its work may be told: fields, their units, and the stated defaults."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from typing import Any

from stillwet.domain.basis import Basis
from stillwet.domain.fire import Fuel
from stillwet.domain.lines import (
    Beginning,
    LineModel,
    LinePurpose,
    LineSegment,
    LineWork,
    Side,
    Track,
    WetSides,
)
from stillwet.errors import StillwetError
from stillwet.exchange.fields import Default, Picker, Quantity, table_default
from stillwet.exchange.fire_fuel import fuel_codes
from stillwet.exchange.tabular import Columns
from stillwet.tables import load_table

_SEGMENT = (
    Quantity("width", "length", 0.1, 100.0, "m"),
    Quantity("bare_width", "length", 0.0, 200.0, "m"),
    Quantity("black_depth", "length", 0.5, 500.0, "m"),
    Quantity("slope", "angle", 0.0, 45.0, "deg", bare=True),
)
_FUEL = (
    Quantity("moisture_1h", "fraction", 0.0, 2.0, "fraction"),
    Quantity("moisture_herb", "fraction", 0.1, 3.5, "fraction"),
    Quantity("moisture_woody", "fraction", 0.1, 3.5, "fraction"),
    Quantity("canopy_cover", "fraction", 0.0, 1.0, "fraction"),
    Quantity("canopy_height", "length", 0.0, 120.0, "m"),
    Quantity("crown_ratio", "fraction", 0.0, 1.0, "fraction"),
)
_WORK = (
    Quantity("coverage", "water_depth", 0.05, 20.0, "mm"),
    Quantity("mix_ratio", "fraction", 1e-5, 0.2, "fraction"),
    Quantity("wind_limit", "speed", 0.0, 40.0, "m/s"),
    Quantity("ignition_pace", "speed", 0.01, 5.0, "m/s"),
    Quantity("spray_walk", "speed", 0.01, 5.0, "m/s"),
    Quantity("follow_gap", "time", 0.0, 7200.0, "s"),
    Quantity("refill_turn", "time", 0.0, 6 * 3600.0, "s"),
    Quantity("connect", "time", 0.0, 7200.0, "s"),
    Quantity("detour", "", 1.0, 10.0),
    Quantity("delay_share", "", 0.0, 5.0),
)
_MODEL = (
    Quantity("extinction_margin", "", 1.0, 5.0),
    Quantity("flame_flux", "heat_flux", 0.0, 300e3, "W/m2"),
    Quantity("flame_exposure", "", 0.0, 60.0),
    Quantity("width_multiple", "", 0.5, 10.0),
    Quantity("leaf_extinction", "", 0.1, 1.5),
    Quantity("wetted_share", "fraction", 0.05, 1.0, "fraction", bare=True),
    Quantity("bed_wind", "fraction", 0.02, 1.0, "fraction", bare=True),
    Quantity("blade_width", "length", 2e-4, 0.1, "m"),
)
SPECS = {spec.name: spec for spec in (*_SEGMENT, *_FUEL, *_WORK, *_MODEL)}
LINE_TIMES = ("start", "finish", "arrival_from", "arrival_to")
_LINE_WORDS = ("purpose", "line_name", "fire_side", "wet_sides", "beginning", "crew", "ignite")
# Field -> the record's own name for it.
WORK_NAMES = {
    "coverage": "coverage_kg_m2",
    "mix_ratio": "mix_ratio",
    "wind_limit": "wind_limit_m_s",
    "ignition_pace": "ignition_pace_m_s",
    "spray_walk": "spray_walk_m_s",
    "follow_gap": "follow_gap_s",
    "refill_turn": "refill_turn_s",
    "connect": "connect_s",
    "detour": "detour",
    "delay_share": "delay_share",
}
MODEL_NAMES = {
    "extinction_margin": "extinction_margin",
    "flame_flux": "flame_flux_w_m2",
    "flame_exposure": "flame_exposure",
    "width_multiple": "width_multiple",
    "leaf_extinction": "leaf_extinction",
    "wetted_share": "wetted_share",
    "bed_wind": "bed_wind",
    "blade_width": "blade_width_m",
}
_UNSAID = ("coverage", "mix_ratio", "wind_limit", "refill_turn")  # nothing is taken for them
# Fields of the whole line: every segment of it says the same or says nothing.
WHOLE_LINE = (
    *(spec.name for spec in (*_WORK, *_MODEL)),
    *_LINE_WORDS,
    *LINE_TIMES,
    "wind_from",
    "wind_to",
)
LINE_COLUMNS = Columns(
    quantities=SPECS,
    words=("id", "line", "name", "note", "fuel_model", *_LINE_WORDS, *LINE_TIMES),
    bearings=("aspect", "wind_from", "wind_to"),
)


@cache
def line_defaults() -> dict[str, Default]:
    """The stated defaults of data/line_practice.toml by field, in SI."""
    return {
        name: table_default(
            row,
            unit=row["unit"],
            dimension=LINE_COLUMNS.dimension(name),
            source=row["source"],
        )
        for name, row in load_table("line_practice")["line"].items()
    }


def _optional(picker: Picker, name: str) -> float | None:
    return picker.optional_number(SPECS[name])


def _or_zero(picker: Picker, name: str) -> float:
    return picker.number(SPECS[name]) if picker.has(name) else 0.0


def _basis(picker: Picker, names: tuple[str, ...]) -> dict[str, Basis]:
    return {name: picker.basis[name] for name in names if name in picker.basis}


@contextmanager
def _placed(picker: Picker) -> Iterator[None]:
    """Note the faults of a record made inside, at the place its cells stood in."""
    try:
        yield
    except StillwetError as error:
        for problem in error.problems:
            picker.findings.add(replace(problem, place=picker.place))


def pick_fuel(picker: Picker) -> Fuel | None:
    """The segment's fuel, or None when it names no fuel model or something is faulty (noted)."""
    herb, woody, slope = (
        picker.number(SPECS[name]) for name in ("moisture_herb", "moisture_woody", "slope")
    )
    cover, height, crown = (
        _or_zero(picker, name) for name in ("canopy_cover", "canopy_height", "crown_ratio")
    )
    dead = _optional(picker, "moisture_1h")
    code = picker.word("fuel_model", fuel_codes()) if picker.has("fuel_model") else ""
    if picker.failed or not code:
        return None
    names = ("fuel_model", "slope", *(spec.name for spec in _FUEL))
    with _placed(picker):
        return Fuel(
            model=code,
            moisture_herb=herb,
            moisture_woody=woody,
            slope_deg=slope,
            moisture_1h=dead,
            canopy_cover=cover,
            canopy_height_m=height,
            crown_ratio=crown,
            basis=_basis(picker, names),
        )
    return None


def pick_segment(
    picker: Picker, *, identity: str, name: str, tracks: tuple[Track, ...]
) -> list[LineSegment]:
    """One segment a track out of a row's cells; none when something is faulty (noted)."""
    fuel = pick_fuel(picker)
    numbers = {
        "width_m": picker.number(SPECS["width"]),
        "bare_width_m": _or_zero(picker, "bare_width"),
        "black_depth_m": picker.number(SPECS["black_depth"]),
        "aspect_deg": picker.bearing("aspect") if picker.has("aspect") else _aspect(picker),
    }
    note = picker.text("note") if picker.has("note") else ""
    if picker.failed:
        return []
    basis = _basis(picker, ("width", "bare_width", "black_depth", "aspect"))
    made = []
    for index, track in enumerate(tracks, start=1):
        suffix = f"-{index}" if len(tracks) > 1 else ""
        with _placed(picker):
            made.append(
                LineSegment(
                    id=identity + suffix,
                    name=name + suffix,
                    track_m=track,
                    fuel=fuel,
                    note=note,
                    basis=basis,
                    **numbers,
                )
            )
    return made


def _aspect(picker: Picker) -> float:
    default = line_defaults()["aspect"]
    picker.basis["aspect"] = default.basis
    return float(default.value)


def pick_purpose(picker: Picker) -> str:
    """The word for what the line is for; empty when missing or faulty (noted)."""
    return picker.word("purpose", [word.value for word in LinePurpose])


def pick_work(picker: Picker, purpose: str) -> LineWork | None:
    """How the line is worked, or None when something is faulty (noted)."""
    lit = picker.flag("ignite", otherwise=purpose == LinePurpose.BURN)
    numbers: dict[str, Any] = {
        own: _optional(picker, name) if name in _UNSAID else picker.number(SPECS[name])
        for name, own in WORK_NAMES.items()
    }
    times: dict[str, Any] = {
        f"{name}_s": picker.time(name) if picker.has(name) else None for name in LINE_TIMES
    }
    sector: dict[str, Any] = {
        f"{name}_deg": picker.bearing(name) if picker.has(name) else None
        for name in ("wind_from", "wind_to")
    }
    side = _word(picker, "fire_side", [word.value for word in Side])
    sides = _word(picker, "wet_sides", [word.value for word in WetSides])
    beginning = _word(picker, "beginning", [word.value for word in Beginning])
    crew = picker.text("crew") if picker.has("crew") else ""
    if picker.failed:
        return None
    with _placed(picker):
        return LineWork(
            is_lit=lit,
            fire_side=Side(side) if side else None,
            wet_sides=WetSides(sides) if sides else WetSides.ONE,
            beginning=Beginning(beginning) if beginning else Beginning.DOWNWIND,
            crew_id=crew,
            **numbers,
            **times,
            **sector,
        )
    return None


def _word(picker: Picker, name: str, words: list[str]) -> str:
    return picker.word(name, words) if picker.has(name) else ""


def pick_model(picker: Picker) -> LineModel | None:
    """The numbers of the reckoning for the line, or None when one is faulty (noted)."""
    numbers = {own: picker.number(SPECS[name]) for name, own in MODEL_NAMES.items()}
    return None if picker.failed else LineModel(**numbers)


def whole_line_basis(picker: Picker) -> dict[str, Basis]:
    """Where each of the whole line's numbers and words came from."""
    return _basis(picker, WHOLE_LINE)
