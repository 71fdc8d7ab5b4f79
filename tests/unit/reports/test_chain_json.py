"""The explanation as JSON: a strict schema, the record's own numbers."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime
from typing import Any

import jsonschema
import pytest
from jsonschema import Draft202012Validator

from stillwet.reports.chain_json import chain_to_json, job_shares_to_json
from stillwet.reports.plan_json import json_text, packaged_schema

from .chain_fixture import make_chain, make_job_shares
from .plan_fixture import make_plan, rename


def _read(document: dict[str, Any]) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(json_text(document))
    return read


def _validate(document: dict[str, Any]) -> None:
    Draft202012Validator(
        packaged_schema("explain"), format_checker=Draft202012Validator.FORMAT_CHECKER
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
    Draft202012Validator.check_schema(packaged_schema("explain"))
    objects = _objects(packaged_schema("explain"))
    assert len(objects) >= 8
    for part in objects:
        assert part["additionalProperties"] is False
        assert set(part["required"]) == set(part["properties"])


def test_both_kinds_obey_the_schema() -> None:
    """One asset's, a hopeless one's, and the whole job's."""
    for document in (
        chain_to_json(make_chain()),
        chain_to_json(make_chain(number=0)),
        job_shares_to_json(make_job_shares()),
    ):
        _validate(_read(document))


@pytest.mark.parametrize(
    "spoil",
    [
        {"surprise": 1},
        {"about": "job"},
        {"probability_fraction": 1.2},
        {"verdict": "perhaps"},
        {"shares": [{"cause": "wind"}]},
    ],
)
def test_schema_refuses_what_it_should(spoil: dict[str, Any]) -> None:
    """An unknown key, the other kind's name, a chance over 1, a strange verdict, half a share."""
    with pytest.raises(jsonschema.ValidationError):
        _validate(_read(chain_to_json(make_chain()) | spoil))


def test_numbers_times_and_shares_are_the_records_own() -> None:
    """SI as in the record; a moment as local ISO time beside a null value; null where none."""
    chain = make_chain()
    read = _read(chain_to_json(chain))
    links = {link["quantity"]: link for step in read["steps"] for link in step["links"]}
    assert links["coat to lay"]["value"] == chain.asset.governing.coat_kg_m2
    hold = links["holds until"]
    assert hold["value"] is None
    found_s = datetime.fromisoformat(hold["time"]).timestamp()
    assert found_s == pytest.approx(chain.asset.governing.hold_until_90_s, abs=1.0)
    assert links["bare face ignites"]["value"] is links["bare face ignites"]["time"] is None
    assert links["ratio"]["unit"] == "fraction"
    assert [share["with_others_fraction"] for share in read["shares"]] == [
        share.total for share in chain.shares
    ]
    assert read["steps"][0]["inputs"][4]["basis"]["kind"] == "untested default"


def test_job_document_holds_every_coated_asset() -> None:
    """Twenty assets less the one not released."""
    read = _read(job_shares_to_json(make_job_shares()))
    assert len(read["assets"]) == 19
    assert {asset["verdict"] for asset in read["assets"]} == {"holds", "doubtful", "will not hold"}


def test_half_a_surrogate_pair_does_not_break_the_file() -> None:
    """Names come through whole, lone surrogates as a question mark."""
    chain = make_chain(rename(make_plan(), {6: "bad \ud800 half 🔥"}))
    assert _read(chain_to_json(replace(chain, shares=())))["name"] == "bad ? half 🔥"
