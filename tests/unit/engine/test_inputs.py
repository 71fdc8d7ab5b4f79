"""What an answer stood on, with where each number came from."""

from __future__ import annotations

from dataclasses import replace

import pytest

from job_fixture import make_job
from stillwet.domain.basis import Basis, BasisKind
from stillwet.engine.inputs import job_inputs, table_inputs
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
