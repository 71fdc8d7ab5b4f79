"""Product types: every column of the table in bounds, every number with a source."""

from __future__ import annotations

from pathlib import Path

import pytest

from stillwet.errors import StillwetError
from stillwet.physics import product_types, rheology

NAMES = product_types.product_type_names()
BOUNDS = {
    "ratio_low": (0.001, 0.08),
    "ratio_high": (0.005, 0.15),
    "density_kg_m3": (300.0, 1500.0),
    "yield_coefficient_pa": (1e3, 1e6),
    "yield_threshold": (1e-4, 0.05),
    "yield_exponent": (0.5, 4.0),
    "consistency_pa_s": (0.01, 30.0),
    "consistency_exponent": (0.5, 4.0),
    "flow_index": (0.2, 1.0),
    "hardness_half_kg_m3": (0.02, 100.0),
    "hardness_exponent": (-1.0, 2.0),
    "temperature_slope_per_k": (-0.02, 0.03),
    "hydration_time_s": (5.0, 1e5),
    "drying_exponent": (0.0, 1.0),
    "adhesion_stress_pa": (20.0, 1000.0),
}


def test_bounds_cover_every_column() -> None:
    """No column escapes the check below."""
    assert set(BOUNDS) == set(product_types.parameter_names())


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("column", sorted(BOUNDS))
def test_column_in_bounds(name: str, column: str) -> None:
    """The interval holds the median inside physical bounds, with a unit and a stated source."""
    value: product_types.Parameter = getattr(product_types.product_type(name=name), column)
    lowest, highest = BOUNDS[column]
    assert lowest <= value.low <= value.median <= value.high <= highest
    assert value.low < value.high
    assert value.unit
    assert value.is_untested or value.source.startswith("published")


@pytest.mark.parametrize("name", NAMES)
def test_mid_label_stands_at_20_to_80_pa(name: str) -> None:
    """The middle of the label range in water of 100 mg/L is a plausible coating mix."""
    kind = product_types.product_type(name=name)
    stress = rheology.yield_stress(
        ratio=0.5 * (kind.ratio_low.median + kind.ratio_high.median),
        coefficient_pa=kind.yield_coefficient_pa.median,
        threshold=kind.yield_threshold.median,
        exponent=kind.yield_exponent.median,
        hardness_kg_m3=0.1,
        hardness_half_kg_m3=kind.hardness_half_kg_m3.median,
        hardness_exponent=kind.hardness_exponent.median,
    )
    assert 20.0 <= float(stress) <= 80.0


@pytest.mark.parametrize("name", NAMES)
def test_ratio_range_is_the_right_way_round(name: str) -> None:
    """The label's low end lies below its high end, on a basis that is one of two."""
    kind = product_types.product_type(name=name)
    assert kind.ratio_low.median < kind.ratio_high.median
    assert kind.ratio_basis in {"volume", "mass"}


def test_unknown_type_names_the_known_ones() -> None:
    """A slip of the pen is answered with the list."""
    with pytest.raises(StillwetError, match="product_type: wanted one of superabsorbent_disp"):
        product_types.product_type(name="jelly")


def test_the_page_shows_the_table_as_it_is() -> None:
    """The defaults printed in the docs are those of the data file, stars on published ones."""
    page = Path(__file__).parents[3] / "docs" / "explanation" / "mix.md"
    lines = page.read_text(encoding="utf-8").splitlines()
    for column in product_types.parameter_names():
        values: list[product_types.Parameter] = [
            getattr(product_types.product_type(name=name), column) for name in NAMES
        ]
        cells = [
            f"{value.median:g} ({value.low:g} to {value.high:g})"
            + ("" if value.is_untested else " *")
            for value in values
        ]
        assert f"| {column} | {values[0].unit} | {' | '.join(cells)} |" in lines
