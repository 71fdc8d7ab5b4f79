"""The API's description is true: generated requests, sound and unsound, get what it says."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
    unsupported_method,
)
from starlette.testclient import TestClient

from stillwet.exchange.log_fields import TELLS, WEATHER
from stillwet.web.app import all_doors
from stillwet.web.openapi import description
from web_fixture import coat_entry, kept_line, make_test_client

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    unsupported_method,
]
# A stream has no end to wait for; reckoning takes seconds each time: both are tested elsewhere.
LEFT_OUT = {
    ("GET", "/api/events"),
    ("POST", "/api/compare"),
    ("POST", "/api/lines"),
    ("POST", "/api/runs"),
}
DOORS = [door for door in all_doors() if door.says and (door.method, door.path) not in LEFT_OUT]
API = schemathesis.openapi.from_dict(description())


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A job with lines and plans, and an entry of every kind in its log."""
    with make_test_client(kept_line(tmp_path_factory.mktemp("asked"))) as made:
        posted = made.post("/api/log", json={"entries": every_kind()}).json()["entries"]
        assert {one["became"] for one in posted} == {"kept"}, posted
        yield made


def every_kind() -> list[dict[str, Any]]:
    """An entry of each kind, told with the examples of the table that reads them."""
    told = {kind: {one.word: one.example for one in tells} for kind, tells in TELLS.items()}
    told["coat"].pop("mix")  # a coat or an amount of mix
    told["coat"] |= {one.word: one.example for one in WEATHER}
    told["wetted"].pop("mix")
    plain = coat_entry()
    head = {name: plain[name] for name in ("when", "written", "by", "device")}
    withdrawn = {"replaces": str(uuid.uuid4())}
    return [
        head
        | {"id": str(uuid.uuid4()), "kind": kind}
        | words
        | (withdrawn if kind == "withdrawn" else {})
        for kind, words in told.items()
    ]


@pytest.mark.parametrize("door", DOORS, ids=lambda door: f"{door.method} {door.path}")
def test_answers_are_as_described(asked: TestClient, door: Any) -> None:
    """No 500, a status and a type that are described, an answer by its schema, one refusal."""
    operation = API[door.path][door.method]
    cases: st.SearchStrategy[Any] = st.one_of(
        [
            operation.as_strategy(generation_mode=mode)
            for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)
        ]
    )

    @settings(
        max_examples=25,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=cases)
    def ask(case: Any) -> None:
        parts = case.as_transport_kwargs(base_url=str(asked.base_url))
        parts.pop("cookies", None)
        if isinstance(parts.get("data"), bytes | str):
            parts["content"] = parts.pop("data")
        if "files" in parts:  # the client sends texts and bytes only
            parts["files"] = [(name, as_sent(*told)) for name, told in parts["files"]]
        answer = asked.request(**parts)
        case.validate_response(answer, checks=CHECKS)

    ask()


def as_sent(filename: str | None, content: object, *more: Any) -> tuple[Any, ...]:
    """A part of a form as it goes over the wire."""
    return (filename, content if isinstance(content, bytes) else str(content).encode(), *more)


def test_every_answer_is_described_in_full() -> None:
    """No answer, and no part of one, is "some object" or "some list": each names what is in it."""
    for door in all_doors():
        if door.says and door.media == "application/json":
            assert door.gives is not None, door.path
            if door.path != "/api/openapi.json":  # its parts are told by the standard
                assert [*untold(door.gives, door.path)] == []


def untold(schema: Any, place: str) -> Iterator[str]:
    """Where a schema leaves open what is in an object or a list, or of what kind a value is."""
    if not {"type", "anyOf", "oneOf", "enum", "const"} & set(schema):
        yield place
    if schema.get("type") == "object":
        if "properties" not in schema and not isinstance(schema.get("additionalProperties"), dict):
            yield place
        if "properties" in schema and schema.get("additionalProperties") is not False:
            yield f"{place}: more"
    if schema.get("type") == "array" and schema.get("maxItems") != 0 and "items" not in schema:
        yield place
    parts = {**schema.get("properties", {}), "items": schema.get("items")}
    parts["any"] = schema.get("additionalProperties")
    for name, part in [*parts.items(), *enumerate(schema.get("anyOf", schema.get("oneOf", [])))]:
        if isinstance(part, dict):
            yield from untold(part, f"{place} {name}")


def test_an_upload_is_described(asked: TestClient) -> None:
    """A form with a file is told as one: its fields, and which of them must be there."""
    operation = asked.get("/api/openapi.json").json()["paths"]["/api/draft/files"]["post"]
    (media, told), *others = operation["requestBody"]["content"].items()
    assert (media, others) == ("multipart/form-data", [])
    assert set(told["schema"]["properties"]) == {"file", "into", "id", "replaces"}
    assert told["schema"]["required"] == ["file", "into", "id"]
    assert {"assets", "weather", "product"} <= set(told["schema"]["properties"]["into"]["enum"])


def test_description_is_of_the_job_itself(asked: TestClient) -> None:
    """The document served is the one that was held against the answers."""
    assert asked.get("/api/openapi.json").json() == description()
