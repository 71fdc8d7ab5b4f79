"""What an outlook is asked for: faces, coat, what must be left, until when; and its answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from stillwet.domain.assets import Geometry
from stillwet.errors import Problem, StillwetError, shown

HOUR_S = 3600.0
EVEN, SURE = 0.5, 0.9  # the two confidences of every plan

# Facing -> geometry code of `convection`, tilt, azimuth [deg], length, height [m]: the typical
# faces that `stillwet demand` shows.
_CODES = {Geometry.WALL: 0, Geometry.ROOF: 1, Geometry.CYLINDER: 2, Geometry.BLADE: 3}


@dataclass(frozen=True, slots=True)
class Face:
    """One typical face, coated wherever the grid has a cell."""

    name: str
    geometry: int
    tilt_deg: float
    azimuth_deg: float
    length_m: float
    height_m: float


def _wall(name: str, azimuth_deg: float) -> Face:
    return Face(name, _CODES[Geometry.WALL], 90.0, azimuth_deg, 10.0, 1.5)


FACES = {
    "N": _wall("N", 0.0),
    "NE": _wall("NE", 45.0),
    "E": _wall("E", 90.0),
    "SE": _wall("SE", 135.0),
    "S": _wall("S", 180.0),
    "SW": _wall("SW", 225.0),
    "W": _wall("W", 270.0),
    "NW": _wall("NW", 315.0),
    "roof": Face("roof", _CODES[Geometry.ROOF], 0.0, 0.0, 8.0, 3.0),
    "pole": Face("pole", _CODES[Geometry.CYLINDER], 90.0, 180.0, 0.3, 5.0),
    "grass": Face("grass", _CODES[Geometry.BLADE], 60.0, 180.0, 0.003, 0.3),
}


def faces_named(text: str) -> tuple[Face, ...]:
    """The faces of a list such as "N,E,S,W,roof"."""
    by_key = {name.lower(): face for name, face in FACES.items()}
    words = [word.strip() for word in text.split(",") if word.strip()]
    unknown = [word for word in words if word.lower() not in by_key]
    doubled = len({word.lower() for word in words}) < len(words)
    if not words or unknown or doubled:
        got = unknown[0] if unknown else text
        raise StillwetError(Problem("--faces", "each once, out of " + ", ".join(FACES), shown(got)))
    return tuple(by_key[word.lower()] for word in words)


@dataclass(frozen=True, slots=True)
class Ask:
    """One question to a forecast. A coat holds while its thinnest tenth keeps ``keep_kg_m2``.

    ``coat_kg_m2`` is the mean coat laid; ``thinnest`` the thinnest tenth over the mean;
    ``exponent`` that of the falling rate; ``from_s`` to ``until_s`` the hours in which it must
    hold (epoch seconds), None for the whole forecast's end.
    """

    faces: tuple[Face, ...]
    coat_kg_m2: float
    keep_kg_m2: float
    thinnest: float
    exponent: float
    albedo: float
    from_s: float | None = None
    until_s: float | None = None
    sheltering: float = 1.0


@dataclass(frozen=True, slots=True)
class Answer:
    """One variable of an outlook: its dimensions after ``face``, unit and CF attributes."""

    name: str
    by_hour: bool
    attributes: dict[str, Any]


def _answer(name: str, by_hour: bool, units: str, long_name: str, **more: Any) -> Answer:
    return Answer(name, by_hour, {"long_name": long_name, "units": units, **more})


_NEVER = "capped at the end of the forecast: there it is at least so long"
ANSWERS = {
    answer.name: answer
    for answer in (
        _answer(
            "drying_demand",
            True,
            "mm h-1",
            "water the weather takes from a fully wet coat, mean of the members",
            comment="1 mm of water is 1 kg m-2",
        ),
        _answer(
            "drying_sum", True, "mm", "drying demand summed from the first hour, mean of members"
        ),
        _answer(
            "hold_time_even",
            True,
            "h",
            "how long a coat laid at this hour holds, as likely as not",
            comment=_NEVER,
        ),
        _answer(
            "hold_time_sure",
            True,
            "h",
            "how long a coat laid at this hour holds in nine members of ten",
            comment=_NEVER,
        ),
        _answer(
            "hold_chance",
            True,
            "1",
            "share of members in which a coat laid at this hour holds until the hour asked for",
        ),
        _answer(
            "coat_needed",
            True,
            "mm",
            "mean coat that laid at this hour holds until the hour asked for, in nine of ten",
        ),
        _answer(
            "earliest_start",
            False,
            "h",
            "hours from the first hour of the forecast: a coat laid before this does not hold "
            "until the hour asked for, in nine members of ten",
        ),
        _answer(
            "latest_start",
            False,
            "h",
            "hours from the first hour of the forecast: a coat must be on by then and, laid by "
            "then, can hold; missing where a coat laid in time cannot",
        ),
    )
}


def answers_named(text: str) -> tuple[Answer, ...]:
    """The answers of a list such as "hold_time_sure,coat_needed"; "all" for every one."""
    if text.strip() == "all":
        return tuple(ANSWERS.values())
    words = [word.strip() for word in text.split(",") if word.strip()]
    unknown = [word for word in words if word not in ANSWERS]
    if unknown or not words or len(set(words)) < len(words):
        got = unknown[0] if unknown else text
        raise StillwetError(Problem("--write", "all, or some of " + ", ".join(ANSWERS), shown(got)))
    return tuple(ANSWERS[word] for word in words)
