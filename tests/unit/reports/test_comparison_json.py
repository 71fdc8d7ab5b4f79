"""Plan beside plan as JSON and CSV: a strict schema, both sides of every asset."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from typing import Any

import jsonschema
import pytest
from jsonschema import Draft202012Validator

from stillwet.domain.comparison import NotTried, WhatIf
from stillwet.reports.comparison_json import (
    comparisons_csv_text,
    comparisons_to_json,
)
from stillwet.reports.plan_json import json_text, packaged_schema

from .chain_fixture import make_comparison
from .plan_fixture import rename

UNTRIED = (NotTried(WhatIf("sun=+20%", "sun times 1.2"), "sun: wanted irradiance"),)


def _read() -> dict[str, Any]:
    found = [make_comparison(6, let_down=(6, 7)), make_comparison()]
    read: dict[str, Any] = json.loads(json_text(comparisons_to_json(found, UNTRIED)))
    return read


def _validate(document: dict[str, Any]) -> None:
    Draft202012Validator(
        packaged_schema("compare"), format_checker=Draft202012Validator.FORMAT_CHECKER
    ).validate(document)


def _objects(schema: Any) -> list[dict[str, Any]]:
    found = []
    if isinstance(schema, dict):
        if schema.get("type") == "object":
            found.append(schema)
        for part in schema.values():
            found += _objects(part)
    return found


def test_schema_is_sound_and_closed() -> None:
    """A valid 2020-12 schema in which every object asks for all of its keys and no others."""
    Draft202012Validator.check_schema(packaged_schema("compare"))
    objects = _objects(packaged_schema("compare"))
    assert len(objects) >= 7
    for part in objects:
        assert part["additionalProperties"] is False
        assert set(part["required"]) == set(part["properties"])


def test_document_obeys_the_schema() -> None:
    """What is written is what the schema promises."""
    _validate(_read())


@pytest.mark.parametrize("spoil", [{"surprise": 1}, {"comparisons": []}, {"seed": "1"}])
def test_schema_refuses_what_it_should(spoil: dict[str, Any]) -> None:
    """An unknown key, nothing compared, a seed that is no number."""
    with pytest.raises(jsonschema.ValidationError):
        _validate(_read() | spoil)


def test_flips_and_let_downs_are_counted_and_marked() -> None:
    """The counts are those of the assets marked; as_laid is null where nothing is laid."""
    for one in _read()["comparisons"]:
        assert one["flips"] == sum(asset["is_flipped"] for asset in one["assets"])
        assert one["let_down"] == sum(asset["is_let_down"] for asset in one["assets"])
    first = _read()["comparisons"][0]
    assert (first["flips"], first["let_down"]) == (1, 2)
    assert first["before"]["holds"] - first["after"]["holds"] == 1
    assert first["warnings"] == ["Rain of 3.0 mm in an hour is forecast."]
    barn, ranch = first["assets"][0], first["assets"][6]
    assert barn["as_laid"] is None
    assert ranch["as_laid"] == {
        "verdict": "will not hold",
        "probability_fraction": 0.3,
        "surface": "north wall",
    }
    assert (ranch["before"]["verdict"], ranch["after"]["verdict"]) == ("holds", "doubtful")


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_has_one_row_an_asset_and_change() -> None:
    """Both sides in SI, empty where there is no number; lines end as RFC 4180 has it."""
    found = [make_comparison(6, let_down=(6,)), make_comparison()]
    text = comparisons_csv_text(found)
    rows = _rows(text)
    assert len(rows) == 40
    assert text.endswith("\r\n")
    ranch = next(row for row in rows if row["asset_name"] == "Ranch house")
    assert ranch["change"] == "wind=+30%"
    assert (ranch["is_flipped"], ranch["is_let_down"]) == ("true", "true")
    assert float(ranch["coat_kg_m2_after"]) - float(ranch["coat_kg_m2_before"]) == pytest.approx(1)
    assert ranch["hold_until_90_before"] == "2030-08-14T18:36:00-06:00"
    assert rows[0]["verdict_as_laid"] == rows[0]["apply_until_before"] == ""


def test_csv_runs_no_formula() -> None:
    """A name that a spreadsheet would take for a formula is defused."""
    found = make_comparison()
    wicked = "=HYPERLINK(1)"
    before = rename(found.before, {0: wicked})
    pairs = tuple(
        replace(pair, before=asset) for pair, asset in zip(found.pairs, before.assets, strict=True)
    )
    rows = _rows(comparisons_csv_text([replace(found, before=before, pairs=pairs)]))
    assert rows[0]["asset_name"] == f"'{wicked}"
