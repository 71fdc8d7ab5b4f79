"""What may be asked of a mix: bounds in the units of those who ask, and sliders inside them."""

from __future__ import annotations

import pytest

from job_fixture import make_job
from stillwet.errors import StillwetError
from stillwet.services.mix_asked import (
    amount_asked,
    amounts_asked,
    sliders_json,
    usual_amounts,
)


@pytest.mark.parametrize(
    ("name", "inside", "outside", "told"),
    [
        ("ratio", ("0.01 %", "20 %"), ("0.009 %", "21 %"), "0.01 to 20 %"),
        ("hardness", ("0 mg/L", "5000 ppm"), ("5001 mg/L",), "0 to 5000 mg/L"),
        ("temperature", ("0 C", "122 F"), ("31 F", "51 C"), "0 to 50 C (32 to 122 F)"),
        ("coat", ("0.1 mm", "1.9 in"), ("0.09 mm", "2 in"), "0.1 to 50 mm (0.004 to 1.9 in)"),
        ("tilt", ("5 deg", "90 deg"), ("4 deg", "91 deg"), "5 to 90 deg"),
    ],
)
def test_bounds_are_told_in_the_units_of_those_who_ask(
    name: str, inside: tuple[str, ...], outside: tuple[str, ...], told: str
) -> None:
    """The ends that are told are taken, what lies beyond is refused with them; 50 mm is 1.97 in."""
    for text in inside:
        amount_asked(name, text)
    for text in outside:
        with pytest.raises(StillwetError) as caught:
            amount_asked(name, text)
        (problem,) = caught.value.problems
        assert (problem.field, problem.wanted, problem.got) == (name, told, repr(text))


def test_all_that_is_wrong_is_told_together_and_blanks_are_passed_over() -> None:
    """Two faults, one blank, and a word that no mix knows."""
    given = {"ratio": "40 %", "coat": "thick", "tilt": " ", "colour": "blue"}
    with pytest.raises(StillwetError) as caught:
        amounts_asked(given)
    assert [problem.field for problem in caught.value.problems] == ["ratio", "coat"]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_sliders_go_only_where_an_answer_is(units: str) -> None:
    """Both ends of every slider, written with its unit, are an amount that is taken."""
    job = make_job()
    for slider in sliders_json(usual_amounts(job), job, units):
        assert slider["low"] <= slider["at"] <= slider["high"]
        for end in ("low", "high"):
            amount_asked(slider["name"], f"{slider[end]} {slider['unit']}")
