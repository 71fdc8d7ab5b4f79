"""Every reference case in ``tests/reference/*.toml`` holds: one test, kinds and sources named."""

from __future__ import annotations

import numpy as np
import pytest

from reference.cases import KINDS, Case, all_cases


@pytest.mark.parametrize(
    "case", [pytest.param(each, id=f"{each.topic}: {each.name}") for each in all_cases()]
)
def test_reference_case(case: Case) -> None:
    """The named function gives the value its outside source gives, within the stated tolerance."""
    assert case.kind in KINDS
    assert str(case.row["source"]).strip()
    assert "rel" in case.row or "abs" in case.row
    np.testing.assert_allclose(
        case.worked(),
        case.expected(),
        rtol=case.row.get("rel", 0.0),
        atol=case.row.get("abs", 0.0),
        err_msg=case.source,
    )
