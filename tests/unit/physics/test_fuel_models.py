"""The fuel model table: every column inside its bounds, every code once, SI conversions."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from stillwet.errors import StillwetError
from stillwet.physics.fuel_models import BOUNDS, CLASSES, FuelModel, fuel_model, fuel_models
from stillwet.tables import load_table


def test_all_53_models_are_there_once_and_in_families() -> None:
    """13 numbered models, 9 grass, 4 grass-shrub, 9 shrub, 5 understory, 9 litter, 4 slash."""
    codes = [model.code for model in fuel_models()]
    assert len(codes) == len(set(codes)) == 53
    families = {"GR": 9, "GS": 4, "SH": 9, "TU": 5, "TL": 9, "SB": 4}
    for family, number in families.items():
        assert [code for code in codes if code.startswith(family)] == [
            f"{family}{index}" for index in range(1, number + 1)
        ]
    assert [code for code in codes if code.isdigit()] == [str(index) for index in range(1, 14)]
    assert len({model.name for model in fuel_models()}) == 53


# Printed columns of the table -> lowest and highest value any of the 53 prints.
PRINTED = {
    "load_1h_ton_ac": (0.10, 7.01),
    "load_10h_ton_ac": (0.0, 23.04),
    "load_100h_ton_ac": (0.0, 28.05),
    "load_herb_ton_ac": (0.0, 9.0),
    "load_woody_ton_ac": (0.0, 7.1),
    "surface_to_volume_1h_1_ft": (750.0, 3500.0),
    "surface_to_volume_herb_1_ft": (1300.0, 2000.0),
    "surface_to_volume_woody_1_ft": (750.0, 2000.0),
    "depth_ft": (0.2, 6.0),
    "extinction_percent": (12.0, 40.0),
    "heat_content_btu_lb": (8000.0, 9000.0),
}


def test_every_column_of_the_table_is_inside_its_bounds() -> None:
    """No printed number lies outside what the two publications print, and no column is unknown."""
    words = {"code", "name", "is_dynamic", "note"}
    for row in load_table("fuel_models")["model"]:
        for column, value in row.items():
            if column in words:
                continue
            low, high = PRINTED[column]
            assert low <= value <= high, (row["code"], column)


def test_a_class_has_a_surface_exactly_where_it_has_a_load() -> None:
    """Herb and woody surface to volume ratios stand in the table only where those loads do."""
    for row in load_table("fuel_models")["model"]:
        for name in ("herb", "woody"):
            has_load = row[f"load_{name}_ton_ac"] > 0
            assert has_load == (f"surface_to_volume_{name}_1_ft" in row), row["code"]


def test_dynamic_models_have_herbs_to_cure_and_are_the_lettered_ones() -> None:
    """Only lettered models cure, every one that cures has herbs, and 17 of them do."""
    dynamic = [model for model in fuel_models() if model.is_dynamic]
    assert len(dynamic) == 17
    for model in dynamic:
        assert not model.code.isdigit()
        assert model.load_kg_m2[CLASSES.index("herb")] > 0


def test_numbered_loads_agree_with_the_other_printing() -> None:
    """Albini 1976 prints the 13 models in lb/ft2 (from memory): the same loads to its 3 digits."""
    printed = {
        "1": [0.034],
        "2": [0.092, 0.046, 0.023, 0.023],
        "3": [0.138],
        "4": [0.230, 0.184, 0.092, 0.230],
        "5": [0.046, 0.023, 0.092],
        "6": [0.069, 0.115, 0.092],
        "7": [0.052, 0.086, 0.069, 0.017],
        "8": [0.069, 0.046, 0.115],
        "9": [0.134, 0.019, 0.007],
        "10": [0.138, 0.092, 0.230, 0.092],
        "11": [0.069, 0.207, 0.253],
        "12": [0.184, 0.644, 0.759],
        "13": [0.322, 1.058, 1.288],
    }
    pounds_per_square_foot = 0.45359237 / 0.3048**2
    for code, loads in printed.items():
        model = fuel_model(code)
        mine = model.load_kg_m2[model.load_kg_m2 > 0] / pounds_per_square_foot
        np.testing.assert_allclose(mine, loads, atol=6e-4, err_msg=code)


def test_records_are_si() -> None:
    """Model 1 worked by hand: 0.74 ton/ac, 3500 1/ft, 1 ft, 12 %, 8000 Btu/lb."""
    grass = fuel_model("1")
    assert grass.load_kg_m2[0] == pytest.approx(0.16589, rel=1e-4)
    assert grass.surface_to_volume_1_m[0] == pytest.approx(11482.9, rel=1e-5)
    assert grass.depth_m == pytest.approx(0.3048)
    assert grass.extinction_moisture == pytest.approx(0.12)
    assert grass.heat_content_j_kg == pytest.approx(18.608e6)


def test_codes_are_read_in_any_case_and_others_are_refused() -> None:
    """Small letters and blanks are read; "GR10" is refused with the list of codes."""
    assert fuel_model("gr2 ").code == "GR2"
    with pytest.raises(StillwetError, match=r"fuel_model: wanted one of 1, 2, 3, .*got 'GR10'"):
        fuel_model("GR10")


@pytest.mark.parametrize("column", sorted(BOUNDS))
def test_a_model_outside_its_bounds_is_refused(column: str) -> None:
    """A custom model with a column in the wrong unit is refused by the column's name."""
    grass = fuel_model("GR4")
    wrong = np.asarray(getattr(grass, column)) * 100.0
    value = wrong if wrong.ndim else float(wrong)
    with pytest.raises(StillwetError, match=f"fuel model GR4: {column}: wanted"):
        dataclasses.replace(grass, **{column: value})  # type: ignore[arg-type]


def test_a_model_without_fine_dead_fuel_is_refused_and_records_cannot_be_changed() -> None:
    """Fire needs 1-h fuel to spread; the shared records are read-only."""
    grass = fuel_model("GR4")
    with pytest.raises(StillwetError, match="some 1-h fuel"):
        dataclasses.replace(grass, load_kg_m2=np.array([0.0, 0.1, 0.0, 0.2, 0.0]))
    with pytest.raises(ValueError, match="read-only"):
        grass.load_kg_m2[0] = 1.0
    assert isinstance(grass, FuelModel)
