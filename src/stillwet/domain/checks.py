"""Small checks that records call in ``__post_init__``; each failure names field, wanted and got."""

from __future__ import annotations

from stillwet.errors import Problem, StillwetError, shown
from stillwet.units import is_bounded


def need_bounded(
    field: str, value: float, low: float, high: float, unit: str, place: str = ""
) -> None:
    """Raise unless low <= value <= high (all in ``unit``)."""
    if not is_bounded(value, low, high):
        raise StillwetError(
            Problem(field, f"{low:g} to {high:g} {unit}".strip(), shown(value), place)
        )


def need_text(field: str, value: str, place: str = "") -> None:
    """Raise unless the text has something in it."""
    if not value.strip():
        raise StillwetError(Problem(field, "some text", "nothing", place))
