"""Amounts as people write them: fractions, and the letters that meters and keyboards give."""

from __future__ import annotations

import pytest

from stillwet.errors import StillwetError
from stillwet.units import read_quantity, to_si

INCH_M = 0.0254  # exact (NIST SP 811, Appendix B)
GALLON_M3 = 231 * INCH_M**3  # the US gallon is 231 cubic inches (NIST SP 811, Appendix B)


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "wanted"),
    [
        ("1/8", "length", "in", INCH_M / 8),
        ("1 1/2", "length", "in", 1.5 * INCH_M),
        ("1-1/2 inches", "length", None, 1.5 * INCH_M),
        ("3/16 in", "length", "mm", 3 * INCH_M / 16),
        ("1/2 gal", "volume", None, GALLON_M3 / 2),
        ("1/4 h", "time", None, 900.0),
        ("1/100", "fraction", None, 0.01),
    ],
)
def test_fractions(text: str, dimension: str, unit: str | None, wanted: float) -> None:
    """With a unit, or without one where the column or key has it; its own unit comes first."""
    assert read_quantity(text, dimension=dimension, field="x", unit=unit) == pytest.approx(wanted)


@pytest.mark.parametrize("text", ["1/8", "1/0 in", "1/2/3 in", "/8 in", "1/ in"])
def test_what_is_no_fraction_of_anything(text: str) -> None:
    """No unit, nothing below the line, or three numbers: refused, never guessed."""
    with pytest.raises(StillwetError, match=r"x: wanted a (unit|number)"):
        read_quantity(text, dimension="length", field="x")


@pytest.mark.parametrize("text", ["250 us/cm", "250 \u00b5S/cm", "250 \u03bcS/cm"])
def test_the_micro_of_a_meter(text: str) -> None:
    """A u, the micro sign or the Greek letter: 250 microsiemens a centimetre are 0.025 S/m."""
    assert read_quantity(text, dimension="conductivity", field="x") == pytest.approx(0.025)


def test_the_dot_of_a_product() -> None:
    """The raised dot (ISO 80000-1, 7.2) between two units: 400 millipascal seconds."""
    assert to_si(400.0, "mPa\u00b7s", dimension="viscosity") == pytest.approx(0.4)
