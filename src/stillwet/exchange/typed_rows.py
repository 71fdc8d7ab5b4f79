"""Rows typed into a form: a bare number has the unit that stood beside its field."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from stillwet.domain.trials import Coupon, Trial
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import read_zone
from stillwet.exchange.fields import Cell
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.exchange.proportioner import CHECK_COLUMNS, Checks, read_check_rows
from stillwet.exchange.records import Loose
from stillwet.exchange.sheets import flag_word
from stillwet.exchange.trial_cells import mix_numbers, reading_numbers
from stillwet.exchange.trials import TRIAL_COLUMNS, Records, read_trial_rows
from stillwet.units import depth_in_inches, from_si

MOST_ROWS = 500
_LONGEST = 200  # characters of one field


@dataclass(frozen=True, slots=True)
class Asked:
    """One field of a form: what it says, the unit beside it (US, metric), an example in each.

    ``choices`` makes it a choice of words; ``ways`` are the ways of reading that it belongs to,
    none for all.
    """

    name: str
    says: str
    units: tuple[str, str] = ("", "")
    examples: tuple[str, str] = ("", "")
    choices: tuple[str, ...] = ()
    ways: tuple[str, ...] = ()


COAT, SLOUGH = "coat on a board", "coat that slid"
SLUMP, SPREAD, FUNNEL = "slump of a cylinder", "spread on a plate", "funnel"
SPINDLE, STRESS = "viscometer", "yield stress by other means"
TRIAL_FORM = (
    Asked("id", "Name", examples=("bench 4", "bench 4")),
    Asked("ratio", "Mix ratio", ("%", "%"), ("1.2", "1.2")),
    Asked("hardness", "Water hardness", ("mg/L", "mg/L"), ("120", "120")),
    Asked("water_temperature", "Mix temperature", ("F", "C"), ("70", "21")),
    Asked("age", "Age when read", ("min", "min"), ("20", "20")),
    Asked("coat", "Coat", ("in", "mm"), ("3/16 in", "5"), ways=(COAT, SLOUGH)),
    Asked("tilt", "Board from level", ("deg", "deg"), ("90", "90"), ways=(COAT, SLOUGH)),
    Asked("slid", "A thicker one slid", choices=("yes", "no"), ways=(COAT,)),
    Asked("slough_time", "Slid a hand's breadth after", ("s", "s"), ("300", "300"), ways=(SLOUGH,)),
    Asked("slump", "Top sank by", ("in", "cm"), ("2.1", "5.3"), ways=(SLUMP,)),
    Asked("cylinder_height", "Cylinder, wide as high", ("in", "cm"), ("4", "10"), ways=(SLUMP,)),
    Asked("spread_diameter", "Spread across", ("in", "cm"), ("7", "18"), ways=(SPREAD,)),
    Asked("spread_volume", "Volume poured", ("mL", "mL"), ("500", "500"), ways=(SPREAD,)),
    Asked("funnel", "Time of a quart", ("s", "s"), ("52", "52"), ways=(FUNNEL,)),
    Asked("viscosity", "Viscosity", ("cP", "cP"), ("900", "900"), ways=(SPINDLE,)),
    Asked("speed_rpm", "Turns a minute", examples=("60", "60"), ways=(SPINDLE,)),
    Asked("yield_stress", "Yield stress", ("Pa", "Pa"), ("40", "40"), ways=(STRESS,)),
)
TRIAL_WAYS = (COAT, SLOUGH, SLUMP, SPREAD, FUNNEL, SPINDLE, STRESS)
DRAW, TANKS, METERS = "timed draw", "tank levels", "flow meters"
CAN, DENSITY, REFRACTO, CONDUCT = "weighed can", "density", "refractometer", "conductivity"
CHECK_WAYS = (DRAW, TANKS, METERS, CAN, DENSITY, REFRACTO, CONDUCT)
CHECK_FORM = (
    Asked("proportioner", "Proportioner", examples=("Engine Teal", "Engine Teal")),
    Asked("when", "When", examples=("2030-06-01 09:00", "2030-06-01 09:00")),
    Asked("dial", "Set to", ("%", "%"), ("1.0", "1.0")),
    Asked("drawn", "Concentrate drawn", ("L", "L"), ("0.82", "0.82"), ways=(DRAW, TANKS)),
    Asked("seconds", "In", ("s", "s"), ("60", "60"), ways=(DRAW,)),
    Asked("mix_flow", "Mix flow", ("gpm", "L/min"), ("30", "115"), ways=(DRAW, METERS)),
    Asked("water_used", "Water used", ("gal", "L"), ("300", "1100"), ways=(TANKS,)),
    Asked(
        "concentrate_flow", "Concentrate flow", ("L/min", "L/min"), ("1.2", "1.2"), ways=(METERS,)
    ),
    Asked("drawn_mass", "Concentrate weighed", ("lb", "kg"), ("2.1", "0.95"), ways=(CAN,)),
    Asked("mix_volume", "Mix it went into", ("gal", "L"), ("25", "95"), ways=(CAN,)),
    Asked("mix_density", "Density of the mix", ("kg/m3", "kg/m3"), ways=(DENSITY,)),
    Asked("water_density", "Density of the water", ("kg/m3", "kg/m3"), ways=(DENSITY,)),
    Asked(
        "concentrate_density",
        "Density of the concentrate",
        ("kg/m3", "kg/m3"),
        ways=(CAN, DENSITY),
    ),
    Asked("shown", "Meter shows", ("%", "%"), ("1.1", "1.1"), ways=(REFRACTO, CONDUCT)),
)


def read_typed_trials(
    rows: Sequence[object], units: str, *, time_zone: str, kind: str | None, own: str
) -> Records:
    """The trials in typed rows; raises StillwetError with every problem, its place "row N".

    ``own`` is the product of rows that name none.
    """
    findings = Findings()
    found: Records = ()
    with findings.catching():
        clock = read_zone(time_zone, field="time_zone", place="")
        loose = _loose(rows, TRIAL_FORM, TRIAL_COLUMNS.names, units, {"product": own})
        found = read_trial_rows(loose, clock, kind, findings)
    findings.need_none()
    return found


def read_typed_checks(rows: Sequence[object], units: str, *, time_zone: str) -> Checks:
    """The proportioner checks in typed rows, as ``read_typed_trials``."""
    findings = Findings()
    found: Checks = ((), ())
    with findings.catching():
        clock = read_zone(time_zone, field="time_zone", place="")
        loose = _loose(rows, CHECK_FORM, CHECK_COLUMNS.names, units, {})
        found = read_check_rows(loose, clock, findings)
    findings.need_none()
    return found


def _loose(
    rows: Sequence[object],
    form: Iterable[Asked],
    known: Sequence[str],
    units: str,
    fixed: Mapping[str, str],
) -> list[Loose]:
    if len(rows) > MOST_ROWS:
        raise StillwetError(Problem("rows", f"at most {MOST_ROWS}", str(len(rows))))
    labels = {one.name: one.units[units == "metric"] or None for one in form}
    problems: list[Problem] = []
    found = []
    for number, row in enumerate(rows, start=1):
        place = f"row {number}"
        try:
            cells = {
                name: Cell(text, place, labels.get(name))
                for name, text in {**fixed, **_texts(row, known, place)}.items()
            }
            found.append(Loose(place, cells))
        except StillwetError as error:
            problems += error.problems
    if problems:
        raise StillwetError(problems)
    return found


def _texts(row: object, known: Sequence[str], place: str) -> dict[str, str]:
    """The fields of a row that are filled in."""
    if not isinstance(row, Mapping):
        raise StillwetError(Problem("rows", "objects of fields and texts", shown(row), place))
    problems = []
    found = {}
    for name, raw in row.items():
        if name not in known:
            wanted, hint = "a field of the form", nearest_hint(str(name), known)
            problems.append(Problem(str(name)[:40], wanted, "an unknown one", place, hint))
        elif not isinstance(raw, str) or len(raw) > _LONGEST:
            wanted = f"a text of at most {_LONGEST} characters"
            problems.append(Problem(name, wanted, shown(raw), place))
        elif raw.strip():
            found[name] = raw.strip()
    if problems:
        raise StillwetError(problems)
    return found


def typed_trial(trial: Trial, units: str) -> dict[str, str]:
    """A mix as it would be typed, to be looked at and corrected."""
    values = mix_numbers(trial)
    words = {"id": trial.id}
    for reading in trial.readings:
        values |= reading_numbers(reading)
        if isinstance(reading, Coupon) and reading.slough_s is None:
            words["slid"] = flag_word(reading.slid)
    labels = {one.name: one.units[units == "metric"] for one in TRIAL_FORM}
    return words | {
        name: _told(values[name], labels[name], name) for name in values if name in labels
    }


def _told(value: float, label: str, name: str) -> str:
    if name == "coat":
        value = depth_in_inches(value) if label == "in" else value
        return f"{value:.4g} {label}"
    return f"{from_si(value, label):.4g} {label}" if label else f"{value:g}"
