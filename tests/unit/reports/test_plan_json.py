"""The plan as JSON: a strict schema, no number that JSON does not know, stable bytes."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import datetime
from typing import Any

import jsonschema
import pytest
from jsonschema import Draft202012Validator

from stillwet.domain.plan import Plan
from stillwet.reports.plan_json import packaged_schema, plan_json_text, plan_to_json

from .plan_fixture import START, make_plan, rename


def _validator() -> Draft202012Validator:
    return Draft202012Validator(
        packaged_schema("plan"), format_checker=Draft202012Validator.FORMAT_CHECKER
    )


def _read(plan: Plan) -> dict[str, Any]:
    def refuse(word: str) -> None:
        raise AssertionError(f"not JSON: {word}")

    read: dict[str, Any] = json.loads(plan_json_text(plan), parse_constant=refuse)
    return read


def test_schema_is_itself_a_valid_2020_12_schema() -> None:
    """The schema obeys its own meta-schema (JSON Schema 2020-12)."""
    Draft202012Validator.check_schema(packaged_schema("plan"))


def test_plan_text_obeys_the_schema() -> None:
    """What is written is what the schema promises, names and all."""
    _validator().validate(_read(make_plan()))


def _objects(schema: Any) -> list[dict[str, Any]]:
    found = []
    if isinstance(schema, dict):
        if schema.get("type") == "object":
            found.append(schema)
        for part in schema.values():
            found += _objects(part)
    return found


def test_schema_allows_no_unknown_key_anywhere() -> None:
    """Every object of the schema is closed and asks for all of its keys."""
    objects = _objects(packaged_schema("plan"))
    assert len(objects) >= 9
    for part in objects:
        assert part["additionalProperties"] is False
        assert set(part["required"]) == set(part["properties"])


@pytest.mark.parametrize(
    ("key", "value"),
    [("surprise", 1), ("made", "yesterday"), ("mix_ratio_fraction", 1.2), ("members", None)],
)
def test_schema_refuses_what_it_should(key: str, value: object) -> None:
    """A key, time, ratio or count that is wrong does not pass."""
    broken = plan_to_json(make_plan()) | {key: value}
    with pytest.raises(jsonschema.ValidationError):
        _validator().validate(broken)


def test_schema_wants_an_interval_of_an_untested_default() -> None:
    """An untested default without its interval does not pass."""
    read = _read(make_plan())
    untested = next(i for i in read["inputs"] if i["basis"]["kind"] == "untested default")
    untested["basis"]["low"] = None
    with pytest.raises(jsonschema.ValidationError):
        _validator().validate(read)


def test_infinite_and_missing_numbers_are_null() -> None:
    """No coat is enough: the coat needed is infinite, which JSON cannot say, so it is null."""
    plan = make_plan()
    assert plan.assets[0].governing.coat_needed_kg_m2 == math.inf
    face = _read(plan)["assets"][0]["surfaces"][0]
    assert face["coat_needed_kg_m2"] is None
    assert face["apply_until"] is None


def test_times_carry_the_offset_of_the_jobs_zone() -> None:
    """06:00 in Denver in August is UTC-06:00 and the same instant as the record's."""
    read = _read(make_plan())
    assert read["start"] == "2030-08-14T06:00:00-06:00"
    assert datetime.fromisoformat(read["start"]).timestamp() == START


def test_same_plan_gives_same_bytes() -> None:
    """Two writings of one plan are equal byte for byte."""
    assert plan_json_text(make_plan()) == plan_json_text(make_plan())


def test_names_survive_whole() -> None:
    """Quotes, emoji and right-to-left names come back as they went in; half a
    surrogate pair does not break the file.
    """
    odd = '"Eagle\'s" \\ nest 🔥 בית'
    read = _read(rename(make_plan(), {3: odd, 4: "bad \ud800 half"}))
    assert read["assets"][3]["name"] == odd
    assert read["assets"][4]["name"] == "bad ? half"


def test_governing_face_is_one_of_the_faces() -> None:
    """The governing face is named by id, and the id is there."""
    for asset in _read(make_plan())["assets"]:
        ids = [face["surface"]["id"] for face in asset["surfaces"]]
        assert asset["governing_surface_id"] in ids


def test_a_plan_without_lines_or_water_is_valid() -> None:
    """Empty lists are lists."""
    bare = replace(make_plan(), lines_m=(), streams_m=(), water_points_m=(), warnings=())
    _validator().validate(_read(bare))
