"""Every number a line's answer stood on, with its basis; and what a line has to say for it."""

from __future__ import annotations

from stillwet.domain.basis import Basis, BasisKind, Input
from stillwet.domain.job import Job
from stillwet.domain.lines import Line, LineSegment
from stillwet.engine.inputs import CREW, FUEL, Fields, inputs_of, shared_inputs, untested
from stillwet.engine.line_work import crew_of
from stillwet.errors import Problem, StillwetError, shown

_MODEL: Fields = {
    "extinction_margin": ("extinction_margin", ""),
    "flame_flux": ("flame_flux_w_m2", "W/m2"),
    "flame_exposure": ("flame_exposure", ""),
    "width_multiple": ("width_multiple", ""),
    "leaf_extinction": ("leaf_extinction", ""),
    "wetted_share": ("wetted_share", "fraction"),
    "bed_wind": ("bed_wind", "fraction"),
    "blade_width": ("blade_width_m", "m of a blade"),
}
_WORK: Fields = {
    "coverage": ("coverage_kg_m2", "kg/m2"),
    "mix_ratio": ("mix_ratio", "fraction"),
    "wind_limit": ("wind_limit_m_s", "m/s"),
    "ignition_pace": ("ignition_pace_m_s", "m/s on foot"),
    "spray_walk": ("spray_walk_m_s", "m/s on foot"),
    "follow_gap": ("follow_gap_s", "s"),
    "refill_turn": ("refill_turn_s", "s"),
    "connect": ("connect_s", "s"),
    "detour": ("detour", ""),
    "delay_share": ("delay_share", ""),
}
_SEGMENT: Fields = {
    "width": ("width_m", "m"),
    "bare_width": ("bare_width_m", "m"),
    "black_depth": ("black_depth_m", "m"),
    "aspect": ("aspect_deg", "deg"),
}
# A stretch keeps the source of its fuel model under another name than a fire does.
_FUEL: Fields = {"fuel_model" if name == "model" else name: told for name, told in FUEL.items()}

_CREW: Fields = {
    **{name: told for name, told in CREW.items() if name != "setup"},
    "speed": ("speed_m_s", "m/s"),
}


def need_reckonable(job: Job) -> None:
    """Raise, with all that is missing, unless every line of the job can be reckoned."""
    if not job.lines:
        hint = "add [lines] with a map file, see the page on the job file"
        raise StillwetError(Problem("lines", "at least one line", "none", "", hint))
    problems = [problem for line in job.lines for problem in _missing(job, line)]
    if problems:
        raise StillwetError(problems)


def _missing(job: Job, line: Line) -> list[Problem]:
    place, found = f"line {line.id}", []
    for segment in line.segments:
        if segment.fuel is None:
            wanted = "a fuel model such as GR2, since nothing is known of what is wetted"
            where = place if len(line.segments) == 1 else f"{place}, segment {segment.id}"
            found.append(Problem("fuel_model", wanted, "nothing", where))
    if line.work.fire_side is None:
        wanted = "left or right: the side of the line, as drawn, that burns"
        found.append(Problem("fire_side", wanted, "nothing", place))
    crews = [crew.id for crew in job.crews]
    if line.work.crew_id and line.work.crew_id not in crews:
        found.append(Problem("crew", "one of " + ", ".join(crews), shown(line.work.crew_id), place))
    if not crews:
        found.append(Problem("crews", "at least one crew", "none", place))
    start, weather = line_start(job, line), job.weather
    if not weather.time_s[0] <= start < weather.time_s[-1]:
        wanted = "a time inside the weather"
        found.append(Problem("start", wanted, "one outside it", place))
    return found


def line_start(job: Job, line: Line) -> float:
    """The earliest moment of work on a line."""
    return job.start_s if line.work.start_s is None else line.work.start_s


# What the job's own page lists and no line is reckoned with.
_OF_ASSETS = (
    "thinnest coat",
    "ember reserve",
    "ember period",
    "work window",
    "longest wait",
    "spread of the flux (standard deviation of its logarithm)",
    "convection from a boiling wet face",
    "heat through the wall behind a coat",
)


def lines_job_inputs(job: Job) -> tuple[Input, ...]:
    """What all lines of the job stood on: practice, product, water, their crews, forecast."""
    crews = {crew.id: crew for crew in (crew_of(job, line) for line in job.lines)}
    of_crews = [
        item
        for crew in crews.values()
        for item in inputs_of(crew, crew.basis, _CREW, f"{crew.name}: ")
    ]
    found = shared_inputs(job, tuple(of_crews))
    return tuple(item for item in found if item.name not in _OF_ASSETS)


def line_inputs(line: Line) -> tuple[Input, ...]:
    """What one line's answer stood on: its work and model, then each segment's own numbers."""
    seen: dict[tuple[str, object, str], Input] = {}
    for segment in line.segments:
        for item in _segment_inputs(segment):
            seen.setdefault((item.name, item.value, item.basis.source), item)
    return (
        *inputs_of(line.model, line.basis, _MODEL),
        *inputs_of(line.work, line.basis, _WORK),
        *seen.values(),
        *_fixed(),
    )


def _segment_inputs(segment: LineSegment) -> tuple[Input, ...]:
    found = inputs_of(segment, segment.basis, _SEGMENT)
    return (
        found
        if segment.fuel is None
        else found + inputs_of(segment.fuel, segment.fuel.basis, _FUEL)
    )


def _fixed() -> list[Input]:
    """Numbers that no job file sets yet."""
    from stillwet.engine.line_drying import DIFFUSE_EXTINCTION
    from stillwet.engine.line_holding import WATER_EXPONENT
    from stillwet.physics.cling import LEAF_WATER_KG_M2

    return [
        untested(
            "extinction of sky light in the bed",
            (DIFFUSE_EXTINCTION, 0.6, 1.0),
            "",
            "light from all sides goes deeper into a bed",
        ),
        Input(
            "plain water a leaf keeps",
            LEAF_WATER_KG_M2,
            "kg/m2",
            Basis(BasisKind.PUBLISHED, "Dickinson 1984 (from memory)", 0.1, 0.3),
        ),
        Input(
            "exponent of plain water's drying",
            WATER_EXPONENT,
            "",
            Basis(BasisKind.PUBLISHED, "Deardorff 1978 (from memory)", 0.5, 1.0),
        ),
    ]
