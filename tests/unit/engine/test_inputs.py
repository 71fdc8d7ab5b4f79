"""What an answer stood on, with where each number came from."""

from __future__ import annotations

from dataclasses import replace

import pytest

from job_fixture import make_asset, make_crew, make_fire, make_job, make_practice, make_product
from line_fixture import make_fuel, make_line, make_segment
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.products import WaterPoint
from stillwet.engine import inputs, line_inputs
from stillwet.engine.inputs import Fields, inputs_of, job_inputs, table_inputs
from stillwet.tables import load_table


def test_defaults_are_told_with_their_value_whatever_their_unit() -> None:
    """A share, a mass on an area and a time, each once; what the user gave is not told."""
    basis = Basis(BasisKind.UNTESTED, "test", 0.1, 9.9)
    job = make_job()
    names = ("transfer_efficiency", "ember_reserve", "ember_period")
    practice = replace(job.practice, basis=dict.fromkeys(names, basis))
    found = {row.name: (row.value, row.unit) for row in job_inputs(replace(job, practice=practice))}
    assert found["transfer efficiency"] == (job.practice.transfer_efficiency, "fraction")
    assert found["ember reserve"] == (job.practice.ember_reserve_kg_m2, "kg/m2")
    assert found["ember period"] == (job.practice.ember_period_s, "s")
    assert "cling safety" not in found


@pytest.mark.parametrize("name", ["left"])
def test_a_tables_defaults_are_told_as_the_table_has_them(name: str) -> None:
    """Each with its value and unit, its interval around the value, and untested on its face."""
    rows, told = load_table(name)[name], table_inputs(name)
    assert [item.name for item in told] == [key.replace("_", " ") for key in rows]
    for item, row in zip(told, rows.values(), strict=True):
        assert (item.value, item.unit) == (row["value"], row["unit"])
        assert item.basis.kind is BasisKind.UNTESTED
        assert item.basis.low is not None
        assert item.basis.high is not None
        assert isinstance(item.value, float)
        assert item.basis.low <= item.value <= item.basis.high


POND = WaterPoint("w1", "Pond", 0.0, 0.0, 0.01, 0.05, 288.15)
# Endings of fields are their SI units (Contributing: names carry the unit); longest first.
UNIT_OF_ENDING = {
    "_kg_m2": "kg/m2",
    "_w_m2": "W/m2",
    "_m3_s": "m3/s",
    "_m_s": "m/s",
    "_m3": "m3",
    "_deg": "deg",
    "_pa": "Pa",
    "_k": "K",
    "_s": "s",
    "_m": "m",
}


@pytest.mark.parametrize(
    ("listed", "record"),
    [
        (inputs._ASSET, make_asset()),
        (inputs._FIRE, make_fire()),
        (inputs.FUEL, make_fuel()),
        (inputs._PRACTICE, make_practice()),
        (inputs._PRODUCT, make_product()),
        (inputs._WATER, POND),
        (inputs.CREW, make_crew()),
        (line_inputs._MODEL, make_line().model),
        (line_inputs._WORK, make_line().work),
        (line_inputs._SEGMENT, make_segment()),
        (line_inputs._CREW, make_crew()),
    ],
)
def test_a_number_is_told_in_the_unit_that_its_field_is_kept_in(
    listed: Fields, record: object
) -> None:
    """A row may add what the number is of ("m/s on foot"), never another unit."""
    for name, (attribute, unit) in listed.items():
        assert hasattr(record, attribute), attribute
        ending = next((one for one in UNIT_OF_ENDING if attribute.endswith(one)), None)
        if attribute.endswith("_kg_m3"):
            wanted = "kg/m3"
        else:
            wanted = UNIT_OF_ENDING[ending] if ending else ""
        assert unit.split(" of ")[0].split(" on ")[0].split(" as ")[0] in (wanted, "fraction"), name
        assert unit != "fraction" or not wanted, name
        assert attribute.startswith(name) or attribute == "model"


def test_a_field_without_a_value_or_a_basis_is_not_told() -> None:
    """Nobody gave a flux, nobody said where the setback came from."""
    basis = Basis(BasisKind.UNTESTED, "test", 0.1, 9.9)
    fire = make_fire(basis={"flux_peak": basis, "residence": basis})
    told = inputs_of(fire, fire.basis, inputs._FIRE, "pile: ")
    assert [(row.name, row.value, row.unit) for row in told] == [("pile: residence", 30.0, "s")]


def test_the_water_that_the_mix_is_reckoned_in_is_told() -> None:
    """Of two waters the harder, by its name; a hardness that nobody measured is on the page."""
    basis = {"hardness": Basis(BasisKind.UNTESTED, "test", 0.05, 0.4)}
    well = replace(POND, id="w2", name="Well", hardness_kg_m3=0.2, basis=basis)
    told = {row.name: row for row in job_inputs(make_job(water_points=(POND, well)))}
    assert (told["Well: hardness"].value, told["Well: hardness"].basis.high) == (0.2, 0.4)
    assert not [name for name in told if name.startswith("Pond")]
